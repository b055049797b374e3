// The band in which a pitch is looked for, at the lower sample rate that it needs, from blocks as they come.

const LEAST_RATE = 16000, LEAST_RATE_OVER_HIGHEST = 5;
const PASS_EDGE = 0.6, STOP_EDGE = 0.85;  // of half the new rate: little interpolation is needed below that
const TAPS_AN_EDGE = 3.1;  // of a filter under a Hann window, by the inverse of its edge's width
const RUMBLE = 0.5;  // of the lowest pitch: where the fade to lower frequencies is at 3 dB

export class Narrowing {
  constructor(rate, lowest, highest) {
    this.factor = Math.max(1, Math.floor(rate / Math.max(LEAST_RATE, LEAST_RATE_OVER_HIGHEST * highest)));
    this.rate = rate / this.factor;
    this.taps = lowPass((PASS_EDGE + STOP_EDGE) / 4 / this.factor, (STOP_EDGE - PASS_EDGE) / 2 / this.factor);
    this.delay = (this.taps.length - 1) / 2 / rate;  // seconds by which what comes out is late
    this.held = new Float64Array(this.taps.length - 1);  // samples that the filter still needs
    this.rumble = new HighPass(RUMBLE * lowest / this.rate);
    this.skip = 0;  // samples until the next that is kept
  }

  // The samples at the new rate that have come out with this block.
  pass(block) {
    const {taps, factor} = this, before = this.held.length, sound = new Float64Array(before + block.length);
    sound.set(this.held);
    sound.set(block, before);
    const kept = [];
    let at = this.skip;
    for (; at < block.length; at += factor) {
      let sum = 0;
      for (let k = 0; k < taps.length; k++) { sum += taps[k] * sound[at + k]; }
      kept.push(this.rumble.pass(sum));
    }
    this.skip = at - block.length;
    this.held = sound.slice(block.length);
    return kept;
  }
}

// A sinc under a Hann window; its middle and its edge are in turns a sample.
function lowPass(middle, edge) {
  const half = Math.ceil(TAPS_AN_EDGE / edge / 2), taps = new Float64Array(2 * half + 1);
  for (let k = -half; k <= half; k++) {
    const sinc = k ? Math.sin(2 * Math.PI * middle * k) / (Math.PI * k) : 2 * middle;
    taps[half + k] = sinc * Math.cos(Math.PI * k / (2 * half + 2)) ** 2;
  }
  const sum = taps.reduce((total, tap) => total + tap, 0);
  return taps.map(tap => tap / sum);
}

// Second order, flat above its edge (Butterworth), by the bilinear transform; the edge is in turns a sample.
class HighPass {
  constructor(edge) {
    const warped = Math.tan(Math.PI * edge), scale = 1 / (1 + Math.SQRT2 * warped + warped * warped);
    this.gain = scale;
    this.back1 = 2 * (warped * warped - 1) * scale;
    this.back2 = (1 - Math.SQRT2 * warped + warped * warped) * scale;
    this.state1 = this.state2 = 0;
  }

  pass(sample) {
    const out = this.gain * sample + this.state1;
    this.state1 = -2 * this.gain * sample - this.back1 * out + this.state2;
    this.state2 = this.gain * sample - this.back2 * out;
    return out;
  }
}
