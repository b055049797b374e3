// What is set beside the keys: octave, latch, drone, what goes round, the sound, the volume, MIDI, the letters.

import {WAYS_ROUND} from "./key_hands.js";
import {part, volumeSlider} from "./sounding.js";

const SLOWEST = 30, FASTEST = 600;  // notes a minute
const HOW = "Play with the mouse, with fingers or, once a key has the focus, with the letters of the computer keyboard. "
  + "Arrow keys move, Space and Enter play, Page Up and Page Down change the octave, Escape stops all.";

export class KeyTools {
  // `does` has a function for each: octave, page, latch, drone, round, tempo, timbre, midi, way, letters.
  constructor(player, does, maps, tempo) {
    const [volume, endVolume] = volumeSlider(player);
    this.close = endVolume;
    this.drone = toggleButton("Drone", "One note is held on", does.drone);
    this.timbre = chooser("Sound", [], does.timbre);
    this.way = chooser("MIDI plays", maps.map(({said}, n) => [String(n), said]), does.way);
    this.way.hidden = true;
    this.connected = part("span", "connected", {role: "status"});
    this.pages = [
      pressButton("←", "Keys farther left", () => does.page(-1)), pressButton("→", "Keys farther right", () => does.page(1)),
    ];
    const row = part("div", "tools"), more = part("details", "more"), second = part("div", "tools");
    row.append(
      ...this.pages,
      pressButton("Octave −", "One octave lower", () => does.octave(-1)),
      pressButton("Octave +", "One octave higher", () => does.octave(1)),
      toggleButton("Latch", "Keys stay down until they are pressed again", does.latch),
      toggleButton("Letters", "Show which letters of a computer keyboard play", does.letters),
      this.timbre, volume,
    );
    second.append(
      this.drone,
      chooser("Arpeggio", WAYS_ROUND.map(way => [way, way]), does.round), pace(tempo, does.tempo),
      pressButton("Use MIDI", "Play with a MIDI keyboard", does.midi), this.way, this.connected,
    );
    more.append(part("summary", "summary", {}, "Drone, arpeggio, MIDI, how to play"), second, part("p", "hint", {}, HOW));
    this.elements = [row, more];
  }

  // The timbres that can be chosen, and the one that is.
  offer(names, chosen) {
    const select = this.timbre.querySelector("select");
    select.replaceChildren(...names.map(name => new Option(name, name)));
    select.value = chosen;
  }

  // Say that MIDI plays in another way, by its place among them.
  setWay(place) { this.way.querySelector("select").value = String(place); }

  // Whether there are more keys than can be seen.
  overflow(on) { this.pages.forEach(button => { button.hidden = !on; }); }
}

function pressButton(words, title, does) {
  const button = part("button", "press", {type: "button", title}, words);
  button.addEventListener("click", does);
  return button;
}

function toggleButton(words, title, does) {
  const button = pressButton(words, title, () => {
    const on = button.getAttribute("aria-pressed") !== "true";
    button.setAttribute("aria-pressed", String(on));
    does(on);
  });
  button.setAttribute("aria-pressed", "false");
  return button;
}

function chooser(words, options, does) {
  const label = part("label", "chooser", {}, words), select = part("select", "choice");
  select.append(...options.map(([value, said]) => new Option(said, value)));
  select.addEventListener("change", () => does(select.value));
  label.append(select);
  return label;
}

function pace(tempo, does) {
  const label = part("label", "pace", {}, "notes a minute");
  const field = part("input", "number", {type: "number", min: SLOWEST, max: FASTEST, step: 10, value: tempo});
  field.addEventListener("change", () => {
    field.value = Math.min(FASTEST, Math.max(SLOWEST, field.valueAsNumber || tempo));
    does(field.valueAsNumber);
  });
  label.prepend(field);
  return label;
}
