"""Files that no editor of a maker writes: each is refused in a sentence, beside whole ones."""

from __future__ import annotations

import os
import resource
import sys
from pathlib import Path

import pytest

from labbook.notebook.snapshot import read_notebook
from tests.e2e.bench import Hand
from tests.notebook.repos import put

BAD = "formulas/BAD.yaml"
HEAD = "code: BAD\ntitle: Bad one\nid: f-bad001\nemulsion: gel\n"


def line(percent: str) -> str:
    held = f"      - {{ingredient: water, percent: {percent}}}\n"
    return f"{HEAD}phases:\n  - phase: A\n    lines:\n{held}"


FILES: dict[str, bytes] = {
    "brackets in brackets": b"a: " + b"[" * 30_000,
    "braces in braces": b"a: " + b"{a: " * 30_000,
    "lists in lists": b"\n".join(b" " * n + b"- " for n in range(3_000)),
    "nested and closed": b"a: " + b"[" * 5_000 + b"]" * 5_000,
    "three megabytes": HEAD.encode() + b"notes: |\n" + b"  a line of notes\n" * 200_000,
    "an alias": b"a: &x [1]\nb: *x\n",
    "aliases that multiply": b"a: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\nd: [*c,*c]\n",
    "a merge key": b"a: &x {b: 1}\nc:\n  <<: *x\n",
    "a tag of Python": b"a: !!python/object/apply:os.system ['touch hacked']\n",
    "a tag of its own": b"a: !include /etc/passwd\n",
    "a directive": b"%TAG ! tag:evil,2000:\n---\na: !x 1\n",
    "two documents": b"code: BAD\n---\ncode: WORSE\n",
    "Latin-1": HEAD.encode() + "notes: Öl\n".encode("latin-1"),
    "UTF-16": (HEAD + "notes: Öl\n").encode("utf-16"),
    "a NUL": HEAD.encode() + b"notes: a\0b\n",
    "an escaped NUL": HEAD.encode() + b'notes: "a\\0b"\n',
    "half of a pair": HEAD.encode() + b'notes: "a\\ud800b"\n',
    "an escape of terminals": HEAD.encode() + b"notes: a\x1b[2Jb\n",
    "a byte order mark inside": HEAD.encode() + "notes: a\ufeffb\n".encode(),
    "a line separator": HEAD.encode() + "notes: a\u2028b\n".encode(),
    "lone carriage returns": b"code: BAD\rtitle: Bad\r",
    "no keys": b"just words\n",
    "nothing": b"",
    "a picture": bytes(range(256)) * 40,
}
PERCENTS = {
    "NaN": ".nan", "a word for it": "NaN", "infinity": ".inf", "an exponent": "1e999999",
    "a small exponent": "1e-999999", "a million digits": "9" * 1_000_000, "below zero": "-1",
    "hexadecimal": "0x1F", "octal": "0o17", "sixty-base": "1:30", "underscores": "1_000",
    "wide digits": "１４", "Arabic digits": "١٤", "Devanagari digits": "१४", "superscripts": "1²",
    "a fraction sign": "½", "a minus sign of print": "−1", "a decimal comma": "'0,8'",
}  # fmt: skip


@pytest.mark.parametrize("name", FILES)
def test_a_bad_file_is_a_sentence_and_hides_no_other(hand: Hand, name: str) -> None:
    put(hand.root, BAD, FILES[name])
    snapshot = read_notebook(hand.root)
    held = snapshot.files[BAD]
    unread = held.record is None
    told = [problem for problem in held.problems if problem.what]
    if name in ("half of a pair", "an escaped NUL"):
        assert told or "HC" in hand.does("formula", "list")
    else:
        assert unread and told, held
    assert "HC" in snapshot.formulas
    assert hand.does("show", "HC")
    assert not (hand.root / "hacked").exists()


@pytest.mark.parametrize("name", PERCENTS)
def test_a_percent_is_plain_digits_or_is_refused_at_its_line(hand: Hand, name: str) -> None:
    put(hand.root, BAD, line(PERCENTS[name]))
    held = read_notebook(hand.root).files[BAD]
    assert held.record is None
    first = held.problems[0]
    assert first.place.line in (0, 8), first
    assert len(first.what) < 400, first.what[:100]  # what was typed is quoted, not poured out


@pytest.mark.parametrize(
    "typed", ["9" * 10**6, "1e999999", "NaN", "١٤", "１４", "-3", "0x10", "1" + "0" * 5000]
)
def test_a_figure_at_the_prompt_is_plain_digits_or_a_sentence(hand: Hand, typed: str) -> None:
    assert len(hand.does("weigh", f"beeswax={typed[:100_000]}", code=2)) < 3_000


@pytest.mark.parametrize(
    "typed", ["HC@" + "9" * 5000, "HC@" + "0" * 5000 + "1", "HC@-1", "HC@٣", "HC@1e3", "HC@#", "@"]
)
def test_a_number_of_a_version_is_plain_digits_or_a_sentence(hand: Hand, typed: str) -> None:
    code = 0 if typed.endswith("01") else 2  # zeros in front are no other number
    assert len(hand.does("show", typed, code=code)) < 3_000


def test_a_hundred_megabytes_are_not_read(hand: Hand) -> None:
    """A file with a hole takes no room on the disk, and would take it all in memory."""
    with (hand.root / BAD).open("wb") as file:
        file.truncate(100_000_000)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    held = read_notebook(hand.root).files[BAD]
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert "MB" in held.problems[0].what
    assert grown * (1 if sys.platform == "darwin" else 1024) < 50_000_000


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name are of Unix")
@pytest.mark.parametrize("path", [BAD, "labbook.yaml", "journal/2026-01-01-a.md"])
def test_a_pipe_for_a_file_is_not_waited_for(hand: Hand, path: str) -> None:
    """The installed command has two minutes; a pipe that nobody writes into never ends."""
    full = hand.root / path
    full.parent.mkdir(exist_ok=True)
    full.unlink(missing_ok=True)
    os.mkfifo(full)
    hand.says("formula", "list", code=2 if path == "labbook.yaml" else 0)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name are of Unix")
def test_a_pipe_among_the_entries_is_not_waited_for(hand: Hand) -> None:
    """By the commands that read entries: the reader of files alone could pass it over."""
    hand.does("journal", "new", "A whole one")
    os.mkfifo(hand.root / "journal/2026-01-01-a.md")
    for words in (("journal", "check"), ("journal", "build"), ("check",)):
        hand.says(*words)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name are of Unix")
@pytest.mark.parametrize(
    "words",
    [
        ("formula", "import", "pipe"),
        ("batch", "note", "--from", "pipe"),
        ("note", "seen", "--photo", "pipe"),
    ],
)
def test_a_pipe_handed_in_is_not_waited_for(hand: Hand, words: tuple[str, ...]) -> None:
    os.mkfifo(hand.root / "pipe")
    ran = hand.run(*words, cwd=hand.root)
    assert ran.code in (2, 3) and "Traceback" not in ran.err, ran


def test_a_folder_for_a_file_is_passed_over(hand: Hand) -> None:
    (hand.root / BAD).mkdir()
    assert "HC" in hand.does("formula", "list")


def test_bytes_of_every_value_beside_the_head(hand: Hand, tmp_path: Path) -> None:
    put(hand.root, "labbook.yaml", bytes(range(256)))
    ran = hand.run("check", cwd=hand.root)
    assert ran.code == 1 and "labbook.yaml" in ran.out, ran
