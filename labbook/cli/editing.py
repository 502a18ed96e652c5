"""`edit`: the maker's own editor on a file of the notebook."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys

from labbook.cli import say
from labbook.model.errors import LabbookError, Unclear, UnknownName
from labbook.model.ids import matching_batches
from labbook.work.bench import Bench


def path_of(bench: Bench, typed: str) -> str:
    """The file that a name stands for, relative to the notebook.

    Raises:
        UnknownName: no file of that name.
    """
    code = typed.partition("@")[0].upper()
    if f"formulas/{code}.yaml" in bench.snapshot.files:
        return f"formulas/{code}.yaml"
    if matching_batches(typed, bench.snapshot.batches):
        return bench.batch_path(bench.batch_id(typed))
    sheet = bench.snapshot.sheets.find(typed)
    if sheet is not None:
        return f"ingredients/{bench.snapshot.sheets.name_of(sheet.id)}.yaml"
    for folder in ("lots", "equipment", "protocols"):
        if f"{folder}/{typed}.yaml" in bench.snapshot.files:
            return f"{folder}/{typed}.yaml"
    raise UnknownName(f"There is no file of {typed}.", mend="See: labbook formula list")


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
    fresh = bench.afresh()
    problems = fresh.snapshot.files[path].problems if path in fresh.snapshot.files else ()
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
