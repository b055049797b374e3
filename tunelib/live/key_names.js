// What is said of the notes under the keys: their names, how high they are, what they make together.

const OCTAVE = 1200;
const MOST_OFF_RATIOS = 20, MOST_OFF_SYMBOL = 30;  // cents, as in chord_table.py
const WITHIN = 20;  // cents: farther off, a ratio is named only if there is none as near

// The steps of a tuning, as KeyNotes has them in Python, at their pitch and with their names.
export class KeyScale {
  constructor(table) {
    Object.assign(this, table);
    this.count = table.names.length;
  }

  degree(step) { return ((step % this.count) + this.count) % this.count; }

  periods(step) { return Math.floor(step / this.count); }

  centsOf(step) { return this.cents[this.degree(step)] + this.period * this.periods(step); }

  hz(step, away = 0) { return this.hertz * 2 ** ((this.centsOf(step) + away) / OCTAVE); }

  octave(step) { return this.octaves.length ? String(this.octaves[this.degree(step)] + this.periods(step)) : ""; }

  name(step) { return this.names[this.degree(step)]; }

  // The name with its octave, which stands before what is counted from the letter in steps: E4−1.
  full(step) { return this.name(step).replace(/(?=[+−]|$)/, this.octave(step)); }

  aloud(step) { return `${this.said[this.degree(step)]} ${this.octave(step)}`.trim(); }

  // The step nearest to a frequency, and how many cents that is above it.
  nearest(hertz) {
    const cents = OCTAVE * Math.log2(hertz / this.hertz), step = this.nearestTo(cents);
    return {step, away: cents - this.centsOf(step)};
  }

  // The step nearest to a number of cents above step 0.
  nearestTo(cents) {
    const first = Math.floor(cents / this.period) * this.count;
    let best = first;
    for (let step = first; step <= first + this.count; step++) {
      if (Math.abs(this.centsOf(step) - cents) < Math.abs(this.centsOf(best) - cents)) { best = step; }
    }
    return best;
  }
}

// The ratio that players would name near a size in cents, with whole octaves of it beyond the table: the simpler of two
// as a rule, since 400 cents are a third, 5/4, before they are 81/64.
export function nearRatio(ratios, cents) {
  const largest = ratios.at(-1)[0], octaves = Math.max(0, Math.ceil((cents - largest) / OCTAVE));
  const within = cents - OCTAVE * octaves;
  const cost = ([size, , , complexity]) => {
    const off = Math.abs(size - within);
    return off > WITHIN ? 1000 + off : off + complexity;
  };
  const [size, ratio] = ratios.reduce((best, entry) => cost(entry) < cost(best) ? entry : best);
  const [over, under] = ratio.split("/").map(Number);
  const plain = octaves ? lowest(over * 2 ** octaves, under) : ratio;
  return {ratio: plain, error: within - size};
}

function lowest(over, under) {
  let [a, b] = [over, under];
  while (b) { [a, b] = [b, a % b]; }
  return under / a === 1 ? `${over / a}/1` : `${over / a}/${under / a}`;
}

export function signedCents(cents) {
  const rounded = Math.abs(cents).toFixed(1);
  return rounded === "0.0" ? "0" : `${cents < 0 ? "−" : "+"}${rounded}`;
}

// A sentence for each note that is held: the lowest with its frequency, the others by their distance from it. Harmonics
// say their frequencies, and no more: their numbers are their distances.
export function noteWords(scale, ratios, notes) {
  const cents = ({step, away}) => scale.centsOf(step) + away;
  const rising = [...notes].sort((one, other) => cents(one) - cents(other));
  return rising.map((note, place) => {
    const bent = Math.abs(note.away) < 0.05 ? "" : ` ${signedCents(note.away)} cents`;
    const called = scale.full(note.step) + bent;
    if (!place || scale.harmonics) { return `${called}, ${scale.hz(note.step, note.away).toFixed(2)} Hz`; }
    const above = cents(note) - cents(rising[0]), {ratio, error} = nearRatio(ratios, above);
    const off = Math.abs(error) < 0.05 ? "" : `${Math.abs(error).toFixed(1)} cents ${error < 0 ? "narrower" : "wider"} than `;
    return `${called}, ${above.toFixed(1)} cents up: ${off}${ratio}`;
  });
}

// How far notes are from a chord's ratios, octaves aside: the farthest, in cents, as `farthest` in chord_table.py.
function farthestFrom(ratios, sizes) {
  const numbers = ratios.split(":").map(Number), pure = numbers.map(number => OCTAVE * Math.log2(number / numbers[0]));
  const apart = (size, one) => Math.abs(size - one - OCTAVE * Math.round((size - one) / OCTAVE));
  return Math.max(...sizes.map(size => Math.min(...pure.map(one => apart(size, one)))));
}

// The symbol of a chord and its ratios, by the table that Python made of common ones; empty for any other, and for two notes,
// which are an interval. Harmonics are a chord by their numbers.
export function chordWords(scale, chords, steps) {
  if (scale.harmonics) { return steps.map(step => scale.name(step)).join(":"); }
  const bass = Math.min(...steps), above = steps.map(step => scale.degree(step - bass)).filter(step => step);
  const entry = chords[[...new Set(above)].sort((one, other) => one - other).join(" ")];
  if (!entry || !above.length) { return ""; }
  const [root, words, ratios] = entry, named = step => scale.roots[scale.degree(step)];
  const symbol = named(bass + root) + words + (root ? `/${named(bass)}` : "");
  if (!ratios) { return symbol; }
  if (!scale.even) {
    const off = farthestFrom(ratios, steps.map(step => scale.centsOf(step) - scale.centsOf(bass + root)));
    if (off > MOST_OFF_RATIOS) { return off > MOST_OFF_SYMBOL ? "" : symbol; }
  }
  return `${symbol}, near ${ratios}`;
}
