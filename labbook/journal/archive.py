"""What lists of the journal are handed: home, all formulas, the archive by year."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from labbook.journal.markdown import MONTHS, day, md
from labbook.journal.names import entry_path, formula_path, version_path
from labbook.journal.publish import PublicBatch, PublicFormula
from labbook.journal.teller import Teller
from labbook.journal.views import View, batch_line
from labbook.model.entry import Entry
from labbook.model.moments import day_of
from labbook.model.results.looking import INTACT
from labbook.model.versions import Version
from labbook.show.outcomes import failed_elsewhere, leading
from labbook.show.parts import plural

if TYPE_CHECKING:
    from labbook.journal.outline import Outline

LATEST = 5
LONG = 300
"""Things of a year from which on each of its months has a page."""

FEW = 12
"""Formulas that home names; the page of formulas names them all."""

_FIRST = re.compile(r"\A(.{1,240}?[.!?])(?=\s|\Z)", re.DOTALL)
_PLAIN = re.compile(r"\]\([^)\n]{0,1000}\)|[`*_\[\]<>|#~\\!]")


def year_path(year: int) -> str:
    """`archive/2026`."""
    return f"archive/{year}"


def month_path(year: int, month: View) -> str:
    """`archive/2026-04`."""
    return f"{year_path(year)}-{month['number']}"


# Entries ------------------------------------------------------------------------------------------


def first_words(entry: Entry) -> str:
    """The first sentence of an entry without marks."""
    start = next(
        (
            part
            for part in re.split(r"\n\s*\n", entry.text.strip())
            if part.strip() and not part.lstrip().startswith(("#", "```", "~~~", "|", ">", "- "))
        ),
        "",
    )
    plain = " ".join(_PLAIN.sub("", start).split())
    first = _FIRST.match(plain)
    return first[1] if first else f"{plain[:160].rstrip()}…" if len(plain) > 160 else plain


def entry_line(entry: Entry) -> View:
    """An entry in a list, with its first sentence."""
    return {
        "title": entry.title,
        "path": entry_path(entry.name),
        "date": day(entry.date),
        "first": md(first_words(entry)),
    }


# Formulas -----------------------------------------------------------------------------------------


def touched(one: PublicFormula) -> date:
    """The last day on which a formula got a version or a batch."""
    days = [version.when.date() for version in one.versions[-1:]]
    days += [day_of(made.batch.made) for made in one.batches[-1:]]
    return max(days, default=date.min)


def formula_line(one: PublicFormula) -> View:
    """A formula in a list."""
    last = one.versions[-1] if one.versions else None
    shown, hidden = len(one.batches), sum(one.hidden.values())
    made = [_batches(shown)] if shown else []
    if hidden:
        made += [f"{hidden} more not shown" if shown else f"{_batches(hidden)} not shown"]
    return {
        "code": one.formula.code,
        "title": one.formula.title,
        "emulsion": one.formula.emulsion,
        "path": formula_path(one.formula.code),
        "versions": plural(len(one.versions), "version") if last else "no version yet",
        "made": ", ".join(made),
        "last": last.name if last else "",
        "last_path": version_path(last.code, last.number) if last else "",
        "last_day": day(last.when.date()) if last else "",
    }


def _batches(number: int) -> str:
    return plural(number, "batch", "batches")


def version_line(version: Version) -> View:
    """A version in the archive."""
    return {
        "kind": "version",
        "on": version.when.date().isoformat(),
        "name": version.name,
        "path": version_path(version.code, version.number),
        "title": version.formula.title,
        "said": version.subject,
    }


def watched_line(teller: Teller, one: PublicFormula) -> View | None:
    """How many batches of a formula failed in no jar so far, and the one watched longest."""
    found = [made for made in one.batches if _days_intact(teller, made) is not None]
    if not found:
        return None
    longest = max(found, key=lambda made: _days_intact(teller, made) or 0.0)
    return {
        "title": one.formula.title,
        "path": formula_path(one.formula.code),
        "count": _batches(len(found)),
        "one": len(found) == 1,
        "longest": batch_line(teller, longest),
    }


def _days_intact(teller: Teller, made: PublicBatch) -> float | None:
    """Until when the jar that speaks for a batch was seen intact; None where any jar failed."""
    outcomes = teller.outcomes(made)
    lead = leading(outcomes)
    if lead is None or lead.state != INTACT or failed_elsewhere(outcomes):
        return None
    return lead.last_intact or 0.0


# Home ---------------------------------------------------------------------------------------------


def home_view(author: str, entries: Sequence[Entry], outlines: Sequence[Outline]) -> View:
    """The latest entries and batches, what is being watched, the formulas last worked at."""
    recent = sorted(outlines, key=lambda one: (one.touched, one.code), reverse=True)
    watched = [one.watched for one in recent if one.watched]
    late = [made for one in outlines for made in one.batches[-LATEST:]]
    late.sort(key=lambda made: (made["made"], made["id"]), reverse=True)
    return {
        "author": author,
        "entries": [entry_line(entry) for entry in entries[:LATEST]],
        "more_entries": len(entries) > LATEST,
        "batches": late[:LATEST],
        "more_batches": sum(len(one.batches) for one in outlines) > LATEST,
        "watched": watched[:FEW],
        "more_watched": len(watched) > FEW,
        "formulas": [one.line for one in recent[:FEW]],
        "more_formulas": len(recent) > FEW,
    }


# The archive --------------------------------------------------------------------------------------

_RANKS = {"version": 0, "batch": 1, "entry": 2}


def month_line(year: int, month: View) -> View:
    """A month in the list of a long year's months."""
    return {**_counted(month["lines"]), "name": month["name"], "path": month_path(year, month)}


