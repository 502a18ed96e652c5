"""Merging three texts: disjoint edits, conflicts, numbers, ids, comments and order."""

from __future__ import annotations

import itertools

import pytest

from labbook.notebook.merge import Merged, merge
from labbook.notebook.merge_pieces import cut
from labbook.notebook.nodes import MERGE_CONFLICT, FileProblem, parse, parse_all, plain
from tests.notebook.files_by_hand import FILES
from tests.work.harm import swap
from tests.work.notebooks import HC as DRAFT

HC = DRAFT.replace('id: "f-hc0001"\n', 'id: "f-hc0001"\nversion: 3\n')
LOOKS = """\
batch: HC-260302-4M
looks:
  - {id: "o1", jar: "1", time: "2026-03-03T09:00+00:00", grade: 0}
  - {id: "o2", jar: "2", time: "2026-03-03T09:05+00:00", grade: 0}  # by lamplight
"""


def both_ways(base: str, one: str, two: str, kind: str = "") -> Merged:
    """The merge, the same whichever side is called ours, and readable."""
    found = merge(base, one, two, kind)
    assert merge(base, two, one, kind) == found
    node, problems = parse_all(found.text, "x.yaml")
    assert node is not None
    assert {p.rule for p in problems} <= {MERGE_CONFLICT}
    assert bool(problems) == bool(found.conflicts)
    return found


