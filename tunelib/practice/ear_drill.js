// One question for the ear after another: hear its sounds, answer by a button or a number key, and flip between them
// when it is told what they were. Python says what is asked; the page plays it, and again at once, without Python.

import {guard} from "../live/guard.js";
import {readProgram, thePlayer} from "../live/player.js";
import {part, volumeSlider} from "../live/sounding.js";

const GAP_MS = 450;  // between two sounds of a question
const NUMBER_KEY = /^[1-9]$/;

export function renderDrill({model, el}) {
  const player = thePlayer(), head = part("div", "drill-head"), main = part("div", "drill-main", {role: "group"});
  const place = part("span", "drill-place"), bar = part("div", "drill-bar", {role: "progressbar", "aria-valuemin": 0,
    "aria-valuemax": 100, "aria-label": "How far you are today"});
  const hold = part("input", "hold", {type: "checkbox"}), holding = part("label", "holding", {}, "Hold");
  const [volume, endVolume] = volumeSlider(player), tools = part("span", "drill-tools");
  const stop = drillButton("Stop for now", "drill-stop", () => ask("stop"));
  let acted = false;  // whether the reader did what brings the next thing to be shown: then it sounds, and has the focus
  let rest = [], pause;  // the sounds that are to come, and the timer between two
  let buttons = new Map(), sounding, words, go, read = new Map();

  const ask = (what, value = null) => {
    acted = true;
    try { model.send({do: what, with: value}); } catch { /* without a kernel the question stays as it is */ }
  };
  const light = sound => {
    sounding = sound;
    for (const [one, button] of buttons) { button.classList.toggle("tunelib-now", one === sound); }
  };
  const owner = {
    silenced() {
      light(undefined);
      const next = rest.shift();
      if (next) { pause = setTimeout(() => { if (player.owner === undefined) { start(next); } }, GAP_MS); }
    },
  };
  const programOf = sound => {
    if (!read.has(sound)) { read.set(sound, readProgram(sound.program)); }
    return read.get(sound);
  };
  const start = sound => {
    if (player.mute) { return; }
    player.play(owner, programOf(sound), {hold: hold.checked});
    light(sound);
  };
  const hear = (...sounds) => {
    hush();
    const [first, ...others] = sounds;
    if (first) { start(first); }
    rest = others;
  };
  const hush = () => {
    clearTimeout(pause);
    rest = [];
    player.stop(owner);
  };
  // To another of the sounds that are compared: at once, where it is, if one of them sounds.
  const flip = sound => {
    if (player.sounds(owner) && model.get("shown").compared.includes(sounding)) {
      player.follow(owner, programOf(sound), true);
      light(sound);
    } else {
      hear(sound);
    }
  };

  const drawHead = shown => {
    place.textContent = shown.place;
    bar.hidden = stop.hidden = shown.stage === "idle" || shown.stage === "done";
    bar.style.setProperty("--share", shown.share);
    bar.setAttribute("aria-valuenow", Math.round(100 * shown.share));
    bar.setAttribute("aria-valuetext", shown.place);
  };
  const soundRow = (sounds, name, act, label) => {
    const row = part("div", "drill-row", {role: "group", "aria-label": name});
    if (label) { row.append(part("span", "drill-label", {}, label)); }
    row.append(...sounds.map(sound => {
      const button = drillButton(sound.name, "drill-sound", () => act(sound));
      buttons.set(sound, button);
      return button;
    }));
    return row;
  };
  const answerRow = ({answers, answered, right}) => {
    const row = part("div", "drill-row", {role: "group", "aria-label": "Answers"}), told = right >= 0;
    row.append(part("span", "drill-label", {}, "Answer"), ...answers.map((answer, number) => {
      const button = drillButton("", "drill-answer", () => ask("answer", number));
      const mark = told && number === right ? "✓ " : told && number === answered ? "✗ " : "";
      button.append(part("kbd", "drill-key", {"aria-hidden": "true"}, String(number + 1)), `${mark}${answer}`);
      button.setAttribute("aria-keyshortcuts", String(number + 1));
      button.disabled = told;
      button.classList.toggle("tunelib-right", told && number === right);
      return button;
    }));
    return row;
  };
  const draw = () => {
    const shown = model.get("shown"), had = el.contains(document.activeElement);
    hush();
    buttons = new Map();
    read = new Map();
    drawHead(shown);
    words = part("p", "drill-words", {tabindex: "-1"}, shown.words);
    const parts = [words, ...shown.more.map(line => part("p", "drill-more", {}, line))];
    if (shown.sounds.length) {
      const row = soundRow(shown.sounds, "Hear", hear, "Hear");
      const all = shown.sounds.length > 2 ? "All" : "Both";
      if (shown.sounds.length > 1) { row.append(drillButton(all, "drill-sound", () => hear(...shown.sounds))); }
      parts.push(row);
    }
    if (shown.helps.length) { parts.push(soundRow(shown.helps, "To compare with", hear, "Compare with")); }
    if (shown.answers.length) { parts.push(answerRow(shown)); }
    if (shown.response) { parts.push(part("p", "drill-response", {role: "status"}, shown.response)); }
    if (shown.compared.length) { parts.push(soundRow(shown.compared, "Flip between", flip, "Flip between")); }
    const steps = shown.short ? parts.at(-1) : part("div", "drill-row drill-steps");
    go = shown.go ? drillButton(shown.go, "drill-go", () => ask("go")) : undefined;
    if (go) { steps.append(go); }
    if (shown.skips) { steps.append(drillButton("Skip", "drill-skip", () => ask("skip"))); }
    if (shown.hint) { steps.append(part("span", "drill-hint", {}, shown.hint)); }
    if (steps !== parts.at(-1)) { parts.push(steps); }
    el.classList.toggle("tunelib-drill-short", shown.short);
    main.replaceChildren(...parts);
    holding.hidden = !shown.compared.length;
    if (acted || had) { (shown.stage === "idle" ? go : words)?.focus({preventScroll: true}); }
    if (acted && ["asking", "listening"].includes(shown.stage)) { hear(...shown.sounds); }
    acted = false;
  };
  const press = event => {
    const shown = model.get("shown"), {key} = event, number = Number(key) - 1;
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.matches("input")) { return; }
    const onWords = event.target === words;
    if (NUMBER_KEY.test(key) && shown.stage === "asking" && shown.answers[number]) { ask("answer", number); }
    else if (NUMBER_KEY.test(key) && shown.compared[number]) { flip(shown.compared[number]); }
    else if (key === " " && onWords && shown.sounds.length) { hear(...shown.sounds); }
    else if (key === "Enter" && onWords && go) { go.click(); }
    else { return; }
    event.preventDefault();
    event.stopPropagation();
  };

  el.classList.add("tunelib-part", "tunelib-drill");
  holding.prepend(hold);
  hold.addEventListener("change", () => player.hold(owner, hold.checked));
  tools.append(holding, volume);
  head.append(part("span", "drill-title", {}, model.get("title")), place, tools, stop, bar);
  if (player.mute) { head.append(part("p", "mute", {role: "status"}, player.mute)); }
  el.append(head, main);
  el.addEventListener("keydown", press);
  for (const near of ["pointerenter", "pointerdown", "focusin"]) { el.addEventListener(near, () => player.rouse()); }
  model.on("change:shown", draw);
  guard(el);
  draw();
  return () => {
    hush();
    endVolume();
    model.off("change:shown", draw);
  };
}

function drillButton(label, name, act) {
  const button = part("button", name, {type: "button"}, label);
  button.addEventListener("click", act);
  return button;
}
