// The player's own processor: tones added up partial by partial in the browser's audio thread.
//
// A partial is a point that turns about the origin, one complex multiplication a sample, and its height is the sound.
// Where its frequency moves, the turn itself is turned by a second such number, so the frequency goes in a straight line
// and the phase never jumps. What moves is worked out anew for each block of 128 samples, as the Web Audio API has them.

const BLOCK = 128;
const GLIDE = 8 * BLOCK;  // 21 ms at 48 kHz: in which a held tone gets to a new pitch
const STEPPING = 32 * BLOCK;  // 85 ms: the same, if its phase has to be right as well when it arrives
const CEILING = 10 ** (-12 / 20);  // as sound/render.py has it: USUAL_PEAK_DBFS
const FULL_LEVEL = CEILING / 5;  // of a note at level 1: HEADROOM there
const RECOVERY_SECONDS = 0.2;  // in which the limiter gives back most of what it took
const TELL_SECONDS = 1 / 30;  // between two reports
const TAPE_SCALE = 32767;  // full scale of what is taped
const SILENT = 1e-9;  // a partial that has died away to this is left out

class Partial {
  constructor(number, hertz, amplitude, phase, damping) {
    this.number = number;
    this.hertz = this.aim = hertz;
    this.amplitude = this.loudness = amplitude;  // now, and where it is heading
    this.column = -1;  // in the tone, or -1 if it is no longer a part of that
    this.phase = phase;  // at the tone's onset
    this.from = hertz;  // where a glide begins
    this.detour = 0;  // hertz by which it swerves on the way, so as to arrive in phase
    this.damping = damping;
    this.re = Math.cos(phase);
    this.im = Math.sin(phase);
    this.turn();
  }

  // The turn from one sample to the next, at the frequency that it has now.
  turn() {
    const angle = 2 * Math.PI * this.hertz / sampleRate, shrink = Math.exp(-this.damping / sampleRate);
    this.c = shrink * Math.cos(angle);
    this.s = shrink * Math.sin(angle);
    this.turned = this.hertz;
  }

  get silent() { return Math.abs(this.re) + Math.abs(this.im) < SILENT; }

  // Add some samples, in which frequency and amplitude go in straight lines to new values.
  sound(out, first, count, hertz, amplitude) {
    if (this.turned !== this.hertz) { this.turn(); }
    const rise = (amplitude - this.amplitude) / count, last = first + count;
    let {re, im, c, s, amplitude: a} = this;
    if (hertz === this.hertz) {
      for (let i = first; i < last; i++) {
        out[i] += a * im;
        a += rise;
        const turned = re * c - im * s;
        im = im * c + re * s;
        re = turned;
      }
    } else {
      const bend = 2 * Math.PI * (hertz - this.hertz) / (count * sampleRate), dc = Math.cos(bend), ds = Math.sin(bend);
      // Halfway into the first step, so that the phase after the last is that of the straight line.
      [c, s] = [c * Math.cos(bend / 2) - s * Math.sin(bend / 2), s * Math.cos(bend / 2) + c * Math.sin(bend / 2)];
      for (let i = first; i < last; i++) {
        out[i] += a * im;
        a += rise;
        const turned = re * c - im * s;
        im = im * c + re * s;
        re = turned;
        const faster = c * dc - s * ds;
        s = s * dc + c * ds;
        c = faster;
      }
    }
    this.re = re;
    this.im = im;
    this.hertz = hertz;
    this.amplitude = amplitude;
  }
}

class Voice {
  // One tone that sounds: its partials, and a ramp at either end.
  constructor(tone, level, samples = Infinity, ratio = 1) {
    this.level = level;
    this.ratio = ratio;  // of what sounds to what the tone says
    this.age = 0;  // samples so far
    this.left = samples;  // until it is silent
    this.gliding = 0;  // samples until it is where it is heading
    this.ramps(tone);
    this.partials = [...tone.hertz.keys()].map(k => made(tone, k, tone.amplitudes[k] * this.factor(k, 0)));
    for (const partial of this.partials) { partial.hertz = partial.aim * ratio * this.bend(0); }
  }

  ramps(tone) {
    this.tone = tone;
    this.attack = Math.round(tone.attack * sampleRate);
    this.release = Math.round(tone.release * sampleRate);
  }

