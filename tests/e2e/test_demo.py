"""The sample notebook: the same history on every machine, whatever git is set to there."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from tests.conftest import RunLabbook

HEAD = "0bb6be0d6c77b86e7269b84ed8a14de72d5ba3cd"
"""The sample's last commit. A change of sample_repo, or of a sheet it uses, changes it: run
`labbook demo` and put the new id here; it has to be the same on Linux, Windows and macOS."""

ODD = """\
[user]
    name = Somebody Else
    email = somebody@labbook.invalid
[core]
    autocrlf = true
    hooksPath = {hooks}
    attributesFile = {attributes}
[commit]
    gpgSign = true
    template = {attributes}
    cleanup = scissors
[init]
    defaultBranch = trunk
    defaultObjectFormat = sha256
    templateDir = {hooks}
[i18n]
    commitEncoding = ISO-8859-1
[gpg]
    program = false
"""


def git(folder: Path, *words: str) -> str:
    done = subprocess.run(["git", *words], cwd=folder, capture_output=True, text=True, check=True)
    return done.stdout.strip()


def test_the_sample_has_the_same_head_everywhere(run_labbook: RunLabbook, tmp_path: Path) -> None:
    ran = run_labbook("demo", cwd=tmp_path)
    assert ran.code == 0, ran.err
    assert git(tmp_path / "hand-cream-notebook", "rev-parse", "HEAD") == HEAD


def test_nobodys_settings_change_it(run_labbook: RunLabbook, tmp_path: Path) -> None:
    hooks = tmp_path / "hooks"
    hooks.mkdir()
    refuse = hooks / "pre-commit"
    refuse.write_text("#!/bin/sh\nexit 1\n", encoding="utf-8")
    refuse.chmod(0o755)
    attributes = tmp_path / "attributes"
    attributes.write_text("*.yaml text eol=crlf\n", encoding="utf-8")
    config = tmp_path / "odd"
    config.write_text(ODD.format(hooks=hooks, attributes=attributes), encoding="utf-8")
    env = {"GIT_CONFIG_GLOBAL": str(config), "TZ": "Asia/Kathmandu", "GIT_AUTHOR_NAME": "X"}
    ran = run_labbook("demo", "sample", cwd=tmp_path, env=env)
    assert ran.code == 0, ran.err
    assert git(tmp_path / "sample", "rev-parse", "HEAD") == HEAD


def test_it_is_sound(run_labbook: RunLabbook, tmp_path: Path) -> None:
    run_labbook("demo", "sample", cwd=tmp_path)
    ran = run_labbook("check", cwd=tmp_path / "sample")
    assert ran.code == 0, ran.out
    said = [line.split()[1].rstrip(";") for line in ran.out.splitlines() if "  rule " in line]
    cold = "phases-apart-when-combined"  # the two batches that the story is about
    assert said == [cold, cold, "ph-of-water-in-oil"]
    assert git(tmp_path / "sample", "fsck", "--strict") == ""
    assert git(tmp_path / "sample", "status", "--short") == "M formulas/KHB.yaml"


def test_a_folder_with_something_in_it_is_left_alone(
    run_labbook: RunLabbook, tmp_path: Path
) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("dear", encoding="utf-8")
    ran = run_labbook("demo", "mine", cwd=tmp_path)
    assert ran.code == 2
    assert "is there already" in ran.err
    assert [p.name for p in (tmp_path / "mine").iterdir()] == ["letter.txt"]


@pytest.mark.parametrize("command", ["demo", "init"])
def test_without_git_nothing_is_written(
    run_labbook: RunLabbook, tmp_path: Path, command: str
) -> None:
    ran = run_labbook(command, "sample", cwd=tmp_path, env={"PATH": "/nowhere"}, through="module")
    assert ran.code == 4
    assert "git" in ran.err.lower()
    assert "Traceback" not in ran.err
    assert not (tmp_path / "sample").exists()
