"""Whose law a notebook goes by: `region:` in its head, in the words that makers use."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

ASSUMED = "EU"
"""The table that is compared with where a notebook names no region, or one without a table."""

_MEMBERS = (
    "austria at belgium be bulgaria bg croatia hr cyprus cy czechia cz denmark dk estonia ee "
    "finland fi france fr germany de greece gr hungary hu ireland ie italy it latvia lv lithuania "
    "lt luxembourg lu malta mt netherlands nl poland pl portugal pt romania ro slovakia sk "
    "slovenia si spain es sweden se"
)
_OTHER_WORDS = {
    "european union": "EU", "europe": "EU", "united kingdom": "UK", "great britain": "UK",
    "gb": "UK", "england": "UK", "scotland": "UK", "wales": "UK", "united states": "US",
    "united states of america": "US", "usa": "US", "united-states": "US",
    **dict.fromkeys(_MEMBERS.split(), "EU"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Regions:
    """The tables that are compared with, and a sentence where that isn't what the notebook says.

    `assumed` tells that nobody named a region with a table, so that findings are softer.
    """

    names: tuple[str, ...]
    assumed: bool
    said: str = ""


def regions_of(written: str, tables: Iterable[str]) -> Regions:
    """The tables for what `region:` says; several regions may stand there with commas.

    Args:
        written: the notebook's region, empty where none is written.
        tables: the regions that the tables of limits know.
    """
    known = {table.casefold(): table for table in tables}
    wanted = [word.strip() for word in written.split(",") if word.strip()]
    found: list[str] = []
    missing: list[str] = []
    for word in wanted:
        name = _OTHER_WORDS.get(word.casefold(), word)
        table = known.get(name.casefold())
        if table is None:
            missing.append(word)
        else:
            found.append(table)
    if not wanted:
        said = f"no region: in labbook.yaml, so limits of law are compared with those of {ASSUMED}"
        return Regions((ASSUMED,), True, said)
    if missing:
        names = " and ".join(missing)
        said = f"limits of law of {names}: there is no table of them here"
        if not found:
            said += f"; compared with those of {ASSUMED} as a hint"
        return Regions(tuple(found) or (ASSUMED,), not found, said)
    return Regions(tuple(dict.fromkeys(found)), False)
