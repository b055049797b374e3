// What a page without Python says to an answer: the rules and the words of answers.py. An answer is what told() says there.

import {checkNotes} from "./playing.js";
import {fullNoteName, quoted, readNote, stepOfNote, tidy, tidyNumbers} from "./typed.js";

// Unit as asked for: what it measures, how many of the base unit it is, how it is said, and how it may be typed.
const UNITS = {
  "Hz": ["hertz", 1, "hertz", ["hz", "hertz", "/s", "1/s", "per second", "a second", "times a second", "times per second"]],
  "kHz": ["hertz", 1000, "kilohertz", ["khz", "kilohertz"]],
  "s": ["time", 1, "seconds", ["s", "sec", "second", "seconds"]],
  "ms": ["time", 0.001, "milliseconds", ["ms", "msec", "millisecond", "milliseconds"]],
  "beats a second": ["hertz", 1, "beats a second",
    ["beats", "beat", "beats a second", "beats per second", "beats/s", "beat a second", "beat per second"]],
  "cents": ["cents", 1, "cents", ["cents", "cent", "c", "¢", "ct"]],
  "mm": ["length", 0.001, "millimetres", ["mm", "millimetre", "millimetres", "millimeter", "millimeters"]],
  "cm": ["length", 0.01, "centimetres", ["cm", "centimetre", "centimetres", "centimeter", "centimeters"]],
  "%": ["share", 0.01, "per cent", ["%", "per cent", "percent"]],
  "": ["count", 1, "a plain number", ["", "of a comma", "of the comma", "comma"]],
};
const TYPED_UNITS = new Map(Object.entries(UNITS).flatMap(([unit, [, , , typed]]) => typed.map(one => [one, unit])));
const LARGEST_ANSWER = 1e300, MOST_IN_FULL = 1e15, FIGURES = 4;
const NUMBER_FORM = "[+-]?(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)";
const QUANTITY_FORM = new RegExp(`^(${NUMBER_FORM})(?: *\\/ *(${NUMBER_FORM}))? *(.*)$`, "su");
const RATIO_PART = /^ *([-+]?)([0-9]+(?:\.[0-9]*)?|\.[0-9]+) *$/;
const CHOICE_LETTERS = "ABCDEF";
const CENTS_OF_AN_OCTAVE = 1200;

const no = message => ({right: false, message});
const yes = message => ({right: true, message});

// Respond to an answer as typed.
export function checkAnswer(answer, text) {
  return CHECKS[answer.kind](answer, text);
}

const CHECKS = {
  quantity: checkQuantity, ratio: checkRatio, pitch: checkPitch, several: checkSeveral, choice: checkChoice, played: checkNotes,
};

function checkQuantity(answer, text) {
  const [, top, bottom, rest = ""] = QUANTITY_FORM.exec(tidyNumbers(text)) ?? [];
  const bottoms = bottom ? readNumbers(bottom) : [1];
  const values = top === undefined ? [] : readNumbers(top).flatMap(value => bottoms.filter(b => b).map(b => value / b));
  const typed = rest.replace(/\.+$/, "").toLowerCase(), unit = typed ? TYPED_UNITS.get(typed) : answer.unit;
  if (!values.length || unit === undefined || !values.every(value => Math.abs(value) < LARGEST_ANSWER)) {
    return no(`I cannot read ${quoted(text)} as an answer here. Write, for example, ${answer.form}.`);
  }
  const [wanted, size, wantedWords] = UNITS[answer.unit], [given, givenSize, givenWords] = UNITS[unit];
  if (given !== wanted) { return no(`You gave ${givenWords}; the question asks for ${wantedWords}.`); }
  const away = value => Math.abs(value - answer.value);
  return respondToQuantity(answer, values.map(value => value * givenSize / size)
    .reduce((best, value) => away(value) < away(best) ? value : best));
}

