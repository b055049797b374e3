// The picture of a needle: the notes of a tuning as the rungs of a ladder, and what is sung as a line that runs across them
// in time, with a bead at its end.

const LINE_SECONDS = 6;  // that the line goes back
const BEAD_PLACE = 0.9;  // of the width
const FEW_STEPS = 2.6, FINE_STEP = 50, COARSE = 1.35;  // steps to either side that are seen; of coarse ones, fewer
const LEAST_SEEN = 60, MOST_SEEN = 330;  // cents to either side
const BAND = 10;  // cents to either side of the target
const LINE_BREAK = 60, LINE_GAP = 0.06;  // cents and seconds over which the line is not drawn on
const STICKS = 0.62;  // of a step: how far from its rung a note is left
const TURNING = 0.12;  // seconds in which the ladder moves to another note
const HELD_ALPHA = 0.4;
const NAME_HEIGHT = 30, NAME_WIDTH = 88;  // pixels

export class NeedleLadder {
  // `scale` is a KeyScale.
  constructor(canvas, scale) {
    this.canvas = canvas;
    this.scale = scale;
    const step = scale.period / scale.count;
    this.half = Math.min(MOST_SEEN, Math.max(LEAST_SEEN, step * (step <= FINE_STEP ? FEW_STEPS : COARSE)));
    this.line = [];  // what was sung: [seconds, cents above step 0], NaN where nothing clear
    this.middle = NaN;  // the cents at the middle of the picture
    this.drawnAt = 0;
  }

  forget() { this.line = []; }

  add(seconds, cents) {
    this.line.push([seconds, cents]);
    while (this.line[0][0] < seconds - LINE_SECONDS) { this.line.shift(); }
  }

  // What the ladder is about: {step, cents, words} of the target, or of the note that is sung, until another is clearly
  // nearer.
  aim(target, cents) {
    if (target) { return this.aimed = target; }
    const {scale} = this, nearest = Number.isNaN(cents) ? this.aimed?.step ?? 0 : scale.nearestTo(cents);
    const here = this.aimed?.step ?? nearest, apart = Math.abs(scale.centsOf(nearest) - scale.centsOf(here));
    const step = Math.abs(cents - scale.centsOf(here)) > STICKS * apart ? nearest : here;
    return this.aimed = {step, cents: scale.centsOf(step), words: scale.full(step)};
  }

  // `now` is the moment at the bead; `target` as `aim` gives it, or none; `needle` has the cents and the swing of what is
  // shown, and whether it sounds. Where motion is not wanted, the ladder is `still`: it is at once where it is to be.
  draw(now, target, needle, still) {
    const brush = this.fitted(), {width, height} = this, look = getComputedStyle(this.canvas);
    const colours = {ink: look.color, paper: look.backgroundColor, mark: look.borderTopColor, quiet: look.outlineColor};
    const aim = this.aim(target, needle.cents), clock = performance.now() / 1000, away = aim.cents - this.middle;
    const turned = still || !(Math.abs(away) < 2 * this.half) ? 1 : 1 - Math.exp(-(clock - this.drawnAt) / TURNING);
    this.middle = turned === 1 ? aim.cents : this.middle + turned * away;
    this.drawnAt = clock;
    const place = cents => height / 2 - (cents - this.middle) / this.half * height / 2;
    const across = seconds => width * BEAD_PLACE - (now - seconds) / LINE_SECONDS * width * BEAD_PLACE;
    brush.clearRect(0, 0, width, height);
    this.drawRungs(brush, place, aim, colours);
    this.drawNames(brush, place, aim, needle, colours);
    this.drawLine(brush, place, across, colours);
    if (!Number.isNaN(needle.cents)) { this.drawBead(brush, place, aim, needle, colours); }
  }

  // Whether it is still on its way to another note.
  get turns() { return Math.abs(this.aimed.cents - this.middle) > 0.2; }

  // The canvas at the size and the density that it has on the page.
  fitted() {
    const {canvas} = this, dense = globalThis.devicePixelRatio || 1;
    [this.width, this.height] = [canvas.clientWidth, canvas.clientHeight];
    const wide = Math.round(this.width * dense), high = Math.round(this.height * dense);
    if (canvas.width !== wide || canvas.height !== high) { Object.assign(canvas, {width: wide, height: high}); }
    const brush = canvas.getContext("2d");
    brush.setTransform(dense, 0, 0, dense, 0, 0);
    return brush;
  }

