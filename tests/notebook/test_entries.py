"""Entries of the journal: heads read, kept and changed; what can't be read is private."""

from datetime import date
from pathlib import Path

import pytest

from labbook.notebook.entries import entry_of, read_entries, split, with_public

PATH = "journal/2026-01-30-a-pool.md"
HEAD = '---\ntitle: "A pool"\ndate: 2026-02-01\npublic: "yes"   # at last\n---\n'


def test_a_head_is_read() -> None:
    entry = entry_of(PATH, f"{HEAD}\nWords.\n")
    assert (entry.title, entry.date, entry.public) == ("A pool", date(2026, 2, 1), "yes")
    assert (entry.text, entry.problems, entry.name) == ("Words.", (), "2026-01-30-a-pool")


def test_without_a_head_title_and_day_come_from_the_text_and_the_name() -> None:
    entry = entry_of(PATH, "# A pool under it\n\nWords.\n")
    assert (entry.title, entry.date, entry.public) == ("A pool under it", date(2026, 1, 30), "")
    assert entry.text == "Words."
    assert entry_of("journal/x.md", "Words.").title == "x"
    assert entry_of("journal/x.md", "").date is None


@pytest.mark.parametrize(
    "head",
    [
        "---\npublic: [yes]\n---\n",
        "---\npublic: yes\nsecret: 1\ntitle: {a: b}\n---\n",
        "---\n- public\n---\n",
        "---\npublic: 'yes\n---\n",
        "---\npublic: &a yes\n---\n",
    ],
)
def test_a_head_that_is_strange_is_a_problem(head: str) -> None:
    entry = entry_of(PATH, head + "Words.\n")
    assert [one.rule for one in entry.problems] == ["entry-head"]
    assert entry.text == "Words."


@pytest.mark.parametrize("head", ["---\npublic: yes\n", "--- \n", "\n---\npublic: yes\n---\n"])
def test_what_is_no_head_is_text(head: str) -> None:
    assert entry_of(PATH, head).public == ""


def test_a_day_that_is_none() -> None:
    entry = entry_of(PATH, "---\ndate: 30.1.2026\n---\nx")
    assert [one.rule for one in entry.problems] == ["entry-date"]
    assert entry.date == date(2026, 1, 30)


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_public_is_set_and_nothing_else_changes(end: str, mark: str) -> None:
    text = mark + f"{HEAD}\nWords.\n---\npublic: no\n".replace("\n", end)
    # The comment keeps its column.
    assert with_public(text, "no") == text.replace('"yes"   #', '"no"    #')
    assert with_public(with_public(text, "no"), "yes") == text
    bare = mark + f"Words.{end}"
    made = with_public(bare, "yes")
    assert made == f'{mark}---{end}public: "yes"{end}---{end}{end}Words.{end}'
    assert entry_of(PATH, made).public == "yes"
    assert split(made)[1].strip() == "Words."


def test_files_are_read_and_links_are_not_followed(tmp_path: Path) -> None:
    assert read_entries(tmp_path) == ()
    folder = tmp_path / "journal"
    folder.mkdir()
    (folder / "b.md").write_text(HEAD, encoding="utf-8")
    (folder / "a.md").write_bytes(b"\xff\xfe")
    (folder / "c.txt").write_text("x", encoding="utf-8")
    (folder / ".d.md").write_text("x", encoding="utf-8")
    (tmp_path / "outside.md").write_text(HEAD, encoding="utf-8")
    (folder / "e.md").symlink_to(tmp_path / "outside.md")
    found = read_entries(tmp_path)
    assert [one.name for one in found] == ["a", "b"]
    assert [one.rule for one in found[0].problems] == ["unreadable-file"]
    assert found[0].public == ""