  // Head for another tone, level or ratio; partials are matched by their numbers, and go on from their phases.
  glide(tone, level, ratio = this.ratio, samples = GLIDE) {
    const before = new Map(this.partials.map(partial => [partial.number, partial])), scale = this.level / level;
    const {attack} = this;
    this.ramps(tone);
    this.attack = attack;
    for (const partial of this.partials) {
      partial.amplitude *= scale;  // counted in the new level from here on
      partial.loudness = 0;
      partial.column = -1;
    }
    for (const k of tone.hertz.keys()) {
      const coming = made(tone, k, 0), partial = before.get(coming.number);
      if (partial === undefined) {
        coming.hertz *= ratio;
        this.partials.push(coming);
      } else {
        const {aim, loudness, damping, phase} = coming;
        Object.assign(partial, {aim, loudness, damping, phase, column: k});
        partial.turn();
      }
    }
    for (const partial of this.partials) { Object.assign(partial, {from: partial.hertz, detour: 0}); }
    Object.assign(this, {level, ratio, gliding: samples, way: samples});
  }

  // The partials that a glide leads to.
  get lasting() { return this.partials.filter(partial => partial.column >= 0); }

  // The phase in which a partial will arrive if it goes straight.
  arrival({re, im, from, aim}) {
    return Math.atan2(im, re) + Math.PI * (from + aim * this.ratio) * this.way / sampleRate;
  }

  // Arrive in the phases of a tone that has sounded for so long.
  arriveAfter(seconds) {
    if (this.tone.bends.length) { return; }
    for (const partial of this.lasting) {
      const turns = (partial.phase - this.arrival(partial)) / (2 * Math.PI) + partial.aim * this.ratio * seconds;
      partial.detour = 2 * (turns - Math.round(turns)) * sampleRate / this.way;
    }
  }

  letGo() { this.left = Math.min(this.left, this.release); }

  get over() { return this.left <= 0; }

  // How strong a partial is at an age in samples, beside its amplitude: timbres that move say so.
  factor(column, age) {
    const {factors, hertz, rate} = this.tone;
    return factors.length && column >= 0 ? between(factors, hertz.length, column, age * rate / sampleRate) : 1;
  }

  // How far the tone itself has bent its pitch at an age in samples, as a ratio.
  bend(age) {
    const {bends, rate} = this.tone;
    return bends.length ? between(bends, 1, 0, age * rate / sampleRate) : 1;
  }

  // Add the samples of a block, from `first` on.
  sound(mix, scratch, first) {
    const count = Math.min(BLOCK - first, this.left), then = this.age + count, ratio = this.ratio * this.bend(then);
    const share = count < this.gliding ? count / this.gliding : 1;  // of what is left of a glide
    const gone = share < 1 ? 1 - (this.gliding - count) / this.way : 1;  // of the whole of it, when the block is over
    const swerve = Math.sin(Math.PI * gone) ** 2;
    scratch.fill(0);
    for (const partial of this.partials) {
      if (partial.silent) { continue; }
      const {from, detour, amplitude} = partial, hertz = partial.aim * ratio;
      const loudness = partial.loudness * this.factor(partial.column, then);
      const nextHertz = gone < 1 ? from + gone * (hertz - from) + detour * swerve : hertz;
      partial.sound(scratch, first, count, nextHertz, share < 1 ? amplitude + share * (loudness - amplitude) : loudness);
    }
    this.addRamped(mix, scratch, first, count);
    this.age = then;
    this.left -= count;
    this.settle(count);
  }

  settle(count) {
    if (!this.gliding) { return; }
    this.gliding = Math.max(0, this.gliding - count);
    if (!this.gliding) { this.partials = this.partials.filter(partial => partial.amplitude > 0 || partial.loudness > 0); }
  }

  // The raised cosines at either end are those of sound/render.py.
  addRamped(mix, tone, first, count) {
    for (let i = 0; i < count; i++) {
      const age = this.age + i, left = this.left - i;
      let gain = FULL_LEVEL * this.level;
      if (age < this.attack) { gain *= 0.5 - 0.5 * Math.cos(Math.PI * age / this.attack); }
      if (left <= this.release) { gain *= 0.5 - 0.5 * Math.cos(Math.PI * (left - 1) / this.release); }
      mix[first + i] += gain * tone[first + i];
    }
  }
}

class TapedVoice extends Voice {
  // A part of a recording that sounds: its samples as they are, with a ramp at either end, from some place in it on.
  constructor(tone, level, samples, place) {
    super(tone, level, samples);
    this.place = place;
  }

  sound(mix, scratch, first) {
    const count = Math.min(BLOCK - first, this.left), {samples} = this.tone;
    for (let i = 0; i < count; i++) { scratch[first + i] = (samples[this.place + i] ?? 0) / TAPE_SCALE; }
    this.addRamped(mix, scratch, first, count);
    this.place += count;
    this.age += count;
    this.left -= count;
  }
}

