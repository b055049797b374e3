// How the keys look: by the colours of the page around them, light or dark. What is held is inverted and sunk, what is
// lit has a thick edge and a dot, so that neither hangs on a colour.

export const KEY_STYLE = `
.tunelib-keys { --ink: var(--jp-ui-font-color0, CanvasText); --paper: var(--jp-layout-color0, Canvas);
  --soft: color-mix(in srgb, var(--ink) 12%, var(--paper)); --edge: color-mix(in srgb, var(--ink) 55%, var(--paper));
  --mark: #0072B2; color: var(--ink); font: 14px/1.35 var(--jp-ui-font-family, system-ui, sans-serif); max-width: 100%; }
.tunelib-keys * { box-sizing: border-box; }
.tunelib-keys .title { font-weight: 600; margin: 0 0 4px; }
.tunelib-keys .window { overflow: auto hidden; max-width: 100%; padding: 3px; scrollbar-width: thin; }
.tunelib-keys .board { position: relative; margin: 0 auto; touch-action: none; user-select: none;
  -webkit-user-select: none; width: calc(var(--wide) * var(--unit)); height: calc(var(--high) * var(--unit)); }
.tunelib-keys .board svg { position: absolute; inset: 0; width: 100%; height: 100%; overflow: visible;
  stroke: var(--edge); pointer-events: none; }
.tunelib-keys .key { position: absolute; padding: 0; margin: 0; overflow: hidden; white-space: nowrap; cursor: pointer;
  left: calc(var(--x) * var(--unit)); top: calc(var(--y) * var(--unit)); width: calc(var(--w) * var(--unit));
  height: calc(var(--h) * var(--unit)); border: 1px solid var(--edge); border-radius: 5px; background: var(--soft);
  color: var(--ink); font: inherit; font-size: clamp(12px, calc(var(--unit) * 0.36), 17px); line-height: 1;
  letter-spacing: -0.04em; touch-action: none; -webkit-tap-highlight-color: transparent; }
.tunelib-keys .key.plain { background: var(--paper); font-weight: 600; }
.tunelib-keys .key.half { border-style: dashed; border-radius: 12px; }
.tunelib-keys .key.lit { border: 3px solid var(--mark); }
.tunelib-keys .key.lit::before { content: ""; position: absolute; top: 1px; left: calc(50% - 3px); width: 6px;
  height: 6px; border-radius: 3px; background: currentColor; }
.tunelib-keys .key[aria-pressed=true] { background: var(--ink); color: var(--paper); box-shadow: inset 0 0 0 2px
  var(--paper); border: 2px solid var(--ink); font-weight: 700; }
.tunelib-keys .key.away { visibility: hidden; }
.tunelib-keys :is(.key, button, select, input, summary):focus-visible { outline: 3px solid var(--ink); outline-offset: 1px;
  z-index: 1; }
.tunelib-keys .said { margin: 4px 0; min-height: 4.1em; }
.tunelib-keys .said b { display: block; min-height: 1.35em; }
.tunelib-keys .tools { display: flex; flex-wrap: wrap; gap: 4px 6px; align-items: center; }
.tunelib-keys .tools :is(button, select, input) { min-height: 28px; min-width: 28px; margin: 0; padding: 2px 8px;
  font: inherit; font-size: 13px; color: var(--ink); background: var(--paper); border: 1px solid var(--edge);
  border-radius: 4px; }
.tunelib-keys .tools select { padding: 2px 4px; max-width: 15em; }
.tunelib-keys .tools input[type=number] { width: 4.6em; padding: 2px 4px; }
.tunelib-keys .tools input[type=range] { width: 90px; padding: 0; accent-color: var(--ink); }
.tunelib-keys .tools button[aria-pressed=true] { background: var(--ink); color: var(--paper); font-weight: 600; }
.tunelib-keys .tools button[aria-pressed=true]::before { content: "✓ "; }
.tunelib-keys .tools label { display: inline-flex; gap: 4px; align-items: center; font-size: 13px; }
.tunelib-keys .more { margin-top: 4px; } .tunelib-keys summary { cursor: pointer; font-size: 13px; min-height: 24px; }
.tunelib-keys [hidden] { display: none !important; }
.tunelib-keys .hint { margin: 4px 0 0; font-size: 13px; }
@media (pointer: coarse) { .tunelib-keys .tools :is(button, select, input) { min-height: 36px; min-width: 36px; } }
@media print { .tunelib-keys .tools, .tunelib-keys .more { margin-top: 4px; } .tunelib-keys summary { cursor: pointer; font-size: 13px; min-height: 24px; }
.tunelib-keys [hidden] { display: none !important; }
.tunelib-keys .hint { display: none; } }
`;
