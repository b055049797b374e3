// Answers that are played, or given by the names of their notes: the rules and the words of playing.py. An answer is what
// Played.told() says.

import {fullNoteName, listed, noteName, quoted, readNote, stepOfNote, tidy} from "./typed.js";

const NO_OCTAVE = "Which octave? Add its number to each name: C4 is middle C, and B3 is just below.";
const OCTAVE_OF_A_NAME = 4, LETTERS = "CDEFGAB", SEMITONES = 12;
const SIGNS_IN_WORDS = [
  ["sharp a half", "#h#"], ["flat a half", "bhb"], ["double[ -]?sharp", "x"], ["double[ -]?flat", "bb"],
  ["half[ -]?sharp", "h#"], ["half[ -]?flat", "hb"], ["sharp", "#"], ["flat", "b"],
]
  .map(([words, sign]) => [new RegExp(`(?<=[A-Ga-g])[ -]?${words}(?![a-z])`, "gi"), sign]);
const BESIDE_NOTES = "between the it is falls note notes key keys step steps hold play then +".split(" ");
const RUN_OF_NAMES = /^(?:[A-G](?:½[♯♭]|h[#b]|[♯♭#bx♮𝄪𝄫])*[0-9]?){2,}$/u;
const CHORD_SYMBOL = /^[A-G][^A-Za-z ]*[b#x♭♯]*(?:m|neu|sub|sup|dim|aug|harm|mid|wide|maj|sus|add|alt).*$/;

const modulo = (step, count) => ((step % count) + count) % count;
const shownSigns = name => name.replaceAll("𝄪", "♯♯").replaceAll("𝄫", "♭♭");
const wrong = message => ({right: false, message, understood: true});

// The reply to what is no answer yet: what is wrong with how it is written.
export const notUnderstood = message => ({right: false, message, understood: false});

// Respond to names of notes, with or without octaves, or to steps counted from C4 = 0.
export function checkNotes(answer, text) {
  const words = notesTyped(text);
  if (!words.length) { return respondToNotes(answer, []); }
  const read = words.map(word => readKey(answer, word)), unread = read.indexOf(undefined);
  if (unread >= 0 && CHORD_SYMBOL.test(words[unread])) {
    return notUnderstood(`${quoted(words[unread])} is a chord. Write its notes, for example ${answer.form}.`);
  }
  if (unread >= 0) {
    return notUnderstood(`I cannot read ${quoted(words[unread])} as a note of these keys. Write, for example, ${answer.form}.`);
  }
  return answer.exact && !read.every(({said}) => said) ? notUnderstood(NO_OCTAVE) : respondToNotes(answer, read);
}

// Respond to what is played, as steps of the tuning, C4 = 0: in their order, if it counts.
export function checkSteps(answer, steps) {
  return respondToNotes(answer, steps.map(step => ({step, name: nameOfStep(answer, step)})));
}

// Whether these are the first notes of the right ones in their order, but not all of them.
export function begunWith(answer, steps) {
  const {length} = steps;
  return length > 0 && length < answer.steps.length && sameNotes(answer, steps, answer.steps.slice(0, length));
}

function notesTyped(text) {
  const spelled = ` ${tidy(text)} `.replaceAll(" and ", " ");
  const line = SIGNS_IN_WORDS.reduce((known, [words, sign]) => known.replace(words, sign), spelled).replace(/-(?=[A-Ga-g])/g, " ");
  const words = line.split(/[ ,;&]+/).filter(word => word && !BESIDE_NOTES.includes(word.toLowerCase()));
  return words.flatMap(word => RUN_OF_NAMES.test(word) ? word.match(/[A-G][^A-G]*/g) : [word]);
}

function readKey(answer, word) {
  if (/^-?[0-9]{1,4}$/.test(word)) { return {step: Number(word), name: word, said: true}; }
  for (const [octave, said] of [["", true], [OCTAVE_OF_A_NAME, false]]) {
    const note = answer.fifth === null ? undefined : readNote(`${word}${octave}`);
    const step = note && stepOfNote(note, answer.count, answer.fifth);
    if (step !== undefined) { return {step, name: shownSigns(answer.exact ? fullNoteName(note) : noteName(note)), said}; }
  }
  return undefined;
}

function nameOfStep(answer, step) {
  if (answer.fifth === null) { return String(step); }
  const [name, octave] = answer.step_names[modulo(step, answer.count)];
  return answer.exact ? `${name}${octave + Math.floor(step / answer.count)}` : name;
}

const keyOf = (answer, step) => answer.exact ? step : modulo(step, answer.count);

function sameNotes(answer, steps, wanted) {
  if (answer.in_order) {
    const away = answer.anywhere && steps.length ? steps[0] - wanted[0] : 0;
    return steps.length === wanted.length && steps.every((step, n) => keyOf(answer, step) === keyOf(answer, wanted[n] + away));
  }
  const given = new Set(steps.map(step => keyOf(answer, step)));
  return (answer.anywhere ? steps.map(step => step - wanted[0]) : [0]).some(away => {
    const asked = new Set(wanted.map(step => keyOf(answer, step + away)));
    return asked.size === given.size && [...asked].every(key => given.has(key));
  });
}

function respondToNotes(answer, given) {
  const steps = given.map(({step}) => step), names = given.map(({name}) => name);
  if (!given.length) { return notUnderstood(`No notes yet. ${answer.ways}`); }
  if (sameNotes(answer, steps, answer.steps)) {
    return {right: true, message: `Yes: ${listed(answer.in_order ? names : [...new Set(names)])}.`, understood: true};
  }
  const begins = notes => answer.in_order ? steps.slice(0, notes.length) : steps;
  const slip = answer.slips.find(([notes]) => sameNotes(answer, begins(notes), notes));
  if (slip) { return wrong(slip[1]); }
  const moved = movedBy(answer, steps);
  if (moved) {
    return wrong(`Right intervals, but all of it is ${stepsApart(answer, moved)}.`);
  }
  return answer.in_order ? wrongInOrder(answer, given) : wrongTogether(answer, given);
}

function movedBy(answer, steps) {
  if (answer.anywhere || answer.steps.length < 2) { return 0; }
  const ways = steps.map(step => step - answer.steps[0]).sort((one, other) => Math.abs(one) - Math.abs(other));
  const away = ways.find(by => sameNotes(answer, steps, answer.steps.map(step => step + by)));
  return away === undefined ? 0 : shorterWay(answer, away);
}

function shorterWay({exact, count}, away) {
  const half = Math.floor(count / 2);
  return exact ? away : modulo(away + half, count) - half;
}

function stepsApart({count}, away) {
  const size = Math.abs(away), octaves = Math.floor(size / count), side = away > 0 ? "too high" : "too low";
  if (octaves && size % count === 0) { return `${octaves === 1 ? "an octave" : `${octaves} octaves`} ${side}`; }
  return SEMITONES * size < count ? `a little ${side}` : side;
}

function wrongInOrder(answer, given) {
  const steps = given.map(({step}) => step), shift = answer.anywhere ? steps[0] - answer.steps[0] : 0;
  if (begunWith(answer, steps)) { return wrong(`Right so far: ${listed(given.map(({name}) => name))}. Go on.`); }
  for (let n = 0; n < Math.min(given.length, answer.steps.length); n++) {
    const {step, name} = given[n], away = shorterWay(answer, step - answer.steps[n] - shift);
    if (keyOf(answer, away)) {
      const place = answer.steps.length > 1 ? `Note ${n + 1}, ${name},` : name;
      const fromLast = n ? intervalPlayed(answer, given[n], given[n - 1]) : "";
      return wrong(`${place} is ${stepsApart(answer, away)}${fromLast}.`);
    }
  }
  return wrong(`Right up to note ${answer.steps.length}, and that is all of them: stop there.`);
}

function wrongTogether(answer, given) {
  const played = new Map();
  for (const note of given) {
    if (!played.has(keyOf(answer, note.step))) { played.set(keyOf(answer, note.step), note); }
  }
  const matched = away => answer.steps.filter(step => played.has(keyOf(answer, step + away))).length;
  const shifts = answer.anywhere ? given.map(({step}) => step - answer.steps[0]) : [0];
  const shift = shifts.reduce((best, away) => matched(away) > matched(best) ? away : best);
  const root = answer.steps[0] + shift, wanted = new Map(answer.steps.map(step => [keyOf(answer, step + shift), step + shift]));
  const odd = [...played.keys()].filter(key => !wanted.has(key));
  const missing = [...wanted].filter(([key]) => !played.has(key)).map(([, step]) => step);
  if (!odd.length) {
    const found = `${wanted.size - missing.length} of ${wanted.size} notes, and none of them wrong`;
    return wrong(`${found}. ${missing.includes(root) ? "The root is missing." : "Look for the rest."}`);
  }
  if (!missing.length) {
    return wrong(`All the notes are there, but ${listed(odd.map(key => played.get(key).name))} should not be.`);
  }
  const aways = missing.map(step => shorterWay(answer, odd[0] - step));
  const away = aways.reduce((best, one) => Math.abs(one) < Math.abs(best) ? one : best);
  const note = played.get(odd[0]), rootPlayed = played.get(keyOf(answer, root));
  const aboveRoot = rootPlayed ? intervalPlayed(answer, note, rootPlayed) : "";
  return wrong(`${chordPlayed(answer, given)}${note.name} is ${stepsApart(answer, away)}${aboveRoot}.`);
}

// What a note is above another, or below it where order or octaves count; nothing if that has no name.
function intervalPlayed(answer, note, other) {
  const {count, intervals} = answer, away = note.step - other.step;
  const up = answer.in_order ? shorterWay(answer, away) : keyOf(answer, away), below = up < 0, apart = Math.abs(up);
  if (!intervals.length || apart === 0 || apart >= count || !intervals[apart].length) { return ""; }
  const [high, low] = (below ? [other, note] : [note, other]).map(({name}) => LETTERS.indexOf(name[0]));
  const spelled = intervals[apart].find(([letters]) => letters === modulo(high - low, 7));
  const [, called] = spelled && Math.min(high, low) >= 0 ? spelled : intervals[apart][0];
  return `: ${below ? "below" : "above"} ${other.name} it is ${called}`;
}

// The chord that notes make, in a sentence; nothing if it is none of the common ones.
function chordPlayed(answer, given) {
  const lowest = Math.min(...given.map(({step}) => step));
  const above = new Set(given.map(({step}) => modulo(step - lowest, answer.count)));
  above.delete(0);
  const chord = answer.chords[[...above].sort((one, other) => one - other).join(" ")];
  if (!chord) { return ""; }
  const [root, words] = chord, symbol = `${plainName(answer, lowest + root, given)}${words}`;
  return `That is ${symbol}${root ? `/${plainName(answer, lowest, given)}` : ""}. `;
}

// A step's name without its octave: as it was given, or as the answer spells it.
function plainName(answer, step, given) {
  const names = given.filter(note => modulo(note.step - step, answer.count) === 0)
    .map(({name}) => name.replace(/-?[0-9]+$/, "")).filter(name => name);
  return names[0] ?? answer.step_names[modulo(step, answer.count)][0];
}
