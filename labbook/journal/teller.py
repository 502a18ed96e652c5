"""What is reckoned from the public records: outcomes, differences, compositions.

The same rooms below reckon for the terminal; here they see filtered records alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from functools import cached_property

from labbook.evidence.batches import BatchDifference, batch_difference
from labbook.evidence.book import Book
from labbook.evidence.departures import departures
from labbook.evidence.difference import Difference, difference
from labbook.evidence.failure import condition_key
from labbook.evidence.outcomes import in_order_of_telling, noticed_in, outcomes_of
from labbook.journal.publish import PublicBatch, PublicFormula, PublicJournal
from labbook.model.fields import QS
from labbook.model.formula import Formula
from labbook.model.moments import day_of
from labbook.model.results.formulas import ShownLine
from labbook.model.results.looking import NOT_WATCHED, BatchOutcome
from labbook.model.versions import Version
from labbook.show.outcomes import became_words, by_condition, cell_words, headline
from labbook.trade.composition import resolve
from labbook.trade.exact import decimal_text

_KEPT = 256
"""Differences kept: more than one formula has, so that its story and its versions share them."""


class Teller:
    """Reckons over one public journal, each thing once."""

    def __init__(self, journal: PublicJournal) -> None:
        self.journal = journal
        self._outcomes: dict[str, tuple[BatchOutcome, ...]] = {}
        self._headlines: dict[str, str] = {}
        self._differences: dict[tuple[str, str], Difference] = {}

    @cached_property
    def batches(self) -> tuple[PublicBatch, ...]:
        """All batches in the order of making."""
        return self.journal.batches

    # Batches --------------------------------------------------------------------------------------

    def outcomes(self, made: PublicBatch) -> tuple[BatchOutcome, ...]:
        """What became of a batch."""
        found = self._outcomes.get(made.batch.id)
        if found is None:
            found = outcomes_of(made.batch, made.jars, made.stability, made.formula)
            self._outcomes[made.batch.id] = found
        return found

    def headline(self, made: PublicBatch) -> str:
        """What became of a batch in a line, and where its making departed from the method."""
        if made.batch.id not in self._headlines:
            self._headlines[made.batch.id] = self._headline(made)
        return self._headlines[made.batch.id]

    def _headline(self, made: PublicBatch) -> str:
        found = self.outcomes(made)
        if made.batch.state == "open" and all(one.state == NOT_WATCHED for one in found):
            return "still open"
        noticed = noticed_in(made.batch, made.jars, made.stability, made.formula)
        return "; ".join([headline(found, noticed), *departures(made.batch, made.formula)])

    def became(self, made: list[PublicBatch]) -> str:
        """What became of several batches, in a sentence."""
        return became_words([(one.batch.short, self.outcomes(one)) for one in made])

    def conditions(self, made: tuple[PublicBatch, ...]) -> tuple[str, ...]:
        """The conditions in which any of them was looked at, room first."""
        found = [one for batch in made for one in self.outcomes(batch)]
        return in_order_of_telling(one.condition for one in found if one.state != NOT_WATCHED)

    def cells(self, made: PublicBatch, conditions: tuple[str, ...]) -> list[str]:
        """A batch's outcome in each condition, as short as a table takes it."""
        found = {condition_key(k): v for k, v in by_condition(self.outcomes(made)).items()}
        return [cell_words(found.get(condition_key(name))) for name in conditions]

    def batch_difference(self, a: PublicBatch, b: PublicBatch) -> BatchDifference:
        """What differs between two batches; lots are no part of it."""
        versions = None
        if a.version is not None and b.version is not None:
            versions = self.difference(a.version, b.version)
        return batch_difference(
            a.batch,
            b.batch,
            versions,
            self.journal.known,
            self.journal.equipment,
            {},
            emulsions=(a.formula.emulsion, b.formula.emulsion),
        )

    @cached_property
    def book(self) -> Book:
        """The public records as a question about failures sees them.

        Its day is that of the last thing that is told, so that the same records tell the same.
        """
        made = self.batches
        contents = {
            one.batch.id: one.trial or (one.version.formula if one.version else None)
            for one in made
        }
        return Book(
            batches={one.batch.id: one.batch for one in made},
            jars={one.batch.id: one.jars for one in made if one.jars},
            stability={one.batch.id: one.stability for one in made if one.stability},
            contents={id_: content for id_, content in contents.items() if content is not None},
            formulas={one.formula.code: one.formula for one in self.journal.formulas},
            sheets=self.journal.known,
            equipment=self.journal.equipment,
            rules=self.journal.rules,
            today=last_day(made),
        )

    # Formulas -------------------------------------------------------------------------------------

    def difference(self, a: Version, b: Version) -> Difference:
        """What differs between two versions; the latest ones asked for are kept."""
        key = (a.name, b.name)
        found = self._differences.pop(key, None)
        if found is None:
            sheets, names = self.journal.known, (a.name, b.name)
            found = difference(
                a.formula, b.formula, sheets, a_name=names[0], b_name=names[1], told=True
            )
        self._differences[key] = found
        if len(self._differences) > _KEPT:
            del self._differences[next(iter(self._differences))]
        return found

    def before(self, formula: PublicFormula, version: Version) -> Version | None:
        """The version before one."""
        earlier = [v for v in formula.versions if v.number < version.number]
        return earlier[-1] if earlier else None

    def lines(self, formula: Formula) -> tuple[ShownLine, ...]:
        """The lines of a content with their percents worked out."""
        composition = resolve(formula, self.journal.known)
        found = []
        for line in composition.lines:
            typed = formula.lines[line.index][1]
            sheet = self.journal.sheets.find(line.ingredient)
            found.append(
                ShownLine(
                    phase=line.phase,
                    ingredient=line.ingredient,
                    title=(sheet.title or "") if sheet else "",
                    percent="" if line.percent is None else decimal_text(line.percent, line.typed),
                    qs=typed.percent is QS,
                    adjust=line.adjust or "",
                    role=line.role or (line.functions[0] if line.functions else ""),
                    known=line.known,
                )
            )
        return tuple(found)

    def total(self, formula: Formula) -> str:
        """The sum of all lines in percent."""
        composition = resolve(formula, self.journal.known)
        return decimal_text(composition.total + (composition.qs_percent or Fraction()))


def last_day(made: Sequence[PublicBatch]) -> date:
    """The day of the last thing that is told of batches."""
    days = [day_of(one.batch.made) for one in made]
    days += [day_of(look.time) for one in made if one.stability for look in one.stability.looks]
    return max(days, default=date.min)
