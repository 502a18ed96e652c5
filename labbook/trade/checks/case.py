"""What a check of the trade looks at, and what it may say: a finding, or what it could not see."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.materials import Ingredient
from labbook.model.problems import Severity
from labbook.model.rulebook import RuleBook
from labbook.model.rules import CheckRule, Selector
from labbook.model.sheets import Sheets
from labbook.trade.advice import Advice
from labbook.trade.balance import Balance
from labbook.trade.composition import Composition, ResolvedLine
from labbook.trade.selecting import picks

Level = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Unseen:
    """What a check could not look at, because nobody has written down what it needs.

    `lacks` is what is missing in words ("the pKa", "a highest temperature"); `ingredient` is whose
    sheet lacks it, empty where it isn't a sheet (`lacks` then is a whole phrase).
    """

    rule: str
    lacks: str
    ingredient: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What the checks look at: a formula with its composition, or what a batch was really made of.

    Of a batch, `formula` is the pinned one with the percents that were weighed (further lines for
    what no line foresaw), `composition` goes with it, and `uncertainty` is the standard uncertainty
    of a line's percent by its index. `size` is the batch's mass in g, None where nobody says one.
    `today` is the day of the check, None where age doesn't matter.
    """

    formula: Formula
    composition: Composition
    sheets: Sheets
    rules: RuleBook
    region: str = ""
    balance: Balance | None = None
    batch: Batch | None = None
    observed: str = ""
    size: Fraction | None = None
    uncertainty: Mapping[int, Decimal] = field(default_factory=dict)
    today: date | None = None

    def emulsion(self) -> str:
        """The emulsion type that was observed, else the intended one."""
        return self.observed or self.formula.emulsion

    def sheet(self, line: ResolvedLine) -> Ingredient | None:
        """The sheet of a line's ingredient; None where there is none."""
        return self.sheets.find(line.ingredient)

    def picked(self, selector: Selector) -> tuple[ResolvedLine, ...]:
        """The lines that a rule means, in the order of the file."""
        lines = self.composition.lines
        return tuple(x for x in lines if picks(selector, x.ingredient, self.sheets, x.role))

    def rule(self, name: str) -> CheckRule:
        """The row of a rule.

        Raises:
            KeyError: no file of rules has it.
        """
        return self.rules.checks[name]

    def figure(self, rule: str, name: str) -> Decimal:
        """A threshold of a rule, in the unit that its name says.

        Raises:
            KeyError: the rule or the figure stands in no file of rules.
        """
        return (self.rule(rule).figures or {})[name]

    def advice(
        self,
        rule: str,
        what: str,
        *,
        why: str | None = None,
        mend: str | None = None,
        source: str | None = None,
        severity: Level | None = None,
        line: int | None = None,
        step: str | None = None,
        target: int | None = None,
        key: str = "",
    ) -> Advice:
        """A finding with the row's severity, reason, remedy and source where none is given.

        The row's `severity` wins over a given one where the notebook changed the rule. A row of
        severity `off` comes out as a note, and `run` drops it.
        """
        row = self.rule(rule)
        own = row.severity if rule in self.rules.own else None
        level = own or severity or row.severity or "warning"
        return Advice(
            rule=rule,
            severity=Severity.NOTE if level == "off" else Severity(level),
            what=what,
            why=(row.why or "") if why is None else why,
            mend=(row.mend or "") if mend is None else mend,
            source=(row.source or "") if source is None else source,
            line=line,
            step=step,
            target=target,
            key=key,
        )


Check = Callable[[Case], Iterator[Advice | Unseen]]
"""A check yields its findings and what it could not see."""
