"""A page of jar labels: one HTML file without scripts, measured in millimetres, to be printed.

The QR code follows ISO/IEC 18004 and holds the jar's full id; four modules around it stay white, as
that standard asks. The page policy allows the page's own style by its hash, and nothing else.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from labbook.model.results.labels import JarLabel, Labels
from labbook.show.layout import Screen, clean
from labbook.show.parts import plural, then
from labbook.show.plots.svg import SIZE, fitted, text_width

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height in mm: ISO 216, and ANSI/ASME Y14.1 (8.5 × 11 in)."""

GAP = 2.0
RULER = 50
QUIET = 4
TRIAL = "Test only, not for use"
NOT_TOLD = "A draft. What has to stand on a label is for the law where it is given away or sold."


@dataclass(frozen=True, slots=True)
class Grid:
    """So many labels on a sheet, each of so many mm; `letters` is the size of small print in mm."""

    columns: int
    rows: int
    width: float
    height: float
    letters: float
    code: float

    @property
    def count(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows


GRIDS = (
    Grid(3, 8, 62.0, 31.0, 1.6, 15.0),
    Grid(2, 5, 94.0, 50.0, 1.9, 18.0),
    Grid(2, 3, 94.0, 84.0, 2.1, 22.0),
)
"""The smallest first; the first one takes the words of the label. All fit both papers."""


def labels_page(result: Labels) -> str:
    """The page, sheet by sheet."""
    grid = grid_for(result)
    style = _style(result.paper, grid)
    digest = base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    sheets = [result.jars[at : at + grid.count] for at in range(0, len(result.jars), grid.count)]
    body = "\n".join(_sheet(result, one, grid) for one in sheets)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>Labels of {_text(result.batch)}</title>\n<style>{style}</style>\n</head>\n"
        f"<body>\n{_beside(result, grid)}\n<main>\n{body}\n</main>\n</body>\n</html>\n"
    )


def labels_screen(result: Labels, file: str, screen: Screen) -> str:
    """After `batch labels`: what stands on them, what stands beside, how to print."""
    grid = grid_for(result)
    screen.title(f"Labels of {result.large}  {result.name}", plural(len(result.jars), "jar"))
    screen.blank()
    screen.row("written", file)
    for word, text in facts(result, grid):
        screen.row(word, text)
    then(screen, [f"labbook batch show {result.large.lower()}"])
    return screen.text()


def facts(result: Labels, grid: Grid) -> list[tuple[str, str]]:
    """What to know before the labels go on jars, as pairs of a word and a sentence."""
    found = [
        (
            "print",
            f"at 100 %, not fitted to the page; the line at the foot has to measure {RULER} mm",
        ),
        ("sheet", f"{grid.columns} × {grid.rows} of {grid.width:g} × {grid.height:g} mm"),
    ]
    if result.trial:
        found.append(("test only", "it was made to tell something, and is not for use"))
    if result.best_before:
        found.append(("best before", f"{result.best_before}, as you typed it"))
    if result.best_before or not result.trial:
        found.append(("watched", result.watched))
    if result.earliest:
        found.append(("expires", f"first of its lots: {result.earliest}"))
    if result.undated:
        found.append(("unknown", f"when these expire: {', '.join(result.undated)}"))
    if result.outcome:
        found.append(("so far", result.outcome))
    if result.ingredients and not fits(result, grid):
        found.append(("left off", "the ingredient list: it is too long for the largest label"))
    elif result.ingredients_note:
        found.append(("ingredients", result.ingredients_note))
    found.append(("not told", NOT_TOLD))
    return found


# Room on a label ----------------------------------------------------------------------------------


def grid_for(result: Labels) -> Grid:
    """The smallest labels that take the words; the largest where none does."""
    return next((grid for grid in GRIDS if fits(result, grid)), GRIDS[-1])


def fits(result: Labels, grid: Grid) -> bool:
    """Whether all words have room, by widths that are rather too broad."""
    inner = grid.width - 2 * PAD
    small = grid.letters
    lines = _lines(_small_print(result), inner, small)
    head = max(grid.code, _head_height(result, inner - grid.code - 1, grid))
    return head + lines * small * LINE + PAD * 2 <= grid.height


PAD = 2.0
LINE = 1.25


def _head_height(result: Labels, room: float, grid: Grid) -> float:
    small = grid.letters
    names = _lines([short_name(result, grid)], room, small * 1.25)
    dates = _lines(_dates(result), room, small)
    large = small * 4.2
    return large * 1.05 + names * small * 1.25 * LINE + (dates + 1) * small * LINE


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


def _dates(result: Labels) -> list[str]:
    found = [f"made {result.made}"]
    return [*found, f"best before {result.best_before}"] if result.best_before else found


def _small_print(result: Labels) -> list[str]:
    found = [f"Ingredients: {result.ingredients}"] if result.ingredients else []
    found += [TRIAL] if result.trial else []
    return [*found, " ".join(result.cautions)]


# The page -----------------------------------------------------------------------------------------


def _text(text: str) -> str:
    return escape(clean(text))


def _beside(result: Labels, grid: Grid) -> str:
    rows = "".join(f"<dt>{_text(w)}</dt><dd>{_text(t)}</dd>" for w, t in facts(result, grid))
    return (
        f'<header class="beside"><h1>Labels of {_text(result.large)}, {_text(result.name)}</h1>'
        f"<p>This part is not printed.</p><dl>{rows}</dl></header>"
    )


