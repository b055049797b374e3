// The panel for a tune: its chart, how it sounds, the chord that is chosen, and, folded, its taste and its text.

import {guard} from "../live/guard.js";
import {readProgram, thePlayer} from "../live/player.js";
import {part, renderSounding} from "../live/sounding.js";
import {ChartChord, chartButton} from "./chart_chord.js";
import {ChartStaff} from "./chart_staff.js";
import {ChartTaste} from "./chart_taste.js";

export function renderTunePanel({model, el}) {
  const player = thePlayer(), row = part("div", "chart-sound");
  const alone = {silenced() { staff.sound(-1, -1); }, playhead() {}};  // a chord that sounds by itself
  let wanted;  // the way of a chord that is to be heard as soon as it is here

  const ask = (...words) => { try { model.send(...words); } catch { /* without a kernel the chart is as it was */ } };
  const set = (name, value) => {
    model.set(name, value);
    model.save_changes();
  };
  const placeOf = sign => model.get("signs").findIndex(one => one.sign === sign);
  // A way, by its name, or an alternative, by its place, of the chord that is here.
  const hear = way => {
    const {sign, programs} = model.get("chord"), bytes = programs[way];
    if (player.mute || !bytes?.byteLength) { return; }
    player.play(alone, readProgram(bytes));
    staff.sound(placeOf(sign), -1);
  };
  const choose = (place, sounds) => {
    const {sign} = model.get("signs")[place], here = model.get("chord").sign === sign;
    if (sounds) {
      player.rouse();
      if (here) { hear(model.get("chord").ways.at(-1)); } else { wanted = sign; }
    } else {
      wanted = undefined;
    }
    if (!here) { ask({choose: sign}); }
  };

  const staff = new ChartStaff(choose), chord = new ChartChord(hear, ask), taste = new ChartTaste(set);
  const undo = chartButton("Undo", () => ask({do: "undo"})), redo = chartButton("Redo", () => ask({do: "redo"}));
  const text = part("textarea", "chart-text", {"aria-label": "Your tune, as text", spellcheck: "false"});
  const asText = part("details", "chart-fold"), told = part("p", "chart-told", {role: "status"});
  const problem = part("p", "chart-problem", {role: "status"}), tools = part("div", "chart-tools");
  text.addEventListener("change", () => set("text", text.value));
  asText.append(part("summary", "chart-summary", {}, "The tune, as text"), text);
  tools.append(chartButton("Write the files", () => ask({do: "write"})));

  const onStaff = () => staff.show(model.get("staff"), model.get("signs"));
  const onSigns = () => {
    if (model.get("signs").length === staff.signs.length) {
      staff.told = model.get("signs");
      staff.name();
    }
  };
  const onChord = () => {
    const now = model.get("chord");
    chord.show(now);
    staff.mark(placeOf(now.sign));
    if (wanted !== undefined && wanted === now.sign) {
      wanted = undefined;
      hear(now.ways.at(-1));
    }
  };
  const onText = () => { if (document.activeElement !== text) { text.value = model.get("text"); } };
  const onTaste = () => taste.show(model.get("taste"));
  const onTold = () => {
    told.textContent = model.get("told");
    problem.textContent = model.get("problem");
    problem.hidden = !problem.textContent;
    asText.open ||= !problem.hidden;
  };
  const onHistory = () => {
    const {undo: back, redo: forth} = model.get("history");
    undo.setAttribute("aria-disabled", String(!back));
    redo.setAttribute("aria-disabled", String(!forth));
  };
  const onPlaying = () => { if (!model.get("playing") && !player.sounds(alone)) { staff.sound(-1, -1); } };
  const onPlayhead = ({detail: {seconds}}) => {
    const moments = model.get("moments"), next = moments.findIndex(([onset]) => onset > seconds + 1e-6);
    const [, sign = -1, bar = -1] = moments.at(next < 0 ? -1 : next - 1) ?? [];
    if (next !== 0) { staff.sound(sign, bar); }
  };
  const listeners = {
    staff: onStaff, signs: onSigns, chord: onChord, text: onText, taste: onTaste, told: onTold, problem: onTold,
    history: onHistory, playing: onPlaying,
  };

  el.classList.add("tunelib-tune-panel");
  el.append(problem, staff.window, row, chord.element, tools, told, taste.element, asText);
  guard(el);
  const endSound = renderSounding({model, el: row});
  row.addEventListener("tunelib-playhead", onPlayhead);
  staff.window.addEventListener("pointerenter", () => player.rouse());
  for (const [name, listener] of Object.entries(listeners)) { model.on(`change:${name}`, listener); }
  [onStaff, onChord, onText, onTaste, onTold, onHistory].forEach(listener => listener());
  return () => {
    for (const [name, listener] of Object.entries(listeners)) { model.off(`change:${name}`, listener); }
    player.stop(alone);
    endSound();
    staff.close();
  };
}
