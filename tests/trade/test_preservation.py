from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.formula import Formula, Line, Target
from labbook.model.materials import Ingredient, Part, Value
from labbook.trade.acids import acid_doses, acid_of, as_acid
from labbook.trade.composition import resolve
from labbook.trade.preservation import (
    FreeAcid,
    aimed_pH,
    free_acids,
    free_in_water,
    free_share,
    percent_in_water,
    water_and_oil,
)
from tests.trade.making import formula, line, sheets, value

ACIDITY = st.fractions(0, 14, max_denominator=100)

# Laws of the free share ---------------------------------------------------------------------------


@given(ACIDITY)
def test_half_is_free_where_ph_is_pka(pKa: Fraction) -> None:
    assert free_share(pKa, pKa) == 0.5


@given(ACIDITY, ACIDITY, ACIDITY)
def test_less_is_free_at_a_higher_ph(pKa: Fraction, one: Fraction, other: Fraction) -> None:
    low, high = sorted((one, other))
    assert 0 < free_share(pKa, high) <= free_share(pKa, low) < 1
    if high - low >= Fraction(1, 100):
        assert free_share(pKa, high) < free_share(pKa, low)


@given(ACIDITY, st.fractions(-5, 5, max_denominator=100))
def test_what_is_free_above_is_bound_as_far_below(pKa: Fraction, by: Fraction) -> None:
    assert free_share(pKa, pKa + by) + free_share(pKa, pKa - by) == pytest.approx(1)


@given(ACIDITY, ACIDITY, st.fractions(0, 3, max_denominator=100))
def test_a_stronger_acid_has_less_free(pKa: Fraction, pH: Fraction, by: Fraction) -> None:
    assert free_share(pKa, pH) <= free_share(pKa + by, pH)


AMOUNT = st.floats(0.01, 50)


@given(AMOUNT, AMOUNT, st.floats(0.001, 1), AMOUNT, st.floats(0, 100))
def test_oil_only_takes_away_and_nothing_is_lost(
    acid: float, water: float, share: float, oil: float, ratio: float
) -> None:
    without = free_in_water(acid, water, share)
    found = free_in_water(acid, water, share, oil=oil, ratio=ratio)
    assert 0 < found <= without * (1 + 1e-12)
    assert without == pytest.approx(100 * acid * share / water)
    # All acid: free and dissociated in the water, and free in the oil.
    held = found / 100 * (water / share + oil * ratio)
    assert held == pytest.approx(acid)


def test_without_a_water_phase_there_is_no_figure() -> None:
    with pytest.raises(ValueError, match="water phase"):
        free_in_water(1, 0, 0.5)


MASS = st.fractions(1, 500, max_denominator=1000)


@given(st.fractions(0, 100, max_denominator=100), MASS, MASS)
def test_salt_to_acid_and_back(percent: Fraction, salt: Fraction, acid: Fraction) -> None:
    assert as_acid(as_acid(percent, salt, acid), acid, salt) == percent
    assert as_acid(percent, salt, acid, 2) == 2 * as_acid(percent, salt, acid)


def test_a_molar_mass_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        as_acid(Fraction(1), Fraction(0), Fraction(1))


# A formula ----------------------------------------------------------------------------------------


def preservative(name: str, molar_mass: str | None, pKa: str = "4.21", **more: Any) -> Ingredient:
    return Ingredient(
        id=name,
        functions=more.pop("functions", ("preservative",)),
        soluble_in=more.pop("soluble_in", "water"),
        molar_mass=None if molar_mass is None else value(molar_mass, "g/mol"),
        pKa=value(pKa, None),
        **more,
    )


def book(**more: Ingredient) -> Any:
    known = {
        "water": Ingredient(id="water", functions=("water",), soluble_in="water"),
        "oil": Ingredient(id="oil", functions=("oil",), soluble_in="oil"),
        "clay": Ingredient(
            id="clay", functions=("powder",), soluble_in="neither", water_content=value("0")
        ),
        "sodium_benzoate": preservative("sodium-benzoate", "144.103"),
    }
    return sheets(**{**known, **more})


def target(low: str | None, high: str | None, of: str = "water phase") -> Target:
    ends = [None if one is None else Decimal(one) for one in (low, high)]
    return Target(of=of, reading="pH", from_=ends[0], to=ends[1])


def cream(
    *lines: Line, targets: tuple[Target, ...] = (), emulsion: str = "oil-in-water"
) -> Formula:
    made = formula(A=[line("oil", "20")], B=[*lines, line("water", "qs")])
    return Formula(
        code="LO",
        title="Lotion",
        id=made.id,
        emulsion=emulsion,
        phases=made.phases,
        targets=targets,
    )


def found(made: Formula, known: Any, **more: Any) -> tuple[FreeAcid, ...]:
    return free_acids(made, resolve(made, known), known, **more)


