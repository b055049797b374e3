// The instrument: a board of keys, what plays on it, and what is said of it. The widget's traits are all it needs; it sounds
// and speaks the same where nobody answers.

import {thePlayer, readProgram} from "./player.js";
import {KeyBoard} from "./key_board.js";
import {KeyHands} from "./key_hands.js";
import {KeyScale, chordWords, noteWords} from "./key_names.js";
import {KeyTools} from "./key_tools.js";
import {MidiInput} from "./midi_input.js";
import {part} from "./sounding.js";

const LOWEST_HZ = 25, HIGHEST_HZ = 6000;  // what the octave buttons keep the keys within
const NOTHING = "Press a key: its name and frequency are said here, and how far others are from it, with the ratio near that.";
const NO_HARMONIC = "Press a key: its frequency is said here.";
const FOR_THE_PAGE = ["KeyS"];  // with Ctrl or Cmd: what a notebook may do while the keys have the keyboard

export function renderKeys({model, el}) {
  const player = thePlayer(), scale = new KeyScale(model.get("scale")), board = new KeyBoard(model.get("board"), scale, model.get("signs"));
  const tell = message => { try { model.send(message); } catch { /* nobody answers, and the keys play on */ } };
  const share = (name, value) => {
    try {
      model.set(name, value);
      model.save_changes();
    } catch { /* the same */ }
  };
  const bank = new ToneBank(model);
  const hands = new KeyHands(player, scale, hertz => bank.nearest(hertz), () => show(), tell);
  hands.over = model.get("over");
  const midi = new MidiInput(hands, scale, model.get("midi"), place => tools.setWay(place));
  const said = part("p", "said", {role: "status"}), chord = part("b", "chord"), notes = part("span", "notes");
  const tools = new KeyTools(player, {
    octave: by => moveOctave(by),
    page: by => board.page(by),
    latch: on => hands.setLatch(on),
    drone: on => { hands.setDrone(on); show(); },
    letters: on => showLetters(on),
    timbre: name => share("timbre", name),
    round: way => hands.setRound(way),
    tempo: pace => hands.setTempo(pace),
    midi: () => { tools.way.hidden = false; midi.open(words => { tools.connected.textContent = words; }); },
    way: place => midi.choose(Number(place)),
  }, model.get("midi"), hands.tempo);

  el.classList.add("tunelib-part", "tunelib-keys");
  el.setAttribute("data-lm-suppress-shortcuts", "true");
  board.board.setAttribute("aria-label", model.get("title"));
  board.overflows = on => tools.overflow(on);
  said.append(chord, notes);
  el.append(part("p", "keys-title", {}, model.get("title")), board.window, said, ...tools.elements);
  if (player.mute) { el.append(part("p", "mute", {role: "status"}, player.mute)); }

  let told = "";
  function show() {
    const held = hands.steps;
    Object.assign(board, {held, lit: model.get("lit"), faint: model.get("faint") ?? []});
    board.show();
    notes.textContent = held.length ? noteWords(scale, model.get("ratios"), hands.notes).join(" · ") :
      scale.harmonics ? NO_HARMONIC : NOTHING;
    chord.textContent = chordNow(held);
    tools.drone.textContent = hands.drone === undefined ? hands.droning ? "Drone: press a key" : "Drone"
      : `Drone ${scale.full(hands.drone)}`;
    if (told !== String(held)) {
      told = String(held);
      share("held", held);
    }
  }

  // What Python reads the chord as, once it has said so; until then, what the table of common chords has.
  function chordNow(held) {
    const {held: of = [], chord: symbol, why} = model.get("reading") ?? {};
    if (held.length > 1 && symbol && String(of) === String(held)) { return why ? `${symbol}. ${why}` : symbol; }
    return held.length > 1 ? chordWords(scale, model.get("chords"), held) : "";
  }

  function moveOctave(by) {
    const shift = board.shift + by, hertz = board.table.keys.map(({step}) => scale.hz(step + shift * scale.count));
    if (Math.min(...hertz) < LOWEST_HZ || Math.max(...hertz) > HIGHEST_HZ) { return; }
    board.shift = shift;
    board.show();
  }

  async function showLetters(on) {
    board.letters = on;
    board.show();
    board.printed ??= await navigator.keyboard?.getLayoutMap?.().catch(() => undefined);
    board.show();
  }

  const offer = () => {
    const there = model.get("timbres").map(([name]) => name);
    tools.offer(model.widget_manager ? model.get("choices") : there, model.get("timbre"));
    bank.choose(model.get("timbre"));
    hands.retune();
  };
  const onReading = () => { chord.textContent = chordNow(hands.steps); };
  model.on("change:lit", show);
  model.on("change:faint", show);
  model.on("change:reading", onReading);
  model.on("change:timbres", offer);
  model.on("change:timbre", offer);
  offer();
  show();

  const stopPointers = listenToPointers(el, board, hands);
  const stopKeys = listenToKeys(el, board, hands, moveOctave);
  const stopLeaving = listenToLeaving(hands);
  return () => {
    [stopPointers, stopKeys, stopLeaving].forEach(stop => stop());
    tools.close();
    const listeners = {lit: show, faint: show, reading: onReading, timbres: offer, timbre: offer};
    for (const [name, listener] of Object.entries(listeners)) { model.off(`change:${name}`, listener); }
    midi.close();
    hands.releaseAll();
    board.close();
  };
}

