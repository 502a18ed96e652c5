"""What a batch was really made of: masses that add up, vessel by vessel.

The batches are invented: a pottery studio's hand creams.
"""

from __future__ import annotations

import importlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labbook.model.batch import Batch, BatchLine, BatchStep, Parent, Reading, Weighing
from labbook.model.formula import Step
from labbook.model.materials import Equipment, Ingredient, Part, Value
from labbook.model.quantities import Quantity
from labbook.model.sheets import Sheets
from labbook.trade.actual import ActualComposition, actual_composition
from labbook.trade.balance import Balance
from labbook.trade.exact import to_places
from tests.trade.making import PIN, correction, grams

ufloat: Any = importlib.import_module("uncertainties").ufloat  # it ships no types

ALL = Value(value=Decimal(100), unit="%")
SHEETS = Sheets(
    {
        "water": Ingredient(id="water", functions=("water",), volatile_content=ALL),
        "ethanol": Ingredient(id="ethanol", volatile_content=ALL, soluble_in="water"),
        "sunflower-oil": Ingredient(id="sunflower-oil", soluble_in="oil"),
        "beeswax": Ingredient(id="beeswax", soluble_in="oil"),
        "phenoxyethanol": Ingredient(
            id="phenoxyethanol", water_content=Value(value=Decimal(0), unit="%")
        ),
        "citric-acid": Ingredient(
            id="citric-acid", water_content=Value(value=Decimal(0), unit="%")
        ),
        "acid-solution": Ingredient(
            id="acid-solution",
            contains=(
                Part(ingredient="citric-acid", percent=Decimal(20)),
                Part(ingredient="water", percent=Decimal(80)),
            ),
        ),
    }
)
BALANCE = Balance(readability=Fraction("0.01"))
COMBINE = Step(id="s1", do="combine", add="B", into="A")

Lines = Mapping[tuple[str, str], str | None]


def batch(
    lines: Lines,
    said: Sequence[tuple[str, str | None, str]] = (),
    *,
    id_: str = "SBC-260109-4M",
    yield_: str | None = None,
    **more: Any,
) -> Batch:
    """A batch by (phase, ingredient) and mass in g; what was read by name, of, and figure."""
    names = list(lines)
    return Batch(
        id=id_,
        state="open",
        made=date(2026, 1, 9),
        formula=PIN,
        size=grams("100"),
        lines=tuple(
            BatchLine(id=f"a{n}", phase=phase, ingredient=name, sheet=name)
            for n, (phase, name) in enumerate(names, 1)
        ),
        weighings=tuple(
            Weighing(id=f"w{n}", line=f"a{n}", mass=grams(mass))
            for n, mass in enumerate(lines.values(), 1)
            if mass is not None
        )
        + more.pop("also", ()),
        readings=tuple(
            Reading(id=f"r{n}", reading=name, of=of, value=Decimal(figure), unit="g")
            for n, (name, of, figure) in enumerate(said, 1)
        ),
        steps=(BatchStep(id="s1", plan=COMBINE),),
        yield_=None if yield_ is None else grams(yield_),
        **more,
    )


def made(one: Batch, *others: Batch, **more: Any) -> ActualComposition:
    held = {other.id: other for other in (one, *others)}
    return actual_composition(one, SHEETS, batches=held, balance=BALANCE, **more)


def percents(found: ActualComposition) -> dict[str, Fraction]:
    return {line.ingredient: line.percent for line in found.lines}


CREAM: Lines = {
    ("A", "sunflower-oil"): "20",
    ("B", "water"): "79.5",
    ("B", "phenoxyethanol"): "0.5",
}


def balanced(found: ActualComposition) -> bool:
    """Whether what went in is what came out, went off, stayed, and isn't explained."""
    out = sum((line.mass for line in found.lines), Fraction())
    lost = found.evaporated + found.residue + (found.unexplained or 0)
    return out + lost == found.put_in


