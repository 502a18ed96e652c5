"""All rules that hold in a notebook, by name: the program's, and over them the notebook's own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

from labbook.model.rules import BadPair, CauseRule, CheckRule, LegalLimit, Rules


@dataclass(frozen=True, slots=True)
class RuleBook:
    """Rules by their names; `own` names those that the notebook brought or changed."""

    limits: Mapping[str, LegalLimit] = field(default_factory=dict)
    pairs: Mapping[str, BadPair] = field(default_factory=dict)
    checks: Mapping[str, CheckRule] = field(default_factory=dict)
    causes: Mapping[str, CauseRule] = field(default_factory=dict)
    own: frozenset[str] = frozenset()


def rulebook_of(shipped: Iterable[Rules], own: Iterable[Rules] = ()) -> RuleBook:
    """The rules of several files together.

    Args:
        shipped: the program's files.
        own: the notebook's. A row takes the place of a shipped one of the same name; of a check
            it takes over the keys that it has, so that a maker can change one figure alone. A row
            of severity `off` is kept and never applied.
    """
    limits: dict[str, LegalLimit] = {}
    pairs: dict[str, BadPair] = {}
    checks: dict[str, CheckRule] = {}
    causes: dict[str, CauseRule] = {}
    names: set[str] = set()
    for rules, mine in [*((one, False) for one in shipped), *((one, True) for one in own)]:
        limits |= {row.name: row for row in rules.limits}
        pairs |= {row.rule: row for row in rules.pairs}
        causes |= {row.name: row for row in rules.causes}
        for check in rules.checks:
            checks[check.rule] = _over(checks.get(check.rule), check)
        if mine:
            names |= {limit.name for limit in rules.limits} | {cause.name for cause in rules.causes}
            names |= {pair.rule for pair in rules.pairs} | {check.rule for check in rules.checks}
    return RuleBook(limits, pairs, checks, causes, frozenset(names))


def _over(before: CheckRule | None, row: CheckRule) -> CheckRule:
    if before is None:
        return row
    given: dict[str, Any] = {}
    for one in fields(row):
        value = getattr(row, one.name)
        if value is not None and value != ():
            given[one.name] = value
    if row.figures and before.figures:
        given["figures"] = {**before.figures, **row.figures}
    return replace(before, **given)
