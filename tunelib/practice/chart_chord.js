// What can be done with the chord that is chosen in a chart: hear it, hold on to it, and take another in its place.

import {part} from "../live/sounding.js";

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
    const bars = chartButton("Lock or free", () => ask("lock bars", this.from.valueAsNumber, this.to.valueAsNumber));
    const locks = part("div", "chart-row"), keeping = part("div", "chart-row"), passage = part("div", "chart-row");
    const left = part("div", "chart-left");
    this.list = part("ul", "chart-alternatives", {"aria-label": "What else it could be, best first"});
    locks.append(this.lock, this.everywhere);
    passage.append(this.from.parentNode, this.to.parentNode, bars);
    keeping.append(part("span", "chart-label", {}, "Keep"), this.voices);
    left.append(this.title, this.ways, keeping, locks, passage, this.why);
    this.element.append(left, this.list);
  }

  show(chord) {
    this.element.hidden = !chord.title;
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
      item.lastChild.append(part("b", "chart-name"), part("span", "chart-price"));
      return item;
    }, ({children: [hear, take]}, {symbol, price, taken}) => {
      hear.setAttribute("aria-label", `Hear ${symbol}: ${price}`);
      take.firstChild.textContent = symbol;
      take.lastChild.textContent = price;
      press(take, taken);
    });
  }
}

function numberField(words, name) {
  const label = part("label", "chart-label", {}, words);
  const field = part("input", "chart-number", {type: "number", min: 0, step: 1, "aria-label": name});
  label.append(field);
  return field;
}
