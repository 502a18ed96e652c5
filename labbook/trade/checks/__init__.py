"""The checks of the trade: what an experienced maker would say about a formula before weighing.

Each module offers `CHECKS`; `look` runs them all. The rows of `labbook/rules/` (and of a notebook)
say from which figures on, for which emulsion types and how severely; a rule that is `off` stays
silent.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from labbook.model.problems import Severity
from labbook.trade.advice import Advice
from labbook.trade.checks import (
    anhydrous,
    bounds,
    emulsion,
    gel,
    heat,
    limits,
    oil_in_water,
    pairs,
    preserving,
    weighing,
)
from labbook.trade.checks.case import Case, Check, Unseen

CHECKS: tuple[Check, ...] = (
    *limits.CHECKS,
    *preserving.CHECKS,
    *emulsion.CHECKS,
    *oil_in_water.CHECKS,
    *anhydrous.CHECKS,
    *gel.CHECKS,
    *heat.CHECKS,
    *pairs.CHECKS,
    *weighing.CHECKS,
    *bounds.CHECKS,
)


@dataclass(frozen=True, slots=True)
class Looked:
    """What the checks found, and what they could not see."""

    advice: tuple[Advice, ...]
    unseen: tuple[Unseen, ...]


def look(case: Case) -> Looked:
    """All checks on one formula or batch, each thing once, in the order of the checks."""
    found = [one for check in CHECKS for one in check(case) if _holds(case, one.rule)]
    advice = dict.fromkeys(_softened(case, one) for one in found if isinstance(one, Advice))
    unseen = dict.fromkeys(one for one in found if isinstance(one, Unseen))
    return Looked(tuple(advice), tuple(unseen))


def run(case: Case) -> tuple[Advice, ...]:
    """The findings of all checks on one formula or batch."""
    return look(case).advice


def _holds(case: Case, rule: str) -> bool:
    """Whether a rule is switched on, and meant for the case's emulsion type."""
    row = case.rules.checks.get(rule)
    if row is None:
        return True
    return row.severity != "off" and (not row.emulsions or case.emulsion() in row.emulsions)


def _softened(case: Case, advice: Advice) -> Advice:
    """A limit or a pair with the severity that a row of `checks` of the same name gives it."""
    row = case.rules.checks.get(advice.rule)
    own = advice.rule in case.rules.limits or advice.rule in case.rules.pairs
    if row is None or row.severity in (None, "off") or not own:
        return advice
    return replace(advice, severity=Severity(row.severity))
