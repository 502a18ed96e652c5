"""`help RULE`: a rule of `check`, a limit of law, a bad pair, or a cause, explained."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from labbook.model.moments import day_of
from labbook.model.results.rules import RuleHelp
from labbook.model.rulebook import RuleBook, rulebook_of
from labbook.model.rules import BadPair, CauseRule, CheckRule, LegalLimit, Selector
from labbook.rules.trade import rule_texts

if TYPE_CHECKING:
    from labbook.work.bench import Bench

FILE_RULES = "checks-files.yaml"
"""The rules that hold a notebook together; a notebook can't change them."""

_NAME = re.compile(r'^\s*(?:-\s*)?\{?(?:rule|name):\s*"?([A-Za-z0-9-]+)', re.MULTILINE)


def rule_names() -> tuple[str, ...]:
    """The names of all rules that come with the program, without reading their files as YAML."""
    found = (name for text in rule_texts().values() for name in _NAME.findall(text))
    return tuple(sorted(dict.fromkeys(found)))


def near_rules(name: str, bench: Bench | None = None) -> tuple[str, ...]:
    """Names of rules that look like a name, or hold it; the notebook's own too."""
    from difflib import get_close_matches

    own = () if bench is None else bench.snapshot.rulebook.own
    every = sorted({*rule_names(), *own})
    near = get_close_matches(name, every, n=3, cutoff=0.6)
    return tuple(near or [one for one in every if name.casefold() in one][:3])


def rule_help(name: str, bench: Bench | None = None) -> RuleHelp | None:
    """What a rule says, as it holds in the notebook; None where there is no such rule.

    Args:
        name: the name that stands after `rule` on the screen of `check`.
        bench: the notebook; None outside of one, where only the program's rules are known.
    """
    book = _shipped() if bench is None else bench.snapshot.rulebook
    found = next(_explained(book, name.casefold()), None)
    if found is None:
        return None
    row = book.checks.get(found.rule)
    if row is not None and row.severity is not None:
        found = replace(found, severity=row.severity, acceptable=row.severity != "error")
    if found.rule in _NAME.findall(rule_texts()[FILE_RULES]):
        found = replace(found, kind="a rule of the files and their history", changeable=False)
    return found if bench is None else _with_notebook(found, bench)


def _shipped() -> RuleBook:
    from labbook.notebook.snapshot import read_bytes

    read = (read_bytes(f"rules/{n}", text.encode()) for n, text in rule_texts().items())
    return rulebook_of(held.record for held in read if held.record is not None)


def _explained(book: RuleBook, wanted: str) -> Iterator[RuleHelp]:
    for limit in book.limits.values():
        if limit.name.casefold() == wanted:
            yield _limit(limit)
    for pair in book.pairs.values():
        if pair.rule.casefold() == wanted:
            yield _pair(pair)
    for check in book.checks.values():
        if check.rule.casefold() == wanted:
            yield _check(check)
    for cause in book.causes.values():
        if cause.name.casefold() == wanted:
            yield _cause(cause)


def _with_notebook(found: RuleHelp, bench: Bench) -> RuleHelp:
    own = ""
    if found.rule in bench.snapshot.rulebook.own:
        own = next(_places(bench, found.rule), "rules/")
    accepted = tuple(
        f"{one.about or 'everywhere'}: {one.why}"
        for one in bench.snapshot.settings.accepted
        if one.rule == found.rule
    )
    return replace(found, own=own, accepted=accepted)


def _places(bench: Bench, name: str) -> Iterator[str]:
    """Where the notebook's own rows of a rule stand."""
    for held in bench.snapshot.files.values():
        if held.kind != "rules" or held.record is None:
            continue
        for key in ("limits", "pairs", "checks", "causes"):
            for number, row in enumerate(getattr(held.record, key)):
                if name in (getattr(row, "rule", None), getattr(row, "name", None)):
                    yield str(held.place(key, number))


# The kinds of rules ------------------------------------------------------------------------------


