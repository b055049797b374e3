// The one player of a page: what sounds, who sounds, and how loud. The sound itself is made in worklet.js.

import {worklet} from "./worklet.text.js";

const VOLUME_KEY = "tunelib.volume";
const FIRST_VOLUME = 0.6;
const REST_SECONDS = 30;  // of silence, after which the browser's audio is let go
const COLUMNS = ["numbers", "hertz", "amplitudes", "phases", "dampings"];

// What Python's `program` and `tones` made, as tables that share the memory they came in.
export function readProgram(bytes) {
  const view = ArrayBuffer.isView(bytes) ? bytes : new Uint8Array(bytes);
  const whole = new Uint8Array(view.buffer, view.byteOffset, view.byteLength);
  const length = new DataView(whole.buffer, whole.byteOffset).getUint32(0, true);
  const {tones, ...head} = JSON.parse(new TextDecoder().decode(whole.subarray(4, 4 + length)));
  const values = new Float64Array(whole.slice(Math.ceil((4 + length) / 8) * 8).buffer);
  return {...head, tones: tones.map(({at, partials, frames, bends, ...tone}) => {
    let from = at;
    const take = count => values.subarray(from, from += count);
    for (const column of COLUMNS) { tone[column] = take(partials); }
    return Object.assign(tone, {factors: take(frames * partials), bends: take(bends)});
  })};
}

// The same program with the samples of what is taped in it, as far as its tapes, by their names, are here.
export function withTapes(program, tapes) {
  for (const tone of program.tones.filter(one => one.tape)) {
    tone.samples ??= tapes.get(tone.tape)?.slice(tone.from, tone.from + tone.count);
  }
  return program;
}

// A tone that can be sent by itself: what it is a part of stays behind.
function alone(tone) {
  const own = Object.entries(tone).map(([name, value]) => [name, ArrayBuffer.isView(value) ? value.slice() : value]);
  return Object.fromEntries(own);
}

const MUTE = "There is no sound on this page: a browser plays it only on a page of this machine, from a file or over https.";

class PagePlayer {
  constructor() {
    this.mute = globalThis.AudioWorkletNode ? "" : MUTE;  // why nothing can sound, in words; empty where it can
    this.volume = kept() ?? FIRST_VOLUME;
    this.volumeListeners = new Set();
    this.owner = undefined;
    this.pressed = new Map();  // whose key it is, by the voice's number
    this.began = new Map();  // who waits to hear that a voice has begun, for measuring
    this.last = 0;
    this.run = 0;  // how many programs have been played: news of an earlier one comes too late
    this.ready = this.prepare();
    this.ready.catch(() => {});
    for (const event of ["blur", "pagehide"]) { window.addEventListener(event, () => this.leave()); }
    document.addEventListener("visibilitychange", () => { if (document.hidden) { this.leave(); } });
  }

  async prepare() {
    if (this.mute) { throw new Error(this.mute); }
    this.context = new AudioContext({latencyHint: "interactive", sampleRate: 48000});
    // A page opened from a file may not load a module from a blob; an address that holds the text works everywhere.
    await this.context.audioWorklet.addModule(`data:text/javascript;charset=utf-8,${encodeURIComponent(worklet)}`);
    this.node = new AudioWorkletNode(this.context, "tunelib-player", {
      numberOfInputs: 0, outputChannelCount: [1], processorOptions: {volume: this.volume ** 2},
    });
    this.node.port.onmessage = ({data}) => this.told(data);
    this.node.connect(this.context.destination);
  }

  // Let the browser make sound; it does so only from a press or a key.
  wake() {
    clearTimeout(this.resting);
    if (this.mute) { return Promise.resolve(); }
    return this.context.state === "running" ? Promise.resolve() : this.context.resume();
  }

  // Start the browser's audio ahead of a press that may come, as far as the browser allows it by now; it takes some 50 ms.
  rouse() {
    if (!navigator.userActivation?.hasBeenActive) { return; }
    this.wake();
    this.rest();
  }

  newId() { return ++this.last; }