function made(tone, k, amplitude) {
  const partial = new Partial(tone.numbers[k], tone.hertz[k], amplitude, tone.phases[k], tone.dampings[k]);
  return Object.assign(partial, {loudness: tone.amplitudes[k], column: k});
}

// A value in one column of a table, between its rows.
function between(table, columns, column, place) {
  const last = table.length / columns - 1, at = Math.min(place, last), row = Math.floor(at);
  const from = table[row * columns + column], to = table[Math.min(row + 1, last) * columns + column];
  return from + (to - from) * (at - row);
}

class Limiter {
  // Turns down what would pass the ceiling. It looks one block ahead, so what leaves is a block late; between two blocks
  // the gain goes in a straight line, and it is never more than either needs.
  constructor() {
    this.held = new Float64Array(BLOCK);
    this.needed = this.gain = 1;
    this.recovery = 1 - Math.exp(-BLOCK / (RECOVERY_SECONDS * sampleRate));
  }

  pass(block, out, volume, louder) {
    let peak = 0;
    for (let i = 0; i < BLOCK; i++) { peak = Math.max(peak, Math.abs(block[i])); }
    const needed = Math.min(1, CEILING / Math.max(peak, CEILING));
    const next = Math.min(needed, this.needed, this.gain + (1 - this.gain) * this.recovery);
    const rise = (next - this.gain) / BLOCK, swell = (louder - volume) / BLOCK;
    for (let i = 0; i < BLOCK; i++) { out[i] = this.held[i] * (this.gain + rise * i) * (volume + swell * i); }
    this.held.set(block);
    Object.assign(this, {needed, gain: next > 1 - 1e-6 ? 1 : next});
  }
}

class Sequence {
  // The notes of a program, begun one after another, each at its sample.
  constructor(program, hold, at) {
    this.position = Math.round(at * sampleRate);
    this.sounding = new Map();  // the voice of each note that sounds, by the note's key
    this.hold = hold;
    this.take(program);
    this.coming = this.notes.filter(note => note.stop > this.position);
  }

  take(program) {
    this.program = program;
    this.length = Math.max(BLOCK, Math.round(program.seconds * sampleRate));
    this.notes = program.notes.map(({key, onset, duration, tone, level, held}) => {
      const of = program.tones[tone], stop = Math.round((onset + duration + of.release) * sampleRate);
      return {key, tone: of, level: level * program.gain, start: Math.round(onset * sampleRate), stop, held};
    }).sort((one, other) => one.start - other.start);
  }

  // Whether it stays on notes that are held, rather than to begin anew.
  get sustains() { return this.hold && this.notes.some(note => note.held); }

  get over() { return !this.hold && this.position >= this.length; }

  // Go on with another program from the same place: what sounds glides, and what is no longer there is let go. `inStep`
  // has the tones arrive in the phases that they would have beside one another if they had begun so: two that are to
  // agree must not be caught as they cancel. Returns the voices that begin.
  follow(program, inStep) {
    this.take(program);
    const here = note => note.start < this.position && (this.stays(note) || note.stop > this.position);
    const now = new Map(this.notes.filter(here).map(note => [note.key, note]));
    const gliding = [];
    for (const [key, voice] of this.sounding) {
      const note = now.get(key);
      if (note === undefined || voice.over) {
        voice.letGo();
        this.sounding.delete(key);
      } else {
        voice.glide(note.tone, note.level, 1, inStep ? STEPPING : GLIDE);
        gliding.push([voice, note]);
        if (voice.left > voice.release) { voice.left = Math.max(this.remaining(note), voice.release); }
        now.delete(key);
      }
    }
    if (inStep && gliding.length) { fallInStep(gliding); }
    this.coming = this.notes.filter(note => note.start >= this.position);
    return [...now.values()].map(note => this.begin(note));
  }

  setHold(on) {
    this.hold = on;
    for (const note of this.notes.filter(one => one.held)) {
      const voice = this.sounding.get(note.key);
      if (voice && voice.left > voice.release) { voice.left = Math.max(this.remaining(note), voice.release); }
    }
  }

  stays(note) { return this.hold && note.held; }

  // How many samples a note still has to sound.
  remaining(note) { return this.stays(note) ? Infinity : note.stop - Math.max(note.start, this.position); }

