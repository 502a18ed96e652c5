"""The commands that git starts: not in the help, and without the command-line library's parsing.

Each prints only when it has all of its answer: where it ends otherwise, git's settings go on as
plain git.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from labbook.model.errors import FINDINGS, FINE, USAGE

MERGE, LINES, DIFF = "git-merge", "git-lines", "git-diff"
DRIVERS = (MERGE, LINES, DIFF)


def run(words: Sequence[str]) -> int:
    """Runs one of them; the exit code.

    Raises:
        LabbookError: a file can't be shown so, or is gone; git goes on by itself.
    """
    try:
        return _run(words)
    except FileNotFoundError as error:
        from labbook.model.errors import Unreadable

        raise Unreadable(
            f"{error.filename} is gone: git was ended while its files were read.",
            mend="Type once more what git was asked for.",
        ) from error


def _run(words: Sequence[str]) -> int:
    command, *rest = words
    if command == MERGE and len(rest) == 5:
        return _merge(rest)
    if command == LINES and len(rest) == 1:
        from labbook.work.drivers import shown_lines

        return _answer(shown_lines(Path(rest[0]).read_bytes()))
    if command == DIFF and rest:
        from labbook.cli.say import told_width
        from labbook.show.layout import Screen
        from labbook.work.drivers import told_apart

        # git reads the answer through a pipe of its own: the width is that of its pager.
        screen = Screen(told_width() or 80)
        return _answer(told_apart(rest, Path.cwd(), screen))
    sys.stderr.write(f"{command} is started by git; labbook init sets that up.\n")
    return USAGE


def _merge(words: Sequence[str]) -> int:
    from labbook.work.drivers import CLEAN, CONFLICTED, SAID, merge_files

    base, ours, theirs, _size, path = words
    ended, said = merge_files(Path(base), Path(ours), Path(theirs), path)
    for sentence in said:
        sys.stderr.buffer.write(f"{SAID}{sentence}\n".encode())
    _answer(ended)
    return {CLEAN: FINE, CONFLICTED: FINDINGS}.get(ended, USAGE)


def _answer(text: str) -> int:
    sys.stdout.buffer.write(text.encode("utf-8", "surrogateescape"))
    sys.stdout.buffer.flush()
    return FINE
