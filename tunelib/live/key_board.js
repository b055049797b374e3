// The board: a button for each key at the place that Python worked out, and the way from one to the next.

import {part} from "./sounding.js";

const SMALLEST = 26, SMALLEST_OF_TWO_LINES = 32, LARGEST = 48;  // pixels
const SMALLEST_TOUCHED = 36, SMALLEST_THAT_FIT = 28;  // by a finger; and where all keys are then seen at once
const MOST_OF_THE_PAGE = 0.5;  // of its height, for the board
const CAN_BE_TOUCHED = "(pointer: coarse)";
const SVG = "http://www.w3.org/2000/svg";
const SIGNS = {
  Semicolon: ";", Quote: "'", Comma: ",", Period: ".", Slash: "/", BracketLeft: "[", BracketRight: "]", Minus: "-",
  Equal: "=",
};
const WAYS = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1]};

export function printedOn(code, printed) { return (printed?.get(code) ?? SIGNS[code] ?? code.at(-1) ?? "").toUpperCase(); }

export class KeyBoard {
  // `signs` are the outlines of the signs that names have, as `SignOutline` in Python.
  constructor(table, scale, signs) {
    Object.assign(this, {table, scale, signs, shift: 0, lit: [], faint: [], held: []});
    this.shown = [];  // what stands on each key
    this.smallest = scale.names.some(isCounted) ? SMALLEST_OF_TWO_LINES : SMALLEST;
    this.window = part("div", "board-window");
    this.board = part("div", "board", {role: "group", "data-layout": table.arrangement});
    this.board.style.setProperty("--wide", table.width);
    this.board.style.setProperty("--high", table.height);
    this.board.append(linesOf(table), ...table.keys.map((place, n) => this.button(place, n)));
    this.buttons = [...this.board.querySelectorAll("button")];
    this.focused = 0;
    this.board.addEventListener("focusin", ({target}) => this.noteFocus(this.keyAt(target)));
    this.board.addEventListener("contextmenu", event => event.preventDefault());  // which a long touch would open
    this.window.append(this.board);
    this.fitting = new ResizeObserver(() => this.fit());
    this.fitting.observe(this.window);
    this.show();
  }

  button(place, n) {
    const button = part("button", "key", {type: "button", tabindex: n ? -1 : 0});
    const {x, y, width, height} = place;
    for (const [name, value] of [["--x", x - width / 2], ["--y", y - height / 2], ["--w", width], ["--h", height]]) {
      button.style.setProperty(name, value);
    }
    button.dataset.n = n;
    return button;
  }

  // As many pixels to a key as there is room for, within what a hand can hit.
  fit() {
    const room = this.window.clientWidth - 8, {width, height} = this.table;
    if (room <= 0) { return; }
    const touched = room / width >= SMALLEST_THAT_FIT ? SMALLEST_THAT_FIT : SMALLEST_TOUCHED;
    const least = matchMedia(CAN_BE_TOUCHED).matches ? Math.max(touched, this.smallest) : this.smallest;
    const unit = Math.min(LARGEST, room / width, MOST_OF_THE_PAGE * innerHeight / height);
    this.board.style.setProperty("--unit", `${Math.max(least, unit)}px`);
    this.overflows?.(this.window.scrollWidth > this.window.clientWidth + 1);
  }

  // To the left or right by most of what is seen.
  page(by) { this.window.scrollBy({left: by * 0.8 * this.window.clientWidth}); }

  stepOf(n) { return this.table.keys[n].step + this.shift * this.scale.count; }

  keyAt(target) {
    const button = target instanceof Element ? target.closest(".tunelib-key") : null;
    return button && this.board.contains(button) ? Number(button.dataset.n) : undefined;
  }

  keyOfCode(code) { return code ? this.table.keys.findIndex(place => place.code === code) : -1; }

  // Tab comes back to the key that had the focus last.
  noteFocus(n) {
    this.buttons[this.focused].tabIndex = -1;
    this.focused = n;
    this.buttons[n].tabIndex = 0;
  }

