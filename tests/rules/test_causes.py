"""The rules about causes of failure: their form, and that each of them can speak and be silent."""

from __future__ import annotations

import importlib
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from labbook.evidence.factors.trade import CHANCE
from labbook.evidence.factors.types import Question
from labbook.model.formula import EMULSIONS
from labbook.model.rules import DIRECTIONS, FACTORS, GROUPS, STRENGTHS, CauseRule, Rules
from labbook.notebook.snapshot import read_bytes
from labbook.rules.trade import rule_texts
from labbook.trade.preservation import free_share
from tests.rules.pairs import (
    NO_FIGURES,
    ONE_WAY,
    Made,
    asked,
    book,
    made,
    picked,
    rules,
    sheets,
    speaks,
    subject,
)

ALL = rules()
FILES = sorted(name for name in rule_texts() if name.startswith("causes"))
NAMES = [rule.name for rule in ALL]
every = pytest.mark.parametrize("rule", ALL, ids=NAMES)
ADDRESSES = (".org", ".com", ".net", ".gov", ".info", ".ru", ".cz", ".jp", "by molar mass")

# Their form --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", FILES)
def test_a_file_of_causes_reads_without_a_problem(name: str) -> None:
    read = read_bytes(f"rules/{name}", rule_texts()[name].encode())
    assert [str(one) for one in read.problems] == []
    assert isinstance(read.record, Rules)
    assert read.record.causes


def test_there_are_enough_of_them_and_no_name_stands_twice() -> None:
    written = [
        line.split(":", 1)[1].strip()
        for name in FILES
        for line in rule_texts()[name].splitlines()
        if line.strip().startswith("- name:")
    ]
    assert len(written) >= 60
    assert len(written) == len(set(written))
    assert sorted(written) == sorted(NAMES)


@every
def test_a_rule_says_what_it_holds_how_surely_and_on_what_ground(rule: CauseRule) -> None:
    assert rule.factor in FACTORS
    assert rule.strength in STRENGTHS
    assert rule.direction in DIRECTIONS
    assert rule.groups
    assert set(rule.groups) <= set(GROUPS)
    assert set(rule.emulsions) <= set(EMULSIONS)
    assert rule.says[0].islower() or rule.says.startswith("pH"), "it stands before a colon"
    assert not rule.says.endswith((".", ":"))
    assert rule.mechanism.endswith(".")
    assert rule.mechanism.rstrip(".").strip()
    assert rule.source.strip()
    words = f"{rule.says} {rule.mechanism}".casefold()
    assert "safe" not in words.split()
    assert "!" not in words


@every
def test_a_source_is_an_address_or_print_that_others_can_find_or_says_that_there_is_none(
    rule: CauseRule,
) -> None:
    printed = any(mark in rule.source for mark in ADDRESSES)
    assert printed or rule.source.startswith("common practice, no source")


@every
def test_figures_come_with_a_unit_that_fits_the_kind(rule: CauseRule) -> None:
    """A unit that the reckoning doesn't know would be taken as a plain number."""
    units = {
        "amount": {"points", "share"}, "water phase": {"points"}, "evaporation": {"points"},
        "fill level": {"points"}, "temperature": {"°C"}, "gap": {"°C"}, "stir until": {"°C"},
        "fill temperature": {"°C"}, "time": {"times"}, "hold": {"times"}, "speed": {"times"},
        "rate": {"times"}, "size": {"times"}, "shear": {"classes"}, "pH": {"pH"},
        "room": {"°C"},
    }  # fmt: skip
    if rule.matters_from is None:
        assert rule.full is None
        assert rule.unit is None
        return
    assert rule.unit in units[rule.factor]
    assert rule.full is not None
    assert rule.full > rule.matters_from > 0
    assert rule.unit != "times" or rule.matters_from > 1
    assert rule.unit != "share" or rule.full < 1


@every
def test_a_disputed_rule_says_who_holds_what(rule: CauseRule) -> None:
    """Its words on screen hold two halves: what one side holds, and what speaks against it."""
    if rule.strength == "disputed":
        one, _, other = rule.says.partition(";")
        assert one.strip()
        assert other.strip()