  drawRungs(brush, place, aim, {mark}) {
    const {width} = this, top = place(aim.cents + BAND), bottom = place(aim.cents - BAND);
    brush.globalAlpha = 0.22;
    brush.fillStyle = mark;
    brush.fillRect(0, top, width, bottom - top);
    brush.globalAlpha = 1;
    brush.strokeStyle = mark;
    const places = this.steps.map(step => this.scale.centsOf(step));
    for (const [cents, wide] of [...places.map(one => [one, 2]), [aim.cents, 5]]) {
      brush.lineWidth = wide;
      brush.beginPath();
      brush.moveTo(0, place(cents));
      brush.lineTo(width, place(cents));
      brush.stroke();
    }
  }

  // The steps that are in the picture, and one more at either end.
  get steps() {
    const {scale, middle, half} = this, from = scale.nearestTo(middle - half) - 1, to = scale.nearestTo(middle + half) + 1;
    return Array.from({length: to - from + 1}, (_, k) => from + k);
  }

  // The names of the rungs; that of the note which sounds is as strong as that of the target.
  drawNames(brush, place, aim, {cents, sounds}, {ink, paper, quiet}) {
    const {scale, height} = this, sung = sounds ? scale.nearestTo(cents) : undefined;
    const others = this.steps.map(step => [place(scale.centsOf(step)), scale.full(step), step === sung, "20px"])
      .filter(([y]) => Math.abs(y - place(aim.cents)) >= NAME_HEIGHT);
    this.family ??= getComputedStyle(this.canvas).fontFamily;
    brush.textBaseline = "middle";
    for (const [y, words, strong, size] of [...others, [place(aim.cents), aim.words, true, "26px"]]) {
      if (y < NAME_HEIGHT / 2 || y > height - NAME_HEIGHT / 2) { continue; }
      brush.font = `${strong ? 700 : 500} ${size} ${this.family}`;
      brush.fillStyle = paper;
      brush.fillRect(0, y - NAME_HEIGHT / 2, brush.measureText(words).width + 14, NAME_HEIGHT);
      brush.fillStyle = strong ? ink : quiet;
      brush.fillText(words, 4, y + 1);
    }
  }

  drawLine(brush, place, across, {ink}) {
    brush.save();
    brush.beginPath();
    brush.rect(NAME_WIDTH, 0, this.width, this.height);
    brush.clip();
    brush.strokeStyle = ink;
    brush.lineWidth = 3;
    brush.lineJoin = brush.lineCap = "round";
    brush.beginPath();
    let [lastSeconds, lastCents] = [-Infinity, NaN];
    for (const [seconds, cents] of this.line) {
      if (Number.isNaN(cents)) { continue; }
      const joined = seconds - lastSeconds < LINE_GAP && Math.abs(cents - lastCents) < LINE_BREAK;
      brush[joined ? "lineTo" : "moveTo"](across(seconds), place(cents));
      [lastSeconds, lastCents] = [seconds, cents];
    }
    brush.stroke();
    brush.restore();
  }

  // A disc where the pitch is within the band, a ring elsewhere, an arrow where it is out of the picture; the width of a
  // vibrato as a pale bar.
  drawBead(brush, place, aim, {cents, swing, sounds}, {ink, paper, mark}) {
    const {width, height} = this, x = width * BEAD_PLACE, y = place(cents);
    brush.globalAlpha = sounds ? 1 : HELD_ALPHA;
    if (y < 0 || y > height) {
      const up = y < 0, tip = up ? 6 : height - 6, base = up ? 30 : height - 30;
      brush.fillStyle = ink;
      brush.beginPath();
      brush.moveTo(x, tip);
      brush.lineTo(x - 16, base);
      brush.lineTo(x + 16, base);
      brush.fill();
    } else {
      if (swing) {
        brush.globalAlpha *= 0.3;
        brush.fillStyle = ink;
        brush.fillRect(x - 9, place(cents + swing), 18, place(cents - swing) - place(cents + swing));
        brush.globalAlpha = sounds ? 1 : HELD_ALPHA;
      }
      brush.beginPath();
      brush.arc(x, y, 13, 0, 2 * Math.PI);
      brush.fillStyle = Math.abs(cents - aim.cents) <= BAND ? mark : paper;
      brush.fill();
      brush.lineWidth = 4;
      brush.strokeStyle = ink;
      brush.stroke();
    }
    brush.globalAlpha = 1;
  }
}
