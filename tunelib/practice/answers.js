// What a page without Python says to an answer: the rules and the words of answers.py. An answer is what told() says there.

import {checkNotes, notUnderstood} from "./playing.js";
import {exactSum, readSum} from "./sums.js";
import {fullNoteName, gist, inDigits, quoted, readNote, stepOfNote, tidy, tidyNumbers} from "./typed.js";
import {UNITS, readAmount} from "./units.js";

const LARGEST_ANSWER = 1e300, MOST_IN_FULL = 1e15, FIGURES = 4;
const OFF_BY = [[10, "ten"], [100, "a hundred"], [1000, "a thousand"]];
const OFF_BY_OCTAVES = [[2, "an octave"], [4, "two octaves"]];
const HALF = 0.5;
const WITHOUT_A_SIGN = ["hertz", "time", "length"];
const SIDES = {time: ["long", "short"], length: ["long", "short"], Hz: ["high", "low"], kHz: ["high", "low"]};
const BESIDE_NUMBERS = /\b(?:the|harmonics?|numbers?)\b|(?<=[0-9])(?:st|nd|rd|th)\b/g;
const CHOICE_LETTERS = "ABCDEF";
const CENTS_OF_AN_OCTAVE = 1200;

const no = message => ({right: false, message, understood: true});
const yes = message => ({right: true, message, understood: true});

// Respond to an answer as typed.
export function checkAnswer(answer, text) {
  const nothing = !["choice", "played"].includes(answer.kind) && !tidy(text);
  return nothing ? notUnderstood(`Write an answer first, for example ${answer.form}.`) : CHECKS[answer.kind](answer, text);
}

const CHECKS = {
  quantity: checkQuantity, ratio: checkRatio, pitch: checkPitch, several: checkSeveral, choice: checkChoice, played: checkNotes,
};

function checkQuantity(answer, text) {
  const amount = readAmount(text);
  if (!amount?.values.length || amount.unit === undefined || !amount.values.every(n => Math.abs(n) < LARGEST_ANSWER)) {
    return notUnderstood(`I cannot read ${quoted(text)} as an answer here. Write, for example, ${answer.form}.`);
  }
  if (amount.bothWays) { return notUnderstood(`${quoted(text)} goes both ways: leave out the sign or the word.`); }
  const howOften = amount.unit === "times" && UNITS[answer.unit][0] === "hertz";
  const unit = amount.typed && !howOften ? amount.unit : answer.unit;
  const signed = amount.values.map(n => turned(answer.down, n, amount.way));
  const [wanted, size, wantedWords] = UNITS[answer.unit], [given, givenSize, givenWords] = UNITS[unit];
  if (given !== wanted) {
    const right = signed.some(n => isClose(n, answer.value, answer.tolerance))
      ? "The number is right, the unit is not. " : "";
    return no(`${right}You gave ${givenWords}; the question asks for ${wantedWords}.`);
  }
  const away = value => Math.abs(value - answer.value);
  const value = signed.map(n => n * givenSize / size).reduce((best, n) => away(n) < away(best) ? n : best);
  return respondToQuantity(answer, value, unit === answer.unit, amount);
}

// A value as the question counts: "flat" is a minus, but where it asks how flat, so is no sign at all.
function turned(down, value, way) {
  if (down) { return way > 0 ? -Math.abs(value) : Math.abs(value); }
  return way < 0 ? -Math.abs(value) : value;
}

function respondToQuantity(answer, value, asked, {typed, way}) {
  const is = one => isClose(one, answer.value, answer.tolerance);
  if (is(value)) { return yes(`${`Yes: ${shownNumber(answer.value)} ${answer.unit}`.trimEnd()}.`); }
  const measure = UNITS[answer.unit][0], signs = WITHOUT_A_SIGN.includes(measure) ? [1, -1] : [1];
  const slip = answer.slips.find(([wrong]) => signs.some(sign => isClose(sign * value, wrong, answer.tolerance)));
  if (slip) { return no(slip[1]); }
  if (measure === "count" && Number.isInteger(answer.value) && Math.abs(value - answer.value) < HALF) {
    return no(`Right so far: ${shownNumber(value)}. Round it to a whole number.`);
  }
  if (is(-value)) { return no(way ? "Right size, but the other way." : "Right size, wrong sign."); }
  const message = (typed ? "" : inAnotherUnit(answer, value, is)) || byAFactor(answer, value, asked, is);
  return no(message || tooLargeOrSmall(answer, value, way));
}

