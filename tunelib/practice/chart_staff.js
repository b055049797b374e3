// The staff of a chart: an engraved drawing under a layer of chord symbols, which are buttons, and of what sounds now.

import {part} from "../live/sounding.js";

const NARROW = 640;  // pixels; below them a line has fewer bars
const EDGE = 24;  // pixels that stay visible beside what is scrolled to
const APART = 8;  // pixels between two symbols
const NARROWEST = 0.6;
const ROUND = {ArrowLeft: -1, ArrowUp: -1, ArrowRight: 1, ArrowDown: 1};

export class ChartStaff {
  // `choose` is called with the place of a symbol that is come to, and whether it is to be heard.
  constructor(choose) {
    this.choose = choose;
    this.window = part("div", "chart-window", {
      role: "group", "aria-label": "The chords of the chart. Arrow keys go from one to the next, Enter plays it.",
    });
    this.page = part("div", "chart-page");
    this.bar = part("div", "chart-bar", {hidden: ""});
    this.drawing = part("div", "chart-drawing");
    this.signs = [];
    this.focused = 0;
    this.page.addEventListener("keydown", event => this.onKey(event));
    this.page.append(this.drawing, this.bar);
    this.window.append(this.page);
    this.seen = new ResizeObserver(() => this.draw());
    this.seen.observe(this.window);
  }

  close() { this.seen.disconnect(); }

  // The drawings for a wide and a narrow page, and what is to be said of each symbol in them.
  show(drawings, signs) {
    this.drawings = drawings;
    this.told = signs;
    while (this.signs.length > signs.length) { this.signs.pop().remove(); }
    while (this.signs.length < signs.length) { this.signs.push(this.button(this.signs.length)); }
    this.drawn = undefined;
    this.name();
    this.draw();
  }

  // What the symbols say, where nothing else has changed.
  name() {
    this.told.forEach(({symbol, said, locked, changed, sounds}, n) => {
      const sign = this.signs[n];
      sign.firstChild.textContent = symbol;
      sign.setAttribute("aria-label", said);
      sign.hidden = !sounds;
      sign.classList.toggle("tunelib-locked", locked);
      sign.classList.toggle("tunelib-changed", changed);
    });
    this.mark(this.focused);
    if (this.drawn) { this.fit(); }
  }

  // The drawing that fits, and each symbol where it is in it.
  draw() {
    if (!this.drawings || !this.window.clientWidth) { return; }
    this.page.classList.toggle("tunelib-chart-plain", !this.drawings.wide);  // without a staff, a row of symbols
    if (!this.drawings.wide) {
      this.drawing.replaceChildren();
      this.bars = [];
      return;
    }
    const kind = this.window.clientWidth < NARROW ? "narrow" : "wide";
    if (this.drawn === kind) { return; }
    this.drawn = kind;
    const parsed = new DOMParser().parseFromString(this.drawings[kind], "image/svg+xml").documentElement;
    const drawing = document.importNode(parsed, true);
    drawing.setAttribute("aria-hidden", "true");
    this.drawing.replaceWith(drawing);  // and the buttons stay, so that the one with the focus keeps it
    this.drawing = drawing;
    this.page.style.setProperty("--wide", drawing.viewBox.baseVal.width);
    this.bars = [...drawing.querySelectorAll("g.measure")].map(bar => this.place(bar));
    drawing.querySelectorAll("g.harm").forEach((harm, n) => {
      const {width, ...place} = this.place(harm);  // it is as wide as its own words
      if (this.signs[n]) { this.put(this.signs[n], place); }
    });
    this.fit();
  }

  // A symbol that would reach into the next one on its line is set narrower.
  fit() {
    this.signs.forEach(sign => sign.style.removeProperty("--narrower"));
    const boxes = this.signs.map(sign => [sign.getBoundingClientRect(), sign.firstChild.getBoundingClientRect().width]);
    boxes.forEach(([box, width], n) => {
      const next = boxes[n + 1]?.[0], room = next && next.left > box.left ? next.left - box.left - APART : Infinity;
      if (width > room) { this.signs[n].style.setProperty("--narrower", Math.max(NARROWEST, room / width)); }
    });
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

  button(n) {
    const button = part("button", "chart-sign", {type: "button", tabindex: -1});
    button.append(part("span", "chart-symbol"));
    button.addEventListener("click", () => this.come(n, true));
    this.page.append(button);
    return button;
  }

  // To a symbol, which then has the one stop for Tab.
  come(n, heard) {
    this.mark(n);
    this.signs[n].focus({preventScroll: true});
    this.reveal(this.signs[n]);
    this.choose(n, heard);
  }

  mark(n) {
    this.focused = Math.max(0, Math.min(n, this.signs.length - 1));
    this.signs.forEach((sign, place) => {
      sign.tabIndex = place === this.focused ? 0 : -1;
      if (place === this.focused) { sign.setAttribute("aria-current", "true"); } else { sign.removeAttribute("aria-current"); }
    });
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

  // What sounds now: a symbol and a bar, by their places, or nothing.
  sound(sign, bar) {
    if (this.signNow === sign && this.barNow === bar) { return; }
    [this.signNow, this.barNow] = [sign, bar];
    this.signs.forEach((button, n) => button.classList.toggle("tunelib-now", n === sign));
    const place = this.bars?.[bar];
    this.bar.hidden = !place;
    if (place) {
      this.put(this.bar, place);
      this.reveal(this.bar);
    }
  }
}
