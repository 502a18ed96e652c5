"""`demo`: replays the sample notebook, sealed, so that it has the same history on every machine."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from labbook.model.batch import Batch
from labbook.model.digest import digest
from labbook.model.errors import NotAllowed
from labbook.model.formula import Formula
from labbook.model.results.common import Next
from labbook.model.results.keeping import Demo
from labbook.model.sheets import Sheets
from labbook.notebook import git
from labbook.notebook.snapshot import read_bytes
from labbook.rules.starters import starter_text
from labbook.shipped import shipped
from labbook.work.bench import Bench
from labbook.work.diff import compare
from labbook.work.driver_setup import set_up
from labbook.work.formulas import list_formulas
from labbook.work.init import ATTRIBUTES, IGNORED, write_schemas
from labbook.work.next_batch import plan_next
from labbook.work.site import build, folder_of
from labbook.work.why import Asked, why

PAIR = ("4m", "9t")
STORY = "Two batches of SBC, two weeks apart; one separated"
"""What the sample is about, and the two batches that show it."""

MAKER = ("the potter", "potter@labbook.invalid")
_OWN = frozenset({"starters.txt", "when.txt", "message.txt", "uncommitted"})


@dataclass(frozen=True, slots=True)
class Step:
    """What changed in the sample at one moment; `message` is None for work that is not saved."""

    when: datetime
    message: str | None
    files: dict[str, bytes]


def sample_steps(folder: Path) -> list[Step]:
    """The steps of the sample, in order."""
    return [_step(path, first=not n) for n, path in enumerate(sorted(folder.iterdir()))]


def _step(folder: Path, *, first: bool) -> Step:
    files = {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.relative_to(folder).as_posix() not in _OWN
    }
    names = folder / "starters.txt"
    for name in names.read_text("utf-8").split() if names.is_file() else ():
        text = starter_text(name)
        assert text is not None, f"the sample names {name}, which is no starter sheet"
        files[f"ingredients/{name}.yaml"] = text.encode("utf-8")
    if first:
        files |= {".gitignore": IGNORED.encode(), ".gitattributes": ATTRIBUTES.encode()}
    saved = not (folder / "uncommitted").exists()
    return Step(
        datetime.fromisoformat((folder / "when.txt").read_text("utf-8").strip()),
        (folder / "message.txt").read_text("utf-8") if saved else None,
        files,
    )


class _Pins:
    """Digest and blob of each version as it is replayed, put into the batches made from it."""

    def __init__(self, root: Path) -> None:
        self._root = root
        self._sheets: dict[str, bytes] = {}
        self._pins: dict[bytes, tuple[str, str]] = {}

    def filled(self, path: str, raw: bytes) -> bytes:
        """The bytes of a file with its placeholders filled in."""
        if path.startswith("ingredients/"):
            self._sheets[path] = raw
        elif path.startswith("formulas/"):
            self._take(path, raw)
        elif path.endswith("/batch.yaml"):
            batch = read_bytes(path, raw).record
            assert isinstance(batch, Batch), path
            key = f"{batch.formula.code}@{batch.formula.version}".encode()
            content, blob = self._pins[key]
            raw = raw.replace(b"@digest@", content.encode()).replace(b"@blob@", blob.encode())
        return raw

    def _take(self, path: str, raw: bytes) -> None:
        formula = read_bytes(path, raw).record
        assert isinstance(formula, Formula), path
        read = {Path(p).stem: read_bytes(p, sheet).record for p, sheet in self._sheets.items()}
        sheets = Sheets({name: sheet for name, sheet in read.items() if sheet is not None})
        key = f"{formula.code}@{formula.version}".encode()
        self._pins.setdefault(key, (digest(formula, sheets), git.blob_id(self._root, raw, path)))


def replay(root: Path) -> int:
    """Writes the sample into an empty folder, step by step; returns the number of steps."""
    steps = sample_steps(shipped("sample_repo") / "steps")
    with git.sealed(*MAKER):
        git.start(root, sealed=True)
        pins = _Pins(root)
        for step in steps:
            for path, raw in step.files.items():
                target = root / path
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_bytes(pins.filled(path, raw))
            if step.message is not None:
                git.commit_paths(root, sorted(step.files), step.message, when=step.when)
    return len(steps)


def demo(root: Path, *, shown: str = "") -> Demo:
    """Makes the sample notebook in a new folder.

    Raises:
        NotAllowed: the folder is there and not empty.
        GitRefused: git is missing or too old.
    """
    git.available()
    if root.exists() and (not root.is_dir() or any(root.iterdir())):
        raise NotAllowed(
            f"{shown or root} is there already.",
            mend=f"Look into it: cd {shown or root}, or name another folder: labbook demo OTHER",
        )
    root.mkdir(parents=True, exist_ok=True)
    steps = replay(root)
    write_schemas(root)
    set_up(root)
    bench = Bench(root)
    build(bench, folder_of(bench, ""))
    return Demo(
        folder=shown or str(root),
        head=git.head(root) or "",
        today=bench.today.isoformat(),
        formulas=tuple(sorted(list_formulas(bench), key=lambda state: -state.batches)),
        steps=steps,
        story=STORY,
        site=f"{shown or root}/site/index.html",
        pair=compare(bench, *PAIR),
        why=why(bench, *PAIR),
        next=plan_next(bench, *PAIR, Asked(), keep=(), size=None).shown,
        then=(
            Next(f"cd {shown or root}"),
            Next("labbook log SBC", "the versions and what became of them"),
            Next("labbook why 9t", "how sure the answer above is, and why"),
        ),
    )
