// A sum that is typed where a number was asked for, read as sums.py reads it.

const LONGEST_SUM = 200, LARGEST_POWER = 99, LARGEST_WHOLE = 2n ** 4096n, READINGS = 2;
const NUMERAL_FORM = /(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)(?:e[+-]?[0-9]{1,2}(?![0-9]))?/uy;
const FUNCTIONS_OF_SUMS = {log2: Math.log2, sqrt: Math.sqrt};

// The longest sum that a text begins with, and the words after it: [sum, words]; undefined if there is none.
// A sum is a numeral as typed, [sign, left, right] or [function, of].
export function readSum(text) {
  if ([...text].length > LONGEST_SUM) { return undefined; }
  let place = 0;
  const oneOf = signs => {
    const start = place;
    while (text[place] === " ") { place++; }
    const sign = text[place];
    if (sign !== undefined && signs.includes(sign)) { place++; return sign; }
    place = start;
    return undefined;
  };
  const row = (part, signs) => {
    let left = part();
    while (left !== undefined) {
      const start = place, sign = oneOf(signs), right = sign && part();
      if (right === undefined) { place = start; break; }
      left = [sign, left, right];
    }
    return left;
  };
  const sum = () => row(product, "+-"), product = () => row(signed, "*/");
  const signed = () => {
    const start = place, sign = oneOf("+-"), found = power();
    if (found === undefined) { place = start; return undefined; }
    return sign === "-" ? ["-", "0", found] : found;
  };
  const power = () => {
    const base = atom(), start = place;
    if (base !== undefined && oneOf("^")) {
      const exponent = signed();
      if (exponent !== undefined) { return ["^", base, exponent]; }
      place = start;
    }
    return base;
  };
  const atom = () => {
    const start = place;
    if (oneOf("(")) {
      const inside = sum();
      if (inside !== undefined && oneOf(")")) { return inside; }
      place = start;
      return undefined;
    }
    while (text[place] === " ") { place++; }
    const name = Object.keys(FUNCTIONS_OF_SUMS).find(one => text.startsWith(one, place));
    if (name) {
      place += name.length;
      const of = atom();
      if (of === undefined) { place = start; return undefined; }
      return [name, of];
    }
    NUMERAL_FORM.lastIndex = place;
    const [numeral] = NUMERAL_FORM.exec(text) ?? [];
    place = numeral === undefined ? start : place + numeral.length;
    return numeral;
  };
  const found = sum();
  return found === undefined ? undefined : [found, text.slice(place).replace(/^ +| +$/g, "")];
}

// What a typed number may mean: a comma is a decimal mark for some and separates thousands for others.
function readNumeral(numeral) {
  const found = [], [figures, power] = numeral.split("e");
  if (/^[0-9]{1,3}(,[0-9]{3})+(\.[0-9]+)?$/.test(figures)) { found.push(figures.replaceAll(",", "")); }
  if (/^(?:[0-9]{1,3}(\.[0-9]{3})+,[0-9]+|[0-9]{1,3}(\.[0-9]{3}){2,})$/.test(figures)) {
    found.push(figures.replaceAll(".", "").replaceAll(",", "."));
  }
  if ((figures.match(/[.,]/g) ?? []).length <= 1) { found.push(figures.replaceAll(",", ".")); }
  return power === undefined ? found : found.map(one => `${one}e${power}`);
}

// What a sum may come to, reading by reading, each once; empty if it comes to nothing.
export function valuesOfSum(typed) {
  const found = Array.from({length: READINGS}, (_, reading) => worth(typed, FLOATS, reading));
  return [...new Set(found.filter(Number.isFinite))];
}

// What a sum of ratios comes to, with the comma as a decimal mark, as [over, under]; else undefined.
export const exactSum = typed => worth(typed, FRACTIONS, READINGS - 1);

function worth(typed, kind, reading) {
  if (typeof typed === "string") {
    const spellings = readNumeral(typed);
    return spellings.length ? kind.read(spellings[Math.min(reading, spellings.length - 1)]) : undefined;
  }
  const [sign, ...parts] = typed, amounts = parts.map(part => worth(part, kind, reading)), [left, right] = amounts;
  if (amounts.includes(undefined)) { return undefined; }
  if (sign in FUNCTIONS_OF_SUMS) { return kind.functionOf(sign, left); }
  if (sign === "^") { return powerOf(left, right, kind); }
  if (sign === "/") { return kind.isZero(right) ? undefined : kind.over(left, right); }
  return sign === "+" ? kind.plus(left, right) : sign === "-" ? kind.minus(left, right) : kind.times(left, right);
}

// Whole powers are multiplied out, so that a page comes to the very number that Python comes to.
function powerOf(base, exponent, kind) {
  const whole = kind.whole(exponent);
  if (whole === undefined || Math.abs(whole) > LARGEST_POWER) { return kind.rootOf(base, exponent); }
  let found = kind.read("1");
  for (let times = 0; times < Math.abs(whole); times++) {
    found = kind.times(found, base);
    if (kind.isHuge(found)) { return undefined; }
  }
  if (whole < 0) { return kind.isZero(found) ? undefined : kind.over(kind.read("1"), found); }
  return found;
}

const FLOATS = {
  read: Number, plus: (a, b) => a + b, minus: (a, b) => a - b, times: (a, b) => a * b, over: (a, b) => a / b,
  isZero: a => a === 0, isHuge: () => false, whole: a => Number.isInteger(a) ? a : undefined,
  functionOf: (name, a) => a > 0 || (name === "sqrt" && a === 0) ? FUNCTIONS_OF_SUMS[name](a) : undefined,
  rootOf: (a, b) => a > 0 && Math.abs(b) <= LARGEST_POWER ? a ** b : undefined,
};

function inLowestTerms([over, under]) {
  let [one, other] = [over < 0n ? -over : over, under < 0n ? -under : under];
  while (other) { [one, other] = [other, one % other]; }
  const shared = under < 0n ? -one : one;
  return [over / shared, under / shared];
}

const FRACTIONS = {
  read: text => {
    const [figures, power = "0"] = text.split("e"), [whole, decimals = ""] = figures.split(".");
    const tens = Number(power) - decimals.length, size = 10n ** BigInt(Math.abs(tens));
    return inLowestTerms([BigInt(`${whole}${decimals}`) * (tens > 0 ? size : 1n), tens < 0 ? size : 1n]);
  },
  plus: ([a, b], [c, d]) => inLowestTerms([a * d + c * b, b * d]),
  minus: ([a, b], [c, d]) => inLowestTerms([a * d - c * b, b * d]),
  times: ([a, b], [c, d]) => inLowestTerms([a * c, b * d]),
  over: ([a, b], [c, d]) => inLowestTerms([a * d, b * c]),
  isZero: ([a]) => a === 0n, isHuge: ([a, b]) => a > LARGEST_WHOLE || -a > LARGEST_WHOLE || b > LARGEST_WHOLE,
  whole: ([a, b]) => b === 1n ? Number(a) : undefined, rootOf: () => undefined, functionOf: () => undefined,
};
