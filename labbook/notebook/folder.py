"""Finding the notebook, and listing its files.

The layout is fixed, so files are listed folder by folder; nothing is walked that a notebook doesn't
hold, and links are not followed.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from labbook.model.errors import NotANotebook

HEAD = "labbook.yaml"
FOLDERS = ("ingredients", "lots", "equipment", "formulas", "protocols", "rules")
BATCH_FILES = (
    "batch.yaml", "formula.yaml", "jars.yaml", "stability.yaml", "photos.yaml", "reactions.yaml",
)  # fmt: skip


def find_root(start: Path, *, given: str = "") -> Path:
    """The notebook that a command works in.

    Args:
        start: the folder the person stands in; the notebook is there or above.
        given: a folder named by `--notebook` or LABBOOK_DIR; nothing else is then tried.

    Raises:
        NotANotebook: none found; says what to type.
    """
    if given:
        root = (start / given).absolute()
        if not (root / HEAD).is_file():
            raise NotANotebook(
                f"{root} is no notebook: it has no {HEAD}.",
                mend="Name a folder that has one, or make it one: labbook init FOLDER",
            )
        return root
    here = start.absolute()
    for folder in (here, *here.parents):
        if (folder / HEAD).is_file():
            return folder
    raise NotANotebook(
        "There is no notebook here or in a folder above.",
        where=str(here),
        mend="Start one: labbook init FOLDER. See one: labbook demo",
    )


def entries(folder: Path) -> list[os.DirEntry[str]]:
    """What a folder holds, by name; nothing where there is none, or where it is a link."""
    if folder.is_symlink():
        return []
    try:
        with os.scandir(folder) as found:
            return sorted(found, key=lambda entry: entry.name)
    except (FileNotFoundError, NotADirectoryError):
        return []


def is_record(entry: os.DirEntry[str]) -> bool:
    """Whether an entry can be a record file: no link, not hidden."""
    hidden = entry.name.startswith(".")
    return entry.name.endswith(".yaml") and not hidden and entry.is_file(follow_symlinks=False)


def record_paths(root: Path) -> Iterator[str]:
    """Paths of all record files, relative to the notebook, in a fixed order."""
    if (root / HEAD).is_file():
        yield HEAD
    for name in FOLDERS:
        for entry in entries(root / name):
            if is_record(entry):
                yield f"{name}/{entry.name}"
    for year in entries(root / "batches"):
        if not (year.is_dir(follow_symlinks=False) and year.name.isdigit()):
            continue
        for batch in entries(Path(year.path)):
            if not batch.is_dir(follow_symlinks=False):
                continue
            names = {entry.name for entry in entries(Path(batch.path)) if is_record(entry)}
            for file in BATCH_FILES:
                if file in names:
                    yield f"batches/{year.name}/{batch.name}/{file}"


def batch_folder(batch_id: str) -> str:
    """`batches/2026/SBC-260109-4M` for a full batch id."""
    return f"batches/20{batch_id.split('-')[1][:2]}/{batch_id}"


def git_folder(root: Path) -> Path | None:
    """The git directory of the notebook's work tree, found without git; None without one."""
    for folder in (root, *root.parents):
        dot = folder / ".git"
        if dot.is_dir():
            return dot
        if dot.is_file():
            try:
                text = dot.read_text(encoding="utf-8", errors="surrogateescape").strip()
            except OSError:
                return None
            if text.startswith("gitdir:"):
                target = (folder / text[len("gitdir:") :].strip()).absolute()
                return target if target.is_dir() else None
    return None
