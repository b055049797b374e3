// The pitch of the newest stretch of a sound, as it comes in.
//
// How well a sound repeats itself after a lag is its clarity there: the autocorrelation over the mean power of the two
// stretches that are compared (the normalised square difference of P. McLeod and G. Wyvill, "A smarter way to find pitch",
// Proc. ICMC, 2005). A window weighs both stretches, evenly about the middle. Every estimate goes the way of
// `track_pitch` in hearing/pitch_track.py, without looking ahead:
//
// 1. Over the last four of the longest periods, the lags that may be the period are the highest maxima of the clarity,
//    with a little off for each octave down, and for what they lack in the autocorrelation of the spectrum's magnitudes
//    (T. Tolonen, M. Karjalainen, "A computationally efficient multipitch analysis model", IEEE Trans. Speech Audio
//    Process. 8, 2000). A lag must also be clear when it is taken several times over.
// 2. The best path through the candidates of all estimates so far, and through "no pitch", at costs for leaps and for
//    beginning and ending as in P. Boersma, "Accurate short-term analysis of the fundamental frequency", Proc. Inst.
//    Phonetic Sciences 17, Amsterdam, 1993: its end is the lag. A leap costs a seventh of what it does there, or a leap
//    that is played would be believed only after a fifth of a second.
// 3. Over the newest four to eight periods, or 36 ms, the lag is measured between the samples: where the clarity has its
//    maximum, interpolated by a sinc under a Gaussian.

import {Fourier} from "./fourier.js";
import {Narrowing} from "./narrowing.js";

const LEAST_CLARITY = 0.6;  // that "no pitch" counts for
const SILENCE_DBFS = -80;
const LONG_WINDOW_PERIODS = 4, SHORT_WINDOW_SECONDS = 0.036;
const MARGIN = 2 ** (1 / 24);  // a quarter-tone: how far outside the bounds a pitch is still looked for
const MOST_CANDIDATES = 7, LEAST_CANDIDATE = 0.2;
const REPEATS = 4, LEEWAY = 0.1;
const MAGNITUDE_SHARE = 0.5, OCTAVE_COST = 0.06, OCTAVE_COST_OF_NOISE = 0.1;
const LEAP_COST = 0.05, VOICING_COST = 0.14, COSTS_SECONDS = 0.010;  // for an octave and a change, in so many seconds
const PIECE = 16;  // samples over which the window is taken to be level, for the power under it
const ROUGH = 8, FINE = 16;  // taps on either side
const FARTHEST = 1.5;  // samples from a whole lag at which its maximum is sought

export class PitchFinder {
  // `rate` is that of the samples to come; `lowest` and `highest` are in hertz.
  constructor(rate, lowest, highest) {
    this.narrowing = new Narrowing(rate, lowest, highest);
    this.rate = this.narrowing.rate;
    this.lowest = lowest;
    this.highest = highest;
    this.length = PIECE * Math.ceil(LONG_WINDOW_PERIODS / lowest * this.rate / PIECE);
    this.longest = this.rate / lowest * MARGIN;
    this.reach = Math.min(Math.ceil(this.longest) + 2 * ROUGH + 1, this.length);
    this.middle = Math.log2(this.rate / Math.sqrt(lowest * highest));  // the lag in octaves that costs nothing
    this.sound = new Float64Array(this.length);
    this.fourier = new Fourier(2 ** Math.ceil(Math.log2(this.length + this.reach)));
    this.re = new Float64Array(this.fourier.size);
    this.im = new Float64Array(this.fourier.size);
    this.window = hann(this.length);
    this.prepare();
    this.shortWindows = new Map();
    this.path = [];  // the candidates of the last estimate, with what the best way to each is worth
    this.since = 0;  // samples since then
  }

  // What depends on the windows alone: their overlap as the magnitudes see it, and the power under them, piece by piece.
  prepare() {
    const {length, reach, window} = this, pieces = length / PIECE;
    this.energy = window.reduce((sum, weight) => sum + weight * weight, 0);
    this.re.fill(0).set(window);
    this.im.fill(0);
    this.fourier.transform(this.re, this.im);
    const size = this.fourier.size, overlap = this.re.map((re, k) => Math.hypot(re, this.im[k]));
    this.re.set(overlap);
    this.im.fill(0);
    this.fourier.transform(this.re, this.im);
    this.overlap = this.re.slice(0, reach).map(value => value / this.re[0]);
    this.spread = new Float64Array(pieces * reach);
    const weight = place => place < 0 || place >= length ? 0 : window[place];
    for (let piece = 0; piece < pieces; piece++) {
      const middle = PIECE * piece + PIECE / 2;
      for (let lag = 0; lag < reach; lag++) {
        this.spread[piece * reach + lag] = size * (weight(middle + lag) + weight(middle - lag)) / 2;
      }
    }
  }

