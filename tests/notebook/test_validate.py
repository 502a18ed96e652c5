"""Reading a whole file: records, places, rules between lines, and what the cache keeps."""

from __future__ import annotations

import json
import re
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.kinds import CLOSED_RECORDS, KINDS
from labbook.model.problems import Place, Severity
from labbook.notebook.keys import distance, nearest
from labbook.notebook.schema import schemas
from labbook.notebook.shapes import shape_of
from labbook.notebook.validate import ReadFile, about_of, read_file
from tests.notebook.hand_edits import FORMULA, PATH

BATCH_PATH = "batches/2026/HC-260109-4M/batch.yaml"
BATCH = """\
id: HC-260109-4M
state: open
made: 2026-01-09T14:10+01:00
formula: {code: HC, id: "f-3k8dqa", version: 3, digest: "4f0c", blob: "9d1e"}
size: 100 g
lines:
  - {id: "l1", phase: A, ingredient: beeswax, sheet: beeswax, percent: 1.50, target: 1.50 g}
  - {id: "l2", phase: B, ingredient: water, sheet: water, qs: yes, target: 98.50 g}
steps:
  - {id: "s1", plan: {id: "s1", do: heat, set: {A: 72 °C}}}
weighings:
  - {id: "w1", line: "l1", mass: 1.51 g}
readings:
  - {id: "r1", reading: "pH", value: 4.9, step: "s1"}
"""


def rules(found: ReadFile) -> list[tuple[str, int, int]]:
    return [(p.rule, p.place.line, p.place.column) for p in found.problems]


def batch(old: str = "", new: str = "", path: str = BATCH_PATH) -> ReadFile:
    assert old in BATCH
    return read_file(BATCH.replace(old, new, 1).encode(), path)


def test_a_batch_without_slips() -> None:
    found = batch()
    assert found.problems == ()
    assert found.record is not None
    assert found.record.weighings[0].mass.unit == "g"


# Places ----------------------------------------------------------------------------------------


def test_places_go_by_the_long_form_whatever_the_file_uses() -> None:
    found = read_file(FORMULA.encode(), PATH)
    assert found.place("phases", 0, "lines", 2, "percent") == Place(PATH, 12, 16)
    assert found.place("phases", 0, "lines", 2, "ingredient") == Place(PATH, 12, 7)
    assert found.place("phases", 1, "lines", 2, "percent") == Place(PATH, 18, 48)
    assert found.place("method", 0, "set", "B") == Place(PATH, 20, 43)


def test_a_field_is_found_by_its_key_or_its_name() -> None:
    found = read_file(FORMULA.encode(), PATH)
    assert found.place("batch size") == found.place("batch_size") == Place(PATH, 5, 13)
    assert found.place("targets", 0, "from_") == Place(PATH, 23, 42)


def test_what_is_absent_stands_where_it_would_be() -> None:
    found = read_file(FORMULA.encode(), PATH)
    assert found.place("phases", 1, "lines", 1, "role") == Place(PATH, 17, 9)
    assert found.place("acceptance", 3, "until") == Place(PATH, 1, 1)
    assert read_file(b"", PATH).place("title") == Place(PATH)


# Rules between lines ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('line: "l1"', 'line: "l7"', ("unknown-line", 12, 22)),
        ('step: "s1"', 'step: "s7"', ("unknown-step", 14, 49)),
        ('line: "l1", ', "", ("weighing-of-nothing", 12, 5)),
        ('"l2"', '"l1"', ("id-twice", 8, 10)),
        ("state: open", "state: closed", ("closed-without-time", 2, 8)),
        ("size: 100 g", "size: 100 g\nclosed: 2026-01-09", ("closed-but-open", 6, 9)),
        ("id: HC-260109-4M", "id: HC-260109-K7", ("name-of-file", 1, 5)),
        ("id: HC-260109-4M", "id: HC-2026", ("batch-id", 1, 5)),
    ],
)
def test_a_batch_whose_lines_dont_fit_together(
    old: str, new: str, expected: tuple[str, int, int]
) -> None:
    found = batch(old, new)
    assert rules(found) == [expected]
    assert found.record is None
    assert found.problems[0].mend
    assert found.problems[0].about == "HC-260109-4M"


def test_a_batch_in_the_folder_of_another_year() -> None:
    found = batch(path="batches/2025/HC-260109-4M/batch.yaml")
    assert rules(found) == [("name-of-file", 1, 5)]
    assert found.problems[0].mend == "Move the folder to batches/2026/."


@pytest.mark.parametrize("kind", ["jars", "stability"])
def test_jars_and_looks_belong_to_the_batch_of_their_folder(kind: str) -> None:
    path = f"batches/2026/HC-260109-4M/{kind}.yaml"
    assert read_file(b"batch: HC-260109-4M\n", path).problems == ()
    assert rules(read_file(b"batch: HC-260109-K7\n", path)) == [("name-of-file", 1, 8)]


def test_a_file_name_that_no_line_could_name() -> None:
    found = read_file(b"id: shea-butter\n", "ingredients/shea butter.yaml")
    assert [p.rule for p in found.problems] == ["name-of-file"]


def test_a_path_that_is_no_file_of_a_notebook() -> None:
    found = read_file(b"a: 1\n", "notes/x.yaml")
    assert (found.kind, found.record) == ("", None)
    assert [p.rule for p in found.problems] == ["unknown-file"]


