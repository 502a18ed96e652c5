"""Vectors for each single function of the page's arithmetic, answered by the program's own.

`bench_vectors` has those of whole slips: `slip`, `leaveIt`, `scaledFrom`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any

from labbook.trade.exact import PLACES, decimal_text, decimals_needed, steps, to_places
from labbook.trade.pots import Pot
from labbook.trade.reckoned import Reckoned
from labbook.trade.slips import clearly_over, far_off
from tests.show.bench_vectors import STEPS

Vector = dict[str, Any]

ELSEWHERE = frozenset({"slip", "leaveIt", "scaledFrom", "frac"})
"""What `bench_vectors` holds against the program; `frac` makes the figures of every vector."""

PAGE_SIDE = """
window.answered = ({ call, given }) => {
  const F = Figures;
  const taken = (value) => {
    if (Array.isArray(value)) return value.map(taken);
    if (value && typeof value === 'object') {
      return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, taken(one)]));
    }
    const ratio = typeof value === 'string' && /^(-?[0-9]+)[/]([0-9]+)$/.exec(value);
    return ratio ? F.frac(BigInt(ratio[1]), BigInt(ratio[2])) : value;
  };
  const told = (value) => {
    if (value === null || typeof value !== 'object') return value;
    if ('n' in value) return `${value.n}/${value.d}`;
    return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, told(one)]));
  };
  return told(typeof F[call] === 'function' ? F[call](...given.map(taken)) : F[call]);
};
"""
"""What gives the page's answer to a vector; fractions go over as `n/d`."""

NO_NUMBERS = ("", " ", "1e3", "-1", "+1", "1.", ".5", "1.2.3", "1,2,3", "0x10", "1 000", "NaN",
              "Infinity", "\u0661", "1\n", "99999999999999999999.1")  # fmt: skip


def figure_vectors(count: int, seed: int = 20260410) -> Iterator[Vector]:
    """So many vectors of each function, with the answers that the program gives."""
    chance = Random(seed)
    for text in NO_NUMBERS:
        yield _vector("parse", [text], None)
    yield _vector("ZERO", [], "0/1")
    for _ in range(count):
        for call, make in _MAKERS.items():
            given, answer = make(chance)
            yield _vector(call, given, answer)


def _vector(call: str, given: list[Any], answer: Any) -> Vector:
    return {"call": call, "given": given, "answer": answer}


def ratio(value: Fraction | None) -> str | None:
    """A fraction as it goes over."""
    return None if value is None else f"{value.numerator}/{value.denominator}"


def _any(chance: Random) -> Fraction:
    """A figure of the bench, now and then one that never ends, below zero, or nought."""
    kind = chance.random()
    if kind < 0.1:
        return Fraction(0)
    if kind < 0.3:
        return Fraction(chance.randint(-500, 500), chance.randint(1, 97))
    places = chance.randint(0, 6)
    return Fraction(chance.randint(-(10**6), 10**6), 10**places)


def _mass(chance: Random) -> Fraction:
    return abs(_any(chance)) or Fraction(1, 100)


def _step(chance: Random) -> Decimal:
    return Decimal(chance.choice(STEPS))


def _of_two(work: Callable[[Fraction, Fraction], Any]) -> Callable[[Random], tuple[list[Any], Any]]:
    def make(chance: Random) -> tuple[list[Any], Any]:
        a, b = _any(chance), _any(chance) or Fraction(1, 3)
        found = work(a, b)
        return [ratio(a), ratio(b)], ratio(found) if isinstance(found, Fraction) else found

    return make


def _sum(chance: Random) -> tuple[list[Any], Any]:
    some = [_any(chance) for _ in range(chance.randint(0, 9))]
    return [[ratio(one) for one in some]], ratio(sum(some, Fraction()))


def _parse(chance: Random) -> tuple[list[Any], Any]:
    text = f"{chance.randint(0, 9999)}"
    if chance.random() < 0.8:
        text += chance.choice(".,") + "".join(chance.choices("0123456789", k=chance.randint(1, 6)))
    return [text], ratio(Fraction(text.replace(",", ".")))


