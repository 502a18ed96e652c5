"""A bench sheet taken in: strictly read, once however often it comes, never over what stands."""

from __future__ import annotations

import shutil
import zlib
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.batch import Batch
from labbook.model.errors import LabbookError, NotAllowed, UnknownName, Unreadable
from labbook.work.bench import Bench
from labbook.work.close import Filling, close
from labbook.work.note import note
from labbook.work.sheet_in import read_file, take_in
from labbook.work.sheet_text import MOST_BYTES, read_items, read_sheet
from tests.work.notebooks import Small, small_notebook

AT = "at 2026-03-09T10:31:05+00:00"
WEIGHED = f"w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | lot beeswax-0815 | {AT}"
STEP = "step s2 | temperature A | 71 °C"


def sheet(batch: str, *entries: str) -> bytes:
    """A sheet as the page writes it."""
    head = ["labbook bench sheet 1", f"batch {batch}", "of HC@3, 100 g"]
    head += ["finished 2026-03-09T11:40:03+00:00", ""]
    body = "\n".join([*head, *entries, ""])
    return f"{body}\nend | {len(entries)} entries | {zlib.crc32(body.encode()):08x}\n".encode()


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Small:
    return small_notebook(tmp_path_factory.mktemp("sheet") / "nb")


@pytest.fixture
def small(made: Small, tmp_path: Path) -> Small:
    shutil.copytree(made.root, tmp_path / "nb")
    return Small(tmp_path / "nb", made.first, made.second, made.open)


def batch_of(small: Small) -> Batch:
    return Bench(small.root).snapshot.batches[small.open]


def takes(small: Small, *entries: str) -> tuple[str, ...]:
    result = take_in(Bench(small.root), None, read_sheet(sheet(small.open, *entries)))
    return (*result.what, *result.remarks)


def refused(small: Small, *entries: str) -> str:
    """What is said of entries that are refused, after which the notebook is as before."""
    before = batch_of(small)
    with pytest.raises(LabbookError) as caught:
        takes(small, *entries)
    assert batch_of(small) == before
    return str(caught.value)


# Twice, changed, struck --------------------------------------------------------------------------


def test_twice_changes_nothing(small: Small) -> None:
    assert takes(small, WEIGHED, STEP)
    once = batch_of(small)
    result = take_in(Bench(small.root), None, read_sheet(sheet(small.open, WEIGHED, STEP)))
    assert (result.what, result.already) == ((), 2)
    assert batch_of(small) == once


def test_a_longer_sheet_brings_only_what_is_new(small: Small) -> None:
    takes(small, WEIGHED)
    more = f"w2-k3m7qa | weighed | a1 | sunflower-oil | 14.00 g | {AT}"
    assert takes(small, WEIGHED, more) == ("sunflower-oil 14.00 g",)


def test_two_phones_keep_their_own_entries_apart(small: Small) -> None:
    takes(small, WEIGHED)
    assert takes(small, WEIGHED.replace("k3m7qa", "zzz999"))
    own = [w for w in batch_of(small).weighings if w.line == "a2"]
    assert [w.id for w in own][-2:] == ["w1-k3m7qa", "w1-zzz999"]


def test_a_strike_comes_after_its_entry(small: Small) -> None:
    takes(small, WEIGHED)
    takes(small, f"{WEIGHED} | struck weighed again")
    assert batch_of(small).weighings[-1].struck == "weighed again"
    assert takes(small, WEIGHED) == ()  # an older sheet doesn't take the strike back
    assert batch_of(small).weighings[-1].struck == "weighed again"


def test_an_entry_under_a_known_id_never_changes_it(small: Small) -> None:
    takes(small, WEIGHED)
    said = takes(small, WEIGHED.replace("1.52", "9.99"))
    assert "stays as it is" in said[0]
    assert str(batch_of(small).weighings[-1].mass) == "1.52 g"


def test_a_value_gives_way_only_to_what_the_page_itself_had_put_there(small: Small) -> None:
    takes(small, STEP)
    takes(small, "step s2 | temperature A | 73 °C | before 71 °C")
    note(Bench(small.root), small.open, ["A 70"], step="s2")
    said = takes(small, "step s2 | temperature A | 73 °C | before 71 °C")
    assert "the notebook's stays" in said[0]
    done = batch_of(small).steps[1].done
    assert done and done.temperatures and str(done.temperatures["A"]) == "70 °C"


def test_a_batch_known_from_paper_says_so_of_each_value(small: Small) -> None:
    path = small.root / small.path(small.open)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("state: open", "state: open\nknown from: paper"), encoding="utf-8")
    takes(small, WEIGHED, STEP)
    now = batch_of(small)
    assert (now.weighings[-1].known_from, now.weighings[-1].time) == ("paper", None)
    assert now.steps[1].done and now.steps[1].done.known_from == "paper"


# Vessels and premixes ----------------------------------------------------------------------------


