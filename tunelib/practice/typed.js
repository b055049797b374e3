// What a learner typed, made plain before it is read, as typed.py does; and notes, as they are read there.

const BLANKS = /[\t-\r\x1c-\x20\x85\xa0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000]+/gu;
const LONGEST_QUOTE = 60;
const LETTERS_OF_NOTES = "CDEFGAB", FIFTHS_OF_LETTERS = [0, 2, 4, -1, 1, 3, 5];
const TYPED_SIGNS = {"½♯": 1, "h#": 1, "½♭": -1, hb: -1, "♯": 2, "#": 2, "♭": -2, b: -2, "𝄪": 4, x: 4, "𝄫": -4};
const ANY_TYPED_SIGN = Object.keys(TYPED_SIGNS).join("|");
const NOTE_FORM = new RegExp(`^([A-Ga-g])(♮|(?:${ANY_TYPED_SIGN})*)(-?[0-9]{1,4})([+−-][1-9][0-9]{0,3})?$`, "u");

const onOneLine = text => text.replace(BLANKS, " ").replace(/^ | $/g, "");

// The digits of any script stand in rows of ten, from 0 to 9.
function digitOf(sign) {
  let before = sign.codePointAt(0), place = -1;
  for (; /\p{Nd}/u.test(String.fromCodePoint(before)); before--) { place++; }
  return String(place % 10);
}

export const tidy = text => onOneLine(text.replace(/[−–—]/g, "-")).replace(/\p{Nd}/gu, digitOf);

export function tidyNumbers(text) {
  const power = (_, base, exponent) => String(BigInt(base) ** BigInt(exponent));
  return tidy(text).replace(/(?<![0-9.,])([0-9]{1,4}) *(?:\^|\*\*) *([0-9]{1,2})(?![0-9])/g, power)
    .replace(/(?<=[0-9]) (?=[0-9]{3}(?![0-9]))/g, "");
}

export function quoted(text) {
  const letters = [...onOneLine(text)];
  return `“${letters.length > LONGEST_QUOTE ? `${letters.slice(0, LONGEST_QUOTE).join("")} …` : letters.join("")}”`;
}

export function listed(things) {
  return things.length > 1 ? `${things.slice(0, -1).join(", ")} and ${things.at(-1)}` : things.join("");
}

// A note as Note.parse reads it, or undefined.
export function readNote(text) {
  const [whole, letter, sign, octave, steps] = NOTE_FORM.exec(text) ?? [];
  if (whole === undefined) { return undefined; }
  const changes = sign === "♮" ? [] : (sign.match(new RegExp(ANY_TYPED_SIGN, "gu")) ?? []).map(one => TYPED_SIGNS[one]);
  if (changes.some(change => change < 0) && changes.some(change => change > 0)) { return undefined; }
  const halfSharps = changes.reduce((sum, change) => sum + change, 0);
  return {letter: letter.toUpperCase(), halfSharps, octave: Number(octave), steps: Number((steps ?? "0").replace("−", "-"))};
}

function accidental({halfSharps}) {
  const count = Math.abs(halfSharps), [double, single, half] = halfSharps >= 0 ? ["𝄪", "♯", "½♯"] : ["𝄫", "♭", "½♭"];
  return double.repeat(Math.floor(count / 4)) + single.repeat(Math.floor(count % 4 / 2)) + half.repeat(count % 2);
}

export function noteName(note, octave = "") {
  const {steps} = note, more = steps ? `${steps > 0 ? "+" : "−"}${Math.abs(steps)}` : "";
  return `${note.letter}${accidental(note)}${octave}${more}`;
}

export const fullNoteName = note => noteName(note, note.octave);

// The step of a tuning of `count` notes with a fifth of `fifth` steps that a note names; undefined between two steps.
export function stepOfNote({letter, halfSharps, octave, steps}, count, fifth) {
  const place = FIFTHS_OF_LETTERS[LETTERS_OF_NOTES.indexOf(letter)];
  const natural = place * fifth - Math.floor(place * 7 / 12) * count, doubled = (7 * fifth - 4 * count) * halfSharps;
  return doubled % 2 ? undefined : natural + doubled / 2 + (octave - 4) * count + steps;
}
