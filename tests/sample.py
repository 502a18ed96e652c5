"""The sample notebook's steps, read as the replay reads them."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import Any

from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.notebook.validate import read_file
from labbook.rules.starters import starter_text
from labbook.shipped import shipped

TODAY = date(2026, 4, 16)
COUNTS = {"SBC": (5, 8), "SHL": (3, 4), "KHB": (2, 3)}
"""Versions and batches of each formula."""

OWN = ("message.txt", "when.txt", "starters.txt", "uncommitted")


@dataclass(frozen=True)
class Step:
    """What changed in the notebook at one moment."""

    name: str
    when: datetime
    message: str | None
    starters: tuple[str, ...]
    files: dict[str, bytes]


def _step(folder: Path) -> Step:
    files = {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.relative_to(folder).as_posix() not in OWN
    }
    starters = folder / "starters.txt"
    names = starters.read_text(encoding="utf-8").split() if starters.exists() else []
    committed = not (folder / "uncommitted").exists()
    return Step(
        name=folder.name,
        when=datetime.fromisoformat((folder / "when.txt").read_text(encoding="utf-8").strip()),
        message=(folder / "message.txt").read_text(encoding="utf-8") if committed else None,
        starters=tuple(names),
        files=files,
    )


@cache
def steps() -> tuple[Step, ...]:
    """All steps in the order in which they are replayed."""
    folder = shipped("sample_repo") / "steps"
    return tuple(_step(one) for one in sorted(folder.iterdir(), key=lambda path: path.name))


@cache
def record(path: str, raw: bytes) -> Any:
    """The record of a file; fails with the file's problems."""
    read = read_file(raw, path)
    assert not read.problems, "\n".join(f"{p.place}: {p.what}" for p in read.problems)
    return read.record


def replay() -> Iterator[tuple[Step, dict[str, bytes], dict[str, bytes]]]:
    """Each step with the whole notebook before and after it, starter sheets included."""
    notebook: dict[str, bytes] = {}
    for step in steps():
        before = dict(notebook)
        for name in step.starters:
            text = starter_text(name)
            assert text is not None, f"{step.name}: there is no starter sheet {name}"
            notebook[f"ingredients/{name}.yaml"] = text.encode("utf-8")
        notebook.update(step.files)
        yield step, before, dict(notebook)


@cache
def last() -> dict[str, Any]:
    """The records of the notebook as the potter left it, by path."""
    *_, (_, _, notebook) = replay()
    return {path: record(path, raw) for path, raw in notebook.items() if path.endswith(".yaml")}


def batches() -> dict[str, Batch]:
    """The last state of all batches by their two characters."""
    found = [one for path, one in last().items() if path.endswith("/batch.yaml")]
    return {batch.short: batch for batch in found}


def formulas() -> Iterator[tuple[str, Formula]]:
    """Every content that a formula file ever had, with the step that brought it."""
    for step in steps():
        for path, raw in step.files.items():
            if path.startswith("formulas/"):
                yield step.name, record(path, raw)


def versions() -> dict[tuple[str, int], Formula]:
    """The content that first had each number, by code and number."""
    found: dict[tuple[str, int], Formula] = {}
    for _, formula in formulas():
        found.setdefault((formula.code, formula.version), formula)
    return found