# Worked examples ----------------------------------------------------------------------------------


def test_ten_grams_lost_of_a_hundred_raise_a_preservative() -> None:
    # Common practice, no source: 10 g of water lost of 100 g take 0.50 % to 0.50 / 90 = 0.56 %.
    found = made(batch(CREAM, [("mass before heating", "B", "180"),
                               ("mass after heating", "B", "170")]))  # fmt: skip
    assert found.evaporated == 10
    assert percents(found)["phenoxyethanol"] == Fraction(50, 90)
    assert to_places(percents(found)["phenoxyethanol"], 2) == Decimal("0.56")
    assert percents(found)["water"] == Fraction(6950, 90)
    assert balanced(found)


def test_water_put_back_takes_it_down_again() -> None:
    said = [("evaporated", "B", "10"), ("water returned", "B", "10")]
    found = made(batch(CREAM, said))
    assert percents(found) == {
        "sunflower-oil": 20, "water": Fraction("79.5"), "phenoxyethanol": Fraction("0.5"),
    }  # fmt: skip
    assert [found.put_in, found.returned, found.final] == [110, 10, 100]


def test_an_addition_on_top_is_part_of_the_whole() -> None:
    # 2 g into 100 g is 2 / 102 = 1.96 %; to have 2 % in the end, 204.08 g go into 10 kg: reckoned.
    extra = Weighing(id="w9", ingredient="ethanol", phase="C", mass=grams("2"))
    found = made(batch(CREAM, also=(extra,)))
    assert to_places(percents(found)["ethanol"], 2) == Decimal("1.96")
    big = {("A", "sunflower-oil"): "10000"}
    added = replace(extra, mass=grams("204.08"))
    assert to_places(percents(made(batch(big, also=(added,))))["ethanol"], 3) == Decimal("2.000")


@pytest.mark.parametrize(
    ("masses", "wanted"),
    [
        # A lotion written down in ounces, its percents reckoned by hand to two decimals.
        (["114", "6.75", "5.15", "3.30", "1", "1.85", "0.5"],
         ["86.01", "5.09", "3.89", "2.49", "0.75", "1.40", "0.38"]),
        (["44", "54", "18"], ["37.93", "46.55", "15.52"]),
    ],
)  # fmt: skip
def test_published_sums(masses: list[str], wanted: list[str]) -> None:
    lines = {("A", f"x{n}"): f"{mass} oz" for n, mass in enumerate(masses)}
    found = made(batch(lines))
    assert [f"{to_places(line.percent, 2):f}" for line in found.lines] == wanted


def test_a_residue_has_the_composition_of_its_vessel() -> None:
    # B holds 80 g, 8 of them stay: a tenth of the water and of the preservative, none of the oil.
    found = made(batch(CREAM, [("residue", "B", "8")]))
    assert found.residue == 8
    assert {line.ingredient: line.mass for line in found.lines} == {
        "sunflower-oil": 20, "water": Fraction("71.55"), "phenoxyethanol": Fraction("0.45"),
    }  # fmt: skip


def test_what_stays_in_the_vessel_that_takes_the_others_in_changes_no_percent() -> None:
    found = made(batch(CREAM, [("residue", "A", "8")]))
    assert percents(found) == percents(made(batch(CREAM)))
    assert [found.residue, found.final] == [8, 92]


def test_an_emptied_vessel_is_weighed_against_the_empty_one() -> None:
    said = [("empty vessel", "B", "120.3"), ("emptied vessel", "B", "121.1")]
    found = made(batch(CREAM, said))
    assert found.residue == Fraction("0.8")
    assert balanced(found)


def test_the_empty_vessel_stands_in_where_nobody_weighed_before_heating() -> None:
    said = [("empty vessel", "B", "100"), ("mass after heating", "B", "177")]
    found = made(batch(CREAM, said))
    assert found.evaporated == 3
    assert found.problems == ()


