"""A page of jar labels: one HTML file without scripts, measured in millimetres, to be printed.

The QR code follows ISO/IEC 18004 and holds the jar's full id; four modules around it stay white, as
that standard asks. The page policy allows the page's own style by its hash, and nothing else.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from html import escape

from labbook.model.results.labels import JarLabel, Labels
from labbook.show.label_grid import (
    LINE,
    PAD,
    PAPERS,
    TRIAL,
    Grid,
    dates,
    fits,
    grid_for,
    short_name,
)
from labbook.show.layout import Screen, clean
from labbook.show.parts import plural, then

RULER = 50
QUIET = 4
FOOT = 8.5
"""Room below the last row that the ruler takes, in mm."""

NOT_TOLD = "A draft. What has to stand on a label is for the law where it is given away or sold."


def labels_page(result: Labels) -> str:
    """The page, sheet by sheet."""
    grid = grid_for(result)
    style = _style(result.paper, grid)
    digest = base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    body = "\n".join(_sheet(result, one, grid) for one in _places(result, grid))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>Labels of {_text(result.batch)}</title>\n<style>{style}</style>\n</head>\n"
        f"<body>\n{_beside(result, grid)}\n<main>\n{body}\n</main>\n</body>\n</html>\n"
    )


def _places(result: Labels, grid: Grid) -> list[list[JarLabel | None]]:
    """What stands where, sheet by sheet; None is a place that was used before."""
    every: list[JarLabel | None] = [*([None] * (result.start - 1)), *result.jars]
    return [every[at : at + grid.count] for at in range(0, len(every), grid.count)]


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
        ("print", f"at 100 %, not fitted to the page; {_to_measure(result, grid)}"),
        ("sheet", f"{grid.columns} × {grid.rows} of {grid.width:g} × {grid.height:g} mm"),
    ]
    if result.start > 1:
        found.append(("from", f"place {result.start} on, along the rows; the first sheet is used"))
    if result.reacted:
        found.append(("stop", "a reaction to it was written down: hand out nothing more of it"))
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


def _to_measure(result: Labels, grid: Grid) -> str:
    if _has_ruler(result, grid):
        return f"the line at the foot has to measure {RULER} mm"
    return "print one on plain paper first and hold it against the sheet, towards the light"


def _has_ruler(result: Labels, grid: Grid) -> bool:
    return grid.foot(result.paper) >= FOOT


# The page -----------------------------------------------------------------------------------------


def _text(text: str) -> str:
    return escape(clean(text))


def _beside(result: Labels, grid: Grid) -> str:
    rows = "".join(f"<dt>{_text(w)}</dt><dd>{_text(t)}</dd>" for w, t in facts(result, grid))
    return (
        f'<header class="beside"><h1>Labels of {_text(result.large)}, {_text(result.name)}</h1>'
        f"<p>This part is not printed.</p><dl>{rows}</dl></header>"
    )


def _sheet(result: Labels, jars: Sequence[JarLabel | None], grid: Grid) -> str:
    listed = bool(result.ingredients) and fits(result, grid)
    some = "\n".join(
        '<div class="used"></div>' if jar is None else _label(result, jar, grid, listed=listed)
        for jar in jars
    )
    ruler = f'<div class="ruler">{RULER} mm</div>' * _has_ruler(result, grid)
    return f'<section class="sheet"><div class="grid">\n{some}\n</div>{ruler}</section>'


def _label(result: Labels, jar: JarLabel, grid: Grid, *, listed: bool) -> str:
    days = "".join(f"<div>{_text(text)}</div>" for text in dates(result))
    test = f'<p class="test">{TRIAL}</p>' if result.trial else ""
    names = f'<p class="list"><b>Ingredients:</b> {_text(result.ingredients)}</p>' * listed
    long = " long" if len(result.large) > 2 else ""
    return (
        f'<article class="label"><div class="head"><div class="words">'
        f'<div class="large{long}">{_text(result.large)}<span class="jar">.{_text(jar.jar)}</span>'
        f'</div><div class="name">{_text(short_name(result, grid))}</div>'
        f'<div class="id">{_text(jar.id)}</div>{days}</div>{qr_svg(jar.id)}</div>'
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
    (width, height), (left, top) = PAPERS[paper], grid.corner(paper)
    return _CSS.format(
        paper_width=f"{width:g}",
        paper_height=f"{height:g}",
        left=f"{left:.3f}",
        top=f"{top:.3f}",
        columns=grid.columns,
        rows=grid.rows,
        width=f"{grid.width:g}",
        height=f"{grid.height:g}",
        across=f"{grid.gaps[0]:g}",
        down=f"{grid.gaps[1]:g}",
        edge="0.1mm solid #999" if grid.cut else "none",
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
  grid-auto-rows: {height}mm; gap: {down}mm {across}mm; }}
.label {{ width: {width}mm; height: {height}mm; padding: {pad}mm; overflow: hidden;
  outline: {edge}; outline-offset: -0.1mm; font-size: {small}mm; line-height: {line};
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