function respondToQuantity(answer, value) {
  const is = (one, target) => isClose(one, target, answer.tolerance), side = value > answer.value;
  if (is(value, answer.value)) { return yes(`${`Yes: ${shownNumber(answer.value)} ${answer.unit}`.trimEnd()}.`); }
  const slip = answer.slips.find(([wrong]) => is(value, wrong));
  if (slip) { return no(slip[1]); }
  if (is(-value, answer.value)) { return no("Right size, wrong sign."); }
  const [measure, , words] = UNITS[answer.unit];
  if (measure === "time" && [1000, 0.001].some(factor => is(value * factor, answer.value))) {
    return no(`That is right in ${answer.unit === "ms" ? "seconds" : "milliseconds"}; the question asks for ${words}.`);
  }
  if (["Hz", "kHz"].includes(answer.unit) && [0.5, 2].some(factor => is(value * factor, answer.value))) {
    return no(`Right note, but an octave too ${side ? "high" : "low"}.`);
  }
  const distance = Math.abs(value - answer.value) <= 4 * answer.tolerance ? "a little " : "";
  return no(`Not yet: ${shownNumber(value)} is ${distance}too ${side ? "large" : "small"}.`);
}

// As math.isclose in Python, with its 1e-9.
function isClose(one, other, tolerance) {
  const apart = Math.abs(one - other);
  return one === other || apart <= Math.abs(1e-9 * other) || apart <= Math.abs(1e-9 * one) || apart <= tolerance;
}

// A comma is a decimal mark for some and separates thousands for others.
function readNumbers(number) {
  const spellings = /^[+-]?[0-9]{1,3}(,[0-9]{3})+(\.[0-9]+)?$/.test(number) ? [number.replaceAll(",", "")] : [];
  if ((number.match(/[.,]/g) ?? []).length <= 1) { spellings.push(number.replaceAll(",", ".")); }
  return spellings.map(Number);
}

function shownNumber(given) {
  const value = given + 0, size = Math.abs(value), whole = size >= 10_000 && size < MOST_IN_FULL && Number.isInteger(value);
  const shown = whole ? String(size).replace(/\B(?=(?:[0-9]{3})+$)/g, ",") : inFigures(size);
  return value < 0 ? `−${shown}` : shown;
}

// A number of 0 or more in four figures as Python's format has it: exact halves go to the even figure, which toPrecision
// does not do, noughts at the end are left out, and very large and small numbers have an exponent.
function inFigures(size) {
  if (size === 0) { return "0"; }
  const [digits, power] = size.toExponential(100).replace(".", "").split("e");
  const kept = Number(digits.slice(0, FIGURES)), rest = digits.slice(FIGURES).replace(/0+$/, "");
  const up = rest > "5" || (rest === "5" && kept % 2 === 1), rounded = String(kept + (up ? 1 : 0));
  const exponent = Number(power) + rounded.length - FIGURES, figures = rounded.slice(0, FIGURES);
  const trimmed = number => number.replace(/0+$/, "").replace(/\.$/, "");
  if (exponent < -4 || exponent >= FIGURES) {
    const sign = exponent < 0 ? "−" : "+", shown = trimmed(`${figures[0]}.${figures.slice(1)}`);
    return `${shown}e${sign}${String(Math.abs(exponent)).padStart(2, "0")}`;
  }
  if (exponent < 0) { return trimmed(`0.${"0".repeat(-exponent - 1)}${figures}`); }
  return trimmed(`${figures.slice(0, exponent + 1)}.${figures.slice(exponent + 1)}`);
}

function checkRatio(answer, text) {
  const plain = tidyNumbers(text).toLowerCase().replaceAll(" to ", "/").replaceAll(",", ".");
  const unit = TYPED_UNITS.get((QUANTITY_FORM.exec(plain)?.[3] ?? "").replace(/\.+$/, ""));
  if (unit) { return no(`You gave ${UNITS[unit][2]}; the question asks for a ratio, such as ${answer.form}.`); }
  const given = readRatio(plain);
  if (!given) { return no(`I cannot read ${quoted(text)} as a ratio. Write, for example, ${answer.form}.`); }
  const value = fraction(...answer.value), rounded = plain.includes(".");
  const same = ([over, under]) => compareRatios(given, [over, under]) === 0n ||
    (rounded && Math.abs(centsOfRatio([given[0] * under, given[1] * over])) <= answer.tolerance);
  if (same(value)) { return yes(`Yes: ${value[1] === 1n ? value[0] : value.join("/")}.`); }
  const slip = answer.slips.find(([wrong]) => same(fraction(...wrong)));
  if (slip) { return no(slip[1]); }
  if (same([value[1], value[0]])) { return no("That is the ratio upside down: put the higher tone first."); }
  const side = compareRatios(given, value) > 0n ? "wide" : "narrow";
  if (same([2n * value[0], value[1]]) || same([value[0], 2n * value[1]])) {
    return no(`Right except for the octave: it is an octave too ${side}.`);
  }
  return no(`Not yet: that interval is too ${side}.`);
}

