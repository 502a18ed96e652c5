"""Names of files: two spellings of one, names of devices, ways out of the notebook, links."""

from __future__ import annotations

import shutil
import unicodedata
from pathlib import Path

import pytest

from labbook.model.errors import LabbookError
from labbook.notebook.atomic import check_target
from labbook.notebook.snapshot import read_notebook
from tests.e2e.bench import Hand
from tests.notebook.repos import git_says, put

SHEET = "id: {name}\ntitle: Crème\nphysical: solid\n"


def test_a_name_is_found_in_either_way_of_writing_its_accents(hand: Hand) -> None:
    """Some systems hand the name of a file back decomposed (NFD), whatever it was made as."""
    put(hand.root, f"ingredients/{unicodedata.normalize('NFD', 'crème')}.yaml",
        SHEET.format(name="creme-1"))  # fmt: skip
    for form in ("NFC", "NFD"):
        assert read_notebook(hand.root).sheets.find(unicodedata.normalize(form, "Crème"))


def test_two_files_whose_names_differ_in_spelling_only_are_told(hand: Hand) -> None:
    for form in ("NFC", "NFD"):
        name = unicodedata.normalize(form, "crème")
        put(hand.root, f"ingredients/{name}.yaml", SHEET.format(name=f"creme-{form.lower()}"))
    if len(list((hand.root / "ingredients").glob("cr*me.yaml"))) < 2:
        pytest.skip("this file system takes both for one")
    assert "is a name in" in " ".join(hand.does("check").split())


def test_two_files_whose_names_differ_in_case_only_are_told(hand: Hand) -> None:
    put(hand.root, "ingredients/Shea.yaml", SHEET.format(name="shea-1"))
    put(hand.root, "ingredients/shea.yaml", SHEET.format(name="shea-2"))
    if len(list((hand.root / "ingredients").glob("[sS]hea.yaml"))) < 2:
        pytest.skip("this file system takes both for one")
    assert "is a name in" in " ".join(hand.does("check").split())


@pytest.mark.parametrize("name", ["CON", "nul", "AUX", "COM1", "lpt9", "PRN"])
def test_a_name_of_a_device_is_refused_before_anything_is_written(hand: Hand, name: str) -> None:
    before = git_says(hand.root, "rev-parse", "HEAD")
    hand.does("formula", "new", name, "--type", "gel", code=2)
    hand.does("ingredient", "new", name, code=2)
    assert git_says(hand.root, "rev-parse", "HEAD") == before
    assert git_says(hand.root, "status", "--porcelain") == ""


@pytest.mark.parametrize("name", ["CON.yaml", "nul.tar.yaml", "a/NUL.yaml", "aux", "x.", "x "])
def test_no_file_gets_a_name_that_windows_keeps(tmp_path: Path, name: str) -> None:
    with pytest.raises(LabbookError):
        check_target(tmp_path / name, tmp_path)


@pytest.mark.parametrize(
    "name", ["../outside", "..", "a/../../b", "/etc/passwd", "\\\\server\\share", ".git", "a\0b"]
)
def test_no_name_leads_out_of_the_notebook(hand: Hand, name: str) -> None:
    around = {path for path in hand.root.parent.rglob("*") if ".git" not in path.parts}
    for words in (
        ("formula", "new", name, "--type", "gel"),
        ("show", name),
        ("make", name),
        ("restore", f"{name}@1"),
        ("trace", name),
        ("journal", "public", name),
    ):
        ran = hand.does(*words, code=2)
        assert "root:" not in ran
    assert {path for path in hand.root.parent.rglob("*") if ".git" not in path.parts} == around


@pytest.mark.parametrize("name", ["../outside", "/etc/passwd", "a/../b", "Shea butter", ".hidden"])
def test_a_name_for_a_sheet_becomes_a_plain_one_that_reads_back(hand: Hand, name: str) -> None:
    hand.does("ingredient", "new", name)
    changed = git_says(hand.root, "show", "--name-only", "--format=", "HEAD").splitlines()
    assert len(changed) == 1 and changed[0].startswith("ingredients/")
    assert "/." not in changed[0]
    assert not read_notebook(hand.root).files[changed[0]].problems


@pytest.mark.parametrize("name", ["..", ".", "/", "---", " "])
def test_a_name_without_letters_is_none(hand: Hand, name: str) -> None:
    hand.does("ingredient", "new", "--", name, code=2)


@pytest.mark.parametrize("folder", ["formulas", "ingredients", "lots", "batches", "journal"])
def test_a_folder_that_is_a_link_is_not_followed(hand: Hand, tmp_path: Path, folder: str) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    put(elsewhere, "LEAK.yaml", "code: LEAK\ntitle: A secret\nid: f-leak01\nemulsion: gel\n")
    shutil.rmtree(hand.root / folder, ignore_errors=True)
    (hand.root / folder).symlink_to(elsewhere)
    assert not [path for path in read_notebook(hand.root).files if "LEAK" in path]


def test_a_file_that_is_a_link_is_neither_read_nor_written_through(
    hand: Hand, tmp_path: Path
) -> None:
    secret = put(tmp_path, "secret.yaml", "code: LEAK\ntitle: S\nid: f-leak01\nemulsion: gel\n")
    (hand.root / "formulas/LEAK.yaml").symlink_to(secret)
    before = secret.read_bytes()
    assert "formulas/LEAK.yaml" not in read_notebook(hand.root).files
    hand.does("save", "LEAK", code=2)
    hand.does("formula", "new", "LEAK", "--type", "gel", code=2)
    assert secret.read_bytes() == before


def test_the_head_may_be_no_link_either(hand: Hand, tmp_path: Path) -> None:
    secret = put(tmp_path, "secret", "a: secret word\n")
    (hand.root / "labbook.yaml").unlink()
    (hand.root / "labbook.yaml").symlink_to(secret)
    ran = hand.run("check", cwd=hand.root)
    assert "secret word" not in ran.out + ran.err and "Traceback" not in ran.err
