// A learner's progress on pages without Python: the same facts as progress.py keeps, in the browser's own storage, for all
// pages of one place. Nothing leaves the machine. Where storage is refused, a page keeps them as long as it is open.

const PROGRESS_PLACE = "tunelib.progress", PROGRESS_FORMAT = 1;
export const NOTHING_DONE = {tries: 0, right: "", hint: false, worked: false};

export class Progress {
  #held = {};  // what cannot be stored
  #listeners = new Set();
  kept = true;  // whether it will still be there when the page is opened again

  constructor(storage = () => globalThis.localStorage) {
    this.storage = storage;
    try { this.kept = !isNewer(storage().getItem(PROGRESS_PLACE)); } catch { this.kept = false; }
    globalThis.addEventListener?.("storage", event => { if (event.key === PROGRESS_PLACE) { this.#tell(); } });
  }

  // What was done on a step's exercise: tries until it was right, when that was, and what was opened before.
  done(step) { return this.all()[step] ?? NOTHING_DONE; }

  // What was done on every step that was worked on, by its number.
  all() { return {...this.#stored(), ...this.#held}; }

  tried(step, right) {
    this.#add(step, before => ({...before, tries: before.tries + 1, right: right ? momentNow() : ""}));
  }

  // `what` is "hint" or "worked".
  opened(step, what) { this.#add(step, before => ({...before, [what]: true})); }

  forget() {
    this.#held = {};
    try { this.storage().removeItem(PROGRESS_PLACE); } catch { /* nothing was stored there */ }
    this.#tell();
  }

  // Call a function whenever something has changed, also from another page.
  onChange(listen) { this.#listeners.add(listen); }

  #add(step, change) {
    const before = this.done(step);
    if (before.right) { return; }  // once it was right, nothing changes
    this.#held[step] = change(before);
    this.#store();
    this.#tell();
  }

  #store() {
    try {
      const storage = this.storage(), text = storage.getItem(PROGRESS_PLACE);
      this.kept = !isNewer(text);  // what a later version of these pages has stored is left alone
      if (!this.kept) { return; }
      if (text !== null && stepsIn(text) === undefined) { storage.setItem(`${PROGRESS_PLACE}.damaged`, text); }
      storage.setItem(PROGRESS_PLACE, JSON.stringify({format: PROGRESS_FORMAT, steps: this.all()}));
      this.#held = {};
    } catch {
      this.kept = false;
    }
  }

  #stored() {
    try { return stepsIn(this.storage().getItem(PROGRESS_PLACE) ?? "") ?? {}; } catch { return {}; }
  }

  #tell() { this.#listeners.forEach(listen => listen()); }
}

// The steps in what is stored, or undefined if it is none of ours or damaged.
function stepsIn(text) {
  try {
    const {format, steps} = JSON.parse(text);
    return format === PROGRESS_FORMAT && Object.values(steps).every(isDone) ? steps : undefined;
  } catch {
    return undefined;
  }
}

function isNewer(text) {
  try { return JSON.parse(text).format > PROGRESS_FORMAT; } catch { return false; }
}

function isDone(one) {
  const day = one.right === "" || !Number.isNaN(Date.parse(one.right));
  return Number.isInteger(one.tries) && day && typeof one.hint === "boolean" && typeof one.worked === "boolean";
}

const momentNow = () => new Date().toISOString().replace(/\.\d+Z$/, "+00:00");

// The day of a moment in words, such as "3 May 2026".
export function dayOf(moment) {
  return new Date(moment).toLocaleDateString("en-GB", {day: "numeric", month: "long", year: "numeric"});
}
