"""The program's door: arguments in, one error boundary, exit codes out.

Modules of commands import nothing heavy; each command's body imports what it needs, so that
`--help` costs no more than the parser.
"""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from labbook.cli.group import Moments
from labbook.cli.place import Place

_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EIO})
_OUTSIDE = _NO_ROOM | {errno.EACCES, errno.EPERM, errno.EROFS, errno.ENAMETOOLONG, errno.ELOOP}
"""What a disk and a file's rights refuse; no mistake of the program."""

app = typer.Typer(
    name="labbook",
    cls=Moments,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    help="A formula notebook for emulsion makers. Alone, inside a notebook: what there is today.",
)


@app.callback(invoke_without_command=True)
def labbook(
    context: typer.Context,
    notebook: Annotated[
        str | None, typer.Option("--notebook", metavar="FOLDER", help="The notebook to work in.")
    ] = None,
    version: Annotated[bool, typer.Option("--version", help="Which version this is.")] = False,
) -> None:
    """A formula notebook for emulsion makers."""
    context.obj = Place(Path.cwd(), notebook or os.environ.get("LABBOOK_DIR", ""))
    if version:
        import labbook as program

        typer.echo(f"labbook {program.__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        from labbook.cli.keeping import bare

        bare(context.obj)


def main() -> None:
    """Runs the program and ends the process with its exit code."""
    sys.exit(run())


def run() -> int:
    """Runs the program; every way it can end is an exit code."""
    from labbook.model.errors import INTERRUPTED, LabbookError

    try:
        return _run_app()
    except LabbookError as found:
        from labbook.cli import say

        say.error(found)
        return found.exit_code
    except KeyboardInterrupt:
        sys.stderr.write("\n")
        return INTERRUPTED
    except BrokenPipeError:
        return _nobody_reads()
    except OSError as found:
        if found.filename is None and found.errno in _NO_ROOM:
            return _unsaid(found)
        if found.filename is not None and found.errno in _OUTSIDE:
            return _refused(found)
        return _unexpected()
    except Exception:  # the boundary: whatever it is, the person gets a sentence
        return _unexpected()


def _unexpected() -> int:
    """The code for a mistake of the program; a report is written."""
    from labbook.cli.unexpected import report
    from labbook.model.errors import UNEXPECTED

    report()
    return UNEXPECTED


def _run_app() -> int:
    """The code with which the command line ends; all that it printed has been taken."""
    if sys.argv[1:2] and sys.argv[1].startswith("git-"):  # what git starts, for every file
        from labbook.cli import drivers

        return drivers.run(sys.argv[1:])
    try:
        app()
        code: object = 0
    except SystemExit as end:
        # The library turns a reader that has left into a plain 1.
        if isinstance(end.__context__, BrokenPipeError):
            return _nobody_reads()
        code = end.code
    sys.stdout.flush()  # here, since at Python's own end it is too late for an exit code
    return code if isinstance(code, int) else 0


def _nobody_reads() -> int:
    """The code for `labbook log HC | head -1`, with nothing left that Python would complain of."""
    from labbook.model.errors import BROKEN_PIPE

    _silence()
    return BROKEN_PIPE


def _refused(error: OSError) -> int:
    """The code where the disk or the rights of a file stand in the way."""
    from labbook.cli import say
    from labbook.model.errors import LabbookError
    from labbook.notebook.atomic import NotWritten, not_written

    place = os.fsdecode(error.filename)
    mend = not_written(Path(place), error).mend
    what = f"{place} can't be read or written: {error.strerror}."
    say.error(LabbookError(what, where=place, mend=mend))
    return NotWritten.exit_code


def _unsaid(error: OSError) -> int:
    """The code for `labbook note "pH 5" > FILE` where the disk takes no more of the output."""
    from labbook.cli import say
    from labbook.model.errors import UNREADABLE, LabbookError

    _silence()
    say.error(
        LabbookError(
            f"What the command had to say can't be written: {error.strerror}.",
            mend="What it recorded is kept. Free some space before you look again.",
        )
    )
    return UNREADABLE


def _silence() -> None:
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