def test_what_a_vessel_weighed_is_a_reading_as_the_notebook_writes_it(small: Small) -> None:
    """The same key by key as what is said at the terminal, but for its id and time."""
    said = takes(
        small,
        f"r1-k3m7qa | reading | mass before heating | 240.1 g | of B | {AT}",
        f"r2-k3m7qa | reading | empty vessel | 90 g | of pot | {AT}",
        f"r3-k3m7qa | reading | water returned | 3.2 g | of B | {AT}",
    )
    assert said == (
        "mass before heating 240.1 g, vessel B", "empty vessel 90 g, the pot",
        "water returned 3.2 g, vessel B",
    )  # fmt: skip
    own = batch_of(small).readings[-3:]
    phrases = ["vessel B before 240.1 g", "pot empty 90 g", "returned 3.2 g water in B"]
    note(Bench(small.root), small.open, phrases)
    typed = batch_of(small).readings[-3:]
    assert [replace(one, id="r", time=None) for one in own] == [
        replace(one, id="r", time=None) for one in typed
    ]


def test_a_weight_from_another_batch_names_it_and_no_pack(small: Small) -> None:
    entry = f"w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | from {small.second} | {AT}"
    assert takes(small, entry) == (f"beeswax 1.52 g, from {small.second[-2:]}",)
    assert (batch_of(small).weighings[-1].batch, batch_of(small).weighings[-1].lot) == (
        small.second, None,
    )  # fmt: skip
    assert takes(small, entry) == ()
    assert "another batch" in takes(small, entry.replace(small.second, small.first))[0]


def test_no_batch_is_weighed_into_itself(small: Small) -> None:
    entry = f"w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | from {small.open} | {AT}"
    assert "itself" in refused(small, entry)


# Distrust ----------------------------------------------------------------------------------------

HOSTILE = (
    "w1-k3m7qa | weighed | a99 | beeswax | 1.52 g | " + AT,
    "w1-k3m7qa | weighed | a2 | sunflower-oil | 1.52 g | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | 1,52 g | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | -1.52 g | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | 1e3 g | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | NaN g | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | 1.52 | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | 1.52 kg | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | lot nobodys-lot | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | lot ../../x | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | price 3 | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | 1.52 g",
    "w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | at yesterday",
    "w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | at 2026-03-09T10:31:05",
    "r1-k3m7qa | weighed | a2 | beeswax | 1.52 g | " + AT,
    "w1 | weighed | a2 | beeswax | 1.52 g | " + AT,
    "w1-k3m7qa | eaten | a2 | beeswax | 1.52 g | " + AT,
    "w1-k3m7qa | added | ../x | 1.52 g | " + AT,
    "w1-k3m7qa | added | water | 1.52 g | phase Q | " + AT,
    "r1-k3m7qa | reading | mood | 4.9 | " + AT,
    "r1-k3m7qa | reading | pH | seen 4.9 | " + AT,
    "r1-k3m7qa | reading | pH | 4.9 mm | " + AT,
    "r1-k3m7qa | reading | emulsion type | seen perhaps | " + AT,
    "n1-k3m7qa | note | told | step s99 | " + AT,
    "n1-k3m7qa | note | a \\x | " + AT,
    "n1-k3m7qa | note | bell \x07 | " + AT,
    "d1-k3m7qa | weighed up | a2 | beeswax | 1.6 g | size 3 g | a2 1.6 g | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | from HC-260301-9Z | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | from ../x | " + AT,
    "w1-k3m7qa | weighed | a2 | beeswax | 1.52 g | from r5 | " + AT,
    "w1-k3m7qa | added | water | 1.52 g | from HC-260301-9Z | " + AT,
    "r1-k3m7qa | reading | empty vessel | 120.1 g | of Q | " + AT,
    "r1-k3m7qa | reading | empty vessel | 120.1 g | " + AT,
    "r1-k3m7qa | reading | empty vessel | -120.1 g | of A | " + AT,
    "r1-k3m7qa | reading | mass after heating | 120.1 | of A | " + AT,
    "r1-k3m7qa | reading | Empty Vessel | 120.1 g | of A | " + AT,
    "r1-k3m7qa | reading | residue of all | 1 g | of A | " + AT,
    "step s9 | temperature A | 71 °C",
    "step s1 | temperature Q | 71 °C",
    "step s1 | temperature A | 71",
    "step s1 | temperature A | 71 °C | after 3 °C",
    "step s1 | skipped | yes",
    "step s1 | known from | memory",
    "room | colour | red",
    "batch | state | closed",
    "batch | notes | mine now",
    "| | |",
    "x" * 5000,
)


@pytest.mark.parametrize("entry", HOSTILE)
def test_what_no_page_writes_is_refused_and_nothing_is_written(small: Small, entry: str) -> None:
    said = refused(small, WEIGHED.replace("w1", "w7"), entry)
    assert "Nothing was taken in" in said or "has no lot" in said