const fraction = (over, under) => [BigInt(over), BigInt(under)];
const compareRatios = (one, other) => one[0] * other[1] - other[0] * one[1];
const centsOfRatio = ([over, under]) => CENTS_OF_AN_OCTAVE * (log2Of(over) - log2Of(under));

function log2Of(whole) {
  const beyond = Math.max(0, whole.toString(2).length - 60);
  return Math.log2(Number(whole >> BigInt(beyond))) + beyond;
}

// Two whole numbers or decimals with a colon or a stroke, or one of them, as a fraction above 0; else undefined.
function readRatio(text) {
  const parts = text.replaceAll(":", "/").split("/"), read = parts.map(readDecimal);
  if (parts.length > 2 || read.includes(undefined)) { return undefined; }
  const [[over, under], [over2, under2] = [1n, 1n]] = read, ratio = [over * under2, under * over2];
  return ratio[0] * ratio[1] > 0n ? ratio.map(part => part < 0n ? -part : part) : undefined;
}

function readDecimal(text) {
  const [, sign, number] = RATIO_PART.exec(text) ?? [];
  if (number === undefined) { return undefined; }
  const [whole, decimals = ""] = number.split(".");
  return [BigInt(`${whole}${decimals}`) * (sign === "-" ? -1n : 1n), 10n ** BigInt(decimals.length)];
}

function checkPitch(answer, text) {
  const plain = tidy(text).replaceAll(" ", ""), given = readNote(plain), right = readNote(answer.value);
  if (!given) {
    return no(readNote(`${plain}4`) ? "Which octave? Add its number: C4 is middle C, and A4 the tuning note."
      : `I cannot read ${quoted(text)} as a note. Write, for example, ${answer.form}.`);
  }
  const name = fullNoteName(given), step = stepOfNote(given, 12, 7);
  if (step === undefined) { return no(`${name} is between two keys; the answer is one of the twelve.`); }
  const distance = step - stepOfNote(right, 12, 7), side = distance > 0 ? "high" : "low";
  if (name === answer.value) { return yes(`Yes: ${answer.value}.`); }
  if (distance === 0) { return yes(`Yes, that is the key; here it is written ${answer.value}.`); }
  if (distance % 12 === 0) { return no(`Right note, but too ${side}: look at the octave number.`); }
  return no(`Not yet: ${name} is ${Math.abs(distance) === 1 ? "one key " : ""}too ${side}.`);
}

function checkSeveral({values, form}, text) {
  const plain = tidy(text).toLowerCase().replaceAll(" and ", " ").replaceAll("&", " ");
  if (!/^[0-9]{1,6}(?:[\s,;]+[0-9]{1,6})*[.]?$/.test(plain)) {
    return no(`I cannot read ${quoted(text)} as whole numbers. Write, for example, ${form}.`);
  }
  const given = new Set(plain.match(/[0-9]+/g).map(Number)), count = values.filter(value => given.has(value)).length;
  const odd = [...given].filter(value => !values.includes(value)).sort((one, other) => one - other);
  if (odd.length) {
    const which = odd.length <= 2 ? odd.join(" and ") : "some of these";
    return no(`${count} of ${values.length} found, but ${which} should not be there.`);
  }
  if (count === values.length) { return yes(`Yes: ${values.join(", ")}.`); }
  return no(`${count} of ${values.length} found, and none of them wrong. Look for the rest.`);
}

function checkChoice({choices, right, responses, form}, text) {
  const compared = words => tidy(words).replace(/\.+$/, "").toLowerCase(), plain = compared(text);
  const place = choices.findIndex((choice, n) =>
    [CHOICE_LETTERS[n], choice, `${CHOICE_LETTERS[n]}. ${choice}`].some(words => compared(words) === plain));
  if (place >= 0) { return {right: place === right, message: responses[place]}; }
  return no(plain ? `${quoted(text)} is not one of the choices. Write ${form}.` : "Choose one of the answers first.");
}