  say(...words) {
    this.wake();
    this.ready.then(() => this.node.port.postMessage(words), () => {});
  }

  sounds(owner) { return owner !== undefined && (this.owner === owner || [...this.pressed.values()].includes(owner)); }

  play(owner, program, {hold = false, at = 0} = {}) {
    this.takeOver(owner);
    this.owner = owner;
    this.say("play", program, hold, at, ++this.run);
  }

  // Go on with another program where it is; `inStep` has its tones end up in the phases of a fresh start.
  follow(owner, program, inStep = false) { if (this.owner === owner) { this.say("follow", program, inStep); } }

  hold(owner, on) { if (this.owner === owner) { this.say("hold", on); } }

  stop(owner) {
    if (this.owner !== owner) { return; }
    this.say("stop");
    this.ended();
  }

  press(owner, id, tone, level = 1, ratio = 1) {
    if (!this.sounds(owner)) { this.takeOver(owner, owner.over); }
    this.pressed.set(id, owner);
    this.say("press", id, alone(tone), level, ratio);
  }

  bend(id, ratio) { this.say("bend", id, ratio); }

  retune(id, tone) { this.say("retune", id, alone(tone)); }

  release(id) {
    if (!this.pressed.delete(id)) { return; }
    this.say("release", id);
    this.rest();
  }

  releaseAll(owner) { this.ofOwner(owner).forEach(id => this.release(id)); }

  ofOwner(owner) { return [...this.pressed].filter(([, whose]) => whose === owner).map(([id]) => id); }

  setVolume(volume) {
    this.volume = Math.min(1, Math.max(0, volume));
    keep(this.volume);
    if (this.context?.state === "running") { this.say("turnTo", this.volume ** 2); }
    else { this.ready.then(() => this.node.port.postMessage(["turnTo", this.volume ** 2]), () => {}); }
    this.volumeListeners.forEach(listen => listen(this.volume));
  }

  // Call a function with the volume now and whenever it changes; returns one that ends it.
  onVolume(listen) {
    listen(this.volume);
    this.volumeListeners.add(listen);
    return () => this.volumeListeners.delete(listen);
  }

  // Whoever sounded before, by a program or under the hand, falls silent; what plays `over` a program leaves it on.
  takeOver(owner, over = false) {
    if (!over && this.owner !== undefined && this.owner !== owner) { this.stop(this.owner); }
    for (const [id, whose] of [...this.pressed]) {
      if (whose !== owner) {
        this.release(id);
        whose.silenced?.();
      }
    }
  }

  // The reader is elsewhere: keys that are down will not be seen to come up.
  leave() {
    const owners = new Set(this.pressed.values());
    [...this.pressed.keys()].forEach(id => this.release(id));
    owners.forEach(owner => owner.silenced?.());
  }

  told({position, length, over, run, began, frame}) {
    if (began !== undefined) {
      this.began.get(began)?.(frame / this.context.sampleRate);
      this.began.delete(began);
    } else if (run === this.run && over) {
      this.ended();
    } else if (run === this.run) {
      this.owner?.playhead?.(position, length);
    }
  }

  ended() {
    const {owner} = this;
    this.owner = undefined;
    this.rest();
    owner?.silenced?.();
  }

  rest() {
    clearTimeout(this.resting);
    if (this.owner === undefined && !this.pressed.size) {
      this.resting = setTimeout(() => this.context?.suspend(), 1000 * REST_SECONDS);
    }
  }
}

function kept() {
  try {
    const volume = parseFloat(localStorage.getItem(VOLUME_KEY));
    return volume >= 0 && volume <= 1 ? volume : undefined;
  } catch {  // a page may be refused a memory of its own
    return undefined;
  }
}

function keep(volume) {
  try { localStorage.setItem(VOLUME_KEY, String(volume)); } catch { /* then it is forgotten with the page */ }
}

// The player of this page, however many scripts ask for it.
export function thePlayer() { return globalThis[Symbol.for("tunelib.player")] ??= new PagePlayer(); }
