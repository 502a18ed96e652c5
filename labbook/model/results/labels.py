"""What stands on the labels of a batch's jars."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class JarLabel:
    """One label: the jar's number and its full id, which is in the QR code too."""

    jar: str
    id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet of labels that somebody brings, in mm: so many across and down, each of a size.

    `gaps` lie between labels, across and down; `margin` is left and top of the first, None where
    the labels stand in the middle of the sheet.
    """

    columns: int
    rows: int
    width: float
    height: float
    gaps: tuple[float, float] = (0.0, 0.0)
    margin: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Labels:
    """The labels of a batch's jars.

    `large` is what stands large: the two characters, or the full id where two batches share them.
    `trial` marks what is for testing only. `best_before` is as the maker typed it; `earliest` is
    the lot that expires first, with its day, and `undated` names what has none. `ingredients` is
    the draft of the list, empty where it can't be told, and `ingredients_note` says why or where it
    is from. `watched` is how long the oldest jar of the formula was watched, in words, `outcome`
    what became of the batch so far. `start` is the first free place on the first sheet, counted
    along the rows. `reacted` tells that a reaction to it was written down and not struck.
    """

    batch: str
    large: str
    name: str
    made: str
    jars: tuple[JarLabel, ...]
    paper: str
    trial: bool
    best_before: str
    earliest: str
    undated: tuple[str, ...]
    ingredients: str
    ingredients_note: str
    cautions: tuple[str, ...]
    watched: str
    outcome: str
    start: int = 1
    sheet: Sheet | None = None
    reacted: bool = False