@every
def test_rules_for_oil_in_water_never_name_the_other_type(rule: CauseRule) -> None:
    if rule.emulsions and "water-in-oil" not in rule.emulsions:
        for text in (rule.name, rule.says, rule.mechanism):
            assert "water-in-oil" not in text


@every
def test_a_rule_names_ingredients_that_a_starter_sheet_can_be(rule: CauseRule) -> None:
    for selector in (rule.of, rule.with_):
        assert selector is None or picked(selector), "no starter sheet is meant by it"


# That each can speak and be silent ---------------------------------------------------------------


def of_two(rule: CauseRule, failed: Made, good: Made, **other: Any) -> Question:
    kind = other.pop("emulsion", rule.emulsions[0] if rule.emulsions else "oil-in-water")
    group = other.pop("group", rule.groups[0])
    return asked(failed, good, [rule], emulsion=kind, group=group)


def figures(rule: CauseRule, share: Decimal = Decimal(1)) -> tuple[Decimal, Decimal]:
    """A low and a high value; they differ by `full`, or by a share of `matters from`."""
    assert rule.matters_from is not None
    assert rule.full is not None
    far = rule.full if share == 1 else rule.matters_from * share
    if rule.unit == "times":
        ratio = rule.full if share == 1 else 1 + (rule.matters_from - 1) * share
        base = Decimal(8000) if rule.factor == "speed" else Decimal(100)
        return base, (base * ratio).quantize(Decimal(1))
    if rule.unit == "share":
        high = Decimal("8.00")
        return (high * (1 - far)).quantize(Decimal("0.001")), high
    low = {
        "temperature": "50.0", "stir until": "35.0", "fill temperature": "30.0", "gap": "1.0",
        "pH": "5.00", "water phase": "60.0", "fill level": "40.0",
        "room": "18.0",
    }.get(rule.factor, "1.00")  # fmt: skip
    return Decimal(low), Decimal(low) + far


PACKS = ("pack-1", "pack-2")
NAMED: dict[str, tuple[Any, Any]] = {
    "device": ("a frother", "a paddle"), "lot": PACKS, "supplier": PACKS, "grade": PACKS,
    "phase of entry": ("B", "A"), "order": (("A", "B"), ("B", "A")),
    "skipped": ("left out", "done"), "container": ("glass jar", "tube"),
    "place": ("sill", "shelf"), "rate": ("poured", "drop by drop"),
}  # fmt: skip


def worse_and_better(rule: CauseRule) -> tuple[Any, Any]:
    """Two values that differ fully: where the rule expects failure, and the other."""
    if rule.factor == "shear":
        return ("whisk", "blender") if rule.direction == "more helps" else ("blender", "whisk")
    if rule.factor == "substitution":
        return subject(rule), other_of_its_kind(rule)
    if rule.factor in NO_FIGURES:
        return NAMED[rule.factor]
    low, high = figures(rule)
    return (high, low) if rule.direction == "more hurts" else (low, high)


def other_of_its_kind(rule: CauseRule) -> str:
    """What can stand for a rule's ingredient; where the direction counts, one it doesn't mean."""
    mine = sheets().find(subject(rule))
    assert mine
    meant = set(picked(rule.of)) if rule.direction in ONE_WAY else {mine.id}
    return next(
        name
        for name, one in sheets().by_file.items()
        if name not in meant | {"water", "mineral-oil"} and set(one.functions) & set(mine.functions)
    )


@every
def test_a_pair_that_differs_fully_makes_the_rule_speak_with_its_whole_chance(
    rule: CauseRule,
) -> None:
    worse, better = worse_and_better(rule)
    found = of_two(rule, made(rule, worse), made(rule, better))
    mine = [factor for factor in found.factors if factor.rule is not None]
    assert [factor.rule for factor in mine] == [rule], [f.what for f in found.factors]
    assert mine[0].prior == pytest.approx(CHANCE[rule.strength], abs=0.011)