def test_what_was_spilt_before_heating_is_unexplained() -> None:
    said = [("empty vessel", "B", "100"), ("mass before heating", "B", "179"),
            ("mass after heating", "B", "177")]  # fmt: skip
    found = made(batch(CREAM, said))
    assert (found.evaporated, found.unexplained) == (Fraction(2), Fraction(1))
    assert balanced(found)


# What isn't explained -----------------------------------------------------------------------------


def test_what_stays_unexplained_is_in_the_doubt_and_not_in_the_water() -> None:
    whole, short = made(batch(CREAM)), made(batch(CREAM, yield_="96"))
    assert percents(whole) == percents(short)
    assert [whole.unexplained, short.unexplained] == [None, 4]
    water = next(line for line in short.lines if line.ingredient == "water")
    # All of it water: 75.5 of 96 g are 78.6458 %, 0.8542 points less.
    assert water.shift == Fraction(7550, 96) - Fraction("79.5")
    # A rectangle from 0 to s has the mean square s² / 3 about 0 (JCGM 100:2008, 4.3.7).
    expected = (float(water.weighing) ** 2 + float(water.shift) ** 2 / 3) ** 0.5
    assert float(water.uncertainty) == pytest.approx(expected)
    assert balanced(short)


def test_more_than_went_in_is_unexplained_too() -> None:
    found = made(batch(CREAM, yield_="101"))
    assert found.unexplained == -1
    assert found.lines[1].shift > 0
    assert balanced(found)


def test_oil_that_lost_mass_lost_nothing_volatile() -> None:
    said = [("mass before heating", "A", "140"), ("mass after heating", "A", "139.6")]
    found = made(batch(CREAM, said))
    assert [found.evaporated, found.unexplained] == [0, Fraction("0.4")]
    assert percents(found) == percents(made(batch(CREAM)))
    assert balanced(found)


def test_a_vessel_that_grew_while_heated_is_unexplained() -> None:
    said = [("mass before heating", "B", "180"), ("mass after heating", "B", "180.2")]
    found = made(batch(CREAM, said))
    assert [found.evaporated, found.unexplained] == [0, Fraction("-0.2")]


def test_half_a_mass_balance_is_said_and_not_guessed() -> None:
    for said in ("mass before heating", "mass after heating", "emptied vessel"):
        found = made(batch(CREAM, [(said, "B", "180")]))
        assert [one.rule for one in found.problems] == ["half-a-mass-balance"]
        assert percents(found) == percents(made(batch(CREAM)))


def test_the_later_of_two_readings_stands() -> None:
    said = [("mass before heating", "B", "18"), ("mass before heating", "B", "180"),
            ("mass after heating", "B", "171"), ("mass after heating", "B", "170")]  # fmt: skip
    assert made(batch(CREAM, said)).evaporated == 10


def test_a_struck_reading_and_one_in_words_do_not_count() -> None:
    one = batch(CREAM, [("evaporated", "B", "10"), ("evaporated", "B", "4")])
    struck = replace(one.readings[0], struck="misread")
    odd = replace(one.readings[1], unit="mm")
    found = made(replace(one, readings=(struck, odd)))
    assert found.evaporated == 0
    assert [problem.rule for problem in found.problems] == ["mass-unreadable"]


def test_corrections_count() -> None:
    one = batch(CREAM, [("evaporated", "B", "1")])
    fixed = replace(one, corrections=(correction("c1", "r1", "value", "10"),))
    assert made(fixed).evaporated == 10


def test_a_part_without_a_weight_leaves_it_unknown() -> None:
    found = made(batch({**CREAM, ("B", "ethanol"): None}))
    assert (found.known, found.missing) == (False, ("ethanol",))


# What goes off ------------------------------------------------------------------------------------


