// An amount as a learner types it, read as units.py reads it: a number or a sum, its unit, and which way it goes.

import {readSum, valuesOfSum} from "./sums.js";
import {tidyNumbers} from "./typed.js";

// What it measures, how many of the base unit it is, how it is said, and how it may be typed.
export const UNITS = {
  "Hz": ["hertz", 1, "hertz",
    ["hz", "hertz", "/s", "1/s", "per second", "a second", "times a second", "times per second", "cps",
      "cycles a second", "cycles per second", "vibrations a second", "vibrations per second"]],
  "kHz": ["hertz", 1000, "kilohertz", ["khz", "kilohertz"]],
  "s": ["time", 1, "seconds", ["s", "sec", "secs", "second", "seconds", "of a second", "th of a second"]],
  "ms": ["time", 0.001, "milliseconds", ["ms", "msec", "msecs", "millisecond", "milliseconds"]],
  "beats a second": ["hertz", 1, "beats a second",
    ["beats", "beat", "beats a second", "beats per second", "beats/s", "beat a second", "beat per second"]],
  "cents": ["cents", 1, "cents", ["cents", "cent", "c", "¢", "ct", "cts"]],
  "semitones": ["cents", 100, "semitones",
    ["semitone", "semitones", "half step", "half steps", "half-step", "half-steps", "halftone", "halftones"]],
  "octaves": ["cents", 1200, "octaves", ["octave", "octaves"]],
  "mm": ["length", 0.001, "millimetres", ["mm", "millimetre", "millimetres", "millimeter", "millimeters"]],
  "cm": ["length", 0.01, "centimetres", ["cm", "centimetre", "centimetres", "centimeter", "centimeters"]],
  "m": ["length", 1, "metres", ["m", "metre", "metres", "meter", "meters"]],
  "%": ["share", 0.01, "per cent", ["%", "per cent", "percent", "pct"]],
  "": ["count", 1, "a plain number",
    ["", "notes", "note", "keys", "key", "fifths", "fifth", "ways",
      "th", "st", "nd", "rd", "harmonics", "th harmonic"]],
  "times": ["count", 1, "times", ["times"]],
  "steps": ["count", 1, "steps", ["step", "steps"]],
  "commas": ["count", 1, "commas", ["comma", "commas", "of a comma", "of the comma"]],
};
const TYPED_UNITS = new Map(Object.entries(UNITS).flatMap(([unit, [, , , typed]]) => typed.map(one => [one, unit])));
const WORDS_DOWN = ["flat", "flatter", "below", "down", "downwards", "lower", "low", "narrow", "narrower", "minus"];
const WORDS_UP = ["sharp", "sharper", "above", "up", "upwards", "higher", "high", "wide", "wider", "plus"];
const ANY_WAY = [...WORDS_DOWN, ...WORDS_UP].join("|");
const LEAD = "(?:(?:it is|it's|is|about|around|roughly|nearly|approximately|approx\\.|ca\\.|by|the|harmonic|step|number|=|≈|~) *)*";
const WORDS_BEFORE = new RegExp(`^${LEAD}(?:(${ANY_WAY})(?: +|$))?${LEAD}(.*)$`, "su");
const WORDS_AFTER = new RegExp(`^(|.*? )(?:too )?(${ANY_WAY})$`, "su");

// The values that were typed may mean, their unit as typed or undefined, and which way a word says: -1 down, 1 up, 0.
// Undefined where there is no number at the beginning.
export function readAmount(text) {
  const [, before, number = ""] = WORDS_BEFORE.exec(tidyNumbers(text).toLowerCase()) ?? [], read = readSum(number);
  if (!read) { return undefined; }
  let rest = read[1].replace(/[.!]+$/, "");
  const [, unitWords, after] = WORDS_AFTER.exec(rest) ?? [];
  if (after) { rest = unitWords.replace(/ +$/, ""); }
  const ways = new Set([before, after].filter(word => word).map(word => WORDS_DOWN.includes(word) ? -1 : 1));
  const values = valuesOfSum(read[0]), way = ways.size === 1 ? [...ways][0] : 0;
  const unit = ways.size < 2 ? TYPED_UNITS.get(rest) : undefined;
  return {values, unit, typed: rest !== "", way, bothWays: way > 0 && values.some(value => value < 0)};
}