// The tones of each timbre at the rungs of a ladder of pitches; a key bends the nearest to its own.
class ToneBank {
  constructor(model) {
    this.model = model;
    this.ladder = model.get("ladder");
    this.read = new Map();
  }

  choose(name) {
    const there = this.model.get("timbres"), found = there.find(([called]) => called === name);
    if (!found) { return; }  // not here yet
    if (!this.read.has(name)) {
      const bytes = this.model.get("tones"), [, offset, length] = found;
      const whole = ArrayBuffer.isView(bytes) ? bytes : new Uint8Array(bytes);
      this.read.set(name, readProgram(new Uint8Array(whole.buffer, whole.byteOffset + offset, length)).tones);
    }
    this.tones = this.read.get(name);
  }

  nearest(hertz) {
    const away = rung => Math.abs(Math.log(rung / hertz));
    const place = this.ladder.reduce((best, rung, n) => away(rung) < away(this.ladder[best]) ? n : best, 0);
    return {tone: this.tones[place], of: this.ladder[place]};
  }
}

// Mouse and fingers: each is a voice, and slides from key to key.
function listenToPointers(el, board, hands) {
  const down = new Set();
  const onDown = event => {
    const n = board.keyAt(event.target);
    if (n === undefined || event.button > 0) { return; }
    event.preventDefault();
    board.focus(n);
    down.add(event.pointerId);
    hands.press(`pointer ${event.pointerId}`, board.stepOf(n));
  };
  const onMove = event => {
    if (!down.has(event.pointerId)) { return; }
    const n = board.keyAt(document.elementFromPoint(event.clientX, event.clientY));
    if (n !== undefined) { hands.slide(`pointer ${event.pointerId}`, board.stepOf(n)); }
  };
  const onUp = event => {
    if (down.delete(event.pointerId)) { hands.release(`pointer ${event.pointerId}`); }
  };
  board.board.addEventListener("pointerdown", onDown);
  const onPage = [["pointermove", onMove], ["pointerup", onUp], ["pointercancel", onUp]];
  onPage.forEach(([name, listener]) => window.addEventListener(name, listener));
  return () => onPage.forEach(([name, listener]) => window.removeEventListener(name, listener));
}

// The computer keyboard. While anything of the instrument has it, no key gets any farther: in a notebook a stray letter
// deletes cells. What the browser itself does with a key, such as Tab, it still does.
function listenToKeys(el, board, hands, moveOctave) {
  const down = new Set();
  const onBoard = event => {
    const {key, code} = event, at = `key ${code}`;
    if (key.startsWith("Arrow")) { board.toward(key); }
    else if (key === "PageUp" || key === "PageDown") { moveOctave(key === "PageUp" ? 1 : -1); }
    else {
      const n = key === " " || key === "Enter" ? board.focused : board.keyOfCode(code);
      if (n < 0) { return; }
      if (!event.repeat && !down.has(at)) {
        down.add(at);
        hands.press(at, board.stepOf(n));
      }
    }
    event.preventDefault();
  };
  const onDown = event => {
    if (!el.contains(event.target)) { return; }
    const commanded = event.ctrlKey || event.metaKey || event.altKey;
    if (commanded && !event.altKey && !event.shiftKey && FOR_THE_PAGE.includes(event.code)) { return; }
    event.stopImmediatePropagation();
    if (event.key === "Escape") { hands.releaseAll(); }
    else if (!commanded && board.board.contains(event.target)) { onBoard(event); }
  };
  const onUp = event => {
    const at = `key ${event.code}`;
    if (down.delete(at)) { hands.release(at); }
    if (el.contains(event.target)) { event.stopImmediatePropagation(); }
  };
  const onLeave = event => {
    if (el.contains(event.relatedTarget)) { return; }
    down.clear();
    hands.releaseThose("key ");
  };
  const onPage = [["keydown", onDown], ["keyup", onUp]];
  onPage.forEach(([name, listener]) => window.addEventListener(name, listener, true));
  el.addEventListener("focusout", onLeave);
  return () => {
    onPage.forEach(([name, listener]) => window.removeEventListener(name, listener, true));
    el.removeEventListener("focusout", onLeave);
  };
}

// A reader who is elsewhere does not let go of a key.
function listenToLeaving(hands) {
  const leave = () => hands.releaseAll(), hide = () => { if (document.hidden) { leave(); } };
  for (const event of ["blur", "pagehide"]) { window.addEventListener(event, leave); }
  document.addEventListener("visibilitychange", hide);
  return () => {
    for (const event of ["blur", "pagehide"]) { window.removeEventListener(event, leave); }
    document.removeEventListener("visibilitychange", hide);
  };
}
