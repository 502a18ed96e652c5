"""Recording commands as they are typed, and what is there of their entry."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from labbook.model.errors import NotAllowed
from labbook.work.bench import Bench
from labbook.work.correct import as_it_was_closed
from labbook.work.init import ATTRIBUTES, start
from labbook.work.journal import mark
from labbook.work.materials import add_equipment, add_lot
from labbook.work.note import note
from labbook.work.syncing import sync
from tests.notebook.repos import commit, git_says, put, run_git
from tests.work.notebooks import PATH, Maker, Small
from tests.work.test_sheet_in import sheet

STORE = "store.git"


def edited(small: Small) -> None:
    """A formula changed in an editor and not saved: no command may lose that."""
    Maker(small.root).edits(PATH, "percent: 3}", "percent: 2}")


def untouched(_: Small) -> None:
    """Nothing beside the notebook as it was made."""


def another_entry(small: Small) -> None:
    """The next command that records."""
    add_lot(Bench(small.root), "glycerin", {"lot": "12"}, "the-next-command")


def stays(small: Small) -> Path:
    """The folder of the notebook that it is about."""
    return small.root


@dataclass(frozen=True)
class Command:
    """A recording command.

    Args:
        words: as typed.
        kept: what is there of its entry, in order; one that writes several things one after the
            other may be cut off between them.
        before: what was done in the notebook before it is typed.
        then: the next command; it has to work.
        place: the notebook that it records in.
        merges: whether two histories come together.
    """

    words: Callable[[Small], list[str]]
    kept: Callable[[Small], list[bool]]
    before: Callable[[Small], None] = edited
    then: Callable[[Small], None] = another_entry
    place: Callable[[Small], Path] = stays
    merges: bool = False


# What is there ----------------------------------------------------------------------------------


def _text(small: Small, path: str) -> str:
    file = small.root / path
    return file.read_text(encoding="utf-8") if file.exists() else ""


def _one(path: Callable[[Small], str], words: str) -> Callable[[Small], list[bool]]:
    return lambda small: [words in _text(small, path(small))]


def _file(path: str, words: str = "") -> Callable[[Small], list[bool]]:
    return lambda small: [(small.root / path).exists() and words in _text(small, path)]


def _batch(small: Small) -> str:
    return small.path(small.open)


def _first(small: Small) -> str:
    return small.path(small.first)


def _looks(small: Small) -> str:
    return small.path(small.first, "stability.yaml")


def _jars(small: Small) -> str:
    return small.path(small.first, "jars.yaml")


def _made(small: Small) -> list[bool]:
    bench = Bench(small.root)
    return [bench.formula("HC").version == 4, len(bench.snapshot.batches) == 4]


def _closed(small: Small) -> list[bool]:
    folder = (small.root / _batch(small)).parent
    there = {(folder / name).exists() for name in ("jars.yaml", "stability.yaml")}
    assert len(there) == 1, "the jars and the looks at them come together"
    state = Bench(small.root).snapshot.batches[small.open].state == "closed"
    assert there == {state}
    return [state]


def _weighed(small: Small) -> list[bool]:
    return [words in _text(small, _batch(small)) for words in ("2.51", "73.10")]


def _entries(small: Small) -> list[bool]:
    return [any((small.root / "journal").glob("*cracked-hands*.md"))]


def _lots(small: Small) -> list[bool]:
    return [any("4711" in f.read_text("utf-8") for f in (small.root / "lots").iterdir())]


def _photo(small: Small) -> list[bool]:
    """Whether the picture is there; neither it nor its entry without the other."""
    folder = (small.root / _first(small)).parent
    files = {path.name for path in folder.glob("*.jpg")}
    held = Bench(small.root).snapshot.photos.get(small.first)
    if not any((small.root / ".git" / "labbook" / "intents").glob("*/*.json")):
        assert files == ({photo.file for photo in held.photos} if held else set())
    return [held is not None]


def _imported(small: Small) -> list[bool]:
    return [(small.root / "formulas/OIL.yaml").exists()]


# What is typed ----------------------------------------------------------------------------------


def _picture(small: Small) -> str:
    file = small.root.parent / "jar.png"
    if not file.exists():
        Image.new("RGB", (300, 200), "beige").save(file)
    return str(file)


def _sheet(small: Small) -> list[str]:
    at = "at 2026-03-09T10:31:05+00:00"
    words = f"n1-k3m7qa | note | smelled of honey | {at}"
    file = small.root.parent / "sheet.txt"
    file.write_bytes(sheet(small.open, words))
    return ["note", "--from", str(file)]


def _table(small: Small) -> list[str]:
    file = small.root.parent / "oil.csv"
    file.write_text("ingredient,%\nSunflower oil,97.5\nBeeswax,2.5\n", encoding="utf-8")
    return ["formula", "import", str(file), "--as", "OIL", "--type", "anhydrous", "--yes"]


def _with_meter(small: Small) -> None:
    edited(small)
    add_equipment(Bench(small.root), "meter-1", {"kind": "pH meter"}, default=False)


def _public(small: Small) -> None:
    edited(small)
    mark(Bench(small.root), "LO", public=True)


def _slip(small: Small) -> None:
    """A closed batch changed in an editor."""
    edited(small)
    Maker(small.root).edits(_first(small), "mass: 1.52 g", "mass: 1.25 g")


def _put_back(small: Small) -> None:
    another_entry(small)
    with contextlib.suppress(NotAllowed):  # it is as it was
        as_it_was_closed(Bench(small.root), small.first)


# Beginning and exchanging -----------------------------------------------------------------------

_DRIVER = ATTRIBUTES.splitlines()[-1]


def _new(small: Small) -> Path:
    return small.root.parent / "new"


def _started(small: Small) -> list[bool]:
    if not (_new(small) / "labbook.yaml").exists():
        return [False]
    return [
        run_git(_new(small), "cat-file", "-e", "HEAD:labbook.yaml", check=False).returncode == 0
    ]


def _starts(small: Small) -> None:
    start(_new(small))


def _undriven(small: Small) -> None:
    """A notebook from before git was told how to show its files."""
    text = _text(small, ".gitattributes")
    put(small.root, ".gitattributes", text.replace(_DRIVER + "\n", ""))
    commit(small.root, "as it was once", ".gitattributes")


def _driven(small: Small) -> list[bool]:
    return [_DRIVER in _text(small, ".gitattributes")]


def _second(small: Small) -> Path:
    return small.root.parent / "second"


def _apart(small: Small) -> None:
    """Two copies that each got an entry in one file, and the place between them."""
    box = small.root.parent
    run_git(box, "init", "-q", "--bare", "-b", "main", STORE)
    run_git(small.root, "remote", "add", "origin", f"../{STORE}")
    sync(Bench(small.root))
    shutil.copytree(small.root, _second(small), symlinks=True)
    note(Bench(_second(small)), small.open, ["what the other saw"])
    add_lot(Bench(_second(small)), "glycerin", {"lot": "77"}, "from-elsewhere")
    sync(Bench(_second(small)))
    note(Bench(small.root), small.open, ["what this one saw"])
    edited(small)


def _exchanged(small: Small) -> list[bool]:
    """What came is here, and what was here is there."""
    held = git_says(small.root, "show", f"HEAD:{_batch(small)}")
    sent = git_says(small.root.parent / STORE, "show", f"main:{_batch(small)}")
    assert "what this one saw" in _text(small, _batch(small))
    return ["what the other saw" in held, "what this one saw" in sent]


def _exchange(small: Small) -> None:
    """A merge that sync left open is ended by it; an entry would wait until then."""
    sync(Bench(small.root))
    another_entry(small)
    sync(Bench(small.root))


COMMANDS = {
    "note": Command(
        lambda small: ["note", small.open[-2:], "pH 5.0; A 71 B 70; smells of wax"],
        _one(_batch, "smells of wax"),
    ),
    "weigh": Command(
        lambda small: ["weigh", small.open[-2:], "beeswax=2.51", "water=73.10"], _weighed
    ),
    "save": Command(
        lambda _: ["save", "HC"], lambda small: [Bench(small.root).formula("HC").version == 4]
    ),
    "make": Command(lambda _: ["make", "HC", "--size", "50g"], _made),
    "close": Command(
        lambda small: ["close", small.open[-2:], "--yield", "96 g", "--jars", "2"], _closed
    ),
    "look": Command(
        lambda small: ["look", f"{small.first[-2:]}.2", "0", "--note", "smooth as before"],
        _one(_looks, "smooth as before"),
    ),
    "correct": Command(
        lambda small: [
            *("batch", "correct", small.first[-2:], "r1.value=5.2", "-m", "read again"),
        ],
        _one(_first, "read again"),
    ),
    "as closed": Command(
        lambda small: ["batch", "correct", small.first, "--as-closed"],
        _one(_first, "mass: 1.52 g"),
        _slip,
        _put_back,
    ),
    "drop": Command(
        lambda small: ["batch", "drop", small.second[-2:], "-m", "the wrong pot"],
        _one(lambda small: small.path(small.second), "the wrong pot"),
    ),
    "restore": Command(
        lambda _: ["restore", "HC@1"],
        lambda small: [Bench(small.root).formula("HC").version == 4],
        untouched,
    ),
    "undo": Command(
        lambda _: ["undo"], lambda small: ["A 70" not in _text(small, _batch(small))], untouched
    ),
    "lot": Command(lambda _: ["ingredient", "lot", "add", "beeswax", "--lot", "4711"], _lots),
    "formula": Command(
        lambda _: ["formula", "new", "BALM", "--type", "anhydrous"], _file("formulas/BALM.yaml")
    ),
    "journal": Command(lambda _: ["journal", "new", "Cracked hands"], _entries),
    "plan": Command(
        lambda small: [
            *("stability", "plan", small.first[-2:], "--add", "room 45 d", "-m", "to be sure"),
        ],
        _one(_jars, "looks-hc"),
    ),
    "note later": Command(
        lambda small: ["note", small.first[-2:], "A 72 B 58", "-m", "forgotten"],
        _one(_first, "forgotten"),
    ),
    "photo": Command(
        lambda small: ["note", small.first[-2:], "--photo", _picture(small), "-m", "a ring"], _photo
    ),
    "sheet": Command(_sheet, _one(_batch, "smelled of honey")),
    "spin": Command(
        lambda small: [
            *("look", f"{small.first[-2:]}.1", "0", "--spin", "3000 rpm, 10 cm, 30 min"),
            *("--note", "nothing at the top"),
        ],
        _one(_looks, "nothing at the top"),
    ),
    "look corrected": Command(
        lambda small: [
            *("look", f"{small.first[-2:]}.1", "--correct", "o1", "grade=1", "-m", "seen twice"),
        ],
        _one(_looks, "seen twice"),
    ),
    "look moved": Command(
        lambda small: ["look", f"{small.first[-2:]}.1", "--moved", "fridge"], _one(_jars, "y4")
    ),
    "look done": Command(
        lambda small: ["look", f"{small.first[-2:]}.1", "--done", "-m", "seen enough"],
        _one(_jars, "seen enough"),
    ),
    "reaction": Command(
        lambda small: ["batch", "reaction", small.first[-2:], "burning behind the ear"],
        _one(lambda small: small.path(small.first, "reactions.yaml"), "behind the ear"),
    ),
    "ingredient": Command(
        lambda _: ["ingredient", "new", "Shea butter"],
        lambda small: [any((small.root / "ingredients").glob("shea*.yaml"))],
    ),
    "use up": Command(
        lambda _: ["ingredient", "lot", "use-up", "beeswax-0815"],
        _file("lots/beeswax-0815.yaml", "used up"),
    ),
    "equipment": Command(
        lambda _: ["equipment", "add", "scale-1", "--kind", "balance", "--readability", "0.01g"],
        _file("equipment/scale-1.yaml"),
    ),
    "calibrate": Command(
        lambda _: ["equipment", "calibrate", "meter-1", "--buffer", "7.00", "--buffer", "4.01"],
        _file("equipment/meter-1.yaml", "4.01"),
        _with_meter,
    ),
    "import": Command(_table, _imported),
    "public": Command(
        lambda _: ["journal", "public", "LO"], _file("formulas/LO.yaml", 'public: "yes"')
    ),
    "private": Command(
        lambda _: ["journal", "private", "LO"],
        lambda small: ['public: "yes"' not in _text(small, "formulas/LO.yaml")],
        _public,
    ),
    "init": Command(
        lambda small: ["init", str(_new(small))], _started, untouched, _starts, _new
    ),
    "init again": Command(lambda _: ["init"], _driven, _undriven),
    "sync": Command(lambda _: ["sync"], _exchanged, _apart, _exchange, merges=True),
}  # fmt: skip
