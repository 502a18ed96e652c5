"""What failed means: groups of failure, and a look judged by the formula's acceptance limits.

A mode names its group; the group's own word ("separation") stands for any mode of it. Without a
limit the separation group fails at grade 2. The microbial group fails at any grade, whatever a
limit says: a jar with mould is discarded, so no grade of it can be acceptable. For the other groups
nothing is failed that no limit asks for; what was seen is kept as noticed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from labbook.model.formula import Formula, Limit
from labbook.model.jars import Look
from labbook.model.results.looking import RUN

GROUPS: Mapping[str, tuple[str, ...]] = {
    "separation": (
        "oil on top", "oil beads", "water beads", "water below", "cream layer", "inversion",
        "never formed",
    ),
    "structure": ("grains", "lumps", "crystals", "thinner", "thicker"),
    "microbial": ("mould", "gas", "spoiled smell"),
    "chemical": ("pH", "colour", "rancid smell"),
    "pack": ("shrinkage", "leak", "swelling"),
}  # fmt: skip
"""Groups of failure with their modes; each group's word is a mode of its own as well."""

GROUP_OF = {mode: group for group, modes in GROUPS.items() for mode in (group, *modes)}
DEFAULT_WORST = {"separation": 1, "microbial": 0}
"""The worst grade that is no failure, where no limit says otherwise."""

CENTRIFUGE = "centrifuge"
"""The condition of a sample that was spun, with its g and minutes behind it where they are known;
the jar itself stays where it stands."""

INTACT, FAILED, OPEN = "intact", "failed", "open"


@dataclass(frozen=True, slots=True)
class Verdict:
    """One look judged: for each group intact, failed, or open; `modes` are those that failed."""

    groups: Mapping[str, str]
    modes: tuple[str, ...] = ()
    noticed: tuple[str, ...] = ()

    @property
    def failed(self) -> bool:
        """Whether any group failed."""
        return FAILED in self.groups.values()


@cache
def condition_key(text: str) -> str:
    """A condition so that `40 °C`, `40C` and `40 deg C` are one, and so are `Room` and `room`."""
    return re.sub(r"°|deg|\s", "", text.casefold())


def is_run(condition: str) -> bool:
    """Whether a condition is a run in a centrifuge."""
    return condition_key(condition).startswith(CENTRIFUGE)


def limits_of(formula: Formula | None, condition: str) -> tuple[Limit, ...]:
    """The acceptance limits of a formula in a condition; one for a centrifuge holds for any run."""
    if formula is None:
        return ()
    wanted = {condition_key(condition), *([CENTRIFUGE] if is_run(condition) else [])}
    return tuple(limit for limit in formula.acceptance if condition_key(limit.condition) in wanted)


def covers(limit: Limit, mode: str) -> bool:
    """Whether a limit speaks about a mode: by its name, by its group, or by naming none."""
    if limit.worst_grade is None:
        return False
    return not limit.modes or mode in limit.modes or GROUP_OF[mode] in limit.modes


def extent_of(limit: Limit, unit: str) -> Decimal | None:
    """How long a limit asks for, in days or cycles; None where it names no end, and for a run."""
    if unit == RUN:
        return None
    if unit == "cycles":
        return None if limit.cycles is None else Decimal(limit.cycles)
    if limit.until is None:
        return None
    exact = limit.until.exact("d")
    return Decimal(exact.numerator) / Decimal(exact.denominator)


def worst_allowed(limits: tuple[Limit, ...], mode: str, point: float, unit: str) -> int | None:
    """The worst grade of a mode that is no failure at an age; None where nothing judges it.

    Of several limits the strictest that still holds at that age counts; a jar that outlived all of
    them is judged by the longest one, so that a later failure has its time too.
    """
    group = GROUP_OF[mode]
    found = [limit for limit in limits if covers(limit, mode)]
    if group == "microbial" or not found:
        return DEFAULT_WORST.get(group)
    ends = [(extent_of(limit, unit), limit.worst_grade) for limit in found]
    holding = [worst for end, worst in ends if worst is not None and (end is None or end >= point)]
    if holding:
        return min(holding)
    longest = max(end for end, _ in ends if end is not None)
    return min(worst for end, worst in ends if worst is not None and end == longest)


def judge(look: Look, formula: Formula | None, condition: str, point: float, unit: str) -> Verdict:
    """Judges a look of a jar of that age in that condition.

    A grade without a mode is intact for the groups in which such a grade would be allowed whatever
    it was, and open for the others; no grade leaves all open, but for a reading with a limit.
    """
    limits = limits_of(formula, condition)
    groups = dict.fromkeys(GROUPS, OPEN)
    failed: list[str] = []
    noticed: list[str] = []
    if look.grade is not None:
        named = [mode for mode in look.modes if mode in GROUP_OF]
        for group in GROUPS:
            groups[group] = _of_group(look, group, named, limits, point, unit)
        for mode in named:
            worst = worst_allowed(limits, mode, point, unit)
            if worst is None and look.grade:
                noticed.append(mode)
            elif worst is not None and look.grade > worst:
                failed.append(mode)
    elif look.modes:
        noticed.extend(look.modes)
    if _reading_fails(look, limits, formula):
        groups["chemical"] = FAILED
        failed.append("pH" if (look.reading or "").casefold() == "ph" else "chemical")
    return Verdict(groups, tuple(dict.fromkeys(failed)), tuple(dict.fromkeys(noticed)))


def _of_group(
    look: Look, group: str, named: list[str], limits: tuple[Limit, ...], point: float, unit: str
) -> str:
    grade = look.grade or 0
    mine = [mode for mode in named if GROUP_OF[mode] == group]
    worsts = [worst_allowed(limits, mode, point, unit) for mode in mine]
    if any(worst is not None and grade > worst for worst in worsts):
        return FAILED
    if named or not grade:
        return INTACT
    any_mode = [worst_allowed(limits, mode, point, unit) for mode in (group, *GROUPS[group])]
    allowed = all(worst is None or grade <= worst for worst in any_mode)
    return INTACT if allowed and any(worst is not None for worst in any_mode) else OPEN


def _reading_fails(look: Look, limits: tuple[Limit, ...], formula: Formula | None) -> bool:
    """Whether a reading leaves its limits; the pH of a water-in-oil cream is compared with none."""
    if look.value is None or not look.reading:
        return False
    kind = look.reading.casefold()
    if kind == "ph" and formula is not None and formula.emulsion == "water-in-oil":
        return False
    return any(_outside(look.value, limit) for limit in _on_reading(limits, kind))


def _on_reading(limits: tuple[Limit, ...], kind: str) -> Iterator[Limit]:
    return (limit for limit in limits if limit.reading and limit.reading.casefold() == kind)


def _outside(value: Decimal, limit: Limit) -> bool:
    low = limit.from_ is not None and value < limit.from_
    return low or (limit.to is not None and value > limit.to)
