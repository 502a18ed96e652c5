"""Positions and texts of everything in a file, whatever the maker's editor did to it."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.notebook import nodes
from labbook.notebook.nodes import FileProblem, Node, decode, line_and_column, parse, plain


def walk(node: Node) -> Any:
    yield node
    if isinstance(node.value, dict):
        yield from node.keys.values()
        for child in node.value.values():
            yield from walk(child)
    elif isinstance(node.value, tuple):
        for child in node.value:
            yield from walk(child)


TEXT = """\
code: HC   # on the jar
title: "Hand cream"
phases:
- phase: A
  lines: {beeswax: 1.5, 'jojoba-oil': 8}
- # the water
  phase: B
  lines:
    - {ingredient: water, percent: qs}
notes: |
  Two lines,
  this is one.
aim:
"""


@pytest.mark.parametrize("bom", ["", "\ufeff"])
@pytest.mark.parametrize("eol", ["\n", "\r\n"])
def test_every_token_stands_where_its_node_says(bom: str, eol: str) -> None:
    text = bom + TEXT.replace("\n", eol)
    root = parse(text, "f")
    for node in walk(root):
        assert (node.line, node.column) == line_and_column(text, node.start)
        if isinstance(node.value, str) and node.style == "":
            assert text[node.start : node.end] == node.value
        if isinstance(node.value, str) and node.style in ("'", '"'):
            assert text[node.start : node.end] == f"{node.style}{node.value}{node.style}"
        if node.style == "flow":
            assert text[node.start] + text[node.end - 1] in ("{}", "[]")
    assert plain(root) == plain(parse(TEXT, "f"))


def test_places_are_counted_as_editors_count_them() -> None:
    root = parse("\ufeff" + TEXT.replace("\n", "\r\n"), "f")
    phases = root.value["phases"].value
    beeswax = phases[0].value["lines"].value["beeswax"]
    assert (root.value["code"].line, root.value["code"].column) == (1, 7)
    assert (beeswax.line, beeswax.column) == (5, 20)
    assert (phases[1].value["phase"].line, phases[1].value["phase"].column) == (7, 10)


def test_a_key_with_nothing_behind_it_is_absent_but_has_a_node() -> None:
    root = parse(TEXT, "f")
    assert root.value["aim"].is_empty
    assert "aim" not in plain(root)
    assert plain(parse('aim: ""\n', "f")) == {"aim": ""}


@pytest.mark.parametrize(
    "written", ["0.50", "0815", "7E12", "no", "12:30", "~", "null", "1_000", "0x1F", "2026-01-09"]
)
def test_every_scalar_is_its_text(written: str) -> None:
    assert plain(parse(f"a: {written}\nb: [{written}]\nc: {{d: {written}}}\n", "f")) == {
        "a": written, "b": [written], "c": {"d": written},
    }  # fmt: skip


def test_a_time_with_colons_may_stand_unquoted_in_a_one_line_form() -> None:
    # YAML 1.2.2, section 7.3.3, example 7.10: a colon before no space is plain text, in braces too.
    assert plain(parse("- a: 1\n".replace("- ", "") + "t: {u: 2026-01-09T14:10+01:00}\n", "f")) == {
        "a": "1", "t": {"u": "2026-01-09T14:10+01:00"},
    }  # fmt: skip


def test_both_parsers_give_the_same_tree(monkeypatch: pytest.MonkeyPatch) -> None:
    for text in (TEXT, TEXT.replace("\n", "\r\n"), "\ufeff" + TEXT):
        compiled = parse(text, "f")
        with monkeypatch.context() as patch:
            patch.setattr(nodes, "_events", nodes._pure_events)
            assert parse(text, "f") == compiled


@pytest.mark.parametrize("bomb", ["[" * 30_000, "{a: " * 30_000, "- " * 30_000, "? " * 30_000])
def test_deep_nesting_is_stopped_before_the_parser_goes_deep(bomb: str) -> None:
    with pytest.raises(FileProblem) as stopped:
        parse(f"a: 1\nb:\n  {bomb}\n", "f")
    assert [p.rule for p in stopped.value.problems] == ["too-deep"]
    assert stopped.value.problems[0].place.line == 3


def test_a_hundred_levels_are_read() -> None:
    assert parse("a: " + "[" * 99 + "]" * 99, "f")
    with pytest.raises(FileProblem):
        parse("a: " + "[" * 100 + "]" * 100, "f")


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused_with_a_place(raw: bytes) -> None:
    try:
        parse(decode(raw, "f"), "f")
    except FileProblem as refused:
        assert refused.problems
        for problem in refused.problems:
            assert problem.place.path == "f"
            assert problem.what


YAMLISH = st.text(alphabet=" \n\t:-#{}[],&*!|>'\"%@`abc019.é", max_size=60)


@given(YAMLISH)
def test_any_text_is_read_or_refused_at_a_line_that_exists(text: str) -> None:
    try:
        root = parse(text, "f")
    except FileProblem as refused:
        for problem in refused.problems:
            assert 1 <= problem.place.line <= text.count("\n") + 1
            assert problem.place.column >= 1
            assert problem.what
        return
    for node in walk(root):
        assert 0 <= node.start <= node.end <= len(text)


def test_a_file_problem_reads_as_one_error_of_a_command() -> None:
    with pytest.raises(FileProblem) as refused:
        parse("a: 1\na: 2\n", "formulas/HC.yaml")
    assert refused.value.where == "formulas/HC.yaml:2:1"
    assert refused.value.what == "a stands here a second time, after line 1"