  // Take a block of samples.
  add(block) {
    const kept = this.narrowing.pass(block), {sound} = this;
    const newest = kept.length > sound.length ? kept.slice(-sound.length) : kept;
    sound.copyWithin(0, newest.length);
    sound.set(newest, sound.length - newest.length);
    this.since += kept.length;
  }

  // The pitch now in hertz, NaN where there is none; how clear it is, from 0 to 1; the level in decibels of full scale;
  // and how many seconds before the newest sample the middle of the stretch is that was measured.
  find() {
    const found = this.candidates(), level = 10 * Math.log10(found.power + 1e-30);
    const audible = level > SILENCE_DBFS, lag = this.follow(audible ? found.lags : []);
    const clarity = audible ? found.lags.reduce((most, one) => Math.max(most, one.clarity), 0) : 0;
    if (!lag) { return {hertz: NaN, clarity, level, late: this.length / 2 / this.rate + this.narrowing.delay}; }
    const {period, clear, length} = this.measure(lag), hertz = this.rate / period;
    const sure = clear >= LEAST_CLARITY && hertz >= this.lowest / MARGIN && hertz <= this.highest * MARGIN;
    const late = length / 2 / this.rate + this.narrowing.delay;
    return {hertz: sure ? hertz : NaN, clarity: Math.min(1, Math.max(0, clear)), level, late};
  }

  // The lags at which the clarity has its highest maxima, and the mean power of the stretch.
  candidates() {
    const {length, reach, sound, window, re, im, fourier} = this, {size} = fourier;
    const clear = this.clear ??= new Float64Array(reach), magnitude = this.magnitude ??= new Float64Array(reach);
    re.fill(0);
    im.fill(0);
    clear.fill(0);
    for (let i = 0, piece = 0; i < length; piece += reach) {
      let power = 0;
      for (const end = i + PIECE; i < end; i++) {
        const weighed = re[i] = sound[i] * window[i];
        power += weighed * sound[i];
      }
      for (let lag = 0; lag < reach; lag++) { clear[lag] += power * this.spread[piece + lag]; }
    }
    const power = clear[0] / size / this.energy, least = 1e-9 * clear[0] + 1e-30;
    fourier.transform(re, im);
    // Both autocorrelations are real and even, so one transform does for the two.
    for (let k = 0; k < size; k++) {
      const square = re[k] * re[k] + im[k] * im[k];
      re[k] = square;
      im[k] = Math.sqrt(square);
    }
    fourier.transform(re, im);
    const whole = Math.max(im[0], 1e-30);
    for (let lag = 0; lag < reach; lag++) {
      clear[lag] = re[lag] / Math.max(clear[lag], least);
      magnitude[lag] = im[lag] / whole / this.overlap[lag];
    }
    return {power, lags: this.highestOf(clear, magnitude)};
  }

  highestOf(clear, magnitude) {
    const first = Math.max(1, Math.ceil(this.rate / this.highest / MARGIN - 1));
    const found = [];
    for (let lag = first; lag <= Math.min(this.longest, this.reach - 2); lag++) {
      const before = clear[lag - 1], here = clear[lag], after = clear[lag + 1];
      if (here < before || here <= after || here < LEAST_CANDIDATE) { continue; }
      const bend = Math.min(before - 2 * here + after, -1e-9), top = here - (after - before) ** 2 / (8 * bend);
      const rank = Math.min(top, 1) + MAGNITUDE_SHARE * magnitude[lag] - 2 * OCTAVE_COST * Math.log2(lag);
      found.push({rank, lag: lag + Math.min(0.5, Math.max(-0.5, 0.5 * (before - after) / bend))});
    }
    found.sort((one, other) => other.rank - one.rank);
    return found.slice(0, MOST_CANDIDATES).map(({lag}) => {
      const repeated = Math.min(REPEATS, Math.max(1, Math.floor(this.longest / lag))) * lag;
      const lasting = Math.min(between(clear, lag, ROUGH), between(clear, repeated, ROUGH) + LEEWAY);
      return {lag, octave: Math.log2(lag), clarity: lasting, magnitude: between(magnitude, lag, ROUGH)};
    });
  }