def test_what_is_volatile_as_a_whole_goes_before_the_water_of_solutions() -> None:
    lines: Lines = {("B", "water"): "10", ("B", "acid-solution"): "10"}
    found = made(batch(lines, [("evaporated", "B", "6")]))
    assert [line.mass for line in found.lines] == [4, 10]
    found = made(batch(lines, [("evaporated", "B", "12")]))
    assert [line.mass for line in found.lines] == [0, 8]


def test_which_of_two_went_off_is_a_doubt() -> None:
    lines: Lines = {("B", "water"): "60", ("B", "ethanol"): "20", ("A", "beeswax"): "20"}
    found = made(batch(lines, [("evaporated", "B", "4")]))
    water, ethanol, wax = found.lines
    assert [water.mass, ethanol.mass] == [57, 19]
    # 0 to 4 g of either: a width of 4 g, u = 4 / √12 = 1.155 g of 96 g, 1.20 points.
    assert float(water.uncertainty) == pytest.approx(100 * 4 / 12**0.5 / 96, rel=1e-3)
    assert float(ethanol.uncertainty) == pytest.approx(float(water.uncertainty), rel=1e-3)
    assert float(wax.uncertainty) < 0.02


# From other batches -------------------------------------------------------------------------------

PREMIX = batch({("A", "citric-acid"): "2", ("A", "water"): "8"}, id_="ACI-260108-5C")


def of_premix(id_: str, mass: str, line: str) -> Weighing:
    return Weighing(id=id_, line=line, mass=grams(mass), batch=PREMIX.id)


def test_a_premix_brings_what_it_is_made_of_to_the_lines_of_each() -> None:
    lines: Lines = {("B", "water"): "95", ("B", "citric-acid"): None}
    found = made(batch(lines, also=(of_premix("w9", "5", "a2"),)), PREMIX)
    assert percents(found) == {"water": 99, "citric-acid": 1}


def test_a_line_that_is_the_premix_keeps_it_whole_and_its_materials_are_known() -> None:
    lines: Lines = {("B", "water"): "95", ("B", "acid-stock"): None}
    found = made(batch(lines, also=(of_premix("w9", "5", "a2"),)), PREMIX)
    assert percents(found) == {"water": 95, "acid-stock": 5}
    assert {x.ingredient: x.percent for x in found.materials} == {"water": 99, "citric-acid": 1}


def test_what_was_made_before_keeps_its_own_losses() -> None:
    dried = replace(
        PREMIX, readings=(Reading(id="r1", reading="evaporated", value=Decimal(2), unit="g"),)
    )
    lines: Lines = {("B", "water"): "95", ("B", "citric-acid"): None}
    found = made(batch(lines, also=(of_premix("w9", "4", "a2"),)), dried)
    assert percents(found)["citric-acid"] == Fraction(100, 99)


def test_a_premix_that_was_not_weighed_leaves_the_line_unknown() -> None:
    unweighed = replace(PREMIX, weighings=PREMIX.weighings[:1])
    lines: Lines = {("B", "water"): "95", ("B", "citric-acid"): None}
    found = made(batch(lines, also=(of_premix("w9", "5", "a2"),)), unweighed)
    assert found.missing == ("citric-acid (what 5C holds of it)",)


def test_a_premix_that_leads_back_to_the_batch_ends() -> None:
    one = batch({("A", "water"): "10"})
    loop = replace(one, weighings=(replace(one.weighings[0], batch=one.id),))
    found = made(loop)
    assert found.lines[0].percent == 100
    assert [problem.rule for problem in found.problems] == ["premix-unknown"]


def parted(
    whole: Batch, id_: str, mass: str | None, how: str = "split", also: tuple[Weighing, ...] = ()
) -> Batch:
    parent = Parent(batch=whole.id, mass=None if mass is None else grams(mass), how=how)
    return replace(
        whole, id=id_, weighings=also, readings=(), yield_=None, from_=(parent,), size=grams("50")
    )