  begin(note) {
    const {tone, level, start} = note, left = this.remaining(note);
    const voice = tone.tape ? new TapedVoice(tone, level, left, Math.max(0, this.position - start)) : new Voice(tone, level, left);
    this.sounding.set(note.key, voice);
    return voice;
  }

  // Go on by one block; returns the voices that begin in it, each with its place there.
  advance() {
    const begun = this.due(0, BLOCK);
    this.position += BLOCK;
    if (!this.hold || this.sustains || this.position < this.length) { return begun; }
    const late = this.position % this.length;  // so much of the block is of the next round
    this.position = 0;
    this.coming = [...this.notes];
    begun.push(...this.due(BLOCK - late, late));
    this.position = late;
    return begun;
  }

  due(place, samples) {
    const begun = [];
    while (this.coming.length && this.coming[0].start < this.position + samples) {
      const note = this.coming.shift();
      begun.push([this.begin(note), place + Math.max(0, note.start - this.position)]);
    }
    return begun;
  }
}

// Bring the phases of several gliding voices into line with those of the first, which goes its own way.
function fallInStep(gliding) {
  const [[first, lead]] = gliding, [partial] = first.lasting;
  if (partial === undefined) { return; }
  const hertz = partial.aim * first.ratio, about = (first.age + first.way) / sampleRate;
  const since = (first.arrival(partial) - partial.phase) / (2 * Math.PI * hertz);  // or whole waves more
  const seconds = since + Math.round((about - since) * hertz) / hertz;
  gliding.forEach(([voice, note]) => voice.arriveAfter(seconds + (lead.start - note.start) / sampleRate));
}

class Player extends AudioWorkletProcessor {
  constructor({processorOptions: {program, hold = false, volume = 1} = {}}) {
    super();
    this.voices = new Set();
    this.under = new Map();  // the voices under the hand, by what the keys call them
    this.limiter = new Limiter();
    this.volume = this.louder = volume;
    this.mix = new Float64Array(BLOCK);
    this.scratch = new Float64Array(BLOCK);
    this.told = 0;
    if (program) { this.play(program, hold, 0); }
    this.port.onmessage = ({data: [what, ...given]}) => this[what](...given);
  }

  // `run` is what the page calls this playing.
  play(program, hold, at, run) {
    this.stop();
    this.run = run;
    this.sequence = new Sequence(program, hold, at);
  }

  follow(program, inStep) { this.sequence?.follow(program, inStep).forEach(voice => this.voices.add(voice)); }

  hold(on) { this.sequence?.setHold(on); }

  stop() {
    this.sequence?.sounding.forEach(voice => voice.letGo());
    this.sequence = undefined;
  }

  press(id, tone, level, ratio) {
    this.release(id);
    const voice = new Voice(tone, level, Infinity, ratio);
    this.voices.add(voice);
    this.under.set(id, voice);
    this.port.postMessage({began: id, frame: currentFrame});
  }

  // A key's tone under another pitch: by a ratio, or as another tone.
  bend(id, ratio) { this.change(id, voice => voice.glide(voice.tone, voice.level, ratio)); }

  retune(id, tone) { this.change(id, voice => voice.glide(tone, voice.level)); }

  change(id, how) {
    const voice = this.under.get(id);
    if (voice) { how(voice); }
  }

  release(id) {
    this.change(id, voice => voice.letGo());
    this.under.delete(id);
  }

  turnTo(volume) { this.louder = volume; }

  process(_inputs, [[out, ...others]]) {
    this.mix.fill(0);
    const sound = (voice, first) => voice.sound(this.mix, this.scratch, first);
    const begun = this.sequence?.advance() ?? [];
    this.voices.forEach(voice => sound(voice, 0));
    for (const [voice, first] of begun) {
      sound(voice, first);
      this.voices.add(voice);
    }
    for (const voice of this.voices) {
      if (voice.over) { this.voices.delete(voice); }
    }
    this.limiter.pass(this.mix, out, this.volume, this.louder);
    this.volume = this.louder;
    others.forEach(channel => channel.set(out));
    this.tell();
    return true;
  }

  // Say where the program is, and when it has ended.
  tell() {
    if (!this.sequence) { return; }
    const {position, length, over} = this.sequence;
    if (!over && currentFrame - this.told < TELL_SECONDS * sampleRate) { return; }
    this.told = currentFrame;
    const seconds = Math.max(0, position - BLOCK) / sampleRate;
    this.port.postMessage({position: seconds, length: length / sampleRate, over, run: this.run});
    if (over) { this.sequence = undefined; }
  }
}

registerProcessor('tunelib-player', Player);