  // The lag at which the best path through all candidates so far has come out; 0 for no pitch.
  follow(lags) {
    const clearest = lags.reduce((most, one) => Math.max(most, one.clarity), 0);
    const leading = lags.reduce((most, one) => Math.max(most, one.magnitude), 1e-9);
    const octaveCost = OCTAVE_COST + OCTAVE_COST_OF_NOISE * Math.min(1, Math.max(0, 1 - clearest));
    const coming = [{lag: 0, score: LEAST_CLARITY}];
    for (const {lag, octave, clarity, magnitude} of lags) {
      if (clarity <= 0) { continue; }
      const score = clarity - MAGNITUDE_SHARE * (1 - magnitude / leading) - octaveCost * (octave - this.middle);
      coming.push({lag, octave, score});
    }
    const scale = COSTS_SECONDS * this.rate / Math.max(1, this.since);
    this.since = 0;
    for (const one of coming) {
      const ways = this.path.map(({lag, octave, worth}) => {
        const leap = lag && one.lag ? LEAP_COST * Math.abs(octave - one.octave) : 0;
        return worth - scale * (leap + VOICING_COST * (!lag !== !one.lag));
      });
      one.worth = one.score + (ways.length ? Math.max(...ways) : 0);
    }
    const best = coming.reduce((most, one) => one.worth > most.worth ? one : most);
    this.path = coming.map(one => ({...one, worth: one.worth - best.worth}));
    return best.lag;
  }

  // The period near a lag that is known roughly, in samples, and the clarity there, over the newest short window.
  measure(lag) {
    const octave = Math.max(0, Math.floor(Math.log2(this.rate / lag / this.lowest)));
    const seconds = Math.max(LONG_WINDOW_PERIODS / this.lowest / 2 ** (octave / 2), SHORT_WINDOW_SECONDS);
    const length = Math.min(2 * Math.round(seconds * this.rate / 2), this.length);
    if (!this.shortWindows.has(length)) { this.shortWindows.set(length, hann(length)); }
    const stretch = this.sound.subarray(this.length - length), window = this.shortWindows.get(length);
    const weighted = stretch.map((sample, i) => sample * window[i]), powers = weighted.map((w, i) => w * stretch[i]);
    const kept = new Map(), at = place => {
      if (!kept.has(place)) { kept.set(place, clarityAt(weighted, powers, window, Math.abs(place))); }
      return kept.get(place);
    };
    let whole = Math.round(lag);
    while (whole > 1 && at(whole - 1) > at(whole)) { whole--; }
    while (whole < length / 2 && at(whole + 1) > at(whole)) { whole++; }
    const [period, clear] = maximum(at, whole);
    return {period, clear, length};
  }
}

function hann(length) { return Float64Array.from({length}, (_, i) => Math.sin(Math.PI * i / length) ** 2); }

// The clarity at one lag: `weighted` is the stretch under its window, `powers` its squares under the same.
function clarityAt(weighted, powers, window, lag) {
  const {length} = weighted;
  let products = 0, power = 0;
  for (let i = length - lag - 1; i >= 0; i--) {
    products += weighted[i] * weighted[i + lag];
    power += powers[i] * window[i + lag] + powers[i + lag] * window[i];
  }
  return products / Math.max(power / 2, 1e-30);
}

// Where values at whole places have their maximum near one of them, and how high it is, by ever narrower parabolas.
function maximum(at, whole) {
  const near = Float64Array.from({length: 2 * FINE + 1}, (_, k) => at(whole + k - FINE));
  let offset = 0;
  for (const width of [0.5, 0.2, 0.05]) {
    const [left, here, right] = [-width, 0, width].map(side => weighed(near, offset + side));
    const bend = left - 2 * here + right;
    const move = bend < 0 ? 0.5 * (left - right) / Math.min(bend, -1e-12) : Math.sign(right - left);
    offset = Math.min(FARTHEST, Math.max(-FARTHEST, offset + width * Math.min(2, Math.max(-2, move))));
  }
  return [whole + offset, weighed(near, offset)];
}

// A value between those of a row, which is even about place 0.
function between(row, place, taps) {
  const whole = Math.round(place), last = row.length - 1;
  const near = Float64Array.from({length: 2 * taps + 1}, (_, k) => row[Math.min(last, Math.abs(whole + k - taps))]);
  return weighed(near, place - whole);
}

// The value at an offset from the middle of some neighbours, by a sinc under a Gaussian.
function weighed(near, offset) {
  const half = (near.length - 1) / 2, spread = 0.1 * near.length, sine = Math.sin(Math.PI * (offset + 1e-12));
  let sum = 0, weights = 0;
  for (let k = -half; k <= half; k++) {
    const away = offset + 1e-12 - k, weight = sine * (k % 2 ? -1 : 1) / away * Math.exp(-0.5 * (away / spread) ** 2);
    sum += weight * near[k + half];
    weights += weight;
  }
  return sum / weights;
}