// What to say to a value of which nothing else is known: where there is a minus, of sign and size apart.
function tooLargeOrSmall(answer, value, told) {
  const size = Math.abs(value), right = Math.abs(answer.value), both = value * answer.value;
  const distance = Math.abs(size - right) <= 4 * answer.tolerance ? "a little " : "";
  const side = `${distance}too ${size > right ? "large" : "small"}`;
  if (both === 0 || Math.min(value, answer.value) > 0) { return `Not yet: ${shownNumber(value)} is ${side}.`; }
  return `Not yet: the ${told ? "direction" : "sign"} is ${both > 0 ? "right, but" : "wrong, and"} the size is ${side}.`;
}

function inAnotherUnit(answer, value, is) {
  const [measure, size, words] = UNITS[answer.unit];
  const other = Object.values(UNITS).find(([same, of]) => same === measure && of !== size && is(value * of / size));
  return other ? `That is right in ${other[2]}; the question asks for ${words}.` : "";
}

function byAFactor(answer, value, asked, is) {
  const [measure, size] = UNITS[answer.unit];
  const [over, under] = SIDES[answer.unit] ?? SIDES[measure] ?? ["large", "small"];
  const side = Math.abs(value) > Math.abs(answer.value) ? over : under;
  const isOff = by => is(value * by) || is(value * (1 / by));
  const octaves = over === "high" && OFF_BY_OCTAVES.find(([factor]) => isOff(factor));
  if (octaves) { return `Right note, but ${octaves[1]} too ${side}.`; }
  const octave = UNITS.octaves[1] / size;
  if (measure === "cents" && (is(value + octave) || is(value - octave))) {
    return `Right except for the octave: it is an octave too ${value > answer.value ? "large" : "small"}.`;
  }
  const times = OFF_BY.find(([factor]) => isOff(factor));
  if (times) { return `That is ${times[1]} times too ${side}: look at the ${asked ? "decimal point" : "unit"}.`; }
  return measure === "count" && value && is(1 / value) ? "That is upside down: divide the other way round." : "";
}

// As math.isclose in Python, with its 1e-9.
function isClose(one, other, tolerance) {
  const apart = Math.abs(one - other);
  return one === other || apart <= Math.abs(1e-9 * other) || apart <= Math.abs(1e-9 * one) || apart <= tolerance;
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
  const amount = readAmount(text), value = fraction(...answer.value);
  if (amount?.unit && amount.values.length) {
    const [measure, size, words] = UNITS[amount.unit], cents = measure === "cents" ? amount.values[0] * size : Infinity;
    const right = Math.abs(cents - centsOfRatio(value)) <= answer.tolerance ? "The size is right. " : "";
    return no(`${right}You gave ${words}; the question asks for a ratio, such as ${answer.form}.`);
  }
  const plain = tidyNumbers(text).toLowerCase().replaceAll(" to ", ":"), rounded = /[.,]/.test(plain);
  const read = plain.split(":").length <= 2 ? readSum(plain.replaceAll(":", "/")) : undefined;
  const given = read && !read[1].replace(/\.+$/, "") ? exactSum(read[0]) : undefined;
  if (!given || given[0] <= 0n) {
    return notUnderstood(`I cannot read ${quoted(text)} as a ratio. Write, for example, ${answer.form}.`);
  }
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

function checkPitch(answer, text) {
  const plain = tidy(text).replaceAll(" ", ""), given = readNote(plain), right = readNote(answer.value);
  if (!given) {
    return notUnderstood(readNote(`${plain}4`) ? "Which octave? Add its number: C4 is middle C, and A4 the tuning note."
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
  const words = inDigits(tidy(text)).toLowerCase().replaceAll(" and ", " ").replaceAll("&", " ");
  const plain = words.replace(BESIDE_NUMBERS, "").replace(/^ +| +$/g, "");
  if (!/^[0-9]{1,6}(?:[\s,;]+[0-9]{1,6})*[.]?$/.test(plain)) {
    return notUnderstood(`I cannot read ${quoted(text)} as whole numbers. Write, for example, ${form}.`);
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
  const meaning = n => (n === right ? yes : no)(responses[n]);
  if (place >= 0) { return meaning(place); }
  const given = gist(text), meant = choices.flatMap((choice, n) => meansChoice(given, gist(choice)) ? [n] : []);
  if (plain && meant.length === 1) { return meaning(meant[0]); }
  return notUnderstood(plain ? `${quoted(text)} is not one of the choices. Write ${form}.` : "Choose one of the answers first.");
}

// Whether what was typed means a choice: it says the same, or a number that is in it.
function meansChoice(given, choice) {
  return given !== "" && (given === choice || (/^[0-9]+$/.test(given) && choice.split(" ").includes(given)));
}
