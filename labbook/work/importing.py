"""`formula import FILE`: a maker's table, shown as a formula, and written once it is confirmed."""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import Callable
from dataclasses import replace
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import Any, cast

from labbook.model.errors import NotAllowed, Unclear
from labbook.model.fields import QS
from labbook.model.formula import EMULSIONS, USES
from labbook.model.ids import new_permanent_id
from labbook.model.quantities import parse_quantity
from labbook.model.results.importing import Imported, Named, SheetLine, SheetRead
from labbook.model.sheets import Sheets, fold
from labbook.rules.starters import starter_named, starter_names, starter_text
from labbook.trade.sheet_amounts import Sign, normal
from labbook.trade.sheet_reading import Wish, read_sheet
from labbook.work.bench import Bench
from labbook.work.formulas import new_code, write_formula

LONGEST_NAME = 100
_BRACKETS = re.compile(r"\s*[(\[]([^()\[\]]*)[)\]]")
_MATTERS = re.compile(r"[0-9%]|solution|dilut|hydr|anhyd|acid|salt|powder|flakes?", re.I)


def read_table(
    bench: Bench,
    file: Path,
    *,
    sheet: str = "",
    code: str = "",
    title: str = "",
    emulsion: str = "",
    use: str = "",
    decimal: str = "",
    parts: bool = False,
    end: str = "",
) -> Imported:
    """What a file would become; nothing is written.

    Raises:
        Unreadable: the file can't be read as a table.
        Unclear: a word that is none of those on offer, or no such sheet.
    """
    from labbook.notebook.spreadsheet import read_grid

    _one_of("--type", emulsion, EMULSIONS)
    _one_of("--use", use, USES)
    _one_of("--decimal", decimal, ("point", "comma"))
    _one_of("--range", end, ("low", "middle", "high"))
    code = new_code(code) if code else ""
    wish = Wish(cast("Sign", decimal), parts, cast("Any", end))
    found = read_sheet(read_grid(file, sheet=sheet), namer(bench.snapshot.sheets), wish)
    read = replace(found, title=title or found.title, emulsion=emulsion or found.emulsion)
    words = ["labbook", "formula", "import", str(file)]
    words += ["--sheet", sheet] if sheet else []
    words += ["--as", code or "CODE"]
    words += ["--type", read.emulsion or "KIND"]
    more = {"--title": title, "--use": use, "--decimal": decimal, "--range": end}
    for option, value in more.items():
        words += [option, value] if value else []
    words += ["--parts"] if parts else []
    ready = bool(code and read.emulsion) and not read.unclear
    return Imported(read=read, command=f"{shlex.join(words)} --yes", ready=ready)


def _one_of(option: str, word: str, words: tuple[str, ...]) -> None:
    if word and word not in words:
        raise Unclear(f"{option} {word}?", mend=f"One of: {', '.join(words)}")


def write_table(bench: Bench, found: Imported, *, code: str, use: str = "") -> Imported:
    """Writes what was shown as a new formula, in one commit.

    Raises:
        NotAllowed: something in the table can be read in two ways, or the code is taken.
        Unclear: no code, or no emulsion type.
    """
    from labbook.notebook.emit import document
    from labbook.notebook.schema import schema_line

    read = found.read
    if read.unclear:
        where = [f"row {one.row}: {one.text}" if one.row else one.text for one in read.unclear]
        raise NotAllowed(
            f"{read.file} can't be written as a formula yet.", mend="\n".join(where[:8])
        )
    if not code or not read.emulsion:
        raise Unclear(
            "A formula needs a code and an emulsion type.",
            mend=f"{found.command}\nKIND is one of: {', '.join(EMULSIONS)}",
        )
    chosen = new_code(code)
    title = read.title or f"From {read.file}"
    data = formula_data(read, chosen, title, new_permanent_id("f", bench.random), use)
    text = document(data, head=(schema_line("formula", 1),))
    _readable(chosen, text)
    written = write_formula(
        bench,
        chosen,
        title,
        text,
        message=f"Start {chosen}: {title}, from {read.file}",
        command="formula import",
    )
    return replace(found, written=written)


def _readable(code: str, text: str) -> None:
    """Refuses a text that the notebook itself couldn't read back."""
    from labbook.notebook.snapshot import read_bytes

    held = read_bytes(f"formulas/{code}.yaml", text.encode("utf-8"))
    if held.record is None:
        first = next(iter(held.problems), None)
        raise NotAllowed(
            f"The formula can't be written: {first.what if first else 'it has no meaning'}.",
            mend="Mend the table and import it again.",
        )


