"""What is typed behind a command: each odd text is taken or refused in a sentence, never half.

Nothing that can't be read again gets into a file, and no figure is too large for what reckons.
"""

from __future__ import annotations

from random import Random

import pytest

from labbook.notebook.snapshot import read_notebook
from labbook.show.layout import clean
from tests.e2e.bench import Hand, through_the_door
from tests.notebook.repos import git_says, put

ODD = (
    "²", "٣", "१४", "９９", "9" * 5000, "1e999", "NaN", "-1", "", "  ", "\udcff", "½", "1_000",
    "0x10", "1/0", "0", "0 g", ".", "..", "{", "%s", "\\", "'", "\u2028", "\x1b[2J",
    "1" + "0" * 400, "1:2:3", "=", "=1", "0/0", "3/0", "0000-00-00", "2026-02-30", "99999-01-01",
    "room 99999999999 d", "--", "@", "#", "*", "\u202e", "K", "ſ", "null", "o1.", "w1.mass=",
    "s9.A=1", "7k:", ":", "é" * 300,
)  # fmt: skip
COMMANDS = (
    "look FIRST.{} 0", "look FIRST.1 {}", "look FIRST.1 0 {}", "look FIRST.1 0 --reading {}",
    "look FIRST.1 0 --spin {}", "look FIRST.1 0 --at {}", "look FIRST.1 0 --cycle {}",
    "look FIRST.1 0 --made {}", "look FIRST.1 --correct o1 {} -m x", "look FIRST.1 --moved {}",
    "make HC --size {}", "make HC@{}", "make HC --split FIRST:{}", "make HC --session {}",
    "weigh OPEN {}", "weigh OPEN beeswax={}", "weigh OPEN {}=1.5", "note OPEN {}",
    "note OPEN pH\u00a0{}", "note OPEN x --step {}", "note FIRST {} -m x", "close OPEN --yield {}",
    "close OPEN --places {}", "close OPEN --protocol {}", "batch correct FIRST {} -m x",
    "batch correct FIRST r1.value={} -m x", "batch show {}", "batch labels OPEN --sheet {}",
    "batch reaction FIRST x --after {}", "stability plan FIRST --add {} -m x", "diff HC {} 2",
    "log HC {}", "show {}", "show FIRST.{}", "why FIRST --until {}", "outcomes {}", "trace {}",
    "restore HC@{}", "formula scale HC {}", "formula new {} --type gel",
    "ingredient lot add beeswax --lot {}", "ingredient new {}",
    "ingredient lot use-up beeswax-0815 --on {}", "equipment add {} --kind balance",
    "equipment add b2 --kind balance --readability {}", "equipment check --mass {}",
    "equipment calibrate m1 --buffer 7.00={}", "journal new {}", "check --accept {} -m x",
    "help {}", "{}",
)  # fmt: skip
TURNS = 1
"""Of the odd texts behind each command; another seed takes others."""


def typed(hand: Hand, command: str, odd: str) -> list[str]:
    named = {"FIRST": hand.small.first[-2:], "OPEN": hand.open}
    words = []
    for word in command.split(" "):
        for name, meant in named.items():
            word = word.replace(name, meant)
        words.append(word.replace("\u00a0", " ").replace("{}", odd))
    return words


def sound(hand: Hand, words: list[str]) -> None:
    """Types it; it ends in a way that the program meant, and every file can still be read."""
    ran = through_the_door(*words, cwd=hand.root)
    shown = [word[:60] for word in words]
    assert ran.code != 70 and "Traceback" not in ran.err, (shown, ran.err)
    said = (ran.out + ran.err).replace("\n", "")
    assert clean(said) == said and len(said) < 20_000, (shown, said[:500])
    unread = {path for path, file in read_notebook(hand.root).files.items() if file.record is None}
    assert not unread, (shown, unread)


@pytest.mark.parametrize("command", COMMANDS)
def test_odd_texts_behind_a_command(hand: Hand, command: str) -> None:
    put(hand.root, "equipment/m1.yaml", "id: m1\nkind: pH meter\ntitle: A meter\n")
    for odd in Random(f"odd {command}").sample(ODD, TURNS):
        sound(hand, typed(hand, command, odd))


FOUND = (
    ("weigh OPEN {}=1.5", "%s"), ("look FIRST.1 0 --cycle {}", "1" + "0" * 60),
    ("stability plan FIRST --add {} -m x", "room 99999999999 d"),
    ("formula scale HC {}", "\x1b[2J\u2028"), ("log HC {}", "\udcff"), ("{}", "\x1b]0;owned\a"),
    ("show FIRST.{}", "１"), ("show {}", "F３"), ("look FIRST.{} 0", "²"),
    ("show HC-260302-F{}", "٣"),
)  # fmt: skip
"""Each was once a mistake of the program, or stands for one that was."""


@pytest.mark.parametrize(("command", "odd"), FOUND)
def test_what_was_found_stays_mended(hand: Hand, command: str, odd: str) -> None:
    sound(hand, typed(hand, command, odd))
    assert hand.does("due") and hand.does("check")


def test_an_entry_that_could_not_be_read_again_is_not_written(hand: Hand) -> None:
    before = git_says(hand.root, "rev-parse", "HEAD")
    said = hand.does("weigh", hand.open, "%s=1.5", code=2)
    assert "could not be read with that in it" in " ".join(said.split())
    assert git_says(hand.root, "rev-parse", "HEAD") == before
    assert git_says(hand.root, "status", "--porcelain") == ""


@pytest.mark.parametrize("columns", ["²", "٨٠", "８０", "9" * 5000, "-1", "0", "", "1e3", " 80"])
def test_a_width_of_any_digits_is_a_width_or_none(hand: Hand, columns: str) -> None:
    """The screens, and what git starts to show a difference."""
    for words in (("show", "HC"), ("git-diff", "a.yaml", "a", "b", "c", "d", "e", "f")):
        ran = through_the_door(*words, cwd=hand.root, env={"COLUMNS": columns})
        assert ran.code != 70 and "Traceback" not in ran.err, ran