def _text(chance: Random) -> tuple[list[Any], Any]:
    value = _any(chance)
    return [ratio(value)], decimal_text(value)


def _to_places(chance: Random) -> tuple[list[Any], Any]:
    value, places = _any(chance), chance.randint(0, 6)
    return [ratio(value), places], f"{to_places(value, places):f}"


def _shown(chance: Random) -> tuple[list[Any], Any]:
    """All its decimals, and at least those that the balance shows."""
    value, step = _any(chance), _step(chance)
    needed, of_step = decimals_needed(value), decimals_needed(Fraction(step)) or 0
    places = max(PLACES if needed is None else needed, of_step)
    return [ratio(value), ratio(Fraction(step))], f"{to_places(value, places):f}"


def _decimals(chance: Random) -> tuple[list[Any], Any]:
    value = _any(chance)
    return [ratio(value)], decimals_needed(value)


def _over(chance: Random) -> tuple[list[Any], Any]:
    target = _mass(chance)
    mass = target * chance.choice(
        (Fraction(21, 20), Fraction(1), Fraction(chance.randint(1, 400), 100))
    )
    return [ratio(mass), ratio(target)], clearly_over(mass, target)


def _doubtful(chance: Random) -> tuple[list[Any], Any]:
    target = chance.choice((None, _mass(chance), _mass(chance)))
    times = chance.choice((Fraction(3), Fraction(1, 8), Fraction(chance.randint(1, 4000), 1000)))
    mass = (target or _mass(chance)) * times
    return [ratio(mass), ratio(target)], far_off(mass, target)


def _holds(chance: Random) -> tuple[list[Any], Any]:
    mass, percent = _mass(chance), _mass(chance)
    return [ratio(mass), ratio(percent)], ratio(mass * percent / 100)


def _holding(chance: Random) -> tuple[list[Any], Any]:
    """So much of the premix that it holds the amount: `holds` the other way round."""
    mass, percent = _mass(chance), _mass(chance)
    return [ratio(mass * percent / 100), ratio(percent)], ratio(mass)


def _whole_steps(chance: Random) -> tuple[list[Any], Any]:
    value, step = _any(chance), _step(chance)
    return [ratio(value), ratio(Fraction(step))], ratio(steps(value, step) * Fraction(step))


def _vessel(chance: Random) -> tuple[list[Any], Any]:
    """By `labbook.trade.pots`: one heating, and whatever of it was weighed."""
    empty, before, after, emptied = (
        None if chance.random() < 0.3 else _mass(chance) for _ in range(4)
    )
    content = _mass(chance)
    pot = Pot(
        heated=[(_reckoned(before), _reckoned(after))] if before or after else [],
        empty=_reckoned(empty),
        emptied=_reckoned(emptied),
    )
    lost = pot.lost(Reckoned(content))
    answer = {"content": pot.begun(), "lost": lost, "residue": pot.residue}
    given = {"empty": empty, "before": before, "after": after, "emptied": emptied}
    return (
        [{key: ratio(value) for key, value in {**given, "content": content}.items()}],
        {key: None if one is None else ratio(one.value) for key, one in answer.items()},
    )


def _reckoned(value: Fraction | None) -> Reckoned | None:
    return None if value is None else Reckoned(value)


_MAKERS: dict[str, Callable[[Random], tuple[list[Any], Any]]] = {
    "add": _of_two(lambda a, b: a + b),
    "sub": _of_two(lambda a, b: a - b),
    "mul": _of_two(lambda a, b: a * b),
    "div": _of_two(lambda a, b: a / b),
    "cmp": _of_two(lambda a, b: (a > b) - (a < b)),
    "sum": _sum,
    "parse": _parse,
    "text": _text,
    "toPlaces": _to_places,
    "shown": _shown,
    "decimalsNeeded": _decimals,
    "clearlyOver": _over,
    "doubtful": _doubtful,
    "holds": _holds,
    "holding": _holding,
    "wholeSteps": _whole_steps,
    "vessel": _vessel,
}
