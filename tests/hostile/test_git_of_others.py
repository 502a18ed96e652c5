"""A repository that somebody else made or owns: what of it runs is what git runs, nothing more."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.e2e.bench import Hand
from tests.notebook.repos import put, run_git

READING = (("formula", "list"), ("show", "HC"), ("log", "HC"), ("check",), ("due",), ("diff", "HC"))


def program(folder: Path, name: str) -> tuple[Path, Path]:
    """A program that leaves a mark when it runs."""
    mark = folder / f"{name}-ran"
    file = put(folder, name, f"#!/bin/sh\ntouch '{mark}'\n")
    file.chmod(0o755)
    return file, mark


@pytest.mark.skipif(os.name == "nt", reason="a script of the shell")
def test_a_watcher_that_a_copy_names_is_never_started(hand: Hand, tmp_path: Path) -> None:
    file, mark = program(tmp_path, "watcher")
    run_git(hand.root, "config", "core.fsmonitor", str(file))
    for words in READING:
        hand.does(*words)
    hand.does("note", "pH 5.0")
    assert not mark.exists()


@pytest.mark.skipif(os.name == "nt", reason="a script of the shell")
@pytest.mark.parametrize(
    "setting", ["diff.external", "core.pager", "pager.log", "core.editor", "core.askPass",
                "gpg.program", "log.showSignature"],
)  # fmt: skip
def test_reading_starts_no_program_of_the_settings(
    hand: Hand, tmp_path: Path, setting: str
) -> None:
    file, mark = program(tmp_path, "theirs")
    run_git(hand.root, "config", setting, "true" if "show" in setting else str(file))
    for words in READING:
        hand.does(*words)
    assert not mark.exists()


@pytest.mark.skipif(os.name == "nt", reason="a script of the shell")
def test_attributes_that_a_clone_brings_run_nothing(hand: Hand, tmp_path: Path) -> None:
    """A clone can name a driver, never define one: without a setting here it is only a word."""
    put(hand.root, ".gitattributes", "*.yaml diff=theirs filter=theirs merge=theirs\n")
    for words in READING:
        hand.does(*words)


@pytest.mark.skipif(os.name == "nt", reason="a script of the shell")
def test_hooks_run_when_something_is_recorded_and_not_when_read(hand: Hand, tmp_path: Path) -> None:
    """They are the person's own, as for git itself; a clone brings none."""
    file, mark = program(tmp_path, "hook")
    hook = hand.root / ".git/hooks/post-commit"
    hook.parent.mkdir(exist_ok=True)
    file.rename(hook)
    for words in READING:
        hand.does(*words)
    assert not mark.exists()
    hand.does("note", "pH 5.0")
    assert mark.exists()
    run_git(tmp_path, "clone", "--quiet", str(hand.root), "clone")
    assert not (tmp_path / "clone/.git/hooks/post-commit").exists()


def test_what_git_took_away_while_its_driver_read_is_a_sentence(hand: Hand) -> None:
    """A git that is killed leaves its driver running, without files."""
    said = hand.does("git-lines", "a", code=3)
    assert "is gone" in said and "Type once more" in said


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can give a folder away"
)
def test_a_notebook_that_somebody_else_owns_is_a_sentence(hand: Hand) -> None:
    """Git looks into no repository of another person (CVE-2022-24765) until told to."""
    for path in (hand.root, hand.root / ".git"):
        os.chown(path, 12345, 12345)
    said = " ".join(hand.says("note", "pH 5.0", code=4).split())
    assert "belongs to another user" in said and "git won't read this repository" in said
    assert "make yourself its owner" in said
    # What to look at comes before how to trust it, and nothing says to trust it at once.
    assert said.count("safe.directory") == 1
    assert said.index(".git/hooks first") < said.index("safe.directory")
