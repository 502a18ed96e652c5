"""What other pages tell of a formula: enough for every list, so that its records needn't be read.

An outline is plain data. It is kept between builds and read back for each formula that didn't
change; lists, search and feed are made of outlines alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from labbook.journal import errata, state
from labbook.journal.archive import formula_line, touched, version_line, watched_line
from labbook.journal.feed import Item
from labbook.journal.finding import batch_found, batch_item, formula_found, version_found
from labbook.journal.ingredients import Uses
from labbook.journal.page import links
from labbook.journal.publish import PublicJournal
from labbook.journal.search import part_of
from labbook.journal.teller import Teller
from labbook.journal.views import View, batch_line
from labbook.model.moments import day_of, in_order


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """One formula as lists tell of it.

    Attributes:
        code: its code of today.
        line: its line in the list of formulas.
        touched: the last day on which it got a version or a batch, in ISO 8601.
        watched: what home says of it while batches of it are intact.
        versions: a line of the archive for each, with its day as `on`.
        batches: the same, in the order of making, which `made` says; `born` and `updated` are days.
        uses: what it has of each ingredient, by the name of the sheet.
        found: each page as the search lists it: path, title, a word on it.
        words: the words of these pages, each with the pages that hold it.
        things: names and digests of what is public.
        figures: the figures that are told, by what they belong to, a line each.
        photos: full id of the batch and file of each picture.
        linked: whether a note of it may link to other pages.
        hidden: how many batches are not shown.
    """

    code: str
    line: View
    touched: str
    watched: View | None
    versions: Sequence[View]
    batches: Sequence[View]
    uses: Mapping[str, View]
    found: Sequence[Sequence[str]]
    words: Mapping[str, Sequence[int]]
    things: Mapping[str, str]
    figures: Mapping[str, str]
    photos: Sequence[Sequence[str]]
    linked: bool
    hidden: int

    @property
    def paths(self) -> list[str]:
        """The paths of its pages."""
        return [one[0] for one in self.found]

    @property
    def items(self) -> Iterable[tuple[str, Item]]:
        """Its batches for the feed, each with the name of its part."""
        for one in self.batches:
            item = one["item"]
            days = {key: date.fromisoformat(item[key]) for key in ("born", "updated")}
            yield f"batch {one['id']}", Item(**{**item, **days})

    def as_json(self) -> dict[str, Any]:
        """Plain data, which `Outline(**data)` reads."""
        return asdict(self)


def outline_of(journal: PublicJournal) -> Outline:
    """The outline of the one formula that a journal tells of."""
    (one,) = journal.formulas
    teller = Teller(journal)
    found = [formula_found(one), *(version_found(one, version) for version in one.versions)]
    found += [batch_found(teller, made) for made in one.batches]
    listed, words = part_of(found)
    return Outline(
        code=one.formula.code,
        line=formula_line(one),
        touched=touched(one).isoformat(),
        watched=watched_line(teller, one),
        versions=[version_line(version) for version in one.versions],
        batches=[
            {
                **batch_line(teller, made),
                "kind": "batch",
                "on": day_of(made.batch.made).isoformat(),
                "made": in_order(made.batch.made).isoformat(),
                "item": _plain(batch_item(teller, made)),
            }
            for made in one.batches
        ],
        uses=Uses(journal.sheets).told(one),
        found=listed,
        words=words,
        things=state.things_of([one]),
        figures=errata.figures_in(one),
        photos=[[made.batch.id, photo.file] for made in one.batches for photo in made.photos],
        linked=any(links(text) for text in
                   (one.formula.notes, *(made.batch.notes for made in one.batches))),
        hidden=sum(one.hidden.values()),
    )  # fmt: skip


def _plain(item: Item) -> View:
    return {
        **asdict(item),
        "born": item.born.isoformat(),
        "updated": item.updated.isoformat(),
    }
