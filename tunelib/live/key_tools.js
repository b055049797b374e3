// What is set beside the keys: octave, latch, drone, what goes round, the sound, the volume, MIDI, the letters.

import {keyElement} from "./key_board.js";
import {WAYS_ROUND} from "./key_hands.js";

const HINT = "Play with the mouse, with fingers or, once a key has the focus, with the letters of the computer keyboard. "
  + "Arrow keys move, Space and Enter play, Page Up and Page Down change the octave, Escape stops all.";
const SLOWEST = 30, FASTEST = 600;  // notes a minute

export class KeyTools {
  // `does` has a function for each: octave, latch, drone, round, tempo, timbre, volume, midi, way, letters.
  constructor(does, maps, tempo) {
    this.latch = toggle("Latch", "Keys stay down until they are pressed again", does.latch);
    this.drone = toggle("Drone", "One note is held on", does.drone);
    this.letters = toggle("Letters", "Show which letters of a computer keyboard play", does.letters);
    this.timbre = chooser("Sound", [], does.timbre);
    const round = chooser("Arpeggio", WAYS_ROUND.map(way => [way, way]), does.round);
    const paces = keyElement("input", {type: "number", min: SLOWEST, max: FASTEST, step: 10, value: tempo});
    paces.onchange = () => {
      paces.value = Math.min(FASTEST, Math.max(SLOWEST, Number(paces.value) || tempo));
      does.tempo(Number(paces.value));
    };
    this.volume = keyElement("input", {type: "range", min: 0, max: 1, step: 0.01});
    this.volume.oninput = () => does.volume(Number(this.volume.value));
    const midi = press("Use MIDI", "Play with a MIDI keyboard", does.midi);
    this.way = chooser("MIDI plays", maps.map(({said}, n) => [String(n), said]), does.way);
    const row = (...parts) => keyElement("div", {class: "tools"}, ...parts);
    this.hint = keyElement("p", {class: "hint"}, HINT);
    this.elements = [
      row(
        press("Octave −", "One octave lower", () => does.octave(-1)),
        press("Octave +", "One octave higher", () => does.octave(1)),
        this.latch, this.letters, this.timbre, keyElement("label", {}, "Volume", this.volume),
      ),
      keyElement("details", {class: "more"}, keyElement("summary", {}, "Drone, arpeggio, MIDI, how to play"),
        row(this.drone, round, keyElement("label", {}, "notes a minute", paces), midi, this.way), this.hint),
    ];
    this.way.hidden = true;
  }

  // The timbres that can be chosen, and the one that is.
  offer(names, chosen) {
    const select = this.timbre.querySelector("select");
    select.replaceChildren(...names.map(name => new Option(name, name)));
    select.value = chosen;
  }
}

function press(words, title, does) {
  const button = keyElement("button", {type: "button", title}, words);
  button.onclick = does;
  return button;
}

function toggle(words, title, does) {
  const button = press(words, title, () => {
    const on = button.getAttribute("aria-pressed") !== "true";
    button.setAttribute("aria-pressed", on);
    does(on);
  });
  button.setAttribute("aria-pressed", "false");
  return button;
}

function chooser(words, options, does) {
  const select = keyElement("select", {}, ...options.map(([value, said]) => new Option(said, value)));
  select.onchange = () => does(select.value);
  return keyElement("label", {}, words, select);
}
