// What the page hands to Python, a part at a time. Python says which parts it has, so that a lost one is seen and sent again.

const MOST_IN_PART = 3 << 18;  // bytes: under a megabyte, far below what a server takes as one message
const MOST_ON_THE_WAY = 4;  // parts, so that other news still gets through between them
const LOOK_MS = 500;
const LATE_MS = 2000;  // without a word from Python, while some is due
const AGAIN_MS = 6000;  // after which it is sent again

const BUSY = "Python is busy with another cell. What you gave waits here, and goes on by itself.";
const GONE = "Python has stopped: this notebook's kernel is gone. Start it again, and run this cell again.";
const DEAF = "Python does not answer. If its kernel was started anew, run this cell again.";

// What is handed over bit by bit: a file, or samples while they come. `part(at)` promises the bytes from a place on, none
// if there are none yet, and `length` is known when all is there.
export class FileToHand {
  constructor(file) {
    this.file = file;
    this.length = file.size;
  }

  part(at) { return this.file.slice(at, at + MOST_IN_PART).arrayBuffer(); }
}

export class SamplesToHand {
  constructor(rate) {
    this.rate = rate;
    this.parts = new Map();  // bytes of floats, by where they begin; all are kept until Python has them
    this.gathered = [];
    this.waiting = 0;  // samples that are not yet in a part
    this.ready = 0;  // bytes that are
    this.length = undefined;
  }

  get seconds() { return (this.ready / 4 + this.waiting) / this.rate; }

  // Take samples in; true if a part is ready, which is so every half second.
  add(samples) {
    this.gathered.push(samples);
    this.waiting += samples.length;
    return this.waiting >= this.rate / 2 && this.pack();
  }

  pack() {
    const part = new Float32Array(this.waiting);
    let at = 0;
    for (const samples of this.gathered) {
      part.set(samples, at);
      at += samples.length;
    }
    if (part.length) { this.parts.set(this.ready, part.buffer); }
    this.ready += part.byteLength;
    this.gathered = [];
    this.waiting = 0;
    return true;
  }

  end() {
    this.pack();
    this.length = this.ready;
  }

  // What has gathered while Python was busy goes in fewer and larger parts.
  part(at) {
    const found = [];
    let end = at;
    for (let one = this.parts.get(at); one && end + one.byteLength <= at + MOST_IN_PART; one = this.parts.get(end)) {
      found.push(one);
      end += one.byteLength;
    }
    return new Blob(found).arrayBuffer();
  }

  // All of it as a WAV file of floats, for a reader whose Python has stopped.
  wav() {
    const head = new DataView(new ArrayBuffer(44)), letters = (at, text) => {
      [...text].forEach((letter, n) => head.setUint8(at + n, letter.charCodeAt(0)));
    };
    letters(0, "RIFF");
    head.setUint32(4, 36 + this.ready, true);
    letters(8, "WAVEfmt ");
    head.setUint32(16, 16, true);
    head.setUint16(20, 3, true);  // floats
    head.setUint16(22, 1, true);
    head.setUint32(24, this.rate, true);
    head.setUint32(28, 4 * this.rate, true);
    head.setUint16(32, 4, true);
    head.setUint16(34, 32, true);
    letters(36, "data");
    head.setUint32(40, this.ready, true);
    return new Blob([head, ...this.parts.values()], {type: "audio/wav"});
  }
}

// One thing on its way. `what` is {name, rate}, with a rate of 0 for a file. `tell` is called with {share, trouble} as it
// goes, and with {whole: true} or {failed: error} at its end.
export class Delivery {
  constructor(model, source, what, tell) {
    Object.assign(this, {model, source, what, tell});
    this.id = crypto.randomUUID();
    this.onTheWay = new Map();
    this.stuck = false;  // whether it may never arrive
    this.sent = this.there = 0;  // bytes
    this.heardAt = this.sentAt = performance.now();
    this.heard = message => this.answered(message);
    model.on("msg:custom", this.heard);
    this.looking = setInterval(() => this.look(), LOOK_MS);
    this.goOn();
  }

  // Send what there is, as far as there is room on the way. What comes while this waits for a part is looked for again.
  async goOn() {
    this.more = true;
    if (this.going || this.over) { return; }
    this.going = true;
    try {
      while (this.more && !this.over) {
        this.more = false;
        await this.sendParts();
      }
    } catch (error) {  // a file that has been moved or changed
      this.stop();
      this.tell({failed: error});
    } finally {
      this.going = false;
    }
    if (this.complete) { this.finish(); }
  }

  async sendParts() {
    while (this.onTheWay.size < MOST_ON_THE_WAY) {
      const bytes = await this.source.part(this.sent);
      if (!bytes?.byteLength || this.over) { return; }
      if (!this.onTheWay.size) { this.heardAt = performance.now(); }
      this.onTheWay.set(this.sent, bytes);
      this.send(this.sent, bytes);
      this.sent += bytes.byteLength;
    }
  }

  get complete() { return !this.over && this.source.length === this.there && !this.onTheWay.size; }

  send(at, bytes) { this.say({part: this.id, at, ...this.what}, [bytes]); }

  finish() { this.say({end: this.id, bytes: this.there, ...this.what}); }

  say(words, buffers = []) {
    this.sentAt = performance.now();
    try { this.model.send(words, undefined, buffers); } catch { /* seen by the silence that follows */ }
  }

  answered(message) {
    if (message.got === this.id && this.onTheWay.has(message.at)) {
      this.there += this.onTheWay.get(message.at).byteLength;
      this.onTheWay.delete(message.at);
      this.heardAt = performance.now();
      this.stuck = false;
      this.news();
      this.goOn();
    } else if (message.whole === this.id) {
      this.stop();
      this.tell({whole: true});
    }
  }

  news(trouble = "") {
    this.tell({share: this.source.length ? this.there / this.source.length : 0, trouble});
  }

  // Whether Python is late, and why.
  look() {
    if (!this.onTheWay.size && !this.complete) { return; }
    const now = performance.now(), kernel = kernelOf(this.model);
    const gone = kernel === "gone", late = now - this.heardAt > LATE_MS;
    const deaf = late && kernel === "there" && now - this.heardAt > AGAIN_MS;
    this.stuck = gone || deaf;
    this.news(gone ? GONE : late && kernel === "busy" ? BUSY : deaf ? DEAF : "");
    if (deaf && now - this.sentAt > AGAIN_MS) { this.sendAgain(); }
  }

  sendAgain() {
    for (const [at, bytes] of this.onTheWay) { this.send(at, bytes); }
    if (this.complete) { this.finish(); }
  }

  // Give it up.
  drop() {
    if (this.over) { return; }
    this.say({drop: this.id});
    this.stop();
  }

  stop() {
    this.over = true;
    clearInterval(this.looking);
    this.model.off("msg:custom", this.heard);
  }
}

// How Python is doing, as far as the notebook tells: "busy", "gone" or "there".
function kernelOf(model) {
  const manager = model.widget_manager;
  if (!manager || !("kernel" in manager)) { return "there"; }
  const status = manager.kernel?.status;
  return !status || ["dead", "terminating"].includes(status) ? "gone" : status === "busy" ? "busy" : "there";
}
