"""What becomes of a file that a hand changed: the right value, or the right line and how to mend.

Each row is one kind of edit. An edit that YAML takes in stride has to be taken in stride; one that
YAML would silently turn into something else has to be named, with its place.
"""

from __future__ import annotations

import re
from typing import Any

import pytest

from labbook.model.fields import QS
from labbook.notebook.edit import set_value
from labbook.notebook.emit import Word
from labbook.notebook.nodes import decode, parse
from labbook.notebook.spans import written
from labbook.notebook.validate import ReadFile, read_file
from tests.notebook.hand_edits import FORMULA, LOT, LOT_PATH, PATH, TAKEN, WARNED, Edit
from tests.notebook.hand_mistakes import MISTAKES
from tests.notebook.hand_slips import SLIPS

REFUSED = [*SLIPS, *MISTAKES]


def read(edit: Edit) -> ReadFile:
    text = edit.change(LOT if edit.path == LOT_PATH else FORMULA)
    return read_file(text if isinstance(text, bytes) else text.encode(), edit.path)


def said(found: ReadFile) -> tuple[str, ...]:
    return tuple(
        f"{p.severity.value} {p.place.line}:{p.place.column} {p.rule}" for p in found.problems
    )


def value_at(record: Any, where: str) -> str:
    """`A/beeswax` is the percent of a line, anything else a field by its steps."""
    first, *rest = where.split("/")
    if first in ("A", "B"):
        lines = [line for p in record.phases if p.phase == first for line in p.lines]
        found: Any = next((li.percent for li in lines if li.ingredient == rest[0]), None)
    else:
        found = getattr(record, first)
        for step in rest:
            found = (
                found[int(step)]
                if step.isdigit()
                else (found[step] if isinstance(found, dict) else getattr(found, step))
            )
    if found is None:
        return "absent"
    return "qs" if found is QS else str(found)


def ids(edits: list[Edit]) -> list[str]:
    return [edit.name for edit in edits]


def test_the_file_before_any_edit_is_fine() -> None:
    assert read_file(FORMULA.encode(), PATH).problems == ()
    assert read_file(LOT.encode(), LOT_PATH).problems == ()


@pytest.mark.parametrize("edit", TAKEN, ids=ids(TAKEN))
def test_taken_in_stride(edit: Edit) -> None:
    found = read(edit)
    assert found.problems == ()
    for where, expected in edit.gives:
        assert value_at(found.record, where) == expected


@pytest.mark.parametrize("edit", WARNED, ids=ids(WARNED))
def test_taken_with_a_warning(edit: Edit) -> None:
    found = read(edit)
    assert said(found) == edit.says
    for where, expected in edit.gives:
        assert value_at(found.record, where) == expected


@pytest.mark.parametrize("edit", REFUSED, ids=ids(REFUSED))
def test_named_with_its_place(edit: Edit) -> None:
    found = read(edit)
    assert said(found) == edit.says
    assert found.record is None
    for problem in found.problems:
        assert problem.place.path == edit.path
        assert problem.about == ("jojoba-a" if edit.path == LOT_PATH else "HC")


GOLDEN = [edit for edit in (*WARNED, *REFUSED) if edit.message]


@pytest.mark.parametrize("edit", GOLDEN, ids=ids(GOLDEN))
def test_the_whole_message(edit: Edit) -> None:
    problem = read(edit).problems[0]
    assert f"{problem.what} | {problem.mend}" == edit.message


def test_every_message_has_the_tone_of_a_colleague() -> None:
    for edit in (*WARNED, *REFUSED):
        for problem in read(edit).problems:
            text = re.sub(r'"[^"]*"', "", f"{problem.what} {problem.mend}".lower())
            assert not any(word in text for word in ("please", "successfully", "invalid", "error"))
            assert "!" not in text.replace("! makes", "").replace("the ! out", "")
            assert not problem.what.endswith(".")


CHANGED = [edit for edit in (*TAKEN, *WARNED) if edit.path == PATH]


@pytest.mark.parametrize("edit", CHANGED, ids=ids(CHANGED))
def test_a_command_changes_one_line_of_whatever_the_hand_left(edit: Edit) -> None:
    made = edit.change(FORMULA)
    text = made if isinstance(made, str) else decode(made, PATH)
    new = set_value(text, ("emulsion",), Word("oil-in-water"))
    before, after = text.split("\n"), new.split("\n")
    differing = [n for n, (a, b) in enumerate(zip(before, after, strict=True)) if a != b]
    assert len(differing) == 1
    assert after[differing[0]].rstrip("\r") == "emulsion: oil-in-water"
    meant = written(parse(text, PATH)) | {"emulsion": "oil-in-water"}
    assert written(parse(new, PATH)) == meant


def test_a_newer_format_is_refused_before_anything_else() -> None:
    found = read_file(b"format: 2\nwhatever: [\nis: new}\n", "labbook.yaml")
    assert said(found) == ("error 2:11 yaml-syntax",)
    found = read_file(b"title: x\nformat: 2\nnew key: [1, 2]\n", "labbook.yaml")
    assert said(found) == ("error 2:9 newer-format",)
    problem = found.problems[0]
    assert problem.what == "the notebook has format 2; this labbook reads up to 1"
    assert problem.mend == "Install a newer one: pip install --upgrade emulsion-labbook"
    found = read_file(FORMULA.encode(), PATH, format_of=2)
    assert said(found) == ("error 0:0 newer-format",)
