// An exhibit on a page without Python: its knobs choose among what was made beforehand.

import {Mosaics} from "./mosaic.js";
import {renderSounding} from "../live/sounding.js";

const SPEAK_MS = 400;  // how long a sentence must stand before it is read aloud

// The model of a widget where there is no Python: it keeps what it is given, and tells what has changed.
export class PageModel {
  constructor(state, sent = () => {}) {
    Object.assign(this, {state, sent, listeners: new Map()});
  }

  get(name) { return this.state[name]; }

  set(name, value) { this.give({[name]: value}); }

  // Several at once, so that whoever is told of one finds the others in place.
  give(state) {
    const changed = Object.keys(state).filter(name => this.state[name] !== state[name]);
    Object.assign(this.state, state);
    const told = new Set(changed.flatMap(name => [...this.listeners.get(`change:${name}`) ?? []]));
    told.forEach(listen => listen());
  }

  on(events, listen) {
    for (const event of events.split(" ")) {
      if (!this.listeners.has(event)) { this.listeners.set(event, new Set()); }
      this.listeners.get(event).add(listen);
    }
  }

  off(events, listen) { events.split(" ").forEach(event => this.listeners.get(event)?.delete(listen)); }

  save_changes() {}

  send(message) { this.sent(message); }
}

// The bytes of a data block of the page, which is taken away with that.
export function bytesOf(block) {
  const text = block.textContent;
  block.remove();
  return Uint8Array.fromBase64?.(text) ?? Uint8Array.from(atob(text), sign => sign.charCodeAt(0));
}