def _sheet(result: Labels, jars: Sequence[JarLabel], grid: Grid) -> str:
    listed = bool(result.ingredients) and fits(result, grid)
    some = "\n".join(_label(result, jar, grid, listed=listed) for jar in jars)
    return (
        f'<section class="sheet"><div class="grid">\n{some}\n</div>'
        f'<div class="ruler">{RULER} mm</div></section>'
    )


def _label(result: Labels, jar: JarLabel, grid: Grid, *, listed: bool) -> str:
    dates = "".join(f"<div>{_text(text)}</div>" for text in _dates(result))
    test = f'<p class="test">{TRIAL}</p>' if result.trial else ""
    names = f'<p class="list"><b>Ingredients:</b> {_text(result.ingredients)}</p>' * listed
    long = " long" if len(result.large) > 2 else ""
    return (
        f'<article class="label"><div class="head"><div class="words">'
        f'<div class="large{long}">{_text(result.large)}<span class="jar">.{_text(jar.jar)}</span>'
        f'</div><div class="name">{_text(short_name(result, grid))}</div>'
        f'<div class="id">{_text(jar.id)}</div>{dates}</div>{qr_svg(jar.id)}</div>'
        f'{test}{names}<p class="cautions">{_text(" ".join(result.cautions))}</p></article>'
    )


def qr_svg(text: str) -> str:
    """The QR code of a text as inline SVG, a square a module, with its white edge.

    Error correction of level M: about 15 % of it may be smeared.
    """
    import segno

    rows = [list(row) for row in segno.make_qr(text, error="m").matrix]
    side = len(rows) + 2 * QUIET
    runs = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            start = x
            while x < len(row) and row[x]:
                x += 1
            if x > start:
                runs.append(f"M{start + QUIET} {y + QUIET}h{x - start}v1h-{x - start}z")
            x += 1
    return (
        f'<svg class="code" viewBox="0 0 {side} {side}" role="img" aria-label="QR code: '
        f'{_text(text)}" shape-rendering="crispEdges"><path class="white" d="M0 0h{side}v{side}'
        f'h-{side}z"/><path class="dark" d="{"".join(runs)}"/></svg>'
    )


def _style(paper: str, grid: Grid) -> str:
    width, height = PAPERS[paper]
    left = (width - grid.columns * grid.width - (grid.columns - 1) * GAP) / 2
    top = (height - grid.rows * grid.height - (grid.rows - 1) * GAP) / 2
    return _CSS.format(
        paper_width=f"{width:g}",
        paper_height=f"{height:g}",
        left=f"{left:.3f}",
        top=f"{top:.3f}",
        columns=grid.columns,
        rows=grid.rows,
        width=f"{grid.width:g}",
        height=f"{grid.height:g}",
        gap=f"{GAP:g}",
        pad=f"{PAD:g}",
        small=f"{grid.letters:g}",
        name=f"{grid.letters * 1.25:g}",
        large=f"{grid.letters * 4.2:g}",
        code=f"{grid.code:g}",
        line=f"{LINE:g}",
        ruler=RULER,
    )


_CSS = """
@page {{ size: {paper_width}mm {paper_height}mm; margin: 0; }}
* {{ box-sizing: border-box; margin: 0; padding: 0; }}
html {{ background: #eee; color: #000; font-family: "Liberation Sans", Arial, Helvetica,
  sans-serif; }}
.beside {{ max-width: {paper_width}mm; margin: 5mm auto; padding: 5mm; background: #fff;
  font-size: 11pt; line-height: 1.4; }}
.beside h1 {{ font-size: 14pt; }}
.beside dl {{ display: grid; grid-template-columns: max-content 1fr; gap: 0 4mm; margin-top: 3mm; }}
.beside dd {{ overflow-wrap: anywhere; }}
.sheet {{ position: relative; width: {paper_width}mm; height: {paper_height}mm; margin: 0 auto 5mm;
  padding: {top}mm 0 0 {left}mm; background: #fff; overflow: hidden; break-after: page;
  break-inside: avoid; }}
.sheet:last-child {{ break-after: auto; }}
.grid {{ display: grid; grid-template-columns: repeat({columns}, {width}mm);
  grid-auto-rows: {height}mm; gap: {gap}mm; }}
.label {{ width: {width}mm; height: {height}mm; padding: {pad}mm; overflow: hidden;
  outline: 0.1mm solid #999; outline-offset: -0.1mm; font-size: {small}mm; line-height: {line};
  overflow-wrap: anywhere; }}
.head {{ display: flex; justify-content: space-between; gap: 1mm; }}
.words {{ min-width: 0; }}
.large {{ font-size: {large}mm; line-height: 1.05; font-weight: bold; }}
.large.long {{ font-size: {name}mm; line-height: {line}; }}
.jar {{ font-weight: normal; }}
.name {{ font-size: {name}mm; font-weight: bold; }}
.code {{ flex: none; width: {code}mm; height: {code}mm; }}
.white {{ fill: #fff; }}
.dark {{ fill: #000; }}
.test {{ font-weight: bold; text-transform: uppercase; }}
.ruler {{ position: absolute; left: {left}mm; bottom: 5.5mm; width: {ruler}mm; height: 2.5mm;
  border: solid #000; border-width: 0 0.2mm 0.2mm; font-size: 1.8mm; line-height: 2mm;
  text-align: center; }}
@media print {{
  html {{ background: #fff; print-color-adjust: exact; -webkit-print-color-adjust: exact; }}
  .beside {{ display: none; }}
  .sheet {{ margin: 0; }}
}}
"""
