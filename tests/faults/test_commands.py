"""Each place that records is met by the faults, or writes as one that is."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import labbook
from tests.faults.commands import COMMANDS

MET = {
    "work/close:close": "close",
    "work/correct:as_it_was_closed": "as closed",
    "work/correct:correct": "correct",
    "work/correct:drop": "drop",
    "work/formulas:write_formula": "formula",
    "work/init:start": "init",
    "work/instruments:calibrate_meter": "calibrate",
    "work/journal:_marked": "public",
    "work/journal:new_entry": "journal",
    "work/look:look": "look",
    "work/look_later:correct_look": "look corrected",
    "work/look_later:move": "look moved",
    "work/look_later:set_done": "look done",
    "work/make:open_batch": "make",
    "work/materials:add_equipment": "equipment",
    "work/materials:add_lot": "lot",
    "work/materials:new_sheets": "ingredient",
    "work/materials:use_up": "use up",
    "work/note:note": "note",
    "work/note_later:note_later": "note later",
    "work/photos:note_photos": "photo",
    "work/reaction:react": "reaction",
    "work/save:restore": "restore",
    "work/save:save": "save",
    "work/save:undo": "undo",
    "work/sheet_in:take_in": "sheet",
    "work/stability_plan:change_plan": "plan",
    "work/syncing:sync": "sync",
    "work/weigh:weigh": "weigh",
}
"""Where something is recorded, and the command of the faults that passes there."""

ALIKE = {
    "cli/bench:weigh_at_the_bench": "the session of `weigh`, an entry at a time",
    "cli/phone:serve_to_phone": "the session of `weigh`, an entry at a time",
    "cli/walk:walk": "the session of `weigh`, an entry at a time",
    "work/bench:record": "what all of them call",
    "work/bench:session": "what all of them call",
    "work/check:accept": "one value in one file, as `journal public`",
    "work/instruments:check_balance": "one entry in one file, as `equipment calibrate`",
    "work/materials:add_calibration": "one entry in one file, as `equipment calibrate`",
    "work/mending:mend": "files one by one, each whole, in the working tree alone",
    "work/sheet_in:write": "within `take_in`",
}
"""Where something is recorded by the path of another command, and why that is the same."""

RECORDS = {"bench.record", "record", "bench.session", "Session", "desk.exchange", "write_file"}


def places() -> Iterator[str]:
    """The functions of the program that record or write a file of a notebook."""
    package = Path(labbook.__file__).parent
    for room in ("work", "cli"):
        for path in sorted((package / room).glob("*.py")):
            module = ast.parse(path.read_text(encoding="utf-8"))
            drawn = {
                name.asname or name.name
                for node in ast.walk(module)
                if isinstance(node, ast.ImportFrom) and "labbook.notebook" in (node.module or "")
                for name in node.names
            }
            for function in ast.walk(module):
                if isinstance(function, ast.FunctionDef) and _records(function, drawn):
                    yield f"{room}/{path.stem}:{function.name}"


def _records(function: ast.FunctionDef, drawn: set[str]) -> bool:
    called = {ast.unparse(node.func) for node in ast.walk(function) if isinstance(node, ast.Call)}
    return any(name in RECORDS and ("." in name or name in drawn) for name in called)


def test_every_place_that_records_is_met_or_like_one_that_is() -> None:
    assert sorted(set(places())) == sorted({*MET, *ALIKE})
    assert set(MET.values()) <= set(COMMANDS)