export async function unpacked(bytes) {
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

// Pieces of some lengths, one after another.
function pieces(bytes, lengths) {
  let from = 0;
  return lengths.map(length => bytes.subarray(from, from += length));
}

// The sounds of an exhibit: programs, put together from their heads and the tones that they share.
class PageSounds {
  constructor(table, tones) { Object.assign(this, {table, tones, made: new Map()}); }

  program(index) {
    if (!this.made.has(index)) { this.made.set(index, this.make(index)); }
    return this.made.get(index);
  }

  make(index) {
    const head = new TextEncoder().encode(this.table.heads[index]);
    const tones = this.table.parts[index].map(part => this.tones[part]);
    const begins = Math.ceil((4 + head.length) / 8) * 8;
    const program = new Uint8Array(tones.reduce((sum, tone) => sum + tone.length, begins));
    new DataView(program.buffer).setUint32(0, head.length, true);
    program.set(head, 4);
    tones.reduce((at, tone) => { program.set(tone, at); return at + tone.length; }, begins);
    return program;
  }
}

export class PagePanel {
  constructor(figure) {
    const find = selector => figure.querySelector(selector);
    Object.assign(this, {
      figure, image: find("img"), canvas: find("canvas"), sentence: find(".sentence"), voice: find(".spoken"),
      controls: [...figure.querySelectorAll("[data-row]")],
    });
    this.brush = this.canvas.getContext("2d");
    this.seen = [this.sentence.textContent, this.voice.textContent];  // what is on the picture, written and spoken
    this.model = new PageModel(
      {title: figure.dataset.title, holds: true, program: new Uint8Array(), others: {}, chosen: "", playing: false},
      message => { if (message.flip) { this.flip(message.flip); } },
    );
    renderSounding({model: this.model, el: find(".sound")});
    find(".knobs").hidden = false;
    this.enlarge(find(".larger"));
    this.moved = new Set();  // the rows of the knobs that a hand has moved
    this.controls.forEach((control, row) => {
      control.addEventListener("input", () => {
        this.moved.add(row);
        this.turn(row, stopOf(control));
      });
      control.addEventListener("focus", () => this.prepare());
    });
    figure.addEventListener("pointerdown", () => this.prepare());
    new IntersectionObserver(([{isIntersecting}], observer) => {
      if (isIntersecting) {
        observer.disconnect();
        this.prepare();
      }
    }, {rootMargin: "100%"}).observe(figure);
  }

  // On a narrow screen: the picture as large as it was made, to be moved about, and back.
  enlarge(button) {
    button.hidden = false;
    button.addEventListener("click", () => {
      button.setAttribute("aria-pressed", this.figure.classList.toggle("enlarged"));
    });
  }

  // Unpack what the exhibit is moved by; once.
  prepare() { return this.prepared ??= this.unpack(); }

  async unpack() {
    const block = part => bytesOf(document.querySelector(`[data-of="${this.figure.id}"][data-part="${part}"]`));
    const packed = ["table", "tones", "steps"].map(part => unpacked(block(part)));
    const [words, tones, steps] = await Promise.all(packed);
    this.table = JSON.parse(new TextDecoder().decode(words));
    this.sounds = new PageSounds(this.table, pieces(tones, this.table.tones));
    this.stops = this.table.rows.map(({start}) => start);
    this.controls.forEach((control, row) => { if (!this.moved.has(row)) { this.place(control, row); } });
    this.sound(this.setting());
    const sheets = pieces(block("sheets"), this.table.sheets).map(
      sheet => createImageBitmap(new Blob([sheet], {type: "image/webp"})),
    );
    this.pictures = new Mosaics(this.table.grid, new Int32Array(steps.buffer), await Promise.all(sheets), this.brush);
    this.pictures.draw(this.setting()[0]);  // out of sight, so that the first move has less to draw
  }

  // A knob is moved to a stop. One that moves by itself takes the others back to the start, and they it.
  async turn(row, stop) {
    await this.prepare();
    const {rows, together} = this.table;
    rows.forEach(({start}, other) => {
      if (other !== row && !(together.includes(row) && together.includes(other))) { this.stops[other] = start; }
    });
    this.stops[row] = stop;
    this.controls.forEach((control, other) => this.place(control, other));
    this.show();
  }

  // To one of the ways to tune what is heard, as far as there is a picture of it.
  flip(way) {
    const [, stops] = this.table.ways.find(([name]) => name === way);
    stops.forEach(([row, stop]) => this.turn(row, stop));
  }

  place(control, row) {
    const stop = this.stops[row], {said: {[stop]: said}, spoken: {[stop]: spoken}} = this.table.rows[row];
    if (control.type === "checkbox") { control.checked = stop === 1; } else { control.value = stop; }
    if (control.type === "range") {
      control.setAttribute("aria-valuetext", spoken || said);
      control.nextElementSibling.value = said;
    }
  }

  // Where among all settings the knobs are.
  index() {
    const {table: {rows, together, places}, stops} = this;
    const alone = rows.map((_, row) => row).filter(row => !together.includes(row));
    const off = alone.find(row => stops[row] !== rows[row].start);
    if (off === undefined) { return places[together.reduce((at, row) => at * rows[row].said.length + stops[row], 0)]; }
    let at = together.reduce((count, row) => count * rows[row].said.length, 1);
    for (const row of alone) {
      if (row === off) { break; }
      at += rows[row].said.length;
    }
    return places[at + stops[off]];
  }

  setting() { return this.table.settings[this.index()]; }

  show() {
    const setting = this.setting(), [picture, words, spoken] = setting, makesSense = picture !== null;
    if (makesSense) {
      this.seen = [words, spoken || words];
      this.say(...this.seen);
      this.draw(picture);
      this.sound(setting);
    } else {
      this.say(...this.seen.map(before => `${words} The picture stays as it was: ${before}`));
    }
    this.figure.dataset.shown = this.stops.join();
  }

  say(words, spoken) {
    this.sentence.textContent = words;
    clearTimeout(this.speaking);
    this.speaking = setTimeout(() => {
      this.voice.textContent = spoken;
      this.image.alt = this.seen[1];
    }, SPEAK_MS);
  }

  draw(picture) {
    this.pictures.draw(picture);
    this.canvas.hidden = false;
  }

  sound([, , , program, others, chosen]) {
    const names = this.table.ways.map(([name]) => name);
    this.model.give({
      others: Object.fromEntries(names.map((name, place) => [name, this.sounds.program(others[place])])),
      chosen: names[chosen] ?? "",
      program: this.sounds.program(program),
    });
  }
}

function stopOf(control) { return control.type === "checkbox" ? Number(control.checked) : Number(control.value); }
