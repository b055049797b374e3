// What of a panel only the page can see to: which shape of picture suits its width, full screen, and going on by steps.

const STEP_KEYS = {ArrowRight: 1, PageDown: 1, " ": 1, ArrowLeft: -1, PageUp: -1};  // some remote controls send page keys
const MOVED_BY_KEYS = ".noUi-handle, input, select, textarea, [contenteditable]";
const TRIES = 100, TRY_MS = 50;
const AWAKE_MS = 2500;  // for so long the knobs stay on a full screen after the pointer has moved

export function renderFrame({model, el}) {
  const row = document.createElement("div"), ends = [];
  const button = (name, words, act) => {
    const made = document.createElement("button");
    Object.assign(made, {type: "button", className: `tunelib-${name}`, textContent: words});
    made.addEventListener("click", act);
    return made;
  };
  const tell = state => {
    if (Object.entries(state).every(([name, value]) => model.get(name) === value)) { return; }
    model.set(state);
    try { model.save_changes(); } catch { /* without a kernel the picture stays as it is */ }
  };
  const step = by => tell({step: Math.min(model.get("steps"), Math.max(1, model.get("step") + by))});
  const back = button("back", "Back", () => step(-1)), next = button("next", "Next", () => step(1));
  const count = document.createElement("span"), full = button("full", "Full screen", () => turnFull());
  let panel, falling;
  const isFull = () => panel !== undefined && document.fullscreenElement === panel;
  const turnFull = () => isFull() ? document.exitFullscreen() : panel?.requestFullscreen().catch(() => {});

  const show = () => {
    const [steps, at] = [model.get("steps"), model.get("step")];
    for (const part of [back, next, count]) { part.hidden = !steps; }
    back.disabled = at <= 1;
    next.disabled = at >= steps;
    count.textContent = `${at} of ${steps}`;
    full.textContent = isFull() ? "Leave full screen" : "Full screen";
  };
  // Which shape suits the width is the style sheet's to say.
  const measure = () => {
    const body = panel.querySelector(".tunelib-body");
    if (!body?.clientWidth) { return; }
    tell({shape: getComputedStyle(body).getPropertyValue("--tunelib-shape").trim() || "wide", large: isFull()});
  };
  const onFull = () => {
    if (isFull()) { panel.focus(); }  // not a button, which would keep the knobs on the screen
    show();
    measure();
  };
  const wake = () => {
    clearTimeout(falling);
    panel.classList.add("tunelib-awake");
    falling = setTimeout(() => panel.classList.remove("tunelib-awake"), AWAKE_MS);
  };
  // A key that goes a step on or back; in full screen from wherever the keyboard is, but for what keys move itself.
  const onKey = event => {
    const by = STEP_KEYS[event.key], own = row.contains(event.target), space = event.key === " ";
    if (!by || !model.get("steps") || event.ctrlKey || event.metaKey || event.altKey) { return; }
    if (space && event.target.closest("button")) { return; }  // which presses the button
    if (!own && (!isFull() || event.target.closest(MOVED_BY_KEYS))) { return; }
    event.preventDefault();
    event.stopPropagation();
    step(by);
  };
  // In full screen nothing but the panel is there to be meant, wherever the page has the keyboard.
  const onStray = event => {
    if (!isFull() || panel.contains(event.target)) { return; }
    event.stopImmediatePropagation();
    onKey(event);
  };
  const listen = (target, kind, act, capture = false) => {
    target.addEventListener(kind, act, capture);
    ends.push(() => target.removeEventListener(kind, act, capture));
  };
  const begin = tries => {
    panel = el.closest(".tunelib-panel") ?? undefined;
    if (panel === undefined) {
      if (tries > 0) { waiting = setTimeout(begin, TRY_MS, tries - 1); }
      return;
    }
    const calm = matchMedia("(prefers-reduced-motion: reduce)"), size = new ResizeObserver(measure);
    const calmed = () => tell({calm: calm.matches});
    size.observe(panel);
    ends.push(() => size.disconnect());
    panel.tabIndex = -1;
    panel.style.setProperty("--tunelib-paper", model.get("paper"));
    panel.style.setProperty("--tunelib-ink", model.get("ink"));
    listen(calm, "change", calmed);
    listen(panel, "keydown", onKey);
    listen(panel, "pointermove", wake);
    listen(window, "keydown", onStray, true);
    listen(document, "fullscreenchange", onFull);
    calmed();
  };

  row.className = "tunelib-lecture";
  row.setAttribute("role", "group");
  row.setAttribute("aria-label", `Show: ${model.get("title")}`);
  count.setAttribute("role", "status");
  full.hidden = !document.fullscreenEnabled;
  row.append(back, next, count, full);
  el.append(row);
  model.on("change:step change:steps", show);
  show();
  let waiting = setTimeout(begin, 0, TRIES);
  return () => {
    [waiting, falling].forEach(clearTimeout);
    ends.forEach(end => end());
    model.off("change:step change:steps", show);
  };
}
