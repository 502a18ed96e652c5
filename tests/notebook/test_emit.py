"""What a command writes is read back the same, by this program and by any other YAML reader."""

from __future__ import annotations

import importlib
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from labbook.model.errors import NotAllowed
from labbook.model.kinds import KINDS
from labbook.model.quantities import Quantity
from labbook.notebook.emit import Word, data_of, document, flow
from labbook.notebook.nodes import decode, parse, plain
from labbook.notebook.shapes import shape_of
from labbook.notebook.shaping import Shaping
from labbook.notebook.values import validated
from tests.records import records

YAML_1_1: Any = importlib.import_module("yaml")  # PyYAML, a reader of YAML 1.1

ODD = ["no", "0815", "7E12", "1_000", "12:30", "~", "=", "<<", " x", "x ", "#x", "a: b", "a #b",
       "- x", "&x", "*x", "!x", "%x", "@x", "`x", "'x'", '"x"', "\\", "\n", "a\n", "a\n\nb\n\n",
       " a\nb", "\ta\nb", "\r\n", "\x00", "\x7f", "\x85", "\u2028", "\ufeff", "é", "😀",
       "2026-01-09", "0x1F", "1e5", ".inf", "null", "Y", "{}", "[]", "?", "|", ">", "---", "...",
       "a\n---\nb"]  # fmt: skip


def odd(test: Any) -> Any:
    for text in ODD:
        test = example(text)(test)
    return test


@odd
@given(st.text())
def test_a_text_comes_back_the_same(text: str) -> None:
    for written in (
        document({"key": text}),
        document({"key": [text]}),
        document({"k": {"key": text}}),
    ):
        found = plain(parse(decode(written.encode(), ""), ""))
        assert text in (found.get("key"), *found.get("key", ()), found.get("k", {}).get("key"))


@odd
@given(st.text())
def test_a_reader_of_yaml_1_1_gets_the_same_text(text: str) -> None:
    assert YAML_1_1.safe_load(document({"key": text})) == {"key": text}
    assert YAML_1_1.safe_load(flow([text, {"key": text}])) == [text, {"key": text}]


@odd
@given(st.text())
def test_a_word_is_text_for_every_reader(text: str) -> None:
    written = document(
        {"key": Word(text), "keys": {text: Word(text)}} if text else {"key": Word(text)}
    )
    ours = parse(written, "").value["key"].value
    assert ours == text
    assert YAML_1_1.safe_load(written)["key"] == text


@pytest.mark.parametrize("name", KINDS)
@given(data=st.data())
@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
def test_a_record_of_every_kind_comes_back_from_its_file(name: str, data: st.DataObject) -> None:
    kind = KINDS[name]
    record = data.draw(records(kind.record))
    shaping = Shaping("file")
    text = document(record, head=("first", "second"))
    found, problems = validated(kind, shaping.data(parse(text, ""), shape_of(kind.record)), shaping)
    assert (found, problems, shaping.problems) == (record, [], [])


def test_one_line_form_of_each_kind_of_value() -> None:
    value = {
        "word": Word("leave-on"),
        "text": "pH 5",
        "number": Decimal("0.50"),
        "tiny": Decimal("1E-7"),
        "whole": 3,
        "yes": True,
        "size": Quantity(Decimal("100"), "g"),
        "heat": Quantity(Decimal("72"), "°C"),
        "day": date(2026, 1, 9),
        "time": datetime(2026, 1, 9, 14, 10, tzinfo=UTC),
        "nothing": None,
        "list": [Word("a"), "b"],
        "then mix": {"Y": Decimal(1)},
    }
    assert flow(value) == (
        '{word: leave-on, text: "pH 5", number: 0.50, tiny: 0.0000001, whole: 3, "yes": yes, '
        'size: 100 g, heat: 72 °C, day: 2026-01-09, time: "2026-01-09T14:10+00:00", '
        'list: [a, "b"], then mix: {"Y": 1}}'
    )


def test_a_new_file_is_laid_out_for_reading_and_for_merging() -> None:
    data = {
        "code": Word("HC"),
        "notes": "Two lines,\nof which this is one.\n",
        "phases": [
            {
                "phase": Word("A"),
                "lines": [{"ingredient": Word("beeswax"), "percent": Decimal("1.5")}],
            },
            {"phase": Word("B"), "lines": [{"ingredient": Word("water"), "percent": Word("qs")}]},
        ],
        "targets": [{"of": "water phase", "reading": "pH"}],
        "looks": [],
    }
    assert document(data, head=["invented"]) == (
        "# invented\n"
        "code: HC\n"
        "notes: |\n"
        "  Two lines,\n"
        "  of which this is one.\n"
        "phases:\n"
        "  - phase: A\n"
        "    lines:\n"
        "      - {ingredient: beeswax, percent: 1.5}\n"
        "  - phase: B\n"
        "    lines:\n"
        "      - {ingredient: water, percent: qs}\n"
        "targets:\n"
        '  - {of: "water phase", reading: "pH"}\n'
        "looks: []\n"
    )


def test_absent_fields_leave_no_key() -> None:
    lot = KINDS["lot"].record(id="l-1", ingredient="jojoba-oil")
    assert data_of(lot) == {"id": "l-1", "ingredient": "jojoba-oil"}
    assert document(lot) == 'id: "l-1"\ningredient: jojoba-oil\n'


def test_bytes_that_are_no_characters_are_refused_with_a_sentence() -> None:
    with pytest.raises(NotAllowed, match="no characters"):
        flow("half a pair: \ud800")
