"""The sample notebook tells the story of its screens: what is due, failed and differs."""

from collections import Counter
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from labbook.model.formula import Formula
from labbook.model.jars import Jars, Look, Stability
from labbook.model.settings import Protocol
from tests.sample import COUNTS, TODAY, batches, last, versions

SEPARATION = {"oil on top", "oil beads", "water beads", "water below", "cream layer", "inversion"}
STRUCTURE = {"grains", "lumps", "crystals", "thinner", "thicker"}


def of_batch(short: str, file: str) -> Any:
    return last().get(f"batches/2026/{batches()[short].id}/{file}.yaml")


def failed(formula: Formula, look: Look) -> bool:
    """Worse than the formula's acceptance; for separation worse than grade 1 where it says none."""
    if not look.grade:
        return False
    worst = dict.fromkeys(SEPARATION, 1)
    for limit in formula.acceptance:
        if limit.condition == look.condition:
            for group, modes in (("separation", SEPARATION), ("structure", STRUCTURE)):
                if group in limit.modes and limit.worst_grade is not None:
                    worst |= dict.fromkeys(modes, limit.worst_grade)
    return any(look.grade > worst.get(mode, 4) for mode in look.modes)


def watched(short: str, jar: str) -> tuple[int, int | None]:
    """The last planned day (or cycle) without failure, and the first one with it."""
    batch = batches()[short]
    formula = versions()[batch.formula.code, batch.formula.version]
    looks: Stability | None = of_batch(short, "stability")
    intact, bad = 0, None
    for look in looks.looks if looks else ():
        if look.jar == jar:
            point = look.cycle if look.cycle is not None else planned_day(look)
            if failed(formula, look):
                bad = bad or point
            elif bad is None:
                intact = point
    return intact, bad


def planned_day(look: Look) -> int:
    assert look.planned is not None
    return int(look.planned.exact("d"))


def due(until: date) -> set[tuple[date, str, int]]:
    """Jar and day of every look that is to be made until a day."""
    found = set()
    for short, batch in batches().items():
        jars: Jars | None = of_batch(short, "jars")
        if jars is None:
            continue
        protocol: Protocol = last()[f"protocols/{jars.protocol}.yaml"]
        filled = {jar.jar: jar.filled for jar in jars.jars}
        for stay in jars.stays:
            intact, bad = watched(short, stay.jar)
            points = next((p.after for p in protocol.looks if p.condition == stay.condition), ())
            start = filled[stay.jar]
            assert isinstance(start, datetime)
            assert start.date() == date.fromisoformat(str(batch.session))
            for after in points:
                day = start.date() + timedelta(days=int(after.exact("d")))
                if bad is None and after.exact("d") > intact and day <= until:
                    found.add((day, f"{short}.{stay.jar}", int(after.exact("d"))))
    return found


def test_these_looks_are_due_on_the_day_at_which_the_clock_stands_still() -> None:
    def on(day: int, point: int, *jars: str) -> set[tuple[date, str, int]]:
        return {(date(2026, 4, day), jar, point) for jar in jars}

    overdue = on(13, 60, "R8.1", "R8.2") | on(15, 28, "B6.1")
    today = on(16, 7, "7K.1", "7K.2", "7K.3") | on(16, 14, "W3.1")
    assert due(TODAY) == overdue | today
    coming = on(20, 60, "K2.1", "K2.2") | on(22, 90, "9T.2")
    coming |= on(23, 14, "7K.1", "7K.2", "7K.3") | on(23, 28, "H5.1", "H5.2", "H5.3")
    assert due(TODAY + timedelta(days=7)) == overdue | today | coming


@pytest.mark.parametrize(
    ("short", "jar", "intact", "bad"),
    [
        ("4M", "1", 90, None),
        ("9T", "1", 1, 7),
        ("9T", "2", 60, None),
        ("C3", "1", 60, None),
        ("R8", "1", 28, None),
        ("K2", "1", 28, None),
        ("K2", "4", 1, 2),  # cycles of freezing and thawing
        ("N6", "1", 28, None),
        ("H5", "1", 14, None),
        ("7K", "1", 1, None),
        ("D4", "1", 14, 28),
        ("B6", "1", 14, None),
        ("B6", "2", 7, 14),
    ],
)
def test_what_became_of_the_jars(short: str, jar: str, intact: int, bad: int | None) -> None:
    assert watched(short, jar) == (intact, bad)