@every
def test_a_pair_just_below_matters_from_leaves_it_silent(rule: CauseRule) -> None:
    if rule.factor in NO_FIGURES:
        worse, _ = worse_and_better(rule)
        assert not speaks(of_two(rule, made(rule, worse), made(rule, worse)))
        return
    if rule.factor == "shear":
        values: tuple[Any, Any] = ("blender", "other-blender")
    else:
        values = figures(rule, Decimal("0.8"))
    for failed, good in (values, values[::-1]):
        assert not speaks(of_two(rule, made(rule, failed), made(rule, good)))


@every
def test_the_other_way_round_it_speaks_only_where_both_ways_may_hurt(rule: CauseRule) -> None:
    worse, better = worse_and_better(rule)
    found = of_two(rule, made(rule, better), made(rule, worse))
    assert speaks(found) is (rule.direction not in ONE_WAY)


@every
def test_outside_its_scope_it_is_silent(rule: CauseRule) -> None:
    worse, better = worse_and_better(rule)
    pair = (made(rule, worse), made(rule, better))
    if rule.emulsions:
        foreign = next(kind for kind in EMULSIONS if kind not in rule.emulsions)
        assert not speaks(of_two(rule, *pair, emulsion=foreign))
    for group in set(GROUPS) - set(rule.groups):
        assert not speaks(of_two(rule, *pair, group=group))
    if rule.with_ and not set(picked(rule.with_)) & {subject(rule), "mineral-oil", "water"}:
        bare = [made(rule, value, without=True) for value in (worse, better)]
        assert not speaks(of_two(rule, *bare))


# Figures by hand ---------------------------------------------------------------------------------

# The chance by p0 + (p - p0) * min(1, difference / full), with p0 = 0.05 and p = 0.50 known,
# 0.25 plausible, 0.10 weak or disputed, reckoned by hand: rule, failed, good, chance.
BY_HAND = [
    ("little-emulsifier-in-water-in-oil", "3.60", "4.50", 0.50),  # 0.2 of 4.50, full at 0.2
    ("little-emulsifier-in-water-in-oil", "4.05", "4.50", 0.275),  # half of that
    ("less-salt-in-water-in-oil", "0.40", "0.80", 0.25),  # 0.4 points, full at 0.4
    ("less-salt-in-water-in-oil", "0.60", "0.80", 0.15),
    ("phases-far-apart-in-temperature", "14.0", "1.0", 0.25),  # 13 °C, full at 10
    ("phases-far-apart-in-temperature", "9.0", "1.0", 0.21),  # 8 of 10
    ("less-gum-in-oil-in-water", "0.15", "0.30", 0.3875),  # 0.15 points of 0.2
    ("much-water-phase", "75.0", "70.0", 0.15),  # 5 points of 10
    ("ph-too-high-for-acid-preservative", "5.40", "5.00", 0.275),  # 0.4 of 0.8
    ("still-cooling-of-wax", "50.0", "35.0", 0.50),  # 15 °C, full at 15
    ("more-urea", "6.00", "1.00", 0.50),  # 5 points, full at 5
]


@pytest.mark.parametrize(("name", "failed", "good", "chance"), BY_HAND)
def test_chances_reckoned_by_hand(name: str, failed: str, good: str, chance: float) -> None:
    rule = book().causes[name]
    found = of_two(rule, made(rule, failed), made(rule, good))
    assert [f.prior for f in found.factors if f.rule] == [pytest.approx(chance, abs=0.005)]


def test_figures_in_the_words_are_those_of_the_books() -> None:
    """Free benzoic acid and the salt in a hydrate.

    With pKa 4.20 (J. Res. NBS 1967, 71A, 379 measured 4.21), and the molar masses of molmass.
    """
    words = book().causes["ph-too-high-for-acid-preservative"].mechanism
    for pH, percent in (("5.0", 14), ("5.5", 5)):
        assert round(100 * free_share(Fraction("4.20"), Fraction(pH))) == percent
        assert f"{percent} % " in words
        assert f"pH {pH}" in words
    molmass: Any = importlib.import_module("molmass")  # it ships no types
    dry, wet = (molmass.Formula(one).mass for one in ("MgSO4", "MgSO4(H2O)7"))
    assert f"{100 * dry / wet:.1f} %" in book().causes["hydrate-for-dry-salt"].source
