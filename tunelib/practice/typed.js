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

export const tidy = text => onOneLine(text.replace(/[−–—‒‐‑﹣－]/g, "-")).replace(/\p{Nd}/gu, digitOf);

// Words without those that say nothing, an ordinal as its number: what two ways to say one thing have in common.
export function gist(text) {
  const kept = tidy(text).toLowerCase().split(/[ ,.;]+/).filter(word => !SAYING_NOTHING.includes(word));
  return kept.map(word => ORDINALS.includes(word) ? String(1 + ORDINALS.indexOf(word)) : word.replace(/(?<=[0-9])(?:st|nd|rd|th)$/, ""))
    .join(" ");
}

const SAYING_NOTHING = ["", "in", "the", "a", "one", "and"];
const ORDINALS = ["first", "second", "third", "fourth", "fifth", "sixth"];

const ONES = [
  "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
  "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
];
const TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
const PARTS = {half: "2", third: "3", quarter: "4"}, POWERS = {hundred: "100", thousand: "1000", million: "1000000"};
const PARTS_AS_SIGNS = {
  "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
};
const PART_AS_SIGN = new RegExp(`[${Object.keys(PARTS_AS_SIGNS).join("")}]`, "g");
const WHOLE_AND_PART = /(?<![0-9.,*/^+-])(?<![*/^+-] )([0-9]+) ([0-9]+\/[0-9]+)(?![0-9.,])/g;
const anyOf = words => words.join("|");
const WHOLE_IN_WORDS = new RegExp(`\\b(?:(${anyOf(TENS)})(?:[ -]?(${anyOf(ONES.slice(1, 10))}))?|(${anyOf(ONES)}))\\b`, "gi");
const PART_IN_WORDS = new RegExp(
  `\\b(an?|[0-9]+) (${anyOf(Object.keys(PARTS))})s?(?![- ]?(?:steps?|tones?))\\b(?: of (?:an?|the)\\b)?`, "gi");
const ONE_POWER = new RegExp(`\\ban? (?=${anyOf(Object.keys(POWERS))})`, "gi");
const POWER_IN_WORDS = new RegExp(`(?<=[0-9]) (${anyOf(Object.keys(POWERS))})\\b`, "gi");

// Numbers in words as figures: whole ones below a hundred, parts, and a hundred, a thousand or a million of them.
export function inDigits(line) {
  const place = (words, word) => words.indexOf(word.toLowerCase());
  return line.replace(WHOLE_IN_WORDS, (_, tens, one, alone) =>
    String(alone ? place(ONES, alone) : 10 * place(TENS, tens) + 20 + (one ? place(ONES, one) : 0)))
    .replace(/\bhalf an? /gi, "1/2 ")
    .replace(PART_IN_WORDS, (_, count, part) => `${/^[0-9]/.test(count) ? count : 1}/${PARTS[part.toLowerCase()]}`)
    .replace(ONE_POWER, "1 ").replace(POWER_IN_WORDS, (_, power) => `*${POWERS[power.toLowerCase()]}`);
}

// Words for signs between two numbers, "5/4 of 440", and two stars for a power.
const SIGNS_BETWEEN = [
  ["x|times|multiplied by|of", "*"], ["divided by|over", "/"], ["plus", "+"], ["minus", "-"], ["\\*\\*", "^"],
].map(([words, sign]) => [new RegExp(`(?<=[0-9)]) ?(?:${words}) ?(?=[0-9(.,]|log2|sqrt)`, "gi"), sign]);

export function tidyNumbers(text) {
  const marked = tidy(text).replace(/[×·⋅∙]/g, "*").replace(/[÷∕⁄]/g, "/").replaceAll("∶", ":").replaceAll("＋", "+")
    .replaceAll("√", "sqrt").replaceAll("₂", "2");
  const parts = onOneLine(marked.replace(PART_AS_SIGN, sign => ` ${PARTS_AS_SIGNS[sign]}`)).replace(WHOLE_AND_PART, "($1+$2)");
  const signs = parts.replace(/(?<=[0-9])[ '’](?=[0-9]{3}(?![0-9]))/g, "");
  const line = inDigits(signs).replace(/\b(?:math|np|numpy)\.(?=log2|sqrt)/gi, "").replace(/(?<=[0-9)]) ?(?=log2|sqrt)/gi, "*");
  return SIGNS_BETWEEN.reduce((known, [words, sign]) => known.replace(words, sign), line);
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
