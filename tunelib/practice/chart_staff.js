// The staff of a chart: an engraved drawing under a layer of chord symbols, which are buttons, and of what sounds now.

import {part} from "../live/sounding.js";

const NARROW = 640;  // pixels; below them a line has fewer bars
const EDGE = 24;  // pixels that stay visible beside what is scrolled to
const APART = 14;  // pixels between two symbols
const NARROWEST = 0.6;
const ROUND = {ArrowLeft: -1, ArrowUp: -1, ArrowRight: 1, ArrowDown: 1};

export class ChartStaff {
  // `choose` is called with the number of a chord sign that is come to, and whether it is to be heard; `become` with whether
  // the page is narrow, whenever that changes.
  constructor(choose, become) {
    this.choose = choose;
    this.window = part("div", "chart-window", {
      role: "group", "aria-label": "The chords of the chart. Arrow keys go from one to the next, Enter plays it.",
    });
    this.page = part("div", "chart-page");
    this.drawing = part("div", "chart-drawing");
    this.bar = part("div", "chart-bar", {hidden: ""});
    this.signs = [];  // the buttons
    this.told = [];  // what is to be known of each
    this.focused = 0;
    this.page.addEventListener("keydown", event => this.onKey(event));
    this.page.append(this.drawing, this.bar);
    this.window.append(this.page);
    this.narrow = undefined;
    this.seen = new ResizeObserver(() => {
      const narrow = this.window.clientWidth < NARROW;
      if (this.window.clientWidth && narrow !== this.narrow) { become(this.narrow = narrow); }
      this.draw(this.text);
    });
    this.seen.observe(this.window);
  }

  close() { this.seen.disconnect(); }

  // What each symbol is, and what is said of it.
  name(told) {
    this.told = told;
    while (this.signs.length > told.length) { this.signs.pop().remove(); }
    while (this.signs.length < told.length) { this.signs.push(this.button(this.signs.length)); }
    told.forEach(({symbol, mark, said, locked, changed, sounds}, n) => {
      const sign = this.signs[n], [letters, small] = sign.firstChild.children;
      letters.textContent = symbol;
      small.textContent = mark;
      sign.setAttribute("aria-label", said);
      sign.hidden = !sounds;
      sign.classList.toggle("tunelib-locked", locked);
      sign.classList.toggle("tunelib-changed", changed);
    });
    this.toStop(this.focused);
    this.fit();
  }

  button(n) {
    const button = part("button", "chart-sign", {type: "button"});
    const symbol = part("span", "chart-symbol");
    symbol.append(part("span", "chart-letters"), part("small", "chart-mark"));
    button.append(symbol);
    button.addEventListener("click", () => this.come(n, true));
    this.page.append(button);
    return button;
  }

  // The drawing, once the page has a width, and each symbol where it is in it; without one, a row of symbols.
  draw(text) {
    this.text = text;
    if (!this.window.clientWidth || this.drawn === text) { return; }
    this.drawn = text;
    const parsed = text && new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    const drawing = parsed ? document.importNode(parsed, true) : part("div", "chart-drawing");
    drawing.setAttribute("aria-hidden", "true");
    this.drawing.replaceWith(drawing);  // and the buttons stay, so that the one with the focus keeps it
    this.drawing = drawing;
    this.page.classList.toggle("tunelib-chart-plain", !text);
    this.page.style.setProperty("--wide", drawing.viewBox?.baseVal.width ?? 1);
    this.bars = [...drawing.querySelectorAll("g.measure")].map(bar => this.place(bar));
    drawing.querySelectorAll("g.harm").forEach((harm, n) => {
      const {left, top, height} = this.place(harm);
      if (this.signs[n]) { this.put(this.signs[n], {left, top, height}); }  // it is as wide as its own words
    });
    this.fit();
  }

  // Where a part of the drawing is, in parts of the whole.
  place(element) {
    const whole = this.page.getBoundingClientRect(), box = element.getBoundingClientRect();
    return {
      left: (box.left - whole.left) / whole.width, top: (box.top - whole.top) / whole.height,
      width: box.width / whole.width, height: box.height / whole.height,
    };
  }

  put(element, place) {
    for (const [side, share] of Object.entries(place)) { element.style[side] = `${100 * share}%`; }
  }

  // Where a symbol would reach into the next one, all of its line are set narrower.
  fit() {
    this.signs.forEach(sign => sign.style.removeProperty("--narrower"));
    const boxes = this.signs.map(sign => [sign.getBoundingClientRect(), sign.firstChild.getBoundingClientRect().width]);
    let line = [], share = 1;
    boxes.forEach(([box, width], n) => {
      const next = boxes[n + 1]?.[0], goesOn = next && next.left > box.left;
      line.push(this.signs[n]);
      if (goesOn) { share = Math.min(share, (next.left - box.left - APART) / width); }
      if (!goesOn) {
        if (share < 1) { line.forEach(sign => sign.style.setProperty("--narrower", Math.max(NARROWEST, share))); }
        [line, share] = [[], 1];
      }
    });
  }

  // To a symbol, by its place.
  come(n, heard) {
    this.toStop(n);
    this.signs[n].focus({preventScroll: true});
    this.reveal(this.signs[n]);
    this.choose(this.told[n].sign, heard);
  }

  // Mark the sign of a number as the one that is chosen.
  mark(sign) {
    const n = this.told.findIndex(one => one.sign === sign);
    if (this.told[this.focused]?.sign !== sign && n >= 0) { this.toStop(n); }
    this.signs.forEach((button, place) => {
      if (this.told[place].sign === sign) { button.setAttribute("aria-current", "true"); }
      else { button.removeAttribute("aria-current"); }
    });
  }

  // Tab comes to one symbol alone.
  toStop(n) {
    this.focused = Math.max(0, Math.min(n, this.signs.length - 1));
    this.signs.forEach((sign, place) => { sign.tabIndex = place === this.focused ? 0 : -1; });
  }

  onKey(event) {
    const there = this.signs.filter(sign => !sign.hidden), here = there.indexOf(event.target);
    const to = {Home: 0, End: there.length - 1}[event.key] ?? here + ROUND[event.key];
    if (here < 0 || Number.isNaN(to)) { return; }
    event.preventDefault();
    event.stopPropagation();
    if (there[to]) { this.come(this.signs.indexOf(there[to]), false); }
  }

  // Scroll within the window, and never the page around it.
  reveal(element) {
    const box = element.getBoundingClientRect(), window = this.window.getBoundingClientRect();
    if (box.top < window.top + EDGE) { this.window.scrollTop += box.top - window.top - EDGE; }
    if (box.bottom > window.bottom - EDGE) { this.window.scrollTop += box.bottom - window.bottom + EDGE; }
  }

  // What sounds now: a chord sign, by its number, and a bar, by its place; or nothing.
  sound(sign, bar) {
    if (this.signNow === sign && this.barNow === bar) { return; }
    [this.signNow, this.barNow] = [sign, bar];
    this.signs.forEach((button, n) => button.classList.toggle("tunelib-now", sign >= 0 && this.told[n].sign === sign));
    const place = this.bars?.[bar];
    this.bar.hidden = !place;
    if (place) {
      this.put(this.bar, place);
      this.reveal(this.bar);
    }
  }
}
