"""Pictures of a journal, from public records alone: in the page itself, and as files of their own.

In a page the SVG stands inline, so that it takes the page's ink, light or dark, and asks for
nothing. The Markdown refers to a file of the same picture on white paper.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from labbook.evidence.curves import formula_curve
from labbook.evidence.following import reading_trend
from labbook.evidence.readings import points_of
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.timeline import (
    Horizon,
    Watched,
    batch_timeline,
    formula_timeline,
    horizon_of,
    jar_rows,
)
from labbook.evidence.trend_picture import trend_picture
from labbook.journal.markdown import Md
from labbook.journal.names import picture_path
from labbook.journal.publish import PublicBatch, PublicFormula
from labbook.journal.teller import Teller, last_day
from labbook.model.results.pictures import Timeline
from labbook.show.plots.curve import curve_svg
from labbook.show.plots.tables import curve_markdown, reference, timeline_markdown, trend_markdown
from labbook.show.plots.timeline import timeline_svg
from labbook.show.plots.trend import trend_svg
from labbook.show.plots.words import curve_words, timeline_words


class Pictures:
    """Draws pictures and keeps them by their paths, like `pictures/timeline-SBC.svg`."""

    def __init__(self, teller: Teller) -> None:
        self._teller = teller
        self._horizons: dict[str, Horizon] = {}
        self._drawn: dict[str, str] = {}

    def taken(self) -> dict[str, str]:
        """What was drawn since the last time, for the page that shows it."""
        drawn, self._drawn = self._drawn, {}
        return drawn

    # Pages ----------------------------------------------------------------------------------------

    def of_batch(self, made: PublicBatch, up: str) -> Md:
        """The timeline of a batch as an image; empty where nobody looked.

        Args:
            made: the batch.
            up: the way from the page to the top of the site.
        """
        return self._image(self.batch(made), self._batch_path(made), up)

    def of_formula(self, one: PublicFormula, up: str) -> Md:
        """The timeline of a formula's public batches as an image; empty where nobody looked."""
        return self._image(self.formula(one), self._formula_path(one, ""), up)

    def curve_of_formula(self, one: PublicFormula, up: str) -> Md | Refusal:
        """The curve of a formula's public batches as an image; refused where they are too few."""
        found = formula_curve(one.formula.code, self._watched(one))
        if isinstance(found, Refusal):
            return found
        path = picture_path("curve", one.formula.code, found.condition, found.event)
        self._keep(path, partial(curve_svg, found))
        return Md(reference(curve_words(found), up + path))

    # Blocks ---------------------------------------------------------------------------------------

    def batch_block(self, made: PublicBatch, up: str) -> Md:
        """The same with its looks as a table; empty where nobody looked."""
        return self._table(self.batch(made), self._batch_path(made), up)

    def formula_block(self, one: PublicFormula, up: str, condition: str = "") -> Md:
        """The same of a formula, in one condition or in all."""
        return self._table(self.formula(one, condition), self._formula_path(one, condition), up)

    def curve_block(
        self, one: PublicFormula, up: str, *, condition: str, group: str
    ) -> Md | Refusal:
        """The curve of a formula's public batches with its shares as a table."""
        code = one.formula.code
        found = formula_curve(code, self._watched(one), condition=condition, group=group)
        if isinstance(found, Refusal):
            return found
        path = picture_path("curve", code, found.condition, found.event)
        self._keep(path, partial(curve_svg, found))
        return Md(curve_markdown(found, up + path))

    def trend_block(self, one: PublicFormula, up: str, *, reading: str, condition: str) -> Md:
        """A reading of a formula's public jars over days, with its figures as a table.

        Raises:
            UnknownName: no such reading or condition.
        """
        every = [
            found
            for made in one.batches
            for found in points_of(
                made.batch, made.jars, made.stability, self._teller.journal.equipment
            )
        ]
        found = trend_picture(
            reading_trend(
                one.formula, every, last_day(one.batches), reading=reading, condition=condition
            )
        )
        if not found.points:
            return Md("")
        path = picture_path("trend", one.formula.code, found.reading, condition or "room")
        self._keep(path, partial(trend_svg, found))
        return Md(trend_markdown(found, up + path))

    # Results --------------------------------------------------------------------------------------

    def batch(self, made: PublicBatch) -> Timeline:
        """The timeline of a batch."""
        return batch_timeline(self._one(made), self.horizon(made.formula.code))

    def formula(self, one: PublicFormula, condition: str = "") -> Timeline:
        """The timeline of a formula's public batches."""
        subject = f"{one.formula.code}, {one.formula.title}"
        return formula_timeline(subject, self._watched(one), condition=condition)

    def _one(self, made: PublicBatch) -> Watched:
        return Watched(made.batch, made.jars, made.stability, made.formula)

    def _watched(self, one: PublicFormula) -> list[Watched]:
        return [self._one(made) for made in one.batches]

    def horizon(self, code: str) -> Horizon:
        """How far the timelines of a formula's batches reach, so that they can be compared."""
        found = self._horizons.get(code)
        if found is None:
            one = self._teller.journal.formula(code)
            batches = one.batches if one else ()
            found = horizon_of(row for made in batches for row in jar_rows(self._one(made)))
            self._horizons[code] = found
        return found

    # Keeping --------------------------------------------------------------------------------------

    def _image(self, found: Timeline, path: str, up: str) -> Md:
        if not self._keep_timeline(path, found):
            return Md("")
        return Md(reference(timeline_words(found), up + path))

    def _table(self, found: Timeline, path: str, up: str) -> Md:
        if not self._keep_timeline(path, found):
            return Md("")
        return Md(timeline_markdown(found, up + path))

    def _keep_timeline(self, path: str, found: Timeline) -> bool:
        if not any(row.looks for row in found.rows):
            return False
        self._keep(path, partial(timeline_svg, found))
        return True

    def _keep(self, path: str, draw: Callable[[], str]) -> None:
        if path not in self._drawn:
            self._drawn[path] = draw()

    @staticmethod
    def _batch_path(made: PublicBatch) -> str:
        return picture_path("timeline", made.batch.id)

    @staticmethod
    def _formula_path(one: PublicFormula, condition: str) -> str:
        return picture_path("timeline", one.formula.code, *([condition] if condition else []))