  focus(n, scroll = false) {
    this.buttons[n].focus({preventScroll: !scroll});
    if (scroll) { this.buttons[n].scrollIntoView({block: "nearest", inline: "nearest"}); }
  }

  // The nearest key in the direction of an arrow; the same where there is none.
  toward(arrow) {
    const [right, down] = WAYS[arrow], from = this.table.keys[this.focused];
    let best = this.focused, least = Infinity;
    this.table.keys.forEach(({x, y}, n) => {
      const along = (x - from.x) * right + (y - from.y) * down;
      const beside = Math.abs((x - from.x) * down) + Math.abs((y - from.y) * right);
      if (along > 0.05 && along >= beside * 0.5 && along + 2 * beside < least) { [best, least] = [n, along + 2 * beside]; }
    });
    this.focus(best, true);
  }

  // Names, marks and what is held, as they are now.
  show() {
    this.table.keys.forEach((place, n) => {
      const step = this.stepOf(n), button = this.buttons[n], name = place.name || this.scale.name(step);
      const letter = place.code ? printedOn(place.code, this.printed) : "";
      const text = this.letters && letter ? letter : name;
      if (this.shown[n] !== text) {
        this.shown[n] = text;
        button.replaceChildren(...lettering(text, this.signs));
      }
      const lit = this.lit.includes(step), faint = lit && this.faint.includes(step);
      button.className = `tunelib-key${kindOf(name)}${faint ? " tunelib-faint" : lit ? " tunelib-lit" : ""}`;
      button.setAttribute("aria-pressed", this.held.includes(step));
      button.title = isCounted(name) ? this.scale.full(step) : "";
      button.setAttribute("aria-label", this.scale.aloud(step) + (faint ? ", lit faintly" : lit ? ", lit" : ""));
      if (letter) { button.setAttribute("aria-keyshortcuts", letter); }
    });
  }

  close() { this.fitting.disconnect(); }
}

function kindOf(name) {
  const kind = name.includes("½") ? " tunelib-half" : /[♯♭+−]/.test(name) ? "" : " tunelib-natural";
  return isCounted(name) ? `${kind} tunelib-counted` : kind;
}

// Whether a name is counted in steps from another, as D♭−1 is.
function isCounted(name) { return /[+−]/.test(name); }

// A name as it stands on a key: the letter with its sign, drawn as on the staff, and what is counted from it in steps, which
// takes a line of its own where there is no room beside.
function lettering(name, signs) {
  const [, letter, sign, steps] = name.match(/^([A-G])([^+−]*)([+−].*)?$/) ?? [];
  if (!letter) { return [name]; }
  const word = part("span", "letter", {}, letter);
  if (sign) { word.append(signs[sign] ? signDrawn(signs[sign]) : sign); }
  return steps ? [word, part("span", "letter", {}, steps)] : [word];
}

function signDrawn({outline, matrix, advance, foot, top}) {
  const drawing = drawn("svg", {viewBox: `0 ${-top} ${advance} ${top - foot}`, "aria-hidden": "true"});
  for (const [name, ems] of [["--w", advance], ["--h", top - foot], ["--foot", foot]]) {
    drawing.style.setProperty(name, ems);
  }
  drawing.append(drawn("path", {d: outline, transform: `scale(1, -1) matrix(${matrix.join(" ")})`}));
  return drawing;
}

function linesOf({lines, width, height, clef}) {
  const drawing = drawn("svg", {viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true"});
  drawing.append(...lines.map(({broad, ...ends}) => drawn("line", {
    ...ends, "vector-effect": "non-scaling-stroke", "stroke-width": broad ? 5 : 1,
  })));
  if (clef.outline) {
    const transform = `translate(${clef.x}, ${clef.y}) scale(${clef.scale}, ${-clef.scale})`;
    drawing.append(drawn("path", {d: clef.outline, transform}));
  }
  return drawing;
}

function drawn(tag, attributes) {
  const made = document.createElementNS(SVG, tag);
  Object.entries(attributes).forEach(([name, value]) => made.setAttribute(name, value));
  return made;
}