SALT = line("sodium-benzoate", "0.5", role="preservative")
AIM = (target("4.8", "5.0"),)


def test_the_unfavourable_end_of_the_target_counts() -> None:
    (one,) = found(cream(SALT, targets=AIM), book())
    assert (one.acid, one.pKa, one.target) == ("benzoic acid", Fraction("4.21"), 0)
    assert one.pH == 5
    assert one.share == pytest.approx(0.13955, abs=1e-5)
    assert one.dose == Fraction("0.5") * Fraction("122.122") / Fraction("144.103")
    # 0.4237 % of acid, of which 13.96 % is free, in 80 % of water phase.
    assert one.in_water_most == pytest.approx(100 * 0.423731 * 0.139549 / 80, rel=1e-5)
    assert one.in_water_least is None and one.upper_bound
    assert one.in_water_most is not None and one.in_water_low_pH is not None
    assert one.in_water_low_pH > one.in_water_most
    assert one.from_measured is False


def test_a_measured_ph_counts_with_its_uncertainty() -> None:
    made = cream(SALT, targets=AIM)
    (one,) = found(made, book(), measured=Fraction("5.4"), uncertainty=Fraction("0.1"))
    assert (one.pH, one.from_measured, one.target) == (Fraction("5.5"), True, None)
    (plain,) = found(made, book(), measured=Fraction("5.5"))
    assert plain.share == one.share


@pytest.mark.parametrize(
    ("targets", "emulsion", "aim"),
    [
        ((), "oil-in-water", None),
        ((target("4.8", None),), "oil-in-water", None),
        ((target(None, "5.0"),), "oil-in-water", (5, None, 0)),
        ((target("4", "5"), target("4.5", "5.5")), "oil-in-water", (Fraction("5.5"), 4.5, 1)),
        ((target("4", "5", of="finished cream"),), "oil-in-water", (5, 4, 0)),
        ((target("4", "5", of="finished cream"),), "water-in-oil", None),
        ((target("4", "5"),), "water-in-oil", (5, 4, 0)),
    ],
)
def test_which_ph_a_formula_aims_for(
    targets: tuple[Target, ...], emulsion: str, aim: tuple[Any, ...] | None
) -> None:
    assert aimed_pH(cream(SALT, targets=targets, emulsion=emulsion)) == aim


def test_without_a_ph_nothing_is_said() -> None:
    made = cream(SALT)
    assert found(made, book()) == ()
    assert len(acid_doses(resolve(made, book()), book())) == 1


def test_a_sheet_that_asks_for_more_is_compared_with() -> None:
    for least, too_little in (("0.05", False), ("0.1", True)):
        asks = preservative("sodium-benzoate", "144.103", least_free_acid=value(least))
        (one,) = found(cream(SALT, targets=AIM), book(sodium_benzoate=asks))
        assert one.too_little is too_little
    (one,) = found(cream(SALT, targets=AIM), book())
    assert one.too_little is None


def test_with_an_oil_water_ratio_it_is_a_range() -> None:
    acid = preservative("benzoic-acid", "122.122", oil_water_ratio=value("3-6", None))
    known = book(benzoic_acid=acid)
    (one,) = found(cream(SALT, targets=AIM), known)
    assert one.in_water_most is not None and one.in_water_least is not None
    water = Fraction("79.5") + Fraction("0.5")
    by_hand = 100 * float(one.dose or 0) / (float(water) / one.share + 20 * 6)
    assert one.in_water_least == pytest.approx(by_hand)
    assert one.in_water_least < one.in_water_most


def test_more_than_water_dissolves_is_seen_at_the_low_end() -> None:
    strong = line("sodium-benzoate", "1.5")
    for low, over in (("3.0", True), ("4.9", False)):
        (one,) = found(cream(strong, targets=(target(low, "5.0"),)), book())
        assert one.over_solubility is over
    other = preservative("p-anisic-acid", "152.148")
    made = cream(line("p-anisic-acid", "0.3"), targets=AIM)
    (one,) = found(made, book(p_anisic_acid=other))
    assert one.over_solubility is None


def test_an_acid_that_only_sets_the_ph_preserves_nothing() -> None:
    acid = preservative("citric-acid", "192.124", "3.128", functions=("acid",))
    made = cream(line("citric-acid", "0.3"), targets=AIM)
    assert found(made, book(citric_acid=acid)) == ()
    meant = cream(line("citric-acid", "0.3", role="preservative"), targets=AIM)
    (one,) = found(meant, book(citric_acid=acid))
    assert "several protons" in one.note


def test_a_salt_without_a_molar_mass_has_no_dose() -> None:
    (one,) = found(
        cream(SALT, targets=AIM), book(sodium_benzoate=preservative("sodium-benzoate", None))
    )
    assert one.dose is None and one.in_water_most is None
    assert one.share == pytest.approx(0.13955, abs=1e-5)


