// Keys that are pressed on our parts of a page stay there: in a notebook a B would insert a cell, and two Ds delete one.

const WRITING = "input:not([type=checkbox], [type=range], [type=radio]), textarea, select, [contenteditable=true]";
const SLIDING = ".noUi-handle";
const SLIDES = new Set(["ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "PageUp", "PageDown", "Home", "End"]);

const PLAYED = ".tunelib-keys";  // which takes every key for itself

// Keep the keys that are pressed within an element from everyone else; returns a function that ends it.
export function guard(element) {
  element.setAttribute("data-lm-suppress-shortcuts", "true");  // by which the notebook's own shortcuts step back
  const stop = event => {
    const {target, key} = event, mine = target instanceof Element && element.contains(target);
    if (!mine || target.closest(PLAYED) || event.ctrlKey || event.metaKey || event.altKey || key === "Tab") { return; }
    if (target.closest(WRITING) || (target.closest(SLIDING) && SLIDES.has(key))) { return; }
    event.stopImmediatePropagation();  // what the browser itself does with the key, it still does
  };
  window.addEventListener("keydown", stop, true);
  return () => window.removeEventListener("keydown", stop, true);
}
