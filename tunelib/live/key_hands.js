// The voices under the hand: who holds which note, what stays when the hand is gone, and what goes round by itself.

export const WAYS_ROUND = ["off", "up", "down", "up and down"];
const DRONE = "drone";

// One voice: a step with some cents beside it, and the number under which the player has it. Its level is the square of
// the velocity (MIDI Manufacturers Association, Downloadable Sounds Level 1).
class HeldVoice {
  constructor(number, step, away, velocity) { Object.assign(this, {number, step, away, velocity, sounding: false}); }
}

export class KeyHands {
  // `tones` gives the tone that is nearest to a pitch, and what it is a tone `of`, in hertz; `changed` is called when what
  // is held has changed, `told` with what Python is to hear.
  constructor(player, scale, tones, changed, told) {
    Object.assign(this, {player, scale, tones, changed, told});
    this.voices = new Map();  // by who holds them: a finger, a key, the latch
    this.latch = false;
    this.round = WAYS_ROUND[0];
    this.tempo = 240;  // notes a minute
    this.droning = false;  // whether the next note is to be the drone
    this.last = undefined;  // the step that was played last
  }

  get steps() { return [...new Set([...this.voices.values()].map(voice => voice.step))].sort((a, b) => a - b); }

  get notes() {
    const found = new Map();
    this.voices.forEach(({step, away}) => found.set(`${step} ${away}`, {step, away}));
    return [...found.values()];
  }

  press(who, step, velocity = 0.7, away = 0) {
    this.last = step;
    if (this.droning) {
      this.droning = false;
      this.begin(DRONE, step, velocity, away);
    } else if (!this.latch) {
      this.begin(who, step, velocity, away);
    } else if (this.voices.has(`latch ${step}`)) {
      this.end(`latch ${step}`);
    } else {
      this.begin(`latch ${step}`, step, velocity, away);
    }
  }

  release(who) { this.end(who); }

  // A key slides to another step, as a finger does.
  slide(who, step) {
    const voice = this.voices.get(who);
    if (this.latch ? this.last === step : voice?.step === step) { return; }
    const velocity = voice?.velocity;
    this.end(who);
    this.press(who, step, velocity);
  }

  // A voice moves to another pitch, by a bend.
  bend(who, step, away) {
    const voice = this.voices.get(who);
    if (!voice) { return; }
    const more = !this.steps.includes(step);
    Object.assign(voice, {step, away});
    if (voice.sounding) { this.player.bend(voice.number, this.scale.hz(step, away) / voice.of); }
    if (more) { this.told({held: this.steps}); }
    this.changed();
  }

  setLatch(on) {
    this.latch = on;
    if (!on) { [...this.voices.keys()].filter(who => who.startsWith("latch ")).forEach(who => this.end(who)); }
  }

  // Hold a note on until told otherwise: the lowest that is held, else the last one, else the next.
  setDrone(on) {
    this.end(DRONE);
    this.droning = false;
    if (!on) { return; }
    const step = this.steps[0] ?? this.last;
    if (step === undefined) { this.droning = true; } else { this.begin(DRONE, step, 0.5, 0); }
  }

  get drone() { return this.voices.get(DRONE)?.step; }

  setRound(way) {
    this.round = way;
    clearInterval(this.turning);
    this.turning = undefined;
    this.silence();
    if (way === WAYS_ROUND[0]) {
      this.voices.forEach(voice => this.sound(voice));
    } else {
      const drone = this.voices.get(DRONE);
      if (drone) { this.sound(drone); }
      this.place = 0;
      if (this.voices.size) { this.turn(); }
    }
  }

  setTempo(tempo) {
    this.tempo = tempo;
    if (this.turning !== undefined) { this.turn(); }
  }

  // What sounds glides into the timbre that was chosen.
  retune() {
    for (const voice of this.voices.values()) {
      if (voice.sounding) { this.player.retune(voice.number, this.tones(voice.of).tone); }
    }
  }

  releaseAll() { [...this.voices.keys()].forEach(who => this.end(who)); }

  releaseThose(beginning) {
    [...this.voices.keys()].filter(who => who.startsWith(beginning)).forEach(who => this.end(who));
  }

  // The player has silenced all: nothing is held any more.
  silenced() {
    clearInterval(this.turning);
    this.turning = undefined;
    this.voices.forEach(voice => { voice.sounding = false; });
    this.releaseAll();
  }

  begin(who, step, velocity, away) {
    this.end(who);
    const voice = new HeldVoice(this.player.newId(), step, away, velocity);
    this.voices.set(who, voice);
    if (this.round === WAYS_ROUND[0] || who === DRONE) {
      this.sound(voice);
    } else if (this.turning === undefined) {
      this.place = 0;
      this.turn();
    }
    this.told({id: voice.number, step, velocity, cents: away, seconds: performance.now() / 1000, held: this.steps});
    this.changed();
  }

  end(who) {
    const voice = this.voices.get(who);
    if (!voice) { return; }
    this.voices.delete(who);
    this.quiet(voice);
    if (![...this.voices.keys()].some(other => other !== DRONE)) {
      clearInterval(this.turning);
      this.turning = undefined;
    }
    this.told({id: voice.number, seconds: performance.now() / 1000});
    this.changed();
  }

  sound(voice) {
    const hertz = this.scale.hz(voice.step, voice.away), {tone, of} = this.tones(hertz);
    Object.assign(voice, {of, sounding: true});
    this.player.press(this, voice.number, tone, voice.velocity ** 2, hertz / of);
  }

  quiet(voice) {
    if (voice.sounding) { this.player.release(voice.number); }
    voice.sounding = false;
  }

  silence() { this.voices.forEach(voice => this.quiet(voice)); }

  turn() {
    clearInterval(this.turning);
    this.turning = setInterval(() => this.next(), 60_000 / this.tempo);
    this.next();
  }

  // The next note of those that go round.
  next() {
    const around = [...this.voices].filter(([who]) => who !== DRONE).map(([, voice]) => voice);
    around.forEach(voice => this.quiet(voice));
    const pitch = ({step, away}) => this.scale.centsOf(step) + away;
    const rising = around.sort((one, other) => pitch(one) - pitch(other));
    if (!rising.length) { return; }
    const back = rising.slice(1, -1).reverse();
    const order = {up: rising, down: [...rising].reverse(), "up and down": [...rising, ...back]}[this.round];
    this.sound(order[this.place++ % order.length]);
  }
}
