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
  // `hear` is called with the name of a way or the place of an alternative; `ask` with what Python is to do.
  constructor(hear, ask) {
    this.hear = hear;
    this.element = part("div", "chart-chord", {role: "group", "aria-label": "The chosen chord"});
    this.title = part("p", "chart-title", {role: "status", tabindex: -1});
    this.why = part("p", "chart-why");
    this.ways = part("div", "chart-ways", {role: "group", "aria-label": "Hear this chord"});
    this.voices = part("div", "chart-voices", {role: "group", "aria-label": "Keep a voice's note"});
    this.lock = chartButton("Lock this chord", () => ask({lock: "chord"}));
    this.everywhere = chartButton("", () => ask({lock: "symbol"}));
    const from = this.from = bar("From bar"), to = this.to = bar("to bar");
    this.passage = chartButton("Lock the passage", () => ask({lock: "passage", from: +from.value, to: +to.value}));
    this.list = part("ul", "chart-alternatives", {"aria-label": "Other ways to tune it, best first"});
    const locks = part("div", "chart-locks"), passage = part("div", "chart-locks"), left = part("div", "chart-left");
    locks.append(this.lock, this.everywhere);
    passage.append(from.parentNode, to.parentNode, this.passage);
    left.append(this.title, this.ways, this.why);
    this.element.append(left, this.list);
    this.ask = ask;
  }

  show(chord) {
    this.element.hidden = !chord.title;
    if (!chord.title) { return; }
    this.title.textContent = chord.title;
    this.why.textContent = chord.why;
    fill(this.ways, chord.ways, n => chartButton("", () => this.hear(this.names[n])), (button, way) => {
      button.textContent = `▶ ${way}`;
      button.setAttribute("aria-label", `Hear it ${way}`);
    });
    this.names = chord.ways;
    fill(this.voices, chord.voices, n => chartButton("", () => this.ask({lock: "voice", voice: n})), (button, voice) => {
      button.textContent = voice.name;
      button.title = voice.said;
      button.setAttribute("aria-label", voice.said);
      press(button, voice.kept);
    });
    press(this.lock, chord.locked);
    press(this.everywhere, chord.everywhere);
    this.everywhere.textContent = `Lock ${chord.written} everywhere`;
    for (const [field, value] of [[this.from, chord.bar], [this.to, chord.bar]]) {
      field.max = chord.bars;
      if (this.of !== chord.sign) { field.value = value; }
    }
    this.of = chord.sign;
    fill(this.list, chord.alternatives, n => {
      const item = part("li", "chart-alternative");
      item.append(chartButton("▶", () => this.hear(n)), chartButton("", () => this.ask({take: n})));
      item.lastChild.append(part("b", "chart-name"), part("span", "chart-price"));
      return item;
    }, ({children: [hear, take]}, {symbol, price, taken}) => {
      hear.setAttribute("aria-label", `Hear ${symbol}`);
      take.firstChild.textContent = symbol;
      take.lastChild.textContent = price;
      press(take, taken);
    });
  }
}

function bar(words) {
  const label = part("label", "chart-label", {}, words), field = part("input", "chart-number", {type: "number", min: 0});
  label.append(field);
  return field;
}