def test_a_part_is_made_of_what_the_whole_was_made_of() -> None:
    whole = batch(CREAM, [("evaporated", "B", "10")])
    part = parted(whole, "SBC-260109-7K", None)
    assert percents(made(part, whole)) == percents(made(whole))
    oil = Weighing(id="w1", line="a1", mass=grams("10"))
    richer = made(parted(whole, "SBC-260109-7K", None, also=(oil,)), whole)
    assert richer.put_in == 60
    assert percents(richer)["phenoxyethanol"] == percents(made(whole))["phenoxyethanol"] * 5 / 6


def test_a_part_has_a_line_of_its_own_that_nobody_weighed() -> None:
    whole = batch(CREAM)
    extra = BatchLine(id="a9", phase="C", ingredient="ethanol", sheet="ethanol")
    part = parted(whole, "SBC-260109-7K", "50")
    assert made(replace(part, lines=(*part.lines, extra)), whole).missing == ("ethanol",)


def test_a_batch_made_over_from_another_of_unknown_mass_is_unknown() -> None:
    whole = batch(CREAM)
    assert made(parted(whole, "SBC-260109-7K", None, "rework"), whole).missing == (
        "how much of 4M",
    )
    assert made(parted(whole, "SBC-260109-7K", "50")).missing == ("what is in 4M",)


# Laws ---------------------------------------------------------------------------------------------

NAMES = ("water", "ethanol", "sunflower-oil", "acid-solution", "phenoxyethanol", "nobody-knows")
MASSES = st.decimals("0.01", "300", places=2)
LOSSES = st.decimals("0", "40", places=2)


@st.composite
def batches(draw: st.DrawFn) -> Batch:
    """Batches of two phases, with all that can be read of vessels, sensible or not."""
    names = draw(st.lists(st.tuples(st.sampled_from("AB"), st.sampled_from(NAMES)),
                          min_size=1, max_size=6, unique=True))  # fmt: skip
    lines = {name: f"{draw(MASSES):f}" for name in names}
    said: list[tuple[str, str | None, str]] = []
    for of in draw(st.lists(st.sampled_from(["A", "B", "pot", "C", None]), max_size=3)):
        kind = draw(st.sampled_from(["pair", "evaporated", "water returned", "residue", "tare"]))
        loss = draw(LOSSES)
        if kind == "pair":
            said.append(("mass before heating", of, "500"))
            said.append(("mass after heating", of, f"{500 - loss:f}"))
        elif kind == "tare":
            said += [("empty vessel", of, "100"), ("emptied vessel", of, f"{100 + loss:f}")]
        else:
            said.append((kind, of, f"{loss:f}"))
    yield_ = draw(st.none() | MASSES.map(lambda mass: f"{mass:f}"))
    extra = Weighing(id="w9", ingredient="ethanol", phase="C", mass=grams(f"{draw(MASSES):f}"))
    return batch(lines, said, yield_=yield_, also=draw(st.sampled_from([(), (extra,)])))


@settings(max_examples=100, deadline=None)
@given(batches())
def test_mass_is_conserved_and_percents_add_up_to_100(one: Batch) -> None:
    found = made(one)
    if not found.known:  # more stayed behind than went in
        assert found.final <= 0 or found.missing
        return
    for lines in (found.lines, found.materials):
        assert sum(line.percent for line in lines) == 100
        assert sum(line.mass for line in lines) == found.final
        assert sum(line.shift for line in lines) == 0
        assert all(line.percent >= 0 for line in lines)
    assert balanced(found)
    weighed_in = sum((w.mass.exact("g") for w in one.weighings), Fraction())
    assert found.put_in == weighed_in + found.returned
    # The same by the vessels: nothing is lost between them.
    inside = sum((v.put_in for v in found.vessels if v.phase), Fraction())
    assert all(v.evaporated >= 0 and v.residue >= 0 for v in found.vessels)
    assert inside <= weighed_in


