"""Laws of differences, over generated pairs of formulas; each class is drawn 200 times."""

import sys
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import hypothesis.strategies as st
import pytest
from hypothesis import HealthCheck, example, given, settings

from labbook.evidence.difference import Difference, difference
from labbook.evidence.lines import amounts, apply, slots_of
from labbook.model.fields import QS
from labbook.model.formula import Formula, Line, Phase, Step, Target
from labbook.model.quantities import Quantity
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from tests.evidence.pairs import read

SHEETS: Sheets = read()[0]
OILS = ("sunflower-oil", "almond-oil", "jojoba-oil")
IN_WATER = ("glycerin", "sodium-chloride", "sodium-benzoate", "panthenol", "xanthan-gum")
IN_OIL = ("beeswax", "shea-butter", "glyceryl-stearate-citrate", "tocopherol", "zinc-oxide")
GRADES = {
    "xanthan-gum": "xanthan-gum-clear",
    "zinc-oxide": "zinc-oxide-coated",
    "sodium-chloride": "magnesium-sulfate",
}
ALIASES = {"water": "aqua", "glycerin": "glycerol", "tocopherol": "vitamin-e"}
ACTS = ("heat", "combine", "mix", "cool", "rest", "fill")
CASES = (
    "added", "removed", "substituted", "moved", "deliberate", "balancing", "proportional",
    "undecided", "split or joined", "two phases", "renamed", "hydrate or grade", "typed-equal",
    "trailing zeros", "step changed", "step added", "step removed", "step reordered",
    "target changed", "nothing",
)  # fmt: skip
DRAWN: Counter[str] = Counter()
LAWS = settings(max_examples=200, suppress_health_check=list(HealthCheck))

Lines = dict[tuple[str, str], Any]
"""Phase and name to a percent."""


def amount(draw: st.DrawFn, least: str = "0.1", most: str = "9") -> Decimal:
    places = draw(st.integers(0, 2))
    low, high = (int(Decimal(end) * 10**places) for end in (least, most))
    return Decimal(draw(st.integers(max(low, 1), max(high, 2)))).scaleb(-places)


def lines_of(draw: st.DrawFn, *, qs: bool | None = None) -> Lines:
    """A cream with q.s. water, or with typed water that makes the sum 100."""
    lines: Lines = {("A", name): amount(draw) for name in draw(_some(OILS[:2]))}
    lines |= {("A", name): amount(draw) for name in draw(_some(IN_OIL))}
    lines |= {("B", name): amount(draw) for name in draw(_some(IN_WATER))}
    filling = draw(st.booleans()) if qs is None else qs
    lines["B", "water"] = QS if filling else 100 - sum(lines.values(), Decimal())
    return lines


def _some(names: tuple[str, ...]) -> st.SearchStrategy[list[str]]:
    return st.lists(st.sampled_from(names), min_size=1, unique=True)


def formula_of(draw: st.DrawFn, lines: Lines) -> Formula:
    """The formula, with its lines and phases in any order."""
    letters = draw(st.permutations(sorted({phase for phase, _ in lines})))
    phases = []
    for letter in letters:
        own = [Line(ingredient=n, percent=p) for (phase, n), p in lines.items() if phase == letter]
        phases.append(Phase(phase=letter, lines=tuple(draw(st.permutations(own)))))
    return Formula(
        code="HC", title="Hand cream", id="f-hc", emulsion="oil-in-water", phases=tuple(phases)
    )


def method_of(draw: st.DrawFn) -> tuple[Step, ...]:
    acts = draw(st.lists(st.sampled_from(ACTS), min_size=2, max_size=5, unique=True))
    return tuple(
        Step(id=f"s{n}", do=act, for_=Quantity(amount(draw), "min"))
        for n, act in enumerate(acts, start=1)
    )


def typed(lines: Lines) -> list[tuple[str, str]]:
    return sorted(key for key, percent in lines.items() if isinstance(percent, Decimal))


def one_of(draw: st.DrawFn, lines: Lines, names: tuple[str, ...] = ()) -> tuple[str, str]:
    keys = [k for k in typed(lines) if k[1] != "water" and (not names or k[1] in names)]
    return draw(st.sampled_from(keys))


@st.composite
def pairs(draw: st.DrawFn, case: str) -> tuple[Formula, Formula]:
    """Two formulas that are an example of a case."""
    if case.startswith(("step", "target")):
        return _other_pair(draw, case)
    before = lines_of(draw, qs=case in ("balancing", "typed-equal") or None)
    if case == "proportional":
        return _scaled_pair(draw)
    if case == "undecided":
        return _tied_pair(draw)
    if case == "hydrate or grade":
        before["B", "xanthan-gum"] = amount(draw)
    after = dict(before)
    _edit(draw, case, before, after)
    return formula_of(draw, before), formula_of(draw, after)


