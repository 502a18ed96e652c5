"""What lists of the journal are handed: home, all formulas, the archive by year."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date

from labbook.journal.markdown import MONTHS, day, md
from labbook.journal.names import entry_path, formula_path, version_path
from labbook.journal.publish import PublicBatch, PublicFormula
from labbook.journal.teller import Teller
from labbook.journal.views import View, batch_line
from labbook.model.entry import Entry
from labbook.model.moments import day_of
from labbook.model.results.looking import INTACT
from labbook.model.versions import Version
from labbook.show.outcomes import leading
from labbook.show.parts import plural

LATEST = 5
FEW = 12
"""Formulas that home names; the page of formulas names them all."""

_FIRST = re.compile(r"\A(.{1,240}?[.!?])(?=\s|\Z)", re.DOTALL)
_PLAIN = re.compile(r"\]\([^)\n]{0,1000}\)|[`*_\[\]<>|#~\\!]")


def year_path(year: int) -> str:
    """`archive/2026`."""
    return f"archive/{year}"


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
    told = [plural(len(one.versions), "version")] if last else ["no version yet"]
    shown = len(one.batches)
    told += [plural(shown, "batch", "batches")] if shown else []
    hidden = sum(one.hidden.values())
    told += [f"{hidden} not shown"] if hidden else []
    return {
        "code": one.formula.code,
        "title": one.formula.title,
        "emulsion": one.formula.emulsion,
        "path": formula_path(one.formula.code),
        "told": ", ".join(told),
        "last": last.name if last else "",
        "last_path": version_path(last.code, last.number) if last else "",
        "last_day": day(last.when.date()) if last else "",
    }


# Home ---------------------------------------------------------------------------------------------


def home_view(teller: Teller) -> View:
    """The latest entries and batches, what is being watched, the formulas last worked at."""
    journal = teller.journal
    recent = sorted(
        journal.formulas, key=lambda one: (touched(one), one.formula.code), reverse=True
    )
    watched = [found for one in recent if (found := _watched(teller, one))]
    return {
        "author": journal.settings.author or "",
        "entries": [entry_line(entry) for entry in journal.entries[:LATEST]],
        "more_entries": len(journal.entries) > LATEST,
        "batches": [batch_line(teller, made) for made in teller.batches[: -LATEST - 1 : -1]],
        "more_batches": len(teller.batches) > LATEST,
        "watched": watched[:FEW],
        "more_watched": len(watched) > FEW,
        "formulas": [formula_line(one) for one in recent[:FEW]],
        "more_formulas": len(recent) > FEW,
    }


def _watched(teller: Teller, one: PublicFormula) -> View | None:
    """How many batches of a formula show no change so far, and the one that is watched longest."""
    found = [
        made
        for made in one.batches
        if (lead := leading(teller.outcomes(made))) and lead.state == INTACT
    ]
    if not found:
        return None
    return {
        "title": one.formula.title,
        "path": formula_path(one.formula.code),
        "count": plural(len(found), "batch", "batches"),
        "one": len(found) == 1,
        "longest": batch_line(teller, found[0]),
    }


# The archive --------------------------------------------------------------------------------------


class Archive:
    """Everything with a day, by year: entries, versions, batches."""

    def __init__(self, teller: Teller) -> None:
        self._teller = teller
        self._years: dict[int, tuple[list[Entry], list[Version], list[PublicBatch]]] = {}
        self.undated = [entry for entry in teller.journal.entries if entry.date is None]
        for entry in teller.journal.entries:
            if entry.date is not None:
                self._year(entry.date.year)[0].append(entry)
        for formula in teller.journal.formulas:
            for version in formula.versions:
                self._year(version.when.year)[1].append(version)
        for made in teller.batches:
            self._year(day_of(made.batch.made).year)[2].append(made)

    def _year(self, year: int) -> tuple[list[Entry], list[Version], list[PublicBatch]]:
        return self._years.setdefault(year, ([], [], []))

    def years(self) -> list[int]:
        """The years, the latest first."""
        return sorted(self._years, reverse=True)

    def year_line(self, year: int) -> View:
        """A year in the list of years."""
        entries, versions, batches = self._years[year]
        told = [plural(len(entries), "entry", "entries")] if entries else []
        told += [plural(len(versions), "version")] if versions else []
        told += [plural(len(batches), "batch", "batches")] if batches else []
        return {"year": str(year), "path": year_path(year), "told": ", ".join(told)}

    def parts(self, year: int) -> Iterable[str]:
        """What a year's page is made of."""
        entries, versions, batches = self._years[year]
        yield from (f"entry {one.name}" for one in entries)
        yield from (f"version {one.name}" for one in versions)
        for made in batches:
            yield f"batch {made.batch.id}"
            yield f"formula {made.batch.formula.code}"

    def months(self, year: int) -> list[View]:
        """A year's months, the latest first, each with its days."""
        entries, versions, batches = self._years[year]
        lines: list[tuple[date, int, View]] = []
        for entry in entries:
            if entry.date is not None:
                lines.append((entry.date, 2, {"kind": "entry", **entry_line(entry)}))
        lines += [(one.when.date(), 0, _version_line(one)) for one in versions]
        for made in batches:
            told = {"kind": "batch", **batch_line(self._teller, made)}
            lines.append((day_of(made.batch.made), 1, told))
        lines.sort(key=lambda one: (one[0], one[1], str(one[2]["path"])), reverse=True)
        return _by_month(lines)


def _version_line(version: Version) -> View:
    return {
        "kind": "version",
        "name": version.name,
        "path": version_path(version.code, version.number),
        "title": version.formula.title,
        "said": version.subject,
    }


def _by_month(lines: Sequence[tuple[date, int, View]]) -> list[View]:
    months: list[View] = []
    for when, _, line in lines:
        name = MONTHS[when.month - 1]
        if not months or months[-1]["name"] != name:
            months.append({"name": name, "lines": []})
        months[-1]["lines"].append({**line, "on": str(when.day)})
    return months