def _counted(lines: Iterable[View]) -> View:
    count = Counter(line["kind"] for line in lines)
    named = (("entry", "entries"), ("version", "versions"), ("batch", "batches"))
    told = [plural(count[one], one, several) for one, several in named if count[one]]
    return {"told": ", ".join(told)}


class Archive:
    """Everything with a day, by year: entries, versions, batches."""

    def __init__(self, entries: Iterable[Entry], outlines: Iterable[Outline]) -> None:
        self._years: dict[str, list[View]] = {}
        self.undated: list[View] = []
        for entry in entries:
            line = {"kind": "entry", "on": "", **entry_line(entry)}
            if entry.date is None:
                self.undated.append(line)
            else:
                self._add([{**line, "on": entry.date.isoformat()}])
        for one in outlines:
            self._add(one.versions)
            self._add(one.batches)

    def _add(self, lines: Iterable[View]) -> None:
        for line in lines:
            self._years.setdefault(line["on"][:4], []).append(line)

    def years(self) -> list[int]:
        """The years, the latest first."""
        return sorted(map(int, self._years), reverse=True)

    def year_line(self, year: int) -> View:
        """A year in the list of years."""
        lines = self._years[f"{year:04d}"]
        return {**_counted(lines), "name": str(year), "path": year_path(year)}

    def is_long(self, year: int) -> bool:
        """Whether a year has a page for each month, which a phone can still read."""
        return len(self._years[f"{year:04d}"]) > LONG

    def months(self, year: int) -> list[View]:
        """A year's months, the latest first, each with its days."""
        lines = sorted(
            self._years[f"{year:04d}"],
            key=lambda line: (line["on"], _RANKS[line["kind"]], line["path"]),
            reverse=True,
        )
        months: list[View] = []
        for line in lines:
            name = MONTHS[int(line["on"][5:7]) - 1]
            if not months or months[-1]["name"] != name:
                months.append({"name": name, "number": line["on"][5:7], "lines": []})
            months[-1]["lines"].append({**line, "on": str(int(line["on"][8:]))})
        return months
