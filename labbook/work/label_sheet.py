"""Sheets of labels that a maker brings: read from a few figures, and whether words fit on them."""

from __future__ import annotations

import re

from labbook.model.errors import Unclear
from labbook.model.results.labels import Labels, Sheet
from labbook.show.label_grid import PAPERS, Grid, fits, grid_for

_NUMBER = r"([0-9]{1,3}(?:[.,][0-9]{1,2})?)"
_PAIR = rf"{_NUMBER}\s*[x×]\s*{_NUMBER}"
_SHEET = re.compile(
    rf"([0-9]{{1,2}})\s*[x×]\s*([0-9]{{1,2}})[\s,]+{_PAIR}(?:\s*mm)?"
    rf"(?:[\s,]+gaps?\s+{_PAIR}(?:\s*mm)?)?(?:[\s,]+margins?\s+{_PAIR}(?:\s*mm)?)?",
    re.IGNORECASE | re.ASCII,
)
EXAMPLE = "3x7 63.5x38.1 gap 2.5x0 margin 7.2x15.1"
SLACK = 0.5
"""What the figures of a sheet may be over the paper, in mm: they are rounded."""


def sheet_of(typed: str, paper: str) -> Sheet:
    """A sheet from `3x7 63.5x38.1`, with gaps and margin where they matter; all in mm.

    Labels across × down, then width × height of one; without a margin they stand in the middle.

    Raises:
        Unclear: it isn't written so, or is larger than the paper.
    """
    match = _SHEET.fullmatch(typed.strip())
    if match is None:
        raise Unclear(
            f"Sheet {typed!r}?",
            mend=f'Labels across x down, width x height of one in mm: --sheet "{EXAMPLE}"',
        )
    columns, rows = int(match[1]), int(match[2])
    width, height, *more = (float((one or "0").replace(",", ".")) for one in match.groups()[2:])
    sheet = Sheet(
        columns=columns, rows=rows, width=width, height=height, gaps=(more[0], more[1]),
        margin=(more[2], more[3]) if match[7] else None,
    )  # fmt: skip
    if not (columns and rows and width and height):
        raise Unclear(f"Sheet {typed!r} holds no label.", mend=f'Like this: --sheet "{EXAMPLE}"')
    grid = Grid(columns, rows, width, height, 1.6, 12.0, sheet.gaps, sheet.margin)
    if min(*grid.corner(paper), grid.foot(paper), grid.side(paper)) < -SLACK:
        across, down = grid.size
        wide, high = PAPERS[paper]
        raise Unclear(
            f"{columns} × {rows} labels take {across:g} × {down:g} mm; the paper has"
            f" {wide:g} × {high:g}.",
            mend="Measure a label and the gaps again, or name the paper: --paper letter",
        )
    return sheet


def guard_room(result: Labels) -> None:
    """Refuses a place that the sheet hasn't, and labels too small for what has to stand there.

    Raises:
        Unclear: with what there is room for.
    """
    grid = grid_for(result)
    if not 1 <= result.start <= grid.count:
        raise Unclear(
            f"Place {result.start} of a sheet with {grid.count}?",
            mend=f"Count along the rows, from the top left: --start 1 to --start {grid.count}",
        )
    if result.sheet is not None and not fits(result, grid, listed=False):
        raise Unclear(
            f"A label of {grid.width:g} × {grid.height:g} mm has no room for name, id, day and"
            " cautions.",
            mend="Take larger ones; without --sheet a size that fits is chosen.",
        )
