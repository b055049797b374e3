// Keys that are pressed on our parts of a page stay there: in a notebook a B would insert a cell, and two Ds delete one.

const GUARDED = "tunelib-guarded";
const PLAYED = ".tunelib-keys";  // which takes every key for itself
// What a part does with a key by a script of its own; all else is the browser's doing, and is still done.
const OWN_KEYS = [
  [".noUi-handle", ["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "PageUp", "PageDown", "Home", "End"]],
  [".widget-readout", ["Enter"]],
  [".tunelib-chart-sign, .tunelib-chart-alternative button", ["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "Home", "End"]],
  [".tunelib-drill", [..."123456789"]],
  [".tunelib-lecture, .tunelib-panel:fullscreen", ["ArrowLeft", "ArrowRight", "PageUp", "PageDown", " "]],
  [".tunelib-drill-words", [" ", "Enter"]],
];
const SAVES = "s";  // with Ctrl or Cmd: what the notebook may do meanwhile

// Keep the keys that are pressed within an element from everyone else, as long as it is on the page.
export function guard(element) {
  element.classList.add(GUARDED);
  element.setAttribute("data-lm-suppress-shortcuts", "true");  // for a listener of the notebook's that comes before ours
  const there = Symbol.for("tunelib.guard");  // one listener does for a page, however many scripts ask for it
  if (!globalThis[there]) { window.addEventListener("keydown", globalThis[there] = keepKey, true); }
}

function keepKey(event) {
  const {target, key, shiftKey} = event, commanded = event.ctrlKey || event.metaKey;
  if (!(target instanceof Element) || !target.closest(`.${GUARDED}`) || target.closest(PLAYED)) { return; }
  if (commanded && !event.altKey && !shiftKey && key === SAVES) { return; }
  const own = !commanded && !event.altKey && !shiftKey;
  if (own && OWN_KEYS.some(([part, keys]) => target.closest(part) && keys.includes(key))) { return; }
  event.stopImmediatePropagation();
}
