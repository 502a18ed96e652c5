"""Photos by the commands: taken in, shown, checked, taken back; private where that is said."""

from __future__ import annotations

import hashlib
import io
import json
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.e2e.bench import Hand
from tests.notebook.repos import git_says


@pytest.fixture
def roll(tmp_path: Path) -> list[Path]:
    """Two pictures somewhere else, the first with a camera's metadata."""
    made = []
    for number, colour in enumerate(("beige", "ivory")):
        exif = Image.Exif()
        exif[0x010F] = "zqmaker"
        file = tmp_path / f"IMG_{number}.JPG"
        Image.new("RGB", (2400, 1800), colour).save(file, "JPEG", exif=exif)
        made.append(file)
    return made


def folder(hand: Hand, id_: str) -> Path:
    return hand.root / hand.small.path(id_).rsplit("/", 1)[0]


def pictures(hand: Hand, id_: str) -> list[str]:
    return sorted(file.name for file in folder(hand, id_).glob("*.jpg"))


def entries(hand: Hand, id_: str) -> list[dict[str, Any]]:
    shown = json.loads(hand.does("show", id_, "--json"))
    found: list[dict[str, Any]] = shown["photos"]
    return found


def test_a_picture_of_an_open_and_of_a_closed_batch(hand: Hand, roll: list[Path]) -> None:
    for id_ in (hand.small.open, hand.small.first):
        before = git_says(hand.root, "rev-parse", "HEAD")
        said = hand.says("note", id_, "--photo", roll[0], "-m", "a ring at the rim")
        (name,) = pictures(hand, id_)
        assert f"photo p1: {name}, a ring at the rim" in " ".join(said.split())
        data = (folder(hand, id_) / name).read_bytes()
        assert name.endswith(f"-{hashlib.sha256(data).hexdigest()[:16]}.jpg")
        assert b"zqmaker" in roll[0].read_bytes()
        assert b"zqmaker" not in data
        assert Image.open(io.BytesIO(data)).size == (1600, 1200)
        text = (folder(hand, id_) / "photos.yaml").read_text(encoding="utf-8")
        assert hashlib.sha256(roll[0].read_bytes()).hexdigest() in text
        changed = git_says(hand.root, "diff", "--name-only", before, "HEAD").split()
        assert [path.rsplit("/", 1)[-1] for path in changed] == sorted([name, "photos.yaml"])
        assert git_says(hand.root, "status", "--porcelain") == ""
        assert "a ring at the rim" in hand.does("show", id_)
    assert "error" not in hand.does("check")


def test_several_at_once_and_none_of_them_twice(hand: Hand, roll: list[Path]) -> None:
    first = hand.small.first
    words = ("note", first, "--photo", roll[0], "--photo", roll[1], "--private")
    hand.does(*words)
    assert [(one["id"], one["private"]) for one in entries(hand, first)] == [
        ("p1", True),
        ("p2", True),
    ]
    head = git_says(hand.root, "rev-parse", "HEAD")
    said = hand.does(*words)
    assert "already, as p1" in said
    assert "already, as p2" in said
    assert git_says(hand.root, "rev-parse", "HEAD") == head
    hand.does("note", f"{first[-2:]}.1", "--photo", roll[0])
    assert [one["jar"] for one in entries(hand, first)] == ["", "", f"{first[-2:]}.1"]
    assert len(pictures(hand, first)) == 2


def test_one_bad_picture_and_nothing_is_written(hand: Hand, roll: list[Path]) -> None:
    bad = roll[0].with_name("x.jpg")
    bad.write_bytes(b"<svg/>")
    said = hand.does("note", hand.small.first, "--photo", roll[0], "--photo", bad, code=2)
    assert "SVG" in said
    assert pictures(hand, hand.small.first) == []
    for words in (("pH 5.4",), ("--from", "memory"), ("--of", "water phase"), ("--deviation",)):
        hand.does("note", hand.open, *words, "--photo", roll[0], code=2)
    hand.does("note", hand.open, "--step", "s99", "--photo", roll[0], code=2)
    hand.does("note", f"{hand.small.first[-2:]}.77", "--photo", roll[0], code=2)
    assert git_says(hand.root, "status", "--porcelain") == ""


def test_undo_takes_the_picture_back(hand: Hand, roll: list[Path]) -> None:
    hand.does("note", hand.small.first, "--photo", roll[0])
    hand.does("note", hand.small.first, "--photo", roll[1])
    assert len(pictures(hand, hand.small.first)) == 2
    hand.does("undo")
    assert len(pictures(hand, hand.small.first)) == 1
    hand.does("undo")
    assert pictures(hand, hand.small.first) == []
    assert not (folder(hand, hand.small.first) / "photos.yaml").exists()
    assert git_says(hand.root, "status", "--porcelain") == ""


def test_check_finds_what_is_gone_changed_or_in_no_entry(hand: Hand, roll: list[Path]) -> None:
    first = hand.small.first
    hand.does("note", first, "--photo", roll[0])
    file = folder(hand, first) / pictures(hand, first)[0]
    whole = file.read_bytes()

    def rules(code: int = 1) -> set[str]:
        ran = hand.run("check", first, "--json", cwd=hand.root)
        assert ran.code == code, ran
        found = json.loads(ran.out)["problems"]
        return {one["rule"] for one in found if one["rule"].startswith("photo")}

    file.write_bytes(whole[:-1] + b"!")
    assert rules() == {"photo-changed"}
    file.unlink()
    assert rules() == {"photo-missing"}
    notes = folder(hand, first) / "photos.yaml"
    text = notes.read_text(encoding="utf-8")
    notes.write_text(text.replace("time:", 'struck: "of another jar", time:'), encoding="utf-8")
    assert rules(0) == set()
    notes.write_text(text, encoding="utf-8")
    file.write_bytes(whole)
    (folder(hand, first) / "IMG_7.JPG").write_bytes(whole)
    assert rules(0) == {"photo-not-named"}
    notes.write_text(text.replace('file: "2', 'file: "../../../2'), encoding="utf-8")
    said = " ".join(hand.run("check", first, cwd=hand.root).out.split())
    assert "is no photo's name" in said
