"use strict";
/* Exact figures at the bench: fractions of whole numbers, never binary floating point.
   The same arithmetic as labbook/trade/slips.py, scaling.py and exact.py; the tests hold the two
   against each other, vector by vector. Masses are in g. */
const Figures = (() => {
  const LONGEST = 20; // digits typed; nothing on a bench has more
  const PLACES = 4; // of a figure that never ends

  const divisor = (a, b) => {
    a = a < 0n ? -a : a;
    while (b) [a, b] = [b, a % b];
    return a;
  };
  const frac = (n, d = 1n) => {
    if (d < 0n) [n, d] = [-n, -d];
    const g = divisor(n, d) || 1n;
    return { n: n / g, d: d / g };
  };
  const ZERO = frac(0n);
  const add = (a, b) => frac(a.n * b.d + b.n * a.d, a.d * b.d);
  const sub = (a, b) => frac(a.n * b.d - b.n * a.d, a.d * b.d);
  const mul = (a, b) => frac(a.n * b.n, a.d * b.d);
  const div = (a, b) => frac(a.n * b.d, a.d * b.n);
  const cmp = (a, b) => {
    const left = a.n * b.d, right = b.n * a.d;
    return left < right ? -1 : left > right ? 1 : 0;
  };
  const sum = (all) => all.reduce(add, ZERO);

  /* The number that a person typed, with a point or a comma; null for anything else. */
  const parse = (text) => {
    const match = /^([0-9]+)(?:[.,]([0-9]+))?$/.exec(text);
    if (!match || text.length > LONGEST) return null;
    const part = match[2] || "";
    return frac(BigInt(match[1] + part), 10n ** BigInt(part.length));
  };

  /* The nearest whole number, a half going to the even one. */
  const nearest = (value) => {
    let whole = value.n / value.d, rest = value.n % value.d;
    if (rest < 0n) [whole, rest] = [whole - 1n, rest + value.d];
    const twice = rest * 2n;
    return twice > value.d || (twice === value.d && whole % 2n !== 0n) ? whole + 1n : whole;
  };
  const decimalsNeeded = (value) => {
    let rest = value.d, twos = 0, fives = 0;
    while (rest % 2n === 0n) [rest, twos] = [rest / 2n, twos + 1];
    while (rest % 5n === 0n) [rest, fives] = [rest / 5n, fives + 1];
    return rest === 1n ? Math.max(twos, fives) : null;
  };
  const toPlaces = (value, places) => {
    const count = nearest(mul(value, frac(10n ** BigInt(places))));
    const digits = String(count < 0n ? -count : count).padStart(places + 1, "0");
    const cut = digits.length - places;
    const text = places ? `${digits.slice(0, cut)}.${digits.slice(cut)}` : digits;
    return count < 0n ? `-${text}` : text;
  };
  const text = (value) => toPlaces(value, decimalsNeeded(value) ?? PLACES);

  /* For the eye: with at least as many decimals as the balance shows. */
  const shown = (value, step) => {
    const needed = decimalsNeeded(value) ?? PLACES;
    return toPlaces(value, Math.max(needed, decimalsNeeded(step) ?? 0));
  };

  const steps = (value, step) => nearest(div(value, step));
  const ofSteps = (count, step) => toPlaces(mul(frac(count), step), decimalsNeeded(step) || 0);

  /* Masses as steps of a balance; what rounding leaves goes to the line that fills up, else to the
     largest that isn't fixed. A share: {exact, name, fillsUp, fixed}. */
  const split = (shares, readability, whole) => {
    const rounded = shares.map((share) => steps(share.exact, readability));
    const rest = whole - rounded.reduce((a, b) => a + b, 0n);
    const turn = shares.map((_, index) => index).sort((i, j) => {
      const a = shares[i], b = shares[j];
      if (a.fillsUp !== b.fillsUp) return a.fillsUp ? -1 : 1;
      return cmp(b.exact, a.exact) || (a.name < b.name ? -1 : a.name > b.name ? 1 : 0);
    });
    const taker = turn.find((i) => !shares[i].fixed && rounded[i] + rest >= 0n);
    if (taker !== undefined) rounded[taker] += rest;
    return rounded;
  };

  /* Of a premix with so many percent: what a mass of it holds, and the mass that holds so much. */
  const holds = (mass, percent) => div(mul(mass, percent), frac(100n));
  const holding = (amount, percent) => div(mul(amount, frac(100n)), percent);
  const wholeSteps = (value, step) => mul(frac(steps(value, step)), step);

  /* Lines: {id, ingredient, target, weighed, combined, fixed, fillsUp}; target and weighed are
     fractions or null. What a line will be if nothing else happens. */
  const expected = (line) => line.weighed ?? (line.combined ? null : line.target);

  const leaveIt = (lines, of, mass) => {
    const held = lines.map((line) => [line, line.id === of ? mass : expected(line)]);
    const known = held.filter(([, grams]) => grams !== null);
    const size = sum(known.map(([, grams]) => grams));
    if (known.length < lines.length || size.n === 0n) {
      const missing = held.filter(([, grams]) => grams === null).map(([line]) => line.ingredient);
      return { size: null, percents: null, missing };
    }
    const percents = new Map();
    for (const [line, grams] of known) percents.set(line.id, div(mul(grams, frac(100n)), size));
    return { size, percents, missing: [] };
  };

  const keeps = (line, factor) => {
    if (line.combined || line.weighed === null || line.target === null) {
      return line.combined || line.weighed !== null;
    }
    return cmp(line.weighed, mul(line.target, factor)) > 0;
  };

  const rounded = (follow, factor, readability) => {
    const shares = follow.map((line) => ({
      exact: mul(line.target, factor), name: line.id, fillsUp: line.fillsUp, fixed: line.fixed,
    }));
    const counts = split(shares, readability, steps(sum(shares.map((s) => s.exact)), readability));
    return new Map(follow.map((line, i) => [line.id, ofSteps(counts[i], readability)]));
  };

  /* New targets of all lines so that `mass` g of one line is right again. */
  const scaledFrom = (lines, of, mass, readability) => {
    const factor = div(mass, lines.find((line) => line.id === of).target);
    const kept = new Map([[of, mass]]);
    for (const line of lines) {
      if (line.id !== of && keeps(line, factor)) kept.set(line.id, line.weighed);
    }
    const follow = lines.filter((line) => !kept.has(line.id) && line.target !== null);
    const found = rounded(follow, factor, readability);
    for (const line of follow) {
      if (line.weighed && line.weighed.n && cmp(line.weighed, parse(found.get(line.id))) > 0) {
        found.set(line.id, text(line.weighed));
      }
    }
    for (const [id, grams] of kept) if (grams !== null) found.set(id, text(grams));
    const missing = lines.filter((line) => !found.has(line.id)).map((line) => line.ingredient);
    const others = lines.filter((line) => line.id !== of);
    const lacks = (line) => text(sub(parse(found.get(line.id)), line.weighed ?? ZERO));
    return {
      factor,
      targets: new Map(lines.filter((l) => found.has(l.id)).map((l) => [l.id, found.get(l.id)])),
      stillToAdd: new Map(follow.map((line) => [line.id, lacks(line)])),
      size: missing.length ? null : text(sum([...found.values()].map(parse))),
      cantFollow: others.filter((line) => line.combined).map((line) => line.ingredient),
      over: others.filter((l) => kept.has(l.id) && !l.combined).map((l) => l.ingredient),
      missing,
    };
  };

  /* What to do about a line that holds more than its target; null where it does not. */
  const slip = (lines, of, mass, readability) => {
    const line = lines.find((one) => one.id === of);
    if (!line || !line.target || line.target.n === 0n || cmp(mass, line.target) <= 0) return null;
    const tooMuch = sub(mass, line.target);
    return {
      line,
      tooMuch,
      leaveIt: leaveIt(lines, of, mass),
      weighUp: scaledFrom(lines, of, mass, readability),
      takeOut: { mass: tooMuch, possible: !line.combined },
    };
  };

  /* Clearly too much, worth asking about: more than a twentieth over. */
  const clearlyOver = (mass, target) => cmp(mass, mul(target, frac(21n, 20n))) > 0;

  /* Ten times off, or over three times the target: a slip of the point, or of the unit. */
  const doubtful = (mass, wanted) => {
    if (!wanted || wanted.n <= 0n) return false;
    const ratio = div(mass, wanted);
    return cmp(ratio, frac(3n)) > 0 || cmp(ratio, frac(1n, 8n)) <= 0;
  };

  /* A vessel and what is in it: what it held, what went off while it was heated, what stayed in it.
     Where nobody weighed before heating, the empty vessel and the `content` weighed in stand for
     it. As labbook/trade/pots.py; null where it can't be told. */
  const vessel = ({ empty, before, after, emptied, content }) => {
    const start = before ?? (empty && add(empty, content));
    return {
      content: before && empty ? sub(before, empty) : null,
      lost: start && after ? sub(start, after) : null,
      residue: emptied && empty ? sub(emptied, empty) : null,
    };
  };

  return {
    ZERO, frac, add, sub, mul, div, cmp, sum, parse, text, shown, toPlaces, decimalsNeeded,
    slip, leaveIt, scaledFrom, clearlyOver, doubtful, vessel,
    holds, holding, wholeSteps,
  };
})();
