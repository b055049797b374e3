// The panel for a tune: its chart, how it sounds, the chord that is chosen, and, folded, the knobs and the text.

import {guard} from "../live/guard.js";
import {readProgram, thePlayer} from "../live/player.js";
import {part, renderSounding} from "../live/sounding.js";
import {ChartChord, chartButton} from "./chart_chord.js";
import {ChartStaff} from "./chart_staff.js";
import {ChartTaste} from "./chart_taste.js";

const HINT = "Click a chord, or go to it by arrow keys. Dots below: tuned otherwise than written. A padlock: locked by you.";

export function renderTunePanel({model, el}) {
  const player = thePlayer(), row = part("div", "chart-sound");
  const alone = {silenced() { staff.sound(-1, -1); }, playhead() {}};  // a chord that sounds by itself
  let wanted;  // the sign of a chord that is to be heard as soon as it is here

  const ask = (what, ...numbers) => {
    try { model.send({do: what, with: numbers}); } catch { /* without a kernel the chart stays as it is */ }
  };
  const set = (name, value) => {
    model.set(name, value);
    model.save_changes();
  };
  // One of the ways to hear the chord that is here, by its name, or one of its alternatives, by its place.
  const hear = way => {
    const {sign, programs} = model.get("chord"), bytes = programs?.[way] ?? model.get("others_of").programs?.[way];
    if (player.mute || !bytes?.byteLength) { return; }
    player.play(alone, readProgram(bytes));
    staff.sound(sign, -1);
  };
  const hearChosen = () => hear(model.get("chord").ways.at(-1));
  const choose = (sign, sounds) => {
    const here = model.get("chord").sign === sign;
    wanted = sounds && !here ? sign : undefined;
    if (sounds) { player.rouse(); }
    if (sounds && here) { hearChosen(); }
    if (!here) { ask("choose", sign); }
  };

  const staff = new ChartStaff(choose, narrow => {
    el.classList.toggle("tunelib-narrow", narrow);
    set("narrow", narrow);
  }), chord = new ChartChord(hear, ask);
  const taste = new ChartTaste(knobs => set("knobs", knobs));
  const undo = chartButton("Undo", () => ask("undo")), redo = chartButton("Redo", () => ask("redo"));
  const save = chartButton("Save my choices", () => ask("save choices"));
  const text = part("textarea", "chart-text", {"aria-label": "Your tune, as text", spellcheck: "false"});
  const folds = part("div", "chart-folds"), asText = part("details", "chart-fold"), told = part("p", "chart-told", {role: "status"});
  const problem = part("p", "chart-problem", {role: "status"}), tools = part("div", "chart-row");
  const tempo = part("span", "chart-tempo", {role: "note"});
  text.addEventListener("change", () => set("text", text.value));
  asText.append(part("summary", "chart-summary", {}, "The tune, as text"), text);
  tools.append(
    chord.passage, undo, redo, save, chartButton("Open my choices", () => ask("open choices")),
    chartButton("Write the files", () => ask("write")),
  );

  const onStaff = () => staff.draw(model.get("staff"));
  const onSigns = () => staff.name(model.get("signs"));
  const onOthers = () => chord.offer(model.get("others_of"));
  const onChord = () => {
    const now = model.get("chord");
    chord.show(now);
    onOthers();
    staff.mark(now.sign);
    if (wanted !== undefined && wanted === now.sign) {
      wanted = undefined;
      hearChosen();
    }
  };
  const onText = () => { if (document.activeElement !== text) { text.value = model.get("text"); } };
  const onKnobs = () => taste.show(model.get("knobs"));
  const onTold = () => {
    told.textContent = model.get("told") || HINT;
    problem.textContent = model.get("problem");
    problem.hidden = !problem.textContent;
    asText.open ||= !problem.hidden;
  };
  const onTempo = () => {
    tempo.textContent = `♩ = ${model.get("tempo")}`;
    tempo.setAttribute("aria-label", `Tempo: ${model.get("tempo")} quarter notes a minute`);
    tempo.hidden = !model.get("tempo");
  };
  const onTools = () => {
    const {undo: back, redo: forth, replaces} = model.get("tools");
    undo.setAttribute("aria-disabled", String(!back));
    redo.setAttribute("aria-disabled", String(!forth));
    save.textContent = replaces ? "Replace what is saved" : "Save my choices";
  };
  const onPlaying = () => { if (!model.get("playing") && !player.sounds(alone)) { staff.sound(-1, -1); } };
  const onPlayhead = ({detail: {seconds}}) => {
    const moments = model.get("moments"), next = moments.findIndex(([onset]) => onset > seconds + 1e-6);
    const [, sign, bar] = moments.at(next < 0 ? -1 : next - 1) ?? [0, -1, -1];
    if (next !== 0) { staff.sound(sign, bar); }
  };
  const listeners = {
    signs: onSigns, staff: onStaff, chord: onChord, others_of: onOthers, text: onText, knobs: onKnobs, told: onTold,
    problem: onTold, tools: onTools, playing: onPlaying, tempo: onTempo,
  };

  el.classList.add("tunelib-part", "tunelib-tune-panel");
  folds.append(taste.element, asText);
  el.append(problem, staff.window, row, chord.element, tools, told, folds);
  guard(el);
  const endSound = renderSounding({model, el: row});
  row.querySelector(".tunelib-hear").after(tempo);
  row.addEventListener("tunelib-playhead", onPlayhead);
  staff.window.addEventListener("pointerenter", () => player.rouse());
  for (const [name, listener] of Object.entries(listeners)) {
    model.on(`change:${name}`, listener);
    listener();
  }
  return () => {
    for (const [name, listener] of Object.entries(listeners)) { model.off(`change:${name}`, listener); }
    player.stop(alone);
    endSound();
    staff.close();
  };
}
