// What a player likes, as controls in plain words. Python says which there are, and where they are set.

import {part} from "../live/sounding.js";

export class ChartTaste {
  // `set` is called with all of them, when one has been moved and let go.
  constructor(set) {
    this.set = set;
    this.element = part("details", "chart-fold");
    this.place = part("div", "chart-taste");
    this.element.append(part("summary", "chart-summary", {}, "Taste, voicing, feel, players"), this.place);
    this.fields = new Map();
  }

  // A list of [name, label, value, what it can be]: the ends and the step of a slider, choices, an example of words, or
  // nothing.
  show(knobs) {
    for (const [name, words, value, range] of knobs) {
      if (!this.fields.has(name)) { this.add(name, words, range); }
      const field = this.fields.get(name);
      if (field.type === "checkbox") { field.checked = value; } else { field.value = value; }
      field.nextSibling?.replaceChildren(String(value));
    }
    this.knobs = knobs;
  }

  add(name, words, range) {
    const label = part("label", "chart-label", {}, words), field = fieldFor(range);
    field.setAttribute("aria-label", words);  // without the value, which the label has too
    label.append(field);
    if (field.type === "range") {
      const readout = part("output", "chart-readout");
      label.append(readout);
      field.addEventListener("input", () => readout.replaceChildren(field.value));
    }
    field.addEventListener("change", () => this.changed());
    this.fields.set(name, field);
    this.place.append(label);
  }

  changed() {
    const now = ({type, checked, value}) => ({checkbox: checked, range: Number(value)}[type] ?? value);
    this.set(this.knobs.map(([name, words, , range]) => [name, words, now(this.fields.get(name)), range]));
  }
}

function fieldFor(range) {
  if (range?.choices) {
    const field = part("select", "chart-choice");
    field.append(...range.choices.map(choice => new Option(choice, choice)));
    return field;
  }
  if (range?.text !== undefined) { return part("input", "chart-words", {type: "text", placeholder: range.text}); }
  return part("input", "chart-knob", range ? {type: "range", min: range.low, max: range.high, step: range.step} : {
    type: "checkbox",
  });
}