PIECES = (
    "w1-k3m7qa", "w2-k3m7qa", "r1-k3m7qa", "d1-k3m7qa", "n1-k3m7qa", "weighed", "added",
    "reading", "note", "deviation", "photo", "weighed up", "a1", "a2", "a5", "beeswax", "glycerin",
    "sunflower-oil", "water", "1.52 g", "14 g", "0 g", "lot beeswax-0815", "from HC-260302-F3",
    "phase A", "phase B", "as target", "struck taken out again", "pH", "4.9", "seen oil-in-water",
    "emulsion type", "mass before heating", "empty vessel", "of A", "of pot", "of water phase",
    "temperature 23 °C", "by strip", "step s1", "step s2", "temperature A", "71 °C", "started",
    "seen", "before 70 °C", "room", "humidity", "44%", "batch", "yield", "97 g", "size 100 g",
    "- {a: b}", "'\": #", "\u202e\u2066", "\\n\\n---\\n", AT, AT, AT, AT,
    "2026-03-09T10:31:05+00:00",
)  # fmt: skip
"""What entries are made of, and a little of what they aren't."""


def test_whatever_is_pieced_together_is_taken_once_or_not_at_all(small: Small) -> None:
    """Right pieces in any order: refused whole, or a file that reads, and a second time nothing."""
    chance, taken = Random(17), 0
    file = small.root / small.path(small.open)
    for _ in range(3000):
        entries = [
            " | ".join(chance.choices(PIECES, k=chance.randint(3, 6)))
            if chance.random() < 0.5
            else " | ".join([*_sound(chance), *chance.choices(PIECES, k=chance.randint(0, 2))])
            for _ in range(chance.randint(1, 2))
        ]
        before = file.read_bytes()
        try:
            said = takes(small, *entries)
        except LabbookError:
            assert file.read_bytes() == before
            continue
        taken += 1
        now = batch_of(small)
        assert takes(small, *entries) == tuple(x for x in said if "stays" in x)
        assert batch_of(small) == now
        if taken >= 15:
            return
    raise AssertionError(f"only {taken} of them were taken")


def _sound(chance: Random) -> tuple[str, ...]:
    number = chance.randint(1, 400)
    return chance.choice(
        (
            (f"w{number}-k3m7qa", "weighed", "a2", "beeswax", f"{number}.5 g", AT),
            (f"w{number}-k3m7qa", "added", "water", f"0.{number} g", AT),
            (f"r{number}-k3m7qa", "reading", "pH", f"4.{number}", AT),
            (f"r{number}-k3m7qa", "reading", "empty vessel", f"{number} g", "of A", AT),
            (f"n{number}-k3m7qa", "note", chance.choice(PIECES), AT),
            (f"d{number}-k3m7qa", "deviation", chance.choice(PIECES), AT),
            ("step s2", "seen", chance.choice(PIECES)),
        )
    )


def test_one_id_twice_is_refused(small: Small) -> None:
    assert "one id" in refused(small, WEIGHED, WEIGHED)


def test_a_sheet_of_another_batch_is_refused(small: Small) -> None:
    read = read_sheet(sheet(small.open, WEIGHED))
    with pytest.raises(NotAllowed, match="The sheet is of"):
        take_in(Bench(small.root), small.second, read)
    with pytest.raises(UnknownName):
        take_in(Bench(small.root), None, read_sheet(sheet("HC-260309-9Z", WEIGHED)))


def test_a_closed_batch_takes_nothing_new_and_says_nothing_of_what_it_has(small: Small) -> None:
    takes(small, WEIGHED)
    close(Bench(small.root), small.open, Filling(jars=0))
    assert takes(small, WEIGHED) == ()
    assert "is closed" in refused(small, WEIGHED, STEP)


def test_no_sheet_no_file_too_large(small: Small, tmp_path: Path) -> None:
    for raw in (b"", b"hello\n", b"\xff\xfe", b"labbook bench sheet 2\n" * 9, b"\x00" * 100,
                b"a" * (MOST_BYTES + 1)):  # fmt: skip
        with pytest.raises(Unreadable, match="Nothing was taken in"):
            read_sheet(raw)
    with pytest.raises(Unreadable, match="can't be read"):
        read_file(tmp_path / "none.txt")
    with pytest.raises(Unreadable, match="no plain file"):
        read_file(tmp_path)


def test_what_mail_does_to_line_ends_is_forgiven(small: Small) -> None:
    raw = sheet(small.open, WEIGHED, STEP)
    mailed = b"\xef\xbb\xbf" + raw.replace(b"\n", b"  \r\n") + b"\r\n\r\n"
    assert read_sheet(mailed) == read_sheet(raw)


@given(st.data())
def test_a_sheet_that_was_changed_anywhere_is_refused(data: st.DataObject) -> None:
    raw = sheet("HC-260309-R5", WEIGHED, STEP).decode()
    place = data.draw(st.integers(0, len(raw) - 2))
    char = data.draw(st.characters(codec="utf-8"))
    whole = read_sheet(raw.encode())
    changed = raw[:place] + char + raw[place + 1 :]
    try:
        found = read_sheet(changed.encode())
    except Unreadable:
        return
    assert found == whole  # only blanks at the end of a line make no difference


@given(st.lists(st.text(max_size=200), max_size=5))
def test_any_lines_are_entries_or_are_refused(lines: list[str]) -> None:
    try:
        read_items(lines)
    except Unreadable as found:
        assert "Nothing was taken in" in str(found)
