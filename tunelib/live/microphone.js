// The one microphone of a page: who listens to it, and why nobody can. It is open only while somebody does, and keeps
// nothing.

import {tap} from "./tap.text.js";

// What a browser does to speech for a call, and what would bend, gate or level out a note. Each is named, since a browser
// may take what is not named as wanted.
const PROCESSING = {
  echoCancellation: "echo cancellation",
  noiseSuppression: "noise suppression",
  autoGainControl: "automatic level control",
  voiceIsolation: "voice isolation",
};
const WISHED = {
  ...Object.fromEntries(Object.keys(PROCESSING).map(name => [name, false])),
  channelCount: {ideal: 1},
  sampleRate: {ideal: 48000},
};
const LOWEST_RATE = 32000;  // of a microphone for music; a headset in a call has 8000 or 16 000

const LOST = "The microphone is gone: it was unplugged, switched off, or taken back by the browser. "
  + "Connect it and press again.";
const REASONS = {
  NotAllowedError: "The microphone is not allowed here. Press the sign beside the page's address, allow the microphone for "
    + "this page and press again (if the sign says nothing of it, look in the system's privacy settings)",
  NotFoundError: "No microphone is connected to this computer. Connect one and press again",
  NotReadableError: "The microphone does not answer: another program may have it, or its plug is loose. Close what else "
    + "may use it and press again",
};
REASONS.SecurityError = REASONS.NotAllowedError;
REASONS.AbortError = REASONS.NotReadableError;

// Why this page has no microphone at all, whatever its reader allows; empty if it may have one.
function whyNone() {
  if (!globalThis.isSecureContext) {
    return "This page came over plain http, and there a browser gives nobody a microphone. Open it over https, or from "
      + "this computer itself (localhost)";
  }
  if (!navigator.mediaDevices?.getUserMedia || !globalThis.AudioWorkletNode) {
    return "This browser has no microphone for pages. Open the page in a current browser";
  }
  return "";
}

// Why the microphone could not be opened, and what to do, in words; `instead` is what else there can be done.
export function microphoneTrouble(error, instead = "") {
  const why = whyNone() || REASONS[error?.name] || `The microphone cannot be opened (${error?.message || error})`;
  return `${why}${instead && `; ${instead}`}.`;
}

// What of a microphone's settings spoils a measurement, in sentences.
function spoiled(settings) {
  const told = [], kept = Object.keys(PROCESSING).filter(name => settings[name]).map(name => PROCESSING[name]);
  if (kept.length) {
    told.push(`The browser did not switch off ${kept.join(" and ")}: soft notes and long ones may be changed by it.`);
  }
  if (settings.sampleRate < LOWEST_RATE) {
    told.push(`The microphone takes only ${settings.sampleRate} samples a second, as a headset does in a call: `
      + "choose another, or the computer's own.");
  }
  return told;
}

class PageMicrophone {
  constructor() {
    this.owners = new Map();  // who has it open, and what each is called with
    window.addEventListener("pagehide", () => this.closeAll());
  }

  // Open it for an owner. Promises {rate, granted, warnings}: samples a second, the settings as the browser has them, and
  // sentences about those that spoil a measurement. Fails with an error that `microphoneTrouble` puts into words.
  async open(owner) {
    if (!this.owners.has(owner)) { this.owners.set(owner, () => {}); }
    const opening = this.opening ??= this.prepare();
    try {
      return await opening;
    } catch (error) {
      this.owners.delete(owner);
      if (this.opening === opening) { this.opening = undefined; }
      throw error;
    }
  }

  async prepare() {
    const why = whyNone();
    if (why) { throw new Error(why); }
    const stream = await navigator.mediaDevices.getUserMedia({audio: WISHED}), [track] = stream.getAudioTracks();
    const used = {stream};
    try {
      const granted = track.getSettings();
      used.context = contextAt(granted.sampleRate);
      await used.context.audioWorklet.addModule(`data:text/javascript;charset=utf-8,${encodeURIComponent(tap)}`);
      const source = used.context.createMediaStreamSource(stream);
      // Its one output is silent; it is connected because some browsers run only what can be heard.
      const node = new AudioWorkletNode(used.context, "tunelib-tap", {channelCount: 1, channelCountMode: "explicit"});
      node.port.onmessage = ({data}) => { if (this.used === used) { this.heard(data); } };
      source.connect(node).connect(used.context.destination);
      await used.context.resume();
      track.onended = () => this.lose(used);
      this.used = used;
      if (!this.owners.size) { this.letGo(used); }  // all have gone meanwhile
      return {rate: used.context.sampleRate, granted, warnings: spoiled(granted)};
    } catch (error) {
      this.letGo(used);
      throw error;
    }
  }

  // Have a function called with (samples, end) for every 512 samples or so: a Float32Array that others get as well, so
  // none may change it, and the audio clock's seconds at its end. `owner.lost(words)` is called if the device goes.
  listen(owner, onBlock) { if (this.owners.has(owner)) { this.owners.set(owner, onBlock); } }

  close(owner) {
    this.owners.delete(owner);
    if (!this.owners.size && this.used) { this.letGo(this.used); }
  }

  closeAll() { [...this.owners.keys()].forEach(owner => this.close(owner)); }

  heard({samples, end}) { [...this.owners.values()].forEach(onBlock => onBlock(samples, end)); }

  lose(used) {
    if (this.used !== used) { return; }
    const owners = [...this.owners.keys()];
    this.closeAll();
    owners.forEach(owner => owner.lost?.(LOST));
  }

  // Let the device go: its light goes out.
  letGo(used) {
    if (this.used === used) { this.used = this.opening = undefined; }
    used.stream.getTracks().forEach(track => {
      track.onended = null;
      track.stop();
    });
    used.context?.close();
  }
}

// At the microphone's own rate, so that its samples stay as they are; or at the browser's, where it will not have that.
function contextAt(rate) {
  try {
    return new AudioContext({latencyHint: "interactive", sampleRate: rate});
  } catch {
    return new AudioContext({latencyHint: "interactive"});
  }
}

// The microphone of this page, however many scripts ask for it.
export function theMicrophone() { return globalThis[Symbol.for("tunelib.microphone")] ??= new PageMicrophone(); }