def changed(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        text = swap(old, new)(text)
    return text


@pytest.mark.parametrize("name", FILES)
def test_the_pieces_are_the_text(name: str) -> None:
    text = FILES[name].replace("\r\n", "\n").removeprefix("\ufeff")
    if not text.endswith("\n"):
        text += "\n"
    try:
        parse(text, "x.yaml")
    except FileProblem:
        pytest.skip("a file that can't be read")
    assert cut(text).text == text


EDITS = (
    ("beeswax: 1.5\n", "beeswax: 2.0  # firmer\n"),
    ("percent: 4}", "percent: 3}"),
    ("title: Hand cream for throwers   # invented", "title: Hand cream   # invented"),
    ("      sunflower-oil: 14\n", "      # from the mill\n      sunflower-oil: 14\n"),
    ("hold: 10 min", "hold: 12 min"),
    ("  - {id: s3, do: cool", "  - {id: s9, do: mix, for: 2 min}\n  - {id: s3, do: cool"),
    ("      - {ingredient: sodium-chloride, percent: 0.8}\n", ""),
    ("  - phase: B\n", "\n  # the other pot\n  - phase: B\n"),
    ("notes: |\n  The first one", "protocol: home\nnotes: |\n  The very first one"),
)


@pytest.mark.parametrize(("here", "there"), list(itertools.combinations(EDITS, 2)))
def test_disjoint_edits_are_both_taken(here: tuple[str, str], there: tuple[str, str]) -> None:
    found = both_ways(HC, changed(HC, here), changed(HC, there), "formula")
    assert found.conflicts == ()
    text = changed(HC, here, there)
    assert found.text.replace(f"version: {found.number}", "version: 3") == text


def test_one_line_changed_on_both_sides() -> None:
    one, two = (
        changed(HC, ("beeswax: 1.5", "beeswax: 2")),
        changed(HC, ("beeswax: 1.5", "beeswax: 1")),
    )
    found = both_ways(HC, one, two, "formula")
    assert [c.at for c in found.conflicts] == [("phases", "A", "lines", "beeswax")]
    assert "      beeswax: 1\n" in found.text
    node, _ = parse_all(found.text, "")
    assert node is not None
    kept = plain(node)["conflict"]
    assert kept == [{"at": "phases, A, lines, beeswax", "other": "beeswax: 2\n"}]
    with pytest.raises(FileProblem, match="two machines changed"):
        parse(found.text, "formulas/HC.yaml")


def test_taken_out_here_and_changed_there() -> None:
    one, two = (
        changed(HC, ("      beeswax: 1.5\n", "")),
        changed(HC, ("beeswax: 1.5", "beeswax: 1")),
    )
    found = both_ways(HC, one, two, "formula")
    assert "beeswax: 1\n" in found.text
    assert "taken out: yes" in found.text


def test_two_stand_ins_for_one_line() -> None:
    one = changed(HC, ("beeswax: 1.5", "candelilla-wax: 1.5"))
    two = changed(HC, ("beeswax: 1.5", "carnauba-wax: 1.2"))
    found = both_ways(HC, one, two, "formula")
    assert len(found.conflicts) == 1
    body, kept = found.text.split("conflict:")
    assert "candelilla-wax: 1.5" in body
    assert "carnauba-wax: 1.2" not in body
    assert "carnauba-wax: 1.2" in kept


def test_two_steps_in_one_place() -> None:
    cool = "  - {id: s3, do: cool"
    one = changed(HC, (cool, "  - {id: s4, do: mix, for: 2 min}\n" + cool))
    two = changed(HC, (cool, "  - {id: s4, do: rest, for: 9 min}\n" + cool))
    found = both_ways(HC, one, two, "formula")
    assert [c.at for c in found.conflicts] == [("method",)]
    assert "do: mix" in found.text
    assert "do: rest" in found.text


@pytest.mark.parametrize(
    ("ours", "theirs", "number"), [(4, 4, 5), (3, 3, 4), (3, 4, 5), (6, 4, 7)], ids=str
)
def test_a_merged_formula_gets_the_next_number(ours: int, theirs: int, number: int) -> None:
    one = changed(HC, ("beeswax: 1.5", "beeswax: 2"), ("version: 3", f"version: {ours}"))
    two = changed(HC, ("percent: 4}", "percent: 3}"), ("version: 3", f"version: {theirs}"))
    found = both_ways(HC, one, two, "formula")
    assert found.number == number
    assert f"version: {number}\n" in found.text
    assert found.conflicts == ()


def test_a_side_whose_content_stands_keeps_its_number() -> None:
    one = changed(HC, ("beeswax: 1.5", "beeswax: 2"), ("version: 3", "version: 4"))
    two = changed(HC, ("notes: |", "# a word\nnotes: |"))
    found = both_ways(HC, one, two, "formula")
    assert found.number is None
    assert "version: 4\n" in found.text
    assert "# a word" in found.text


def test_a_content_that_is_older_than_the_highest_number_gets_the_next() -> None:
    # One side went to 5 and back to the old content; the other changed a line and kept 3.
    one = changed(HC, ("version: 3", "version: 5"))
    two = changed(HC, ("beeswax: 1.5", "beeswax: 2"))
    assert both_ways(HC, one, two, "formula").number == 6


def test_two_looks_called_the_same() -> None:
    one = LOOKS + '  - {id: "o3", jar: "1", time: "2026-03-05T10:00+00:00", grade: 1}\n'
    two = LOOKS + '  - {id: "o3", jar: "2", time: "2026-03-05T09:00+00:00", grade: 0}\n'
    found = both_ways(LOOKS, one, two, "stability")
    assert found.conflicts == ()
    assert [(r.old, r.new) for r in found.renamed] == [("o3", "o4")]
    assert found.text == LOOKS + (
        '  - {id: "o3", jar: "2", time: "2026-03-05T09:00+00:00", grade: 0}\n'
        '  - {id: "o4", jar: "1", time: "2026-03-05T10:00+00:00", grade: 1}\n'
    )


def test_an_entry_that_a_correction_speaks_of_keeps_its_id() -> None:
    correction = (
        'corrections:\n  - {id: "c1", of: "o3", key: grade, was: "1", now: "2", why: "x"}\n'
    )
    one = (
        LOOKS + '  - {id: "o3", jar: "1", time: "2026-03-05T10:00+00:00", grade: 1}\n' + correction
    )
    two = LOOKS + '  - {id: "o3", jar: "2", time: "2026-03-05T09:00+00:00", grade: 0}\n'
    found = both_ways(LOOKS, one, two, "stability")
    assert [c.at for c in found.conflicts] == [("looks", "o3")]
    assert "grade: 1" in found.text
    assert "2026-03-05T09:00" in found.text


def test_the_first_entries_of_a_list() -> None:
    base = "batch: HC-260302-4M\nlooks: []\n"
    one = 'batch: HC-260302-4M\nlooks:\n  - {id: "o1", jar: "1", grade: 0}\n'
    two = 'batch: HC-260302-4M\nlooks:\n  - {id: "o1", jar: "2", grade: 0}\n'
    found = both_ways(base, one, two, "stability")
    assert found.conflicts == ()
    assert [row["jar"] for row in plain(parse(found.text, ""))["looks"]] == ["1", "2"]


def test_a_key_that_both_sides_add() -> None:
    base = "batch: HC-260302-4M\n"
    one = 'batch: HC-260302-4M\nlooks:\n  - {id: "o1", jar: "1", grade: 0}\n'
    two = 'batch: HC-260302-4M\nlooks:\n  - {id: "o1", jar: "2", grade: 0}\n'
    found = both_ways(base, one, two, "stability")
    assert found.conflicts == ()
    assert len(plain(parse(found.text, ""))["looks"]) == 2


def test_two_formulas_of_one_code() -> None:
    other = changed(HC, ("f-hc0001", "f-hc0002"), ("Hand cream", "Foot cream"))
    found = both_ways("", HC, other, "formula")
    assert [c.at for c in found.conflicts] == [("the whole file",)]
    assert "Foot cream" in found.text
    assert "Hand cream" in found.text


def test_comments_of_both_sides_are_kept() -> None:
    base = changed(HC, ("method:\n", "# by hand\nmethod:\n"))
    one = changed(base, ("# by hand\n", "# by hand\n# in the morning\n"))
    two = changed(base, ("# by hand\n", "# with the blender\n"))
    found = both_ways(base, one, two, "formula")
    assert found.conflicts == ()
    assert "# in the morning\n" in found.text
    assert "# with the blender\n" in found.text
    assert "# by hand" not in found.text


def test_line_ends_of_windows_on_one_side_are_no_edit() -> None:
    two = changed(HC, ("beeswax: 1.5", "beeswax: 2"))
    found = both_ways(HC, HC.replace("\n", "\r\n"), two, "formula")
    assert found.text == two
    windows = both_ways(HC, HC.replace("\n", "\r\n"), two.replace("\n", "\r\n"), "formula")
    assert windows.text == two.replace("\n", "\r\n")


@pytest.mark.parametrize("broken", ["a: [1\n", "a: 1\na: 2\n", "<<<<<<< HEAD\na: 1\n"])
def test_what_is_no_yaml_is_left_to_git(broken: str) -> None:
    with pytest.raises(FileProblem):
        merge("a: 1\n", broken, "a: 2\n")


def test_a_conflict_of_common_ancestors_is_nobodys_text() -> None:
    base = both_ways(
        HC, changed(HC, ("beeswax: 1.5", "beeswax: 2")), changed(HC, ("beeswax: 1.5", "beeswax: 1"))
    ).text
    one = changed(HC, ("beeswax: 1.5", "beeswax: 1"), ("percent: 4}", "percent: 3}"))
    two = changed(HC, ("beeswax: 1.5", "beeswax: 1"))
    assert both_ways(base, one, two).text == one


def test_two_remarks_of_one_minute_are_both_kept() -> None:
    base = "batch: HC-260302-4M\nremarks:\n"
    first, second = (
        f'{base}  - {{id: "n1", text: "{words}", time: "2026-03-03T09:00+00:00"}}\n'
        for words in ("smells of honey", "smells of wax")
    )
    found = both_ways(base.replace("remarks:\n", ""), first, second, "batch")
    assert found.conflicts == ()
    assert [(each.old, each.new) for each in found.renamed] == [("n1", "n2")]
    assert "smells of honey" in found.text
    assert "smells of wax" in found.text
