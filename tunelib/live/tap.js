// The microphone's own processor: hands over what it hears, as it is, in the browser's audio thread.

const HANDED_OVER = 512;  // samples at a time: 11 ms at 48 kHz, a whole number of the browser's blocks

class Tap extends AudioWorkletProcessor {
  constructor() {
    super();
    this.begin();
  }

  begin() {
    this.samples = new Float32Array(HANDED_OVER);
    this.filled = 0;
  }

  process([[channel]]) {
    if (!channel) { return true; }  // nothing is connected yet, or no longer
    this.samples.set(channel, this.filled);
    this.filled += channel.length;
    if (this.filled === HANDED_OVER) {
      const end = currentTime + channel.length / sampleRate;
      this.port.postMessage({samples: this.samples, end}, [this.samples.buffer]);
      this.begin();
    }
    return true;
  }
}

registerProcessor("tunelib-tap", Tap);