def test_an_active_percent_or_an_adjustment_stands_for_the_percent() -> None:
    for instead in ('adjust: "pH to 5"', "active percent: 0.4"):
        text = FORMULA.replace("glycerin, percent: 4", f"glycerin, {instead}")
        assert read_file(text.encode(), PATH).problems == ()


def test_rules_between_lines_are_told_beside_wrong_values() -> None:
    text = BATCH.replace("mass: 1.51 g", "mass: 1,51 g").replace('step: "s1"', 'step: "s9"')
    assert rules(read_file(text.encode(), BATCH_PATH)) == [
        ("decimal-comma", 12, 34),
        ("unknown-step", 14, 49),
    ]


# Keys ------------------------------------------------------------------------------------------


def test_closed_records_are_those_of_the_format() -> None:
    assert {record.__name__ for record in CLOSED_RECORDS} == {
        "Line", "Phase", "Step", "Target", "Limit", "BatchLine", "BatchStep", "Done", "Weighing",
        "Reading", "Deviation", "Remark", "Jar", "JarDone", "Stay", "Look", "Photo",
        "Reaction", "BufferPoint",
        "LegalLimit", "BadPair", "CheckRule", "CauseRule", "Selector",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("one", "other", "letters"),
    [
        # Damerau 1964 names the four slips: one letter wrong, missing, too many, or two swapped.
        ("percent", "pircent", 1),
        ("percent", "percnt", 1),
        ("percent", "peercent", 1),
        ("percent", "pecrent", 1),
        ("", "abc", 3),
        ("kitten", "sitting", 3),  # the usual textbook example, from memory
        ("ca", "abc", 3),  # restricted form: no letter is touched twice
    ],
)
def test_distance(one: str, other: str, letters: int) -> None:
    assert distance(one, other) == letters


@given(st.text(max_size=8), st.text(max_size=8))
def test_distance_is_symmetric_and_zero_only_for_equals(one: str, other: str) -> None:
    assert distance(one, other) == distance(other, one)
    assert (distance(one, other) == 0) == (one == other)
    assert distance(one, other) <= max(len(one), len(other))


def test_short_keys_are_not_guessed() -> None:
    assert nearest("if", ["of", "do", "to"]) is None
    assert nearest("tile", ["title", "notes"]) == "title"


def test_no_known_key_looks_like_a_slip_of_its_neighbour() -> None:
    # `note` and `notes` may be each other's slip only where one of them is no key.
    for kind in KINDS.values():
        assert "note" not in shape_of(kind.record).keys or "notes" not in shape_of(kind.record).keys


# The cache, and what is imported ---------------------------------------------------------------


@pytest.mark.parametrize("text", [FORMULA, FORMULA.replace("1.5", "1,5"), "", "a: [\n"])
def test_a_file_as_read_survives_the_cache(text: str) -> None:
    found = read_file(text.encode(), PATH)
    assert ReadFile.from_json(json.loads(json.dumps(found.as_json()))) == found


def test_what_comes_from_the_cache_needs_neither_pydantic_nor_yaml() -> None:
    stored = json.dumps(read_file(FORMULA.encode(), PATH).as_json())
    program = (
        "import json, sys\n"
        "from labbook.notebook.readfile import ReadFile\n"
        "found = ReadFile.from_json(json.load(sys.stdin))\n"
        "assert found.record.code == 'HC'\n"
        "print([m for m in ('pydantic', 'ruamel.yaml') if m in sys.modules])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], input=stored, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_about() -> None:
    assert about_of("notebook", "labbook.yaml") == ""
    assert about_of("lot", "lots/a.yaml") == "a"
    assert about_of("jars", "batches/2026/HC-260109-4M/jars.yaml") == "HC-260109-4M"


@given(st.binary(max_size=200))
def test_reading_never_raises(raw: bytes) -> None:
    for path in (PATH, BATCH_PATH, "labbook.yaml"):
        found = read_file(raw, path)
        assert (found.record is None) == any(p.severity is Severity.ERROR for p in found.problems)


# Schemas ---------------------------------------------------------------------------------------


def test_there_is_a_schema_for_each_kind_with_every_key() -> None:
    made = schemas()
    assert set(made) == {f"{kind}.json" for kind in KINDS}
    for name, kind in KINDS.items():
        schema = json.loads(made[f"{name}.json"])
        assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
        assert set(schema["properties"]) == set(shape_of(kind.record).keys)
        assert set(schema.get("required", ())) == shape_of(kind.record).required


def test_schemas_close_the_same_records_and_know_the_short_forms() -> None:
    schema = json.loads(schemas()["formula.json"])
    closed = {name for name, one in schema["$defs"].items() if not one["additionalProperties"]}
    assert closed == {"Line", "Phase", "Step", "Target", "Limit"}
    assert schema["additionalProperties"] is True
    lines = schema["$defs"]["Phase"]["properties"]["lines"]["anyOf"]
    assert {one["type"] for one in lines} == {"array", "object", "null"}


@pytest.mark.parametrize("instead", ["{a: b}", "[a]", "[[1]]", '""', "{}"])
def test_an_id_that_is_no_text_is_a_problem_wherever_it_stands(instead: str) -> None:
    """Every `id:` of a whole batch and formula in turn gives way to a list, keys, or nothing."""
    for path, text in ((BATCH_PATH, BATCH), (PATH, FORMULA)):
        for found in re.finditer(r"\bid: (\"[^\"]*\"|[^\s,}]+)", text):
            changed = text[: found.start(1)] + instead + text[found.end(1) :]
            assert read_file(changed.encode(), path).problems, changed