def test_a_blend_is_taken_apart() -> None:
    blend = Ingredient(
        id="blend",
        functions=("preservative",),
        contains=(
            Part(ingredient="sodium-benzoate", percent=Decimal(40)),
            Part(ingredient="water", percent=Decimal(60)),
        ),
    )
    (one,) = found(cream(line("blend", "1"), targets=AIM), book(blend=blend))
    assert one.ingredient == "blend"
    assert one.dose == Fraction("0.4") * Fraction("122.122") / Fraction("144.103")
    unsaid = Ingredient(
        id="blend", functions=("preservative",), contains=(Part(ingredient="sodium-benzoate"),)
    )
    (one,) = found(cream(line("blend", "1"), targets=AIM), book(blend=unsaid))
    assert one.dose is None


def test_a_solution_counts_by_its_content() -> None:
    thin = preservative("sodium-benzoate", "144.103", active_content=value("20"))
    (one,) = found(cream(line("sodium-benzoate", "2"), targets=AIM), book(sodium_benzoate=thin))
    assert one.dose == Fraction("0.4") * Fraction("122.122") / Fraction("144.103")


def test_a_range_of_pka_counts_by_its_lower_end() -> None:
    wide = preservative("sodium-benzoate", "144.103", "4.19-4.21")
    (one,) = found(cream(SALT, targets=AIM), book(sodium_benzoate=wide))
    assert one.pKa == Fraction("4.19")


def test_a_water_phase_that_nobody_knows_gives_a_share_and_no_percent() -> None:
    made = Formula(
        code="LO", title="Lotion", id="f-1", emulsion="oil-in-water", targets=AIM,
        phases=formula(A=[line("mystery", "50"), SALT], B=[line("water", "qs")]).phases,
    )  # fmt: skip
    (one,) = found(made, book())
    assert one.in_water_most is None and one.share > 0


@pytest.mark.parametrize(
    ("name", "inci", "acid", "salt", "factor"),
    [
        ("sodium-benzoate", None, "benzoic acid", True, Fraction("122.122") / 100),
        ("potassium-sorbate", None, "sorbic acid", True, Fraction("112.127") / 100),
        ("my-crystals", "Calcium Sorbate", "sorbic acid", True, 2 * Fraction("112.127") / 100),
        ("sodium-p-anisate", None, "anisic acid", True, Fraction("152.148") / 100),
        ("sorbic-acid", None, "sorbic acid", False, Fraction(1)),
        ("sodium-citrate", None, "citric acid", True, None),
        ("sodium-mysterate", None, "mysteric acid", True, None),
    ],
)
def test_which_acid_is_behind_a_name(
    name: str, inci: str | None, acid: str, salt: bool, factor: Fraction | None
) -> None:
    sheet = Ingredient(id=name, inci=inci, molar_mass=value("100", "g/mol"))
    one = acid_of(sheet, book())
    assert (one.name, one.salt, one.factor) == (acid, salt, factor)


def test_water_and_oil_of_a_formula() -> None:
    made = formula(
        A=[line("oil", "20"), line("clay", "5")],
        B=[line("water", "70")],
        C=[line("sodium-benzoate", "1"), line("oil", "4")],
    )
    water, oil = water_and_oil(resolve(made, book()), book())
    assert water == 71
    assert oil == 24
    assert water_and_oil(resolve(formula(A=[line("oil", "100")]), book()), book())[0] is None


@pytest.mark.parametrize(
    ("given_", "percent"),
    [
        (None, None),
        (value("0.34"), (Fraction("0.34"), Fraction("0.34"))),
        (value("3.4", "g/l"), (Fraction("0.34"), Fraction("0.34"))),
        (value("2-3", "g/l"), (Fraction("0.2"), Fraction("0.3"))),
        (value("20", "mg/l"), (Fraction("0.002"), Fraction("0.002"))),
        (value("3", "mol/l"), None),
        (Value(unit="%"), None),
    ],
)
def test_concentrations_in_water(
    given_: Value | None, percent: tuple[Fraction, Fraction] | None
) -> None:
    assert percent_in_water(given_) == percent


@pytest.mark.parametrize(
    ("words", "aim"),
    [
        ("pH to 4.8 to 5.0", (Fraction("5.0"), Fraction("4.8"), None)),
        ("to pH 5", (Fraction(5), Fraction(5), None)),
        ("pH 5.2-4.9", (Fraction("5.2"), Fraction("4.9"), None)),
        ("until it is thick", None),
    ],
)
def test_without_a_target_the_pH_that_a_line_is_adjusted_to_counts(
    words: str, aim: tuple[Fraction, Fraction, None] | None
) -> None:
    acid = replace(line("citric-acid", "0.6"), adjust=words)
    made = formula(B=[line("water", "90"), SALT, acid])
    assert aimed_pH(made) == aim
    assert bool(free_acids(made, resolve(made, book()), book())) is (aim is not None)