def _edit(draw: st.DrawFn, case: str, before: Lines, after: Lines) -> None:
    key = one_of(draw, before)
    if case == "added":
        after["C", "lavender-fragrance"] = amount(draw)
    elif case == "removed":
        del after[key]
    elif case == "substituted":
        for lines, name in ((before, "cocoa-butter"), (after, "cocoa-butter")):
            lines.pop(("A", name), None)
        for lines in (before, after):
            lines.pop(("A", "beeswax"), None)
        before["A", "beeswax"] = amount(draw)
        after["A", "candelilla-wax"] = amount(draw)
    elif case == "moved":
        after["C", key[1]] = after.pop(key)
    elif case in ("deliberate", "balancing", "typed-equal"):
        after[key] = before[key] + amount(draw)
    elif case in ("split or joined", "two phases"):
        half = before[key] / 2
        after[key], after["C", key[1]] = half, half
        if draw(st.booleans()):
            kept = dict(after)
            after.clear()
            after.update(before)
            before.clear()
            before.update(kept)
    elif case == "renamed":
        for (phase, name), percent in before.items():
            after[phase, ALIASES.get(name, name)] = after.pop((phase, name), percent)
    elif case == "hydrate or grade":
        old = one_of(draw, before, tuple(GRADES))
        after[old[0], GRADES[old[1]]] = after.pop(old)
    elif case == "trailing zeros":
        after.update(
            {
                k: Decimal(f"{before[k]:f}{'' if '.' in str(before[k]) else '.'}0")
                for k in typed(before)
            }
        )


def _scaled_pair(draw: st.DrawFn) -> tuple[Formula, Formula]:
    """A balm in figures of four digits or more, scaled to make room for a fragrance."""
    cuts = sorted(draw(st.lists(st.integers(15, 85), min_size=2, max_size=2, unique=True)))
    shares = [cuts[0], cuts[1] - cuts[0], 100 - cuts[1]]
    room = Decimal(draw(st.integers(3, 40)))
    names = ("sunflower-oil", "shea-butter", "beeswax")
    before: Lines = {
        ("A", n): Decimal(s).quantize(Decimal("1.0000")) for n, s in zip(names, shares, strict=True)
    }
    after: Lines = {key: percent * (100 - room) / 100 for key, percent in before.items()}
    after["A", "lavender-fragrance"] = room
    return formula_of(draw, before), formula_of(draw, after)


def _tied_pair(draw: st.DrawFn) -> tuple[Formula, Formula]:
    """A balm of which one line gave what another took, and none is water."""
    step = Decimal(draw(st.integers(1, 90))).scaleb(-1)
    before: Lines = {("A", "jojoba-oil"): Decimal("60.0"), ("A", "beeswax"): Decimal("40.0")}
    after: Lines = {("A", "jojoba-oil"): 60 - step, ("A", "beeswax"): 40 + step}
    return formula_of(draw, before), formula_of(draw, after)


def _other_pair(draw: st.DrawFn, case: str) -> tuple[Formula, Formula]:
    base = replace(formula_of(draw, lines_of(draw)), method=method_of(draw))
    steps = list(base.method)
    place = draw(st.integers(0, len(steps) - 1))
    if case == "step changed":
        steps[place] = replace(steps[place], rate="slow")
    elif case == "step added":
        steps.insert(place, Step(id="s9", do="hold"))
    elif case == "step removed":
        del steps[place]
    elif case == "step reordered":
        steps.insert((place + 1) % len(steps), steps.pop(place))
    target = Target(of="water phase", reading="pH", from_=Decimal("4.8"), to=amount(draw, "5", "6"))
    other = replace(target, to=target.to + 1 if target.to else None)
    both = (target, other) if case == "target changed" else (target, target)
    return (
        replace(base, targets=(both[0],)),
        replace(base, method=tuple(steps), targets=(both[1],)),
    )


# What is compared --------------------------------------------------------------------------------

BACK: dict[str, Any] = {"added": "removed", "removed": "added"}


def between(a: Formula, b: Formula) -> Difference:
    return difference(a, b, SHEETS, a_name="HC@1", b_name="HC@2")


def content(found: Difference) -> list[Any]:
    """Everything of a difference but the order in which it is listed."""
    lines = [
        (x.change, x.kind, x.from_ingredient, x.to_ingredient, x.from_percent, x.to_percent,
         x.points, x.ratio, x.from_phase, x.to_phase, x.places)
        for x in found.lines
    ]  # fmt: skip
    steps = [(s.change, s.step, s.do, s.keys, s.from_place, s.to_place) for s in found.method]
    sets: list[Any] = [lines, steps, found.targets, found.derived, found.other, found.readings]
    return [sorted(map(repr, part)) for part in sets[:4]] + [
        sorted(map(repr, found.other)),
        len(found.readings),
    ]


