"""The intent record: whole or not there, and read back as it was meant."""

import os
import tempfile
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.notebook import atomic
from labbook.notebook.atomic import NotWritten
from labbook.notebook.intent import Intent, Log, Store, Target, digest, new_ident

FIRST = Intent("0001-1", "note", "One", 1.5, (Target("a", ("",), b"1"),))


def store_in(folder: Path) -> Store:
    return Store(folder / "intents" / "key", folder / "aside" / "key")


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return store_in(tmp_path)


# Paths as a file system gives them, those that are no UTF-8 included.
paths = st.binary(min_size=1).filter(lambda b: 0 not in b).map(os.fsdecode)
targets = st.builds(
    Target, paths, st.lists(st.binary().map(digest), min_size=1).map(tuple), st.none() | st.binary()
)
intents = st.builds(
    Intent,
    st.just("0001-1"),
    st.text(),
    st.text(),
    st.floats(0, 4e9),
    st.lists(targets, min_size=1).map(tuple),
    st.none() | st.datetimes(timezones=st.just(UTC)),
    st.integers(1, 1000),
)


@given(intents)
def test_an_intent_is_read_as_it_was_saved(intent: Intent) -> None:
    with tempfile.TemporaryDirectory() as folder:
        store = store_in(Path(folder))
        store.save(intent)
        assert store.read(intent.ident) == intent
        assert store.idents() == [intent.ident]


@pytest.mark.parametrize("step", ["write", "fsync", "replace"])
def test_saving_that_fails_leaves_the_turn_before_or_none(
    store: Store, step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    where: dict[str, tuple[object, str]] = {
        "write": (atomic.Pending, "_fill"),
        "fsync": (os, "fsync"),
        "replace": (Path, "replace"),
    }
    for before in (None, FIRST):
        if before is not None:
            store.save(before)
        with monkeypatch.context() as patch, pytest.raises(NotWritten):
            patch.setattr(*where[step], full)
            store.save(replace(FIRST, turn=2))
        assert store.read(FIRST.ident) == before
        assert [f.name for f in store.folder.iterdir()] == (
            [f"{FIRST.ident}.json"] if before else []
        )


def test_a_content_that_is_not_what_was_meant_is_damage(store: Store) -> None:
    store.save(FIRST)
    file = store.folder / f"{FIRST.ident}.json"
    file.write_text(file.read_text().replace('"MQ=="', '"Mg=="'))
    assert store.read(FIRST.ident) is None


def test_the_log_grows_and_a_line_cut_off_is_none(store: Store) -> None:
    store.save(FIRST)
    assert store.log(FIRST.ident) == Log()
    store.note_child(FIRST.ident, 0)
    store.note_child(FIRST.ident, 77)
    store.note_written(replace(FIRST, turn=3))
    with (store.folder / f"{FIRST.ident}.log").open("ab") as log:
        log.write(b"written 4")
    found = store.log(FIRST.ident)
    assert found.written == 3
    assert [pid for pid, _ in found.children] == [0, 77]


def test_an_owner_is_known_to_live_by_its_lock(store: Store) -> None:
    assert not store.is_owned(FIRST.ident)
    owner = store.own(FIRST.ident)
    assert owner is not None
    assert store.is_owned(FIRST.ident)
    assert store.own(FIRST.ident) is None
    owner.release()
    assert not store.is_owned(FIRST.ident)


def test_forgetting_leaves_nothing(store: Store) -> None:
    owner = store.own(FIRST.ident)
    store.save(FIRST)
    store.note_written(FIRST)
    store.forget(FIRST.ident)
    assert owner is not None
    owner.release()
    store.sweep()
    assert list(store.folder.iterdir()) == []


def test_sweeping_spares_open_intents_and_living_owners(store: Store) -> None:
    store.save(FIRST)
    store.note_written(FIRST)
    owner = store.own("0002-1")
    assert owner is not None
    for name in (".labbook-tmp-x", "0003-1.log", "0004-1.lock"):
        (store.folder / name).write_bytes(b"")
    store.sweep()
    assert sorted(file.name for file in store.folder.iterdir()) == [
        "0001-1.json",
        "0001-1.log",
        "0002-1.lock",
    ]
    owner.release()


def test_names_sort_by_age() -> None:
    names = [new_ident() for _ in range(3)]
    assert names == sorted(names)
    assert datetime.fromtimestamp(int(names[0][:20]) / 1e9, UTC).year >= 2024