@settings(max_examples=60, deadline=None)
@given(batches(), st.randoms(use_true_random=False))
def test_the_order_of_weighings_is_immaterial(one: Batch, chance: Any) -> None:
    mixed = list(one.weighings)
    chance.shuffle(mixed)
    turned = replace(one, weighings=tuple(mixed))
    first, second = made(one), made(turned)
    assert {line.key: line.percent for line in first.lines} == {
        line.key: line.percent for line in second.lines
    }
    assert [float(line.uncertainty) for line in first.lines] == pytest.approx(
        [float(line.uncertainty) for line in second.lines]
    )


@settings(max_examples=60, deadline=None)
@given(batches(), st.decimals("1", "99", places=2))
def test_parts_put_together_again_are_the_whole(one: Batch, share: Decimal) -> None:
    whole = made(one)
    if not whole.known:
        return
    halves = [parted(one, f"SBC-260110-{n}A", mass) for n, mass in
              enumerate((f"{share:f}", f"{100 - share:f}"), 1)]  # fmt: skip
    parents = tuple(Parent(batch=half.id, mass=half.from_[0].mass, how="rework") for half in halves)
    pooled = replace(parted(one, "SBC-260111-9Z", "100"), from_=parents)
    found = made(pooled, one, *halves)
    merged = {(x.phase, x.sheet): x.percent for x in found.materials}
    assert merged == {(x.phase, x.sheet): x.percent for x in whole.materials}
    for half in halves:
        assert {(x.phase, x.sheet): x.percent for x in made(half, one).materials} == merged


@settings(max_examples=40, deadline=None)
@given(st.lists(MASSES, min_size=2, max_size=5), LOSSES, LOSSES, LOSSES)
def test_uncertainties_are_those_of_a_library_for_them(
    masses: list[Decimal], lost: Decimal, back: Decimal, stays: Decimal
) -> None:
    # The uncertainties package propagates by the same law (JCGM 100:2008, 5.2.2), on its own.
    lines = {("B", "water"): "400"} | {("B", f"x{n}"): f"{m:f}" for n, m in enumerate(masses)}
    said = [("mass before heating", "B", "900"), ("mass after heating", "B", f"{900 - lost:f}"),
            ("water returned", "B", f"{back:f}"), ("residue", "B", f"{stays:f}")]  # fmt: skip
    oil = {("A", "sunflower-oil"): "50"}
    found = made(batch({**lines, **oil}, said))
    reading = 0.01 / 12**0.5
    pot: list[Any] = [ufloat(float(m), reading * 2**0.5) for m in (Decimal(400), *masses)]
    if lost > 0:
        pot[0] -= ufloat(900, reading) - ufloat(float(900 - lost), reading)
    if back > 0:
        pot[0] += ufloat(float(back), reading * 2**0.5)
    if stays > 0:
        share = ufloat(float(stays), reading * 2**0.5) / sum(pot)
        pot = [part * (1 - share) for part in pot]
    everything = [*pot, ufloat(50, reading * 2**0.5)]
    wanted = [100 * part / sum(everything) for part in everything]
    assert [float(x.percent) for x in found.lines] == pytest.approx([x.n for x in wanted])
    assert [float(x.weighing) for x in found.lines] == pytest.approx([x.s for x in wanted])


def test_readings_of_one_balance_and_their_own_uncertainty() -> None:
    scale = Equipment(id="e-1", kind="balance", readability=Quantity(Decimal("0.1"), "g"))
    one = batch(CREAM)
    named = replace(
        one, weighings=tuple(replace(w, balance="kitchen-scale") for w in one.weighings)
    )
    coarse = made(named, equipment={"kitchen-scale": scale})
    fine = made(one)
    ratio = float(coarse.lines[0].uncertainty) / float(fine.lines[0].uncertainty)
    assert ratio == pytest.approx(10)
    # Without a balance the digits written count: 20 g is good to half a gram either way.
    digits = actual_composition(one, SHEETS)
    assert digits.lines[0].uncertainty > 10 * fine.lines[0].uncertainty
