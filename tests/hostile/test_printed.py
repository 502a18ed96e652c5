"""Whatever stands in the files, a terminal gets no command and no sign that turns text around."""

from __future__ import annotations

import re

import pytest

from labbook.show.layout import clean
from tests.e2e.bench import Hand, through_the_door
from tests.notebook.repos import commit, run_git

CODES = ("\\e[2J", "\\e]0;owned\\a", "\\x9b2J", "\\u202Eevil", "\\u2066x", "\\u200B", "\\x08\\x08")
COMMANDS = (
    (), ("show", "HC"), ("show", "BATCH"), ("log", "HC"), ("diff", "HC", "1", "2"), ("due",),
    ("outcomes", "HC"), ("why",), ("next",), ("check",), ("check", "--history"), ("batch", "list"),
    ("formula", "list"), ("formula", "label", "HC"), ("formula", "cost", "HC"),
    ("ingredient", "lot", "list"), ("ingredient", "stock"), ("trace", "beeswax"),
    ("batch", "sheet"), ("journal", "check"),
)  # fmt: skip


def poison(hand: Hand, code: str) -> None:
    """Puts the code into every quoted or plain text that a file of the notebook has room for."""
    for path in hand.root.rglob("*.yaml"):
        if ".git" in path.parts or ".labbook" in path.parts:
            continue
        text = path.read_text(encoding="utf-8")
        changed = re.sub(
            r"^(\s*(?:- )?(?:title|aim|notes|name|supplier|session|text|note): ).*$",
            lambda m: f'{m[1]}"x{code}y"',
            text,
            flags=re.MULTILINE,
        )
        changed = re.sub(r'("x[^"\n]*y")\n(?:[ ]{2,}[A-Z][^\n:]*\n)+', r"\1\n", changed)
        path.write_text(changed, encoding="utf-8")
    commit(hand.root, "from elsewhere")
    run_git(hand.root, "commit", "--quiet", "--allow-empty", "-m", "x\x1b[2Jy \u202eevil")


@pytest.mark.parametrize("code", CODES)
def test_no_command_sends_a_code_of_the_files_to_the_terminal(hand: Hand, code: str) -> None:
    poison(hand, code)
    for words in COMMANDS:
        named = [hand.open if word == "BATCH" else word for word in words]
        ran = through_the_door(*named, cwd=hand.root)
        assert "Traceback" not in ran.err and ran.code != 70, (words, ran)
        for sent in (ran.out, ran.err):
            bare = sent.replace("\n", "")
            assert clean(bare) == bare, (words, sent)


@pytest.mark.parametrize("typed", ["\x1b[2J", "\u202eevil", "a\x9bb", "\x07"])
def test_what_is_typed_comes_back_without_its_codes(hand: Hand, typed: str) -> None:
    for words in (("show", typed), ("why", typed), ("trace", typed), ("help", typed)):
        ran = through_the_door(*words, cwd=hand.root)
        bare = (ran.out + ran.err).replace("\n", "")
        assert ran.code and clean(bare) == bare, (words, bare)