def turned(found: Difference) -> Difference:
    """The difference the other way round."""
    flip = [
        replace(
            x,
            change=BACK.get(x.change, x.change),
            from_ingredient=x.to_ingredient,
            to_ingredient=x.from_ingredient,
            from_percent=x.to_percent,
            to_percent=x.from_percent,
            points=None if x.points is None else -x.points,
            ratio=x.from_percent / x.to_percent
            if x.to_percent and x.from_percent is not None
            else None,
            from_phase=x.to_phase,
            to_phase=x.from_phase,
        )
        for x in found.lines
    ]
    steps = [
        replace(
            s,
            change=BACK.get(s.change, s.change),
            keys=tuple(replace(k, before=k.after, after=k.before) for k in s.keys),
            from_place=s.to_place,
            to_place=s.from_place,
            do=next((k.before for k in s.keys if k.key == "do" and k.before), s.do),
            step=next((k.before for k in s.keys if k.key == "id" and k.before), s.step),
        )
        for s in found.method
    ]
    targets = [
        replace(
            t,
            change=BACK.get(t.change, t.change),
            keys=tuple(replace(k, before=k.after, after=k.before) for k in t.keys),
        )
        for t in found.targets
    ]
    derived = [replace(d, before=d.after, after=d.before) for d in found.derived]
    other = [replace(o, before=o.after, after=o.before) for o in found.other]
    return replace(
        found,
        lines=tuple(flip),
        method=tuple(steps),
        targets=tuple(targets),
        derived=tuple(derived),
        other=tuple(other),
    )


def laws(a: Formula, b: Formula) -> Difference:
    """All that holds for any two formulas."""
    found = between(a, b)
    assert content(between(b, a)) == content(turned(found))
    start, end = (amounts(slots_of(resolve(f, SHEETS).lines)) for f in (a, b))
    assert apply(found.pairs, start) == end
    both_fill = [p for p in found.pairs if p.before and p.after and p.before.qs and p.after.qs]
    if both_fill:
        kinds = {line.kind for line in found.lines}
        assert not kinds & {"proportional", "undecided"}
        for pair in found.pairs:
            if (
                pair.before
                and pair.after
                and pair.before.typed == pair.after.typed
                and not pair.before.qs
            ):
                assert pair.change != "changed"
    return found


def is_example(case: str, found: Difference) -> bool:
    """Whether the difference shows what the case is about."""
    changes = {line.change for line in found.lines}
    kinds = {line.kind for line in found.lines}
    if case in ("added", "removed", "substituted", "moved"):
        return case in changes
    if case in ("proportional", "undecided", "balancing"):
        return case in kinds
    if case.startswith("step"):
        word = "moved" if case == "step reordered" else case.removeprefix("step ")
        return {step.change for step in found.method} == {word} and not found.lines
    if case == "target changed":
        return [target.change for target in found.targets] == ["changed"] and not found.lines
    if case in ("renamed", "trailing zeros", "nothing"):
        return found.empty
    if case == "hydrate or grade":
        return changes == {"substituted"} and not any(line.points for line in found.lines)
    if case == "typed-equal":
        return Counter(line.kind for line in found.lines) == {"deliberate": 1, "balancing": 1}
    if case == "deliberate":
        return bool(kinds & {"deliberate", "undecided"})
    return bool(changes & {"added", "removed"}) and "changed" in changes


@pytest.mark.parametrize("case", CASES)
def test_laws_hold_in_every_case(case: str) -> None:
    @given(pairs(case))
    @LAWS
    def holds(both: tuple[Formula, Formula]) -> None:
        found = laws(*both)
        assert is_example(case, found), found.to_plain()
        DRAWN[case] += 1

    holds()
    assert DRAWN[case] >= 200, DRAWN


@st.composite
def any_two(draw: st.DrawFn) -> tuple[Formula, Formula]:
    made = []
    for _ in range(2):
        lines = lines_of(draw)
        if draw(st.booleans()):
            key = one_of(draw, lines)
            lines["C", key[1]] = amount(draw)
        made.append(replace(formula_of(draw, lines), method=method_of(draw)))
    return made[0], made[1]


@given(any_two())
@settings(max_examples=400, suppress_health_check=list(HealthCheck))
def test_laws_hold_for_any_two_formulas(both: tuple[Formula, Formula]) -> None:
    laws(*both)
    a = both[0]
    assert between(a, a).empty
    phases = [replace(phase, lines=phase.lines[::-1]) for phase in a.phases[::-1]]
    assert between(a, replace(a, phases=tuple(phases))).empty


@given(st.sampled_from(["1", "10", "60"]), st.sampled_from(["0", "00"]))
@example("10", "0")
def test_typed_digits_change_nothing(number: str, zeros: str) -> None:
    def cream(percent: str) -> Formula:
        line = Line(ingredient="glycerin", percent=Decimal(percent))
        return Formula(
            code="HC", title="t", id="f-hc", emulsion="gel",
            phases=(Phase(phase="A", lines=(line,)),),
        )  # fmt: skip

    found = between(cream(number), cream(f"{number}.{zeros}"))
    assert found.empty
    assert found.pairs[0].points == Fraction()


if __name__ == "__main__":
    for case in CASES:
        test_laws_hold_in_every_case(case)
    sys.stdout.write("".join(f"{case:20}{DRAWN[case]:6}\n" for case in CASES))
