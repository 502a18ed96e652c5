"""Published figures that changed: told with what, when and why; nothing private told by them."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from labbook.journal.book import Book
from labbook.journal.errata import Erratum, Figures, errata, taken_apart
from labbook.journal.publish import PublicJournal, published
from labbook.journal.shelf import shelf_of
from labbook.journal.state import Published, figures_on_shelf, read, written
from labbook.model.batch import Correction
from labbook.model.quantities import Quantity
from tests.journal.sample_book import BOOK

BATCH = "SBC-260122-9T"
TODAY = date(2026, 5, 1)
OLD = published(BOOK)
WEIGHING = BOOK.batches[BATCH].weighings[1]


def figures(journal: PublicJournal) -> dict[str, str]:
    return figures_on_shelf(shelf_of(journal))


FIGURES = figures(OLD)


def errata_of(
    before: Figures, told: tuple[Erratum, ...], journal: PublicJournal, today: date = TODAY
) -> tuple[Erratum, ...]:
    made = {f"batch {one.batch.id}": one for one in journal.batches}
    return errata(before, told, figures(journal), made.get, today)


def corrected(now: str, *, why: str = "read off wrong") -> Book:
    correction = Correction(
        id="c9",
        of=WEIGHING.id,
        key="mass",
        was=str(WEIGHING.mass),
        now=now,
        why=why,
        who="Ada",
        time=datetime(2026, 4, 20, tzinfo=UTC),
    )
    batch = BOOK.batches[BATCH]
    kept = replace(batch, corrections=(*batch.corrections, correction))
    return replace(BOOK, batches={**BOOK.batches, BATCH: kept})


def by_hand(mass: str) -> Book:
    """The notebook with the figure written over, which `check` also finds."""
    batch = BOOK.batches[BATCH]
    changed = replace(WEIGHING, mass=Quantity(Decimal(mass), "g"))
    weighings = tuple(changed if one.id == WEIGHING.id else one for one in batch.weighings)
    return replace(BOOK, batches={**BOOK.batches, BATCH: replace(batch, weighings=weighings)})


def since(book: Book | PublicJournal) -> list[tuple[str, str, str, date, str]]:
    journal = published(book) if isinstance(book, Book) else book
    found = errata_of(FIGURES, (), journal)
    return [(one.what, one.was, one.now, one.day, one.why) for one in found]


def test_the_same_figures_give_none() -> None:
    assert since(OLD) == []
    assert errata_of({}, (), OLD) == ()
    assert len(taken_apart(FIGURES[f"batch {BATCH}"])) > 15


def test_a_correction_tells_its_own_day_and_reason() -> None:
    line = next(li for li in BOOK.batches[BATCH].lines if li.id == WEIGHING.line)
    was = str(WEIGHING.mass)
    assert since(corrected("14.03 g")) == [
        (f"{line.ingredient}, mass", was, "14.03 g", date(2026, 4, 20), "read off wrong")
    ]


def test_a_change_by_hand_is_told_without_a_reason_and_with_the_day_of_the_build() -> None:
    ((_, was, now, day, why),) = since(by_hand("14.03"))
    assert (was, now, day, why) == (str(WEIGHING.mass), "14.03 g", TODAY, "")


def test_what_was_told_once_stays_told_and_comes_but_once() -> None:
    first = published(corrected("14.03 g"))
    told = errata_of(FIGURES, (), first)
    again = errata_of(figures(first), told, first, date(2027, 1, 1))
    assert again == told
    second = published(by_hand("15"))
    twice = errata_of(figures(first), told, second, date(2027, 1, 1))
    assert [(one.was, one.now) for one in twice] == [
        ("14.03 g", "15 g"), (str(WEIGHING.mass), "14.03 g"),
    ]  # fmt: skip


def test_a_figure_that_is_no_longer_public_is_told_no_more_nor_what_it_was() -> None:
    told = errata_of(FIGURES, (), published(corrected("14.03 g")))
    hidden = replace(BOOK.batches[BATCH], public="no")
    gone = published(replace(BOOK, batches={**BOOK.batches, BATCH: hidden}))
    assert errata_of(FIGURES, told, gone) == ()
    batch = BOOK.batches[BATCH]
    fewer = tuple(one for one in batch.weighings if one.id != WEIGHING.id)
    without = replace(BOOK, batches={**BOOK.batches, BATCH: replace(batch, weighings=fewer)})
    assert errata_of(FIGURES, told, published(without)) == ()


def test_what_is_newly_public_is_no_erratum() -> None:
    before = {name: of for name, of in FIGURES.items() if name != f"batch {BATCH}"}
    assert errata_of(before, (), published(corrected("14.03 g"))) == ()


def test_a_sheet_s_figure_counts_and_a_version_s_percent_too() -> None:
    name = "sodium-benzoate"
    sheet = BOOK.ingredients[name]
    assert sheet.pKa is not None
    changed = replace(sheet, pKa=replace(sheet.pKa, value=Decimal("4.19")))
    book = replace(BOOK, ingredients={**BOOK.ingredients, name: changed})
    assert since(book) == [("pKa", "4.21", "4.19", TODAY, "")]


def test_what_fills_up_is_told_as_such() -> None:
    told = taken_apart(FIGURES["version SBC@3"])
    water = [value for key, value in told.items() if key.endswith(" water")]
    assert water == ["q.s."]


def test_who_corrected_is_in_no_figure() -> None:
    assert "Ada" not in repr(errata_of(FIGURES, (), published(corrected("14.03 g"))))


# What keeps them ----------------------------------------------------------------------------------

NAMES = st.text('a":,\\{}\n é', max_size=6)
LINES = st.dictionaries(NAMES, st.text('1g"\\,}{\n', max_size=4), min_size=1, max_size=3)


@given(st.dictionaries(NAMES, LINES, max_size=4), st.dictionaries(NAMES, st.text("0a"), max_size=3))
def test_what_was_published_is_read_back_line_by_line(
    told: dict[str, dict[str, str]], files: dict[str, str]
) -> None:
    lines = {part: json.dumps(of, sort_keys=True) for part, of in told.items()}
    once = Published({"formula SBC": "0"}, files, lines, ())
    raw = written(once)
    assert read(raw) == once
    assert {part: taken_apart(of) for part, of in once.figures.items()} == told
    spread = json.dumps(json.loads(raw), indent=1).encode()  # as another program would write it
    assert read(spread) == once