def test_looks_are_at_the_age_and_in_the_condition_that_they_say() -> None:
    for short in batches():
        looks: Stability | None = of_batch(short, "stability")
        jars: Jars | None = of_batch(short, "jars")
        for look in looks.looks if looks else ():
            assert jars is not None
            filled = next(jar.filled for jar in jars.jars if jar.jar == look.jar)
            stay = next(stay for stay in jars.stays if stay.jar == look.jar)
            assert stay.condition == look.condition
            assert bool(look.modes) == bool(look.grade)
            assert isinstance(filled, datetime)
            assert isinstance(look.time, datetime)
            age = look.time - filled
            if look.cycle is None:
                assert timedelta(0) <= age - timedelta(days=planned_day(look)) < timedelta(days=1)


def test_every_formula_has_the_versions_and_batches_that_the_demo_counts() -> None:
    made = Counter(batch.formula.code for batch in batches().values())
    assert {
        code: (max(v for c, v in versions() if c == code), made[code]) for code in COUNTS
    } == COUNTS
    assert [b.short for b in batches().values() if b.state == "open"] == ["7F"]
    assert len(batches()["7F"].weighings) == 4
    assert len(batches()["7F"].lines) == 9


def test_9t_and_4m_differ_in_emulsifier_salt_and_the_cold_water_phase_only() -> None:
    def line(short: str, ingredient: str) -> Decimal | None:
        return next(one.percent for one in batches()[short].lines if one.ingredient == ingredient)

    def warm(short: str) -> str:
        combined = next(one.done for one in batches()[short].steps if one.id == "s3")
        assert combined is not None
        assert combined.temperatures is not None
        return str(combined.temperatures["B"])

    differ = {
        one.ingredient for one in batches()["4M"].lines if one.percent != line("9T", one.ingredient)
    }
    assert differ == {"polyglyceryl-3-diisostearate", "sodium-chloride", "water"}
    assert {short: warm(short) for short in ("4M", "9T", "R8")} == {
        "4M": "71 °C", "9T": "58 °C", "R8": "58 °C",
    }  # fmt: skip
    speeds = {s: next(o.done for o in batches()[s].steps if o.id == "s3") for s in ("4M", "9T")}
    assert [done.speed if done else "" for done in speeds.values()] == ["11000 rpm", None]
    assert batches()["4M"].tools == batches()["9T"].tools
    lots = [{one.lot for one in batches()[short].weighings} for short in ("4M", "9T")]
    assert lots[0] == lots[1]


@pytest.mark.parametrize(
    ("number", "phases", "emulsifier", "salt"),
    [
        (2, {"A": "23.00", "B": "76.10", "C": "0.90"}, "4.7", 90),
        (3, {"A": "23.50", "B": "75.20", "C": "1.30"}, "6.0", 182),
    ],
)
def test_the_figures_that_follow_from_sbc_2_and_3(
    number: int, phases: dict[str, str], emulsifier: str, salt: int
) -> None:
    formula = versions()["SBC", number]
    typed = {
        line.ingredient: line.percent
        for _, line in formula.lines
        if isinstance(line.percent, Decimal)
    }
    water = 100 - sum(typed.values())
    sums = dict.fromkeys(phases, Decimal(0))
    for phase, line in formula.lines:
        sums[phase.phase] += typed.get(line.ingredient, water)
    assert {letter: str(share) for letter, share in sums.items()} == phases
    b = sums["B"]
    assert round(typed["polyglyceryl-3-diisostearate"] / b * 100, 1) == Decimal(emulsifier)
    # Molar mass of sodium chloride 58.4427 g/mol, from IUPAC atomic weights.
    assert round(typed["sodium-chloride"] / Decimal("58.4427") / b * 1_000_000) == salt
