"""`edit`: the maker's own editor on a file of the notebook."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys

from labbook.cli import say
from labbook.model.errors import LabbookError, Unclear, UnknownName
from labbook.model.ids import matching_batches
from labbook.model.problems import Problem
from labbook.notebook.entries import read_entries
from labbook.work.bench import Bench
from labbook.work.journal import entry_named


def path_of(bench: Bench, typed: str) -> str:
    """The file that a name stands for, relative to the notebook.

    A path in the notebook is taken as such; a journal entry goes by its name or a part of it.

    Raises:
        UnknownName: no file of that name.
        Unclear: a part of the name of several entries.
    """
    if typed in bench.snapshot.files:
        return typed
    code = typed.partition("@")[0].upper()
    if f"formulas/{code}.yaml" in bench.snapshot.files:
        return f"formulas/{code}.yaml"
    if matching_batches(typed, bench.snapshot.batches):
        return bench.batch_path(bench.batch_id(typed))
    sheet = bench.snapshot.sheets.find(typed)
    if sheet is not None:
        return f"ingredients/{bench.snapshot.sheets.name_of(sheet.id)}.yaml"
    for folder in ("lots", "equipment", "protocols", "rules"):
        if f"{folder}/{typed}.yaml" in bench.snapshot.files:
            return f"{folder}/{typed}.yaml"
    entry = entry_named(read_entries(bench.root), typed)
    if entry is not None:
        return entry.path
    raise UnknownName(
        f"There is no file of {typed}.",
        mend='See: labbook formula list. A new entry: labbook journal new "..."',
    )


def problems_of(bench: Bench, path: str) -> tuple[Problem, ...]:
    """What is wrong inside a file, also inside the head of an entry."""
    if path in bench.snapshot.files:
        return bench.snapshot.files[path].problems
    return next((one.problems for one in read_entries(bench.root) if one.path == path), ())


def editor() -> list[str]:
    """The person's editor, as git would choose it."""
    for name in ("VISUAL", "EDITOR"):
        if os.environ.get(name):
            return shlex.split(os.environ[name], posix=os.name != "nt")
    return (
        ["notepad"] if os.name == "nt" else ["open", "-t"] if sys.platform == "darwin" else ["vi"]
    )


def edit_file(bench: Bench, typed: str) -> None:
    """Opens the file and, when the editor is closed, says what is wrong with it."""
    path = path_of(bench, typed)
    if not sys.stdin.isatty() and not (os.environ.get("VISUAL") or os.environ.get("EDITOR")):
        raise Unclear("There is no terminal for an editor.", mend=f"Open it yourself: {path}")
    command = [*editor(), str(bench.root / path)]
    try:
        code = subprocess.run(command, check=False).returncode
    except OSError as error:
        raise LabbookError(
            f"The editor {command[0]} can't be started: {error.strerror}.",
            mend=f"Set EDITOR, or open the file yourself: {path}",
        ) from error
    if code:
        raise LabbookError(f"The editor ended with {code}; the file is as it left it.", where=path)
    problems = problems_of(bench.afresh(), path)
    if problems:
        from labbook.model.results.keeping import Checked
        from labbook.show.checking import checked_screen

        result = Checked(
            scope=typed, formulas=0, batches=0, looks=0, problems=problems, accepted=(),
            not_checked=(),
        )  # fmt: skip
        say.show(result, checked_screen)
        return
    say.write(f"{path}: reads well\n")
