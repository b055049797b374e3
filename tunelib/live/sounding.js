// The row under a picture that sounds: hear it, hold it, flip between two ways to tune it, and how loud.

import {guard} from "./guard.js";
import {readProgram, thePlayer, withTapes} from "./player.js";

const REST_MS = 250;  // after which a knob is taken to rest
const FLOW_MS = 60;  // between two tellings of where the sound is, for a picture that flows: some 15 a second come of it

// A part of a page with its class, its attributes and its words.
export function part(tag, name, attributes = {}, words = "") {
  const made = document.createElement(tag);
  made.className = `tunelib-${name}`;
  Object.entries(attributes).forEach(([key, value]) => made.setAttribute(key, value));
  made.textContent = words;
  return made;
}

// The one volume of the page, as a slider; all such sliders move together.
export function volumeSlider(player) {
  const label = part("label", "volume", {}, "Volume"), slider = part("input", "volume-slider", {
    type: "range", min: 0, max: 100, step: 5,
  });
  slider.addEventListener("input", () => player.setVolume(slider.valueAsNumber / 100));
  const end = player.onVolume(volume => {
    slider.value = Math.round(100 * volume);
    slider.setAttribute("aria-valuetext", `${slider.value} per cent`);
  });
  label.append(slider);
  return [label, end];
}

function sameBytes(one, other) {
  if (one === other || one?.byteLength !== other?.byteLength) { return one === other; }
  const bytes = view => ArrayBuffer.isView(view) ? new Uint8Array(view.buffer, view.byteOffset, view.byteLength)
    : new Uint8Array(view);
  const others = bytes(other);
  return bytes(one).every((byte, place) => byte === others[place]);
}

// Which notes sound at a moment, as a word that differs when they do. One that is held goes on beyond its end.
export function notesAt(notes, seconds, hold) {
  const sounds = ({onset, duration, held}) => seconds >= onset && (seconds < onset + duration || (hold && held));
  return notes.flatMap((note, place) => sounds(note) ? [place] : []).join();
}

