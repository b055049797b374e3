// An attempt to hold a note: from where the voice settles to where it stops, with the pitch all along.

// Seconds of clear pitch with which one begins, and that one needs to count; and without one that end it.
const SETTLED_AFTER = 0.1, SHORTEST_ATTEMPT = 0.4, ENDS_AFTER = 0.3;
const NEAR_CENTS = 10;

export class NeedleAttempt {
  // `done` is called with {seconds, hertz, target} at the end: arrays, NaN where there was no pitch, and hertz.
  constructor(done) {
    this.done = done;
    this.forget();
  }

  forget() {
    this.curve = [];
    this.clear = 0;  // seconds of clear pitch
    this.near = 0;  // seconds within so many cents of the target, as the needle showed it
    this.last = undefined;  // the moment of the last clear pitch
    this.runs = false;
  }

  // Take the pitch of a moment, NaN for none; the cents from the target to the needle, NaN if that shows nothing; and the
  // target in hertz, 0 for none.
  take(seconds, hertz, away, target) {
    if (target !== this.target) { this.end(); }
    this.target = target;
    const clear = hertz > 0, since = seconds - (this.curve.at(-1)?.[0] ?? seconds);
    if (!target || (!clear && this.last === undefined)) { return; }
    if (clear) { this.last = seconds; }
    if (seconds - this.last > ENDS_AFTER || (!this.runs && seconds - this.last > SETTLED_AFTER)) {
      this.end();
      return;
    }
    this.curve.push([seconds, hertz]);
    this.clear += clear ? since : 0;
    this.near += clear && Math.abs(away) <= NEAR_CENTS ? since : 0;
    this.runs ||= this.clear >= SETTLED_AFTER;
  }

  end() {
    const {curve, clear, target, last} = this, kept = curve.filter(([seconds]) => seconds <= last);
    if (clear >= SHORTEST_ATTEMPT) {
      const [began] = kept[0], near = this.near;
      this.forget();
      this.done({seconds: kept.map(([seconds]) => seconds - began), hertz: kept.map(([, hertz]) => hertz), target, near});
    } else {
      this.forget();
    }
  }
}