def formula_data(read: SheetRead, code: str, title: str, id_: str, use: str) -> dict[str, Any]:
    """The keys of the formula's file."""
    from labbook.notebook.emit import Word

    phases = []
    for letter, name in read.phases:
        own = [line for line in read.lines if line.phase == letter]
        if own:
            head = {"phase": Word(letter), "name": name or None}
            phases.append({**head, "lines": [_line(line) for line in own]})
    return {
        "code": Word(code),
        "title": title,
        "id": id_,
        "version": 0,
        "emulsion": Word(read.emulsion),
        "use": Word(use) if use else None,
        "batch size": parse_quantity(read.size, "mass") if read.size else None,
        "phases": phases,
        "notes": "\n".join(read.kept) + "\n" if read.kept else None,
    }


def _line(line: SheetLine) -> dict[str, Any]:
    from labbook.notebook.emit import Word

    return {
        "ingredient": Word(line.named.ingredient),
        "percent": QS if line.qs else line.percent,
        "adjust": line.adjust or None,
        "role": line.role or None,
        "note": line.note or None,
    }


# Names --------------------------------------------------------------------------------------------


def namer(sheets: Sheets) -> Callable[[str, str], Named]:
    """What a table's names mean: a sheet of the notebook, a starter sheet, or a name of its own."""
    by_inci = _by_inci(sheets)

    @cache
    def name(written: str, inci: str) -> Named:
        plain = normal(written)
        for tried, said in _tries(plain):
            found = _known(tried, sheets)
            if found:
                return Named(ingredient=found[0], known=found[1], said=_told(plain, found[0], said))
        for label in dict.fromkeys(filter(None, (normal(inci), plain))):
            found = by_inci.get(fold(label), ("", ""))
            if found[0]:
                by_inci_name = f"{plain} taken as {found[0]}, by the INCI name"
                return Named(ingredient=found[0], known=found[1], said=by_inci_name)
        own = _as_name(plain)
        return Named(ingredient=own, near=_near(own, sheets))

    return name


def _tries(plain: str) -> list[tuple[str, bool]]:
    """Spellings of a name, and whether words of it were left out; none that change what it is."""
    found = [(plain, False), (plain.replace("%", " percent"), False)]
    inside = _BRACKETS.findall(plain)
    if inside and not any(_MATTERS.search(words) for words in inside):
        found.append((_BRACKETS.sub("", plain), True))
        found += [(words, True) for words in inside]
    return found


def _known(name: str, sheets: Sheets) -> tuple[str, Any] | None:
    if not fold(name):
        return None
    sheet = sheets.find(name)
    if sheet is not None:
        return sheets.name_of(sheet.id), "sheet"
    starter = starter_named(name)
    return (starter, "starter") if starter else None


def _told(plain: str, name: str, left_out: bool) -> str:
    if fold(plain) == fold(name):
        return ""
    return f"{plain} taken as {name}" + (", its brackets left out" if left_out else "")


def _by_inci(sheets: Sheets) -> dict[str, tuple[str, Any]]:
    """Sheets by the INCI name that is theirs alone."""
    found: dict[str, set[tuple[str, str]]] = {}
    for file, sheet in sheets.by_file.items():
        if sheet.inci:
            found.setdefault(fold(sheet.inci), set()).add((file, "sheet"))
    for inci, names in _starters_by_inci().items():
        missing = {(one, "starter") for one in names if sheets.find(one) is None}
        if missing:
            found.setdefault(inci, set()).update(missing)
    return {inci: next(iter(names)) for inci, names in found.items() if len(names) == 1}


@cache
def _starters_by_inci() -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name in starter_names():
        for line in (starter_text(name) or "").splitlines():
            if line.startswith("inci: "):
                inci: str = json.loads(line.removeprefix("inci: "))
                found.setdefault(fold(inci), []).append(name)
    return found


def _as_name(plain: str) -> str:
    """A name as files take it: `Shea butter, raw` is `shea-butter-raw`; empty where none is."""
    own = fold(plain.replace("%", " percent"))[:LONGEST_NAME].strip("-")
    return own if re.fullmatch(r"[^\W_][\w.+-]*", own) else ""


def _near(name: str, sheets: Sheets) -> tuple[str, ...]:
    known = [*sheets.names(), *starter_names()]
    return tuple(dict.fromkeys(get_close_matches(name, known, n=3, cutoff=0.75)))
