// What a needle shows of the pitches that are found: still enough to read, at once where the note changes.
//
// Common practice in showing a pitch, with figures that were tried on known sounds: the median of five; a filter of one
// pole, of 80 ms, quicker the farther it has to go; a leap where three pitches agree, without a glide between notes; a
// change by an octave only where eight do, since an octave is what a pitch finder errs by. With a vibrato the mean is
// shown, near which it is heard (J. Shonle, K. Horan, "The pitch of vibrato tones", J. Acoust. Soc. Am. 67, 1980), and
// its width beside it.

const CLEAR = 0.85;  // the clarity that a pitch needs to be shown
const MEDIAN_OF = 5;
const SETTLING = 0.08, QUICKER = 5;  // seconds; and the cents from which on it is half that and less
const LEAP = 30, BEND = 20, SLIDE = 60;  // cents: of a leap; how far three may be from a line, and how far that may go
const OCTAVES = [1200, 2400], OCTAVE_WITHIN = 60, OCTAVE_AFTER = 8;  // cents, and pitches
const BRIDGED = 0.05, HELD = 0.5;  // seconds without a clear pitch that are passed over, and that the last is left to see
const SWING_SECONDS = 0.45, SWING_LEAST = 0.4, SWING_SHARE = 0.5, SWING_DEPTH = 8;  // of a vibrato; its depth in cents
const SWING_RATES = [4.5, 5, 5.5, 6, 6.5, 7, 7.5, 8];  // hertz

export class NeedleMotion {
  constructor() { this.forget(); }

  forget() {
    this.cents = NaN;  // what is shown, above 1 Hz
    this.swing = 0;  // how far a vibrato goes to either side of it, in cents
    this.run = [];  // the clear pitches of the last half second, since the last pause: [seconds, cents]
    this.since = 0;  // how many of them are not of a note before the last leap; 0 if there is no pitch to show yet
    this.heard = this.now = -Infinity;  // the moments of the last clear pitch, and of the last of all
  }

  // Take a pitch in hertz, NaN for none, of a moment in seconds; returns its cents above 1 Hz, NaN if it is not clear.
  take(seconds, hertz, clarity) {
    const step = Math.min(BRIDGED, Math.max(0, seconds - this.now)), cents = 1200 * Math.log2(hertz);
    this.now = seconds;
    if (!(clarity >= CLEAR && hertz > 0)) {
      if (!this.sounds) { Object.assign(this, {run: [], since: 0}); }
      return NaN;
    }
    this.heard = seconds;
    this.run.push([seconds, cents]);
    while (this.run[0][0] < seconds - SWING_SECONDS) { this.run.shift(); }
    this.move(cents, step);
    return cents;
  }

  // Whether there is a clear pitch now, and whether one is to be seen, be it of half a second ago.
  get sounds() { return this.now - this.heard <= BRIDGED; }

  get shows() { return !Number.isNaN(this.cents) && this.now - this.heard <= HELD; }

  move(cents, step) {
    const latest = count => this.run.slice(-count).map(([, one]) => one), [a, b, c] = latest(3);
    const agree = Math.abs(a - 2 * b + c) < BEND && Math.abs(c - a) < SLIDE;  // not where there are two
    if (!this.since) {
      if (agree) { this.leap(c); }
      return;
    }
    this.since++;
    const mean = this.vibrato(), within = LEAP + this.swing, away = cents - this.cents;
    if (agree && Math.abs(away) > within) {
      const octave = OCTAVES.some(size => Math.abs(Math.abs(away) - size) < OCTAVE_WITHIN), last = latest(OCTAVE_AFTER);
      const sure = last.length === OCTAVE_AFTER && Math.max(...last) - Math.min(...last) < SLIDE;
      if (!octave || sure) { this.leap((a + b + c) / 3 + (c - a) / 2); }
      return;
    }
    const rest = (mean ?? median(latest(Math.min(MEDIAN_OF, this.since)))) - this.cents;
    if (Math.abs(rest) > within) { return; }  // a stray one, or the first of a leap
    this.cents += (1 - Math.exp(-step * (1 + Math.abs(rest) / QUICKER) / SETTLING)) * rest;
  }

  leap(cents) {
    this.cents = cents;
    this.since = 3;
  }

  // The mean of a vibrato, if there is one; its depth goes to `swing`. Of the pitches of the last half second, freed of a
  // line, a swing of some rate must make out half.
  vibrato() {
    const {run} = this, [from, to] = [run[0][0], run.at(-1)[0]];
    this.swing = 0;
    if (to - from < SWING_LEAST) { return undefined; }
    const times = run.map(([seconds]) => seconds - (from + to) / 2), cents = run.map(([, one]) => one);
    const {rest, mean} = withoutLine(times, cents), all = rest.reduce((sum, one) => sum + one * one, 0);
    let best = {share: SWING_SHARE};
    for (const rate of SWING_RATES) {
      const found = swingAt(times, rest, rate);
      if (found.sum > best.share * all) { best = {share: found.sum / all, ...found}; }
    }
    if (!(best.depth >= SWING_DEPTH)) { return undefined; }
    this.swing = best.depth;
    return mean + best.level;
  }
}

function median(values) {
  const sorted = [...values].sort((one, other) => one - other);
  return sorted[sorted.length >> 1];
}

function withoutLine(times, values) {
  const count = times.length, mean = values.reduce((sum, one) => sum + one, 0) / count;
  const middle = times.reduce((sum, one) => sum + one, 0) / count;
  const over = times.reduce((sum, one) => sum + (one - middle) ** 2, 0);
  const slope = times.reduce((sum, one, k) => sum + (one - middle) * (values[k] - mean), 0) / over;
  return {mean, rest: values.map((one, k) => one - mean - slope * (times[k] - middle))};
}

// The level, cosine and sine of a rate that are nearest to some values (least squares, by the normal equations): how deep
// the swing is, the level beside it, and how much of the sum of squares they take.
function swingAt(times, values, rate) {
  const columns = times.map(time => [1, Math.cos(2 * Math.PI * rate * time), Math.sin(2 * Math.PI * rate * time)]);
  const sums = [0, 1, 2].map(i => [0, 1, 2].map(j => columns.reduce((sum, row) => sum + row[i] * row[j], 0)));
  const aims = [0, 1, 2].map(i => columns.reduce((sum, row, k) => sum + row[i] * values[k], 0));
  const [level, cosine, sine] = solved(sums, aims);
  return {level, depth: Math.hypot(cosine, sine), sum: level * aims[0] + cosine * aims[1] + sine * aims[2]};
}

// Three equations, by Cramer's rule.
function solved(rows, aims) {
  const determinant = ([[a, b, c], [d, e, f], [g, h, i]]) => a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  const whole = determinant(rows);
  return [0, 1, 2].map(k => determinant(rows.map((row, i) => row.map((one, j) => j === k ? aims[i] : one))) / whole);
}
