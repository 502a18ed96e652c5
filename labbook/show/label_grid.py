"""How labels lie on a sheet, and whether words have room on them; all lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from labbook.model.results.labels import Labels, Sheet
from labbook.show.layout import clean
from labbook.show.plots.svg import SIZE, fitted, text_width

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height: ISO 216, and ANSI/ASME Y14.1 (8.5 × 11 in)."""

GAP = 2.0
PAD = 2.0
LINE = 1.25
TRIAL = "Test only, not for use"
LETTERS = (2.1, 1.9, 1.6)
"""Sizes of small print on a sheet that somebody brings, the largest that fits; 1.6 mm is 4.5 pt."""


@dataclass(frozen=True, slots=True)
class Grid:
    """So many labels on a sheet; `letters` is the size of small print, `code` that of the QR code.

    `gaps` lie between labels, across and down; `margin` is left and top of the first label, None
    where the labels stand in the middle of the sheet. `cut` draws the edge to cut along.
    """

    columns: int
    rows: int
    width: float
    height: float
    letters: float
    code: float
    gaps: tuple[float, float] = (GAP, GAP)
    margin: tuple[float, float] | None = None
    cut: bool = True

    @property
    def count(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of all labels together."""
        across = self.columns * self.width + (self.columns - 1) * self.gaps[0]
        return across, self.rows * self.height + (self.rows - 1) * self.gaps[1]

    def corner(self, paper: str) -> tuple[float, float]:
        """Left and top of the first label."""
        if self.margin is not None:
            return self.margin
        (width, height), (across, down) = PAPERS[paper], self.size
        return (width - across) / 2, (height - down) / 2

    def foot(self, paper: str) -> float:
        """What stays free below the last row; negative where the rows don't fit."""
        return PAPERS[paper][1] - self.corner(paper)[1] - self.size[1]

    def side(self, paper: str) -> float:
        """What stays free at the right."""
        return PAPERS[paper][0] - self.corner(paper)[0] - self.size[0]


GRIDS = (
    Grid(3, 8, 62.0, 31.0, 1.6, 15.0),
    Grid(2, 5, 94.0, 50.0, 1.9, 18.0),
    Grid(2, 3, 94.0, 84.0, 2.1, 22.0),
)
"""The smallest first; the first one takes the words of the label. All fit both papers."""


def grid_for(result: Labels) -> Grid:
    """The smallest labels that take the words; the largest where none does.

    On a sheet that is given, the largest small print that fits.
    """
    if result.sheet is None:
        return next((grid for grid in GRIDS if fits(result, grid)), GRIDS[-1])
    own = [_own(result.sheet, letters) for letters in LETTERS]
    return next((grid for grid in own if fits(result, grid)), own[-1])


def _own(sheet: Sheet, letters: float) -> Grid:
    code = min(22.0, sheet.height - 2 * PAD, sheet.width * 0.3)
    return Grid(
        sheet.columns, sheet.rows, sheet.width, sheet.height, letters, round(code, 1),
        sheet.gaps, sheet.margin, cut=False,
    )  # fmt: skip


def fits(result: Labels, grid: Grid, *, listed: bool = True) -> bool:
    """Whether all words have room, by widths that are rather too broad.

    Args:
        result: the words.
        grid: the labels.
        listed: with the ingredient list.
    """
    inner = grid.width - 2 * PAD
    small = grid.letters
    lines = _lines(_small_print(result, listed=listed), inner, small)
    head = max(grid.code, _head_height(result, inner - grid.code - 1, grid))
    return head + lines * small * LINE + PAD * 2 <= grid.height


def _head_height(result: Labels, room: float, grid: Grid) -> float:
    small = grid.letters
    names = _lines([short_name(result, grid)], room, small * 1.25)
    below = _lines(dates(result), room, small) + 1
    large = small * 4.2
    return large * 1.05 + names * small * 1.25 * LINE + below * small * LINE


def _lines(parts: Sequence[str], room: float, size: float) -> int:
    """How many lines words take, one more for every four against unlucky breaks."""
    found = 0
    for part in parts:
        whole = -(-text_width(clean(part), size) // room)
        found += int(whole + whole // 5)
    return found


def short_name(result: Labels, grid: Grid) -> str:
    """The name in two lines at most; the rest of a longer one is cut, with a sign."""
    room = grid.width - 2 * PAD - grid.code - 1
    return fitted(result.name, 1.8 * room / (grid.letters * 1.25) * SIZE)


def dates(result: Labels) -> list[str]:
    """The days on a label, as they stand there."""
    found = [f"made {result.made}"]
    return [*found, f"best before {result.best_before}"] if result.best_before else found


def _small_print(result: Labels, *, listed: bool) -> list[str]:
    found = [f"Ingredients: {result.ingredients}"] if result.ingredients and listed else []
    found += [TRIAL] if result.trial else []
    return [*found, " ".join(result.cautions)]