def _limit(row: LegalLimit) -> RuleHelp:
    counted = f", counted as {row.counted_as}" if row.counted_as else ""
    use = f" in {row.use} products" if row.use else ""
    figures = [("at most", f"{row.highest:f} % of the product{use}{counted}")]
    if row.changed:
        figures = [("changed", f"{row.changed}; nothing is compared with it")]
    figures.append(("of", ", ".join(row.ingredients)))
    if row.condition:
        figures.append(("also", row.condition))
    return RuleHelp(
        rule=row.name,
        kind=f"a limit of law, {row.region}",
        severity="note" if row.changed else row.severity,
        title=f"{row.text}, read as of {day_of(row.read).isoformat()}",
        figures=tuple(figures),
        why="What a law allows in the finished product; the program looks nothing up, so the law "
        "in force may say otherwise.",
        mend="Take less, and ask a qualified assessor before you sell or give away.",
        source=row.source,
        acceptable=row.severity != "error",
    )


def _pair(row: BadPair) -> RuleHelp:
    figures = [("one", _selector(row.one)), ("other", _selector(row.other))]
    if row.same_phase:
        figures.append(("where", "in the same phase"))
    if row.above_pH is not None:
        figures.append(("pH", f"above {row.above_pH:f}"))
    if row.below_pH is not None:
        figures.append(("pH", f"below {row.below_pH:f}"))
    return RuleHelp(
        rule=row.rule,
        kind="what doesn't go together",
        severity=row.severity,
        title=row.what.replace("{one}", "the one").replace("{other}", "the other"),
        figures=tuple(figures),
        scope=row.emulsions,
        why=row.why,
        mend=row.mend,
        source=row.source,
        acceptable=row.severity != "error",
    )


def _check(row: CheckRule) -> RuleHelp:
    figures = [(name, f"{value:f}") for name, value in (row.figures or {}).items()]
    if row.of is not None:
        figures.append(("of", _selector(row.of)))
    if row.where is not None:
        figures.append(("in", row.where))
    figures += [(word, f"{end:f} %") for word, end in _ends(row)]
    return RuleHelp(
        rule=row.rule,
        kind="a rule of check",
        severity=row.severity or "warning",
        title=row.title or row.what or "",
        figures=tuple(figures),
        scope=row.emulsions,
        why=row.why or "",
        mend=row.mend or "",
        source=row.source or "",
        acceptable=row.severity != "error",
    )


def _ends(row: CheckRule) -> Iterator[tuple[str, Decimal]]:
    if row.from_ is not None:
        yield "from", row.from_
    if row.to is not None:
        yield "to", row.to


def _cause(row: CauseRule) -> RuleHelp:
    unit = f" {row.unit}" if row.unit else ""
    figures = [("about", row.factor), ("strength", row.strength), ("direction", row.direction)]
    if row.of is not None:
        figures.append(("of", _selector(row.of)))
    if row.matters_from is not None:
        figures.append(("matters", f"from {row.matters_from:f}{unit}"))
    if row.full is not None:
        figures.append(("fully", f"from {row.full:f}{unit}"))
    if row.groups:
        figures.append(("failures", ", ".join(row.groups)))
    return RuleHelp(
        rule=row.name,
        kind="a cause that the trade knows",
        severity="off" if row.severity else "",
        title=row.says,
        figures=tuple(figures),
        scope=row.emulsions,
        why=row.mechanism,
        source=row.source,
        acceptable=False,
    )


def _selector(selector: Selector) -> str:
    """Which ingredients a rule means, in words."""
    found = []
    if selector.functions:
        found.append(" or ".join(selector.functions))
    if selector.roles:
        found.append(f"in the role of {' or '.join(selector.roles)}")
    if selector.charge:
        found.append(selector.charge)
    if selector.soluble_in:
        found.append(f"soluble in {selector.soluble_in}")
    described = ", ".join(found)
    names = ", ".join(selector.ingredients)
    return f"{names}; {described}" if names and described else names or described
