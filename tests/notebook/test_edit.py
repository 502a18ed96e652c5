"""Edits by position: one change, and every other byte stays as the maker's editor left it."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from labbook.model.errors import Unreadable
from labbook.notebook.edit import append, put, remove, set_value
from labbook.notebook.emit import Word
from labbook.notebook.nodes import parse, plain
from labbook.notebook.spans import written
from tests.notebook.files_by_hand import ALL, FILES, TEXTS


def paths(data: Any, here: tuple[str | int, ...] = ()) -> Any:
    """Every path in a file, to groups and to single values."""
    if isinstance(data, dict | list):
        steps = data.items() if isinstance(data, dict) else enumerate(data)
        for step, inner in steps:
            yield (*here, step)
            yield from paths(inner, (*here, step))


def scalars(text: str) -> list[tuple[str | int, ...]]:
    data = written(parse(text, ""))
    return [path for path in paths(data) if isinstance(at(data, path), str)]


def at(data: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        data = data[step]
    return data


VALUES = st.one_of(
    st.text(max_size=20),
    st.text(alphabet="ab \n'\"#:{}", max_size=12),
    st.from_regex(r"[a-z]{1,8}", fullmatch=True).map(Word),
    st.decimals(0, 100, places=2, allow_nan=False),
)


def changed_lines(old: str, new: str) -> list[int]:
    before, after = old.split("\n"), new.split("\n")
    assert len(before) == len(after)
    return [number for number, (a, b) in enumerate(zip(before, after, strict=True)) if a != b]


@given(text=st.sampled_from(TEXTS), data=st.data())
@settings(max_examples=300)
def test_setting_a_value_changes_its_line_and_no_other(text: str, data: st.DataObject) -> None:
    single = [
        path
        for path in scalars(text)
        if (node := parse_at(text, path)).style not in ("|", ">")
        and "\n" not in text[node.start : node.end]
    ]
    path = data.draw(st.sampled_from(single))
    value = data.draw(VALUES.filter(lambda v: "\n" not in str(v)))
    new = set_value(text, path, value)
    line = parse_at(text, path).line - 1
    assert set(changed_lines(text, new)) <= {line}
    node, lines = parse_at(text, path), text.split("\n")
    before = lines[line][: node.column - 1 + (line == 0 and text.startswith("\ufeff"))]
    assert new.split("\n")[line].startswith(before)
    for ending in ("\r", ""):
        if lines[line].endswith(ending):
            assert new.split("\n")[line].endswith(ending)
            break


def parse_at(text: str, path: tuple[str | int, ...]) -> Any:
    node = parse(text, "")
    for step in path:
        node = node.value[step]
    return node


@given(text=st.sampled_from(TEXTS), data=st.data())
@settings(max_examples=300)
def test_setting_any_value_reads_back_as_just_that_change(text: str, data: st.DataObject) -> None:
    path = data.draw(st.sampled_from(scalars(text)))
    value = data.draw(VALUES)
    meant = written(parse(text, ""))
    at(meant, path[:-1])[path[-1]] = str(value)
    assert written(parse(set_value(text, path, value), "")) == meant


@pytest.mark.parametrize("text", ALL)
def test_setting_a_value_to_what_it_is_changes_nothing(text: str) -> None:
    for path in scalars(text):
        node = parse_at(text, path)
        if node.style in ("|", ">") or node.is_empty:
            continue
        assert set_value(text, path, Word(node.value)) == text


@pytest.mark.parametrize("text", ALL)
def test_every_key_and_entry_can_be_taken_out(text: str) -> None:
    for path in paths(written(parse(text, ""))):
        meant = written(parse(text, ""))
        holder = at(meant, path[:-1])
        del holder[path[-1]]
        new = remove(text, path)
        assert written(parse(new, "")) == meant
        added = Counter(lines_of(new)) - Counter(lines_of(text))
        assert added.total() <= 1, f"{path}: {added}"


def lines_of(text: str) -> list[str]:
    return text.removeprefix("\ufeff").splitlines()


@given(text=st.sampled_from(TEXTS), value=VALUES)
@example(text=TEXTS[0], value="two\nlines\n")
@settings(max_examples=150)
def test_a_new_key_goes_to_the_end_of_any_mapping(text: str, value: Any) -> None:
    data = written(parse(text, ""))
    for path in [(), *paths(data)]:
        if not isinstance(at(data, path), dict):
            continue
        meant = written(parse(text, ""))
        at(meant, path)["new key"] = str(value)
        new = put(text, (*path, "new key"), value)
        assert written(parse(new, "")) == meant
        assert list(at(written(parse(new, "")), path))[-1] == "new key"


@pytest.mark.parametrize("text", ALL)
def test_an_entry_goes_to_the_end_of_any_list(text: str) -> None:
    entry = {"id": "x9", "at": Decimal("1.50"), "note": "a: {b}, 'c' # d\ne"}
    read = {"id": "x9", "at": "1.50", "note": "a: {b}, 'c' # d\ne"}
    data = written(parse(text, ""))
    for path in paths(data):
        found = at(data, path)
        if not isinstance(found, list) and found != "":
            continue
        meant = written(parse(text, ""))
        at(meant, path[:-1])[path[-1]] = [*(found or []), read]
        new = append(text, path, entry)
        assert written(parse(new, "")) == meant
        if parse_at(text, path).style == "block":
            assert_only_added(text, new)


def assert_only_added(old: str, new: str) -> None:
    """The new text is the old one with whole lines put in."""
    added = iter(new.splitlines())
    assert all(line in added for line in old.splitlines())


@given(ids=st.lists(st.integers(1, 99), max_size=6))
def test_lists_that_grow_by_hand_and_by_command_stay_one_line_an_entry(ids: list[int]) -> None:
    text = "batch: HC-260109-4M\r\nlooks: []"
    for number in ids:
        text = append(text, ("looks",), {"id": f"o{number}"})
    lines = [f'  - {{id: "o{number}"}}\r\n' for number in ids]
    expected = "looks:\r\n" + "".join(lines) if ids else "looks: []"
    assert text == "batch: HC-260109-4M\r\n" + expected


# Single cases, to the letter -------------------------------------------------------------------

CASES: list[tuple[str, Any, str, str]] = [
    (
        "a comment stays in its column",
        lambda t: set_value(t, ("beeswax",), Decimal("12.5")),
        "beeswax: 1.50  # from the keeper\nwater: qs      # the rest\n",
        "beeswax: 12.5  # from the keeper\nwater: qs      # the rest\n",
    ),
    (
        "a longer value takes the room before the comment",
        lambda t: set_value(t, ("code",), Word("LONGER")),
        "code: HC   # on the jar\n",
        "code: LONGER # on the jar\n",
    ),
    (
        "single quotes stay",
        lambda t: set_value(t, ("title",), "it's"),
        "title: 'cream'\n",
        "title: 'it''s'\n",
    ),
    (
        "double quotes stay around a number",
        lambda t: set_value(t, ("speed",), Decimal("3")),
        'speed: "2"\n',
        'speed: "3"\n',
    ),
    (
        "a plain value that becomes unsafe is quoted",
        lambda t: set_value(t, ("lot",), "0815"),
        "lot: none yet # where?\n",
        'lot: "0815" # where?\n',
    ),
    (
        "an empty key is filled before its comment",
        lambda t: set_value(t, ("aim",), Word("firmer")),
        "aim:   # why?\ncode: HC\n",
        "aim: firmer   # why?\ncode: HC\n",
    ),
    (
        "a text of several lines becomes a block",
        lambda t: put(t, ("notes",), "one\ntwo\n"),
        "code: HC\n",
        "code: HC\nnotes: |\n  one\n  two\n",
    ),
    (
        "a block text is replaced, what follows stays",
        lambda t: set_value(t, ("notes",), "one\n\n two\n"),
        "notes: |\n    old\n\n\n# end\ncode: HC\n",
        "notes: |\n  one\n\n   two\n\n\n# end\ncode: HC\n",
    ),
    (
        "the first entry of an empty list goes below its key",
        lambda t: append(t, ("looks",), {"id": "o1"}),
        "looks: []   # none yet\ncode: HC\n",
        'looks:   # none yet\n  - {id: "o1"}\ncode: HC\n',
    ),
    (
        "an entry follows the indentation and the gap behind the dash",
        lambda t: append(t, ("looks",), {"id": "o2"}),
        "looks:\n    -   {id: o1}   # first\n\n# the end\n",
        'looks:\n    -   {id: o1}   # first\n    -   {id: "o2"}\n\n# the end\n',
    ),
    (
        "an entry in brackets with a line of its own",
        lambda t: append(t, ("looks",), {"id": "o2"}),
        "looks: [\n  {id: o1}  # first\n]\n",
        'looks: [\n  {id: o1},  # first\n  {id: "o2"}\n]\n',
    ),
    (
        "a key behind a dash gives its place to the next one",
        lambda t: remove(t, ("looks", 0, "id")),
        "looks:\n  - id: o1\n    grade: 0\n",
        "looks:\n  - grade: 0\n",
    ),
    (
        "the last entry leaves an empty list",
        lambda t: remove(t, ("looks", 0)),
        "looks:  # none\n  - {id: o1}\ncode: HC\n",
        "looks: []  # none\ncode: HC\n",
    ),
    (
        "keys that are missing on the way are made",
        lambda t: put(t, ("done", "took"), Word("short")),
        "id: s1\n",
        "id: s1\ndone: {took: short}\n",
    ),
]


@pytest.mark.parametrize(
    ("change", "before", "after"), [c[1:] for c in CASES], ids=[c[0] for c in CASES]
)
@pytest.mark.parametrize("eol", ["\n", "\r\n"], ids=["lf", "crlf"])
def test_edit_to_the_letter(change: Any, before: str, after: str, eol: str) -> None:
    assert change(before.replace("\n", eol)) == after.replace("\n", eol)


@pytest.mark.parametrize(
    "broken", ["a: 1\na: 2\n", "a: {b: 0,8}\n", "a: &x 1\n", "a: [1\n", "", "- a\n"]
)
def test_a_file_that_cant_be_read_is_not_changed(broken: str) -> None:
    for change in (set_value, put, append, remove):
        with pytest.raises(Unreadable):
            change(broken, ("a",), *({"id": "x"} for _ in range(change is not remove)))


def test_a_path_that_leads_nowhere_is_named() -> None:
    with pytest.raises(Unreadable, match="there is no looks, entry 3 in the file"):
        set_value("looks: [a]\n", ("looks", 2), "b")
    with pytest.raises(Unreadable, match="code is no list"):
        append("code: HC\n", ("code",), {"id": "x"})


def test_an_edit_that_would_not_read_back_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    from labbook.notebook import edit

    monkeypatch.setattr(edit, "replaced", lambda source, path, value: source.text + "more: 1\n")
    with pytest.raises(Unreadable, match="can't be changed in place"):
        set_value("code: HC\n", ("code",), Word("SOFT"))


def test_empty_keys_are_absent_for_everyone_else() -> None:
    assert plain(parse(FILES["keys without values"], "")) == {"code": "HC", "stays": [], "done": {}}