export function renderSounding({model, el}) {
  const player = thePlayer(), programs = new Map();
  const title = model.get("title"), row = part("div", "sounding", {role: "group", "aria-label": `Sound: ${title}`});
  const hear = part("button", "hear", {type: "button"}, "Hear it");
  const hold = part("input", "hold", {type: "checkbox"}), holding = part("label", "holding", {}, "Hold");
  const ways = part("span", "ways", {role: "group", "aria-label": "Flip between"}), line = part("div", "playhead");
  const [volume, endVolume] = volumeSlider(player);
  let heard = "";  // which of the ways sounds, or did last; none is the one that the knobs give
  let sounding, resting;  // the bytes that sound, and the timer that waits for the knobs to rest
  let told = {notes: "", at: 0};  // what Python was last told of the place, and when
  const tapes = new Map();  // by their names; those without samples are on their way from Python
  let drawing = false, free = 0;  // whether it draws that, and from when on it may be told the next
  const calm = matchMedia("(prefers-reduced-motion: reduce)");

  const bytesOf = way => way === "" ? model.get("program") : model.get("others")[way];
  const program = way => {
    const bytes = bytesOf(way);
    if (programs.get(way)?.bytes !== bytes) { programs.set(way, {bytes, read: readProgram(bytes)}); }
    return withTapes(programs.get(way).read, tapes);
  };
  // Have the tapes that there are parts of, and no others. Until they are here nothing can be heard.
  const fetchTapes = () => {
    const wanted = model.get("tapes") ?? [];
    [...tapes.keys()].filter(name => !wanted.includes(name)).forEach(name => tapes.delete(name));
    for (const name of wanted.filter(one => !tapes.has(one))) {
      tapes.set(name, undefined);
      try { model.send({want: name}); } catch { /* without a kernel there is none */ }
    }
  };
  const complete = () => [...tapes.values()].every(samples => samples);
  const tell = (name, value) => {
    try {
      model.set(name, value);
      model.save_changes();
    } catch { /* without a kernel nobody is there to be told */ }
  };
  const show = () => {
    const sounds = player.sounds(owner);
    hear.textContent = sounds ? "Stop" : "Hear it";
    hear.disabled = player.mute !== "" || (!sounds && !(bytesOf("").byteLength && complete()));
    row.classList.toggle("tunelib-sounds", sounds);
    const standing = heard || model.get("chosen");
    for (const button of ways.children) { button.setAttribute("aria-pressed", String(button.dataset.way === standing)); }
    if (!sounds) { line.style.setProperty("--place", 0); }
  };
  // Python is told where the sound is when other notes sound than before, and where the picture flows some times a
  // second; not again before the picture of the last time has come.
  const tellPlace = seconds => {
    const follow = model.get("follow"), now = performance.now();
    if (!follow || drawing || now < free) { return; }
    const notes = notesAt(program(heard).notes, seconds, hold.checked);
    if (notes === told.notes && (follow !== "flow" || calm.matches || now - told.at < FLOW_MS)) { return; }
    told = {notes, at: now};
    drawing = true;
    try { model.send({at: seconds, hold: hold.checked, way: heard}); } catch { /* the picture stays as it is */ }
  };
  const owner = {
    silenced() {
      tell("playing", false);
      show();
    },
    playhead(seconds, length) {
      line.style.setProperty("--place", Math.min(1, seconds / length));
      tellPlace(seconds);
      el.dispatchEvent(new CustomEvent("tunelib-playhead", {bubbles: true, detail: {seconds, length, title}}));
    },
  };
  const play = way => {
    if (player.mute || !bytesOf(way)?.byteLength || !complete()) { return; }
    heard = way;
    sounding = bytesOf(way);
    [told, drawing, free] = [{notes: "", at: 0}, false, 0];
    player.play(owner, program(way), {hold: hold.checked});
    tell("playing", true);
    show();
  };
  const isApart = way => model.get("apart")?.includes(way);
  // To another way of tuning the same: at once, where it is, if it sounds; else from the beginning.
  const flip = way => {
    if (player.sounds(owner) && !isApart(way) && !isApart(heard)) {
      heard = way;
      sounding = bytesOf(way);
      player.follow(owner, program(way), true);
      show();
    } else {
      play(way);
    }
    try { model.send({flip: way}); } catch { /* the picture stays as it is */ }
  };
  // With what there is to hear now, from the same place; and in phase, once the knobs have come to rest.
  const goOn = () => {
    fetchTapes();
    const gone = !bytesOf(heard)?.byteLength || !complete() || (isApart(heard) && !sameBytes(sounding, bytesOf(heard)));
    if (player.sounds(owner) && gone) { player.stop(owner); }
    if (player.sounds(owner) && !sameBytes(sounding, bytesOf(heard))) {
      clearTimeout(resting);
      player.follow(owner, program(heard));
      resting = setTimeout(() => player.follow(owner, program(heard), true), REST_MS);
    }
    sounding = bytesOf(heard);
    show();
  };
  const listWays = () => {
    ways.replaceChildren(...Object.keys(model.get("others")).map(way => {
      const button = part("button", "way", {type: "button", "data-way": way, "aria-pressed": "false"}, way);
      button.addEventListener("click", () => flip(way));
      return button;
    }));
    ways.hidden = !ways.children.length;
  };
  const changed = () => {
    const names = Object.keys(model.get("others")), shown = [...ways.children].map(button => button.dataset.way);
    if (names.join("\n") !== shown.join("\n")) { listWays(); }
    if (!names.includes(heard) || (model.get("chosen") && model.get("chosen") !== heard)) { heard = ""; }
    goOn();
  };
  const moved = () => {
    heard = "";  // a knob has been moved: from here on the knobs have the say
    goOn();
  };
  const asked = (message, buffers) => {
    if (message.do === "play") { play(message.way ?? ""); }
    if (message.do === "stop") { player.stop(owner); }
    if (tapes.has(message.tape)) {
      const {buffer, byteOffset, byteLength} = buffers[0];
      tapes.set(message.tape, new Int16Array(buffer.slice(byteOffset, byteOffset + byteLength)));
      show();
    }
    if (message.do === "go on telling") { [drawing, free] = [false, performance.now() + message.after]; }
  };

  for (const near of ["pointerenter", "pointerdown", "focusin"]) { row.addEventListener(near, () => player.rouse()); }
  hear.addEventListener("click", () => player.sounds(owner) ? player.stop(owner) : play(heard));
  hold.addEventListener("change", () => player.hold(owner, hold.checked));
  model.on("change:program", moved);
  model.on("change:others change:chosen", changed);
  model.on("msg:custom", asked);
  holding.prepend(hold);
  holding.hidden = !model.get("holds");
  row.append(hear, holding, ways, volume, line);
  if (player.mute) { row.append(part("span", "mute", {role: "status"}, player.mute)); }
  el.append(row);
  fetchTapes();
  listWays();
  show();
  guard(el);
  return () => {
    clearTimeout(resting);
    player.stop(owner);
    endVolume();
    model.off("change:program", moved);
    model.off("change:others change:chosen", changed);
    model.off("msg:custom", asked);
  };
}
