"""`batch sheet --page` and `note --from FILE`, as typed."""

from __future__ import annotations

import zlib

from tests.e2e.bench import Hand

AT = "at 2026-03-09T10:31:05+00:00"
ENTRY = f"w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | {AT}"


def sheet_text(batch: str, *entries: str) -> str:
    """A sheet as the page writes it."""
    head = ["labbook bench sheet 1", f"batch {batch}", "of HC@3, 100 g"]
    head += ["finished 2026-03-09T11:40:03+00:00", ""]
    body = "\n".join([*head, *entries, ""])
    return f"{body}\nend | {len(entries)} entries | {zlib.crc32(body.encode()):08x}\n"


def test_the_page_goes_where_it_is_told(hand: Hand) -> None:
    first = hand.does("batch", "sheet", hand.open, "--page", "one.html")
    assert "one.html" in first
    hand.does("batch", "sheet", "--page", "two.html")
    hand.does("batch", "sheet", hand.open, "--page", "-o", "three.html")
    hand.does("batch", "sheet", "--page")
    names = ("one.html", "two.html", "three.html", f"sheet-{hand.open}.html")
    pages = {(hand.root / name).read_bytes() for name in names}
    assert len(pages) == 1
    assert "Content-Security-Policy" in pages.pop().decode("utf-8")


def test_options_that_don_t_go_together_are_told(hand: Hand) -> None:
    assert "Where should" in hand.does("batch", "sheet", hand.open, "x.html", code=2)
    assert "writes no file" in hand.does(
        "batch", "sheet", hand.open, "--page", "--phone", code=2
    )  # fmt: skip
    assert "is closed" in hand.does("batch", "sheet", hand.small.first, "--page", code=2)


def test_a_sheet_is_noted_once_from_a_file_and_from_its_text(hand: Hand) -> None:
    text = sheet_text(hand.small.open, ENTRY)
    (hand.root / "sheet.txt").write_text(text, encoding="utf-8")
    assert "beeswax 1.52 g" in hand.does("batch", "note", hand.open, "--from", "sheet.txt")
    assert "1 entry was there already" in hand.does("note", "--from", "sheet.txt")
    ran = hand.run("note", "--from", "-", cwd=hand.root, stdin=text)
    assert ran.code == 0
    assert "there already" in ran.out
    assert [w.id for w in hand.batch(hand.open).weighings].count("w1-k3m7qa") == 1


def test_a_sheet_stands_alone(hand: Hand) -> None:
    (hand.root / "sheet.txt").write_text(sheet_text(hand.small.open, ENTRY), encoding="utf-8")
    assert "as it is" in hand.does("note", "pH 5", "--from", "sheet.txt", code=2)
    assert "From rumour?" in hand.does("note", "pH 5", "--from", "rumour", code=2)
    assert "can't be read" in hand.does("note", "--from", "none.txt", code=3)
    said = hand.does("note", hand.small.second, "--from", "sheet.txt", code=2)
    assert "nothing was taken" in said
    hand.does("note", "pH 5.1", "--from", "paper")
