// What can be done with the chord that is chosen in a chart: hear it, hold on to it, and take another in its place.

import {part} from "../live/sounding.js";

const WHAT_IS_KEPT = "Cents from the piano's key; the bass goes with the chord.";

export function chartButton(words, does, attributes = {}) {
  const button = part("button", "chart-button", {type: "button", ...attributes}, words);
  button.addEventListener("click", () => { if (button.getAttribute("aria-disabled") !== "true") { does(); } });
  return button;
}

// As many children as there are things, made once and then only changed, so that the one with the focus keeps it.
function fill(list, things, make, change) {
  while (list.children.length > things.length) { list.lastChild.remove(); }
  while (list.children.length < things.length) { list.append(make(list.children.length)); }
  things.forEach((thing, n) => change(list.children[n], thing));
}

const press = (button, on) => button.setAttribute("aria-pressed", String(Boolean(on)));

export class ChartChord {
  // `hear` is called with the name of a way or the place of an alternative; `ask` with what Python is to do, and numbers.
  // `element` is about the chord, and `passage` about all chords of some bars.
  constructor(hear, ask) {
    this.hear = hear;
    this.ask = ask;
    this.element = part("div", "chart-chord", {role: "group", "aria-label": "The chosen chord"});
    this.title = part("p", "chart-title", {role: "status"});
    this.why = part("p", "chart-why");
    this.ways = part("div", "chart-row", {role: "group", "aria-label": "Hear this chord"});
    this.voices = part("div", "chart-row", {role: "group", "aria-label": "Keep the note of a voice"});
    this.lock = chartButton("Lock this chord", () => ask("lock"));
    this.everywhere = chartButton("", () => ask("lock everywhere"));
    this.from = numberField("Bars", "From bar");
    this.to = numberField("to", "To bar");
    const bars = chartButton("Lock or free", () => ask("lock bars", this.from.valueAsNumber, this.to.valueAsNumber), {
      title: "Lock all chords of these bars as they are; if all are locked, free them",
    });
    this.passage = part("div", "chart-row", {role: "group", "aria-label": "Several bars"});
    const locks = part("div", "chart-row"), keeping = part("div", "chart-row");
    const left = part("div", "chart-left");
    this.list = part("ul", "chart-alternatives", {
      "aria-label": "What else it could be, best first. Arrow keys go from one to the next.",
    });
    this.list.addEventListener("keydown", event => this.onKey(event));
    this.list.addEventListener("focusin", event => this.toStop(event.target));
    locks.append(this.lock, this.everywhere);
    this.passage.append(this.from.parentNode, this.to.parentNode, bars);
    keeping.append(part("span", "chart-label", {}, "Keep"), this.voices, part("span", "chart-label", {}, WHAT_IS_KEPT));
    left.append(this.title, this.ways, keeping, locks, this.why);
    this.element.append(left, this.list);
  }

  show(chord) {
    this.element.hidden = this.passage.hidden = !chord.title;
    if (!chord.title) { return; }
    this.names = chord.ways;
    this.title.textContent = chord.title;
    this.why.textContent = chord.why;
    fill(this.ways, chord.ways, n => chartButton("", () => this.hear(this.names[n])), (button, way) => {
      button.textContent = `▶ ${way}`;
      button.setAttribute("aria-label", `Hear it ${way}`);
    });
    fill(this.voices, chord.voices, n => chartButton("", () => this.ask("keep", n)), (button, {name, said, kept, stays}) => {
      button.textContent = name;
      button.title = said;
      button.setAttribute("aria-label", said);
      button.setAttribute("aria-disabled", String(!stays));
      press(button, kept);
    });
    press(this.lock, chord.locked);
    press(this.everywhere, chord.everywhere);
    this.everywhere.textContent = `Lock ${chord.written} everywhere`;
    for (const field of [this.from, this.to]) {
      field.max = chord.bars;
      if (this.sign !== chord.sign) { field.value = chord.bar; }
    }
    this.sign = chord.sign;
  }

  // What else the chord could be. Until the rows of this chord are here, those of another can be seen, and do nothing.
  offer({sign, rows = []}) {
    this.offered = sign;
    this.list.setAttribute("aria-busy", String(sign !== this.sign));
    fill(this.list, rows, n => {
      const item = part("li", "chart-alternative");
      const ready = does => () => { if (this.offered === this.sign) { does(); } };
      item.append(chartButton("▶", ready(() => this.hear(n))), chartButton("", ready(() => this.ask("take", n))));
      item.querySelectorAll("button").forEach(button => { button.tabIndex = -1; });
      item.lastChild.append(part("b", "chart-name"), part("small", "chart-mark"), part("span", "chart-price"));
      return item;
    }, ({children: [hear, take]}, {symbol, mark, price, taken}) => {
      hear.setAttribute("aria-label", `Hear ${[symbol, mark].join(" ").trim()}: ${price}`);
      [symbol, mark, price].forEach((words, n) => { take.children[n].textContent = words; });
      press(take, taken);
    });
    this.toStop(this.buttons.find(({tabIndex}) => tabIndex === 0) ?? this.buttons[0]);
  }

  get buttons() { return [...this.list.querySelectorAll("button")]; }

  // Tab comes to one button of the list alone.
  toStop(stop) { this.buttons.forEach(button => { button.tabIndex = button === stop ? 0 : -1; }); }

  onKey(event) {
    const {buttons} = this, here = buttons.indexOf(event.target), end = buttons.length - 2 + here % 2;
    const to = {ArrowUp: here - 2, ArrowDown: here + 2, ArrowLeft: here - here % 2, ArrowRight: here - here % 2 + 1,
      Home: here % 2, End: end}[event.key];
    if (to === undefined) { return; }
    event.preventDefault();
    event.stopPropagation();
    buttons[to]?.focus();
  }
}

function numberField(words, name) {
  const label = part("label", "chart-label", {}, words);
  const field = part("input", "chart-number", {type: "number", min: 0, step: 1, "aria-label": name});
  label.append(field);
  return field;
}
