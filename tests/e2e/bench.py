"""A person at the bench, for the tests: the command in one notebook, and what it wrote."""

from __future__ import annotations

import contextlib
import io
import os
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from labbook.model.batch import Batch
from labbook.model.jars import Jars
from labbook.work.bench import Bench
from tests.conftest import Ran, RunLabbook
from tests.e2e.terminal import at_terminal
from tests.work.notebooks import Small


@dataclass(frozen=True)
class Hand:
    """One person, one notebook."""

    run: RunLabbook
    small: Small

    @property
    def root(self) -> Path:
        """The notebook."""
        return self.small.root

    def does(
        self, *words: str | Path, code: int = 0, env: Mapping[str, str | None] | None = None
    ) -> str:
        """Types a command that has to end so, and gives what it said.

        It enters by the program's door, in this process: a tenth of the time that a process of its
        own takes, which `says` starts.
        """
        ran = ended(through_the_door(*words, cwd=self.root, env=env), code)
        return ran.err if code else ran.out

    def says(
        self, *words: str | Path, code: int = 0, env: Mapping[str, str | None] | None = None
    ) -> str:
        """The same with the installed command, in a process of its own."""
        ran = ended(self.run(*words, cwd=self.root, env=env), code)
        return ran.err if code else ran.out

    def types(self, *words: str, answers: Sequence[tuple[str, str]] = (), code: int = 0) -> str:
        """The same at a terminal, with answers to its questions."""
        return ended(at_terminal(*words, cwd=self.root, answers=answers), code).out

    def batch(self, named: str) -> Batch:
        """A batch as its file says now."""
        return Bench(self.root).batch(named)

    def jars(self, named: str) -> Jars:
        """The jars of a batch."""
        bench = Bench(self.root)
        return bench.snapshot.jars[bench.batch_id(named)]

    def opens(self, *words: str) -> str:
        """Opens a batch and gives its two characters."""
        said = self.does("make", *words)
        found = re.search(r"^([0-9][A-Z]|[A-Z][0-9])  [A-Z]", said, re.MULTILINE)
        assert found, said
        return found[1]

    @property
    def open(self) -> str:
        """The two characters of the batch that the notebook has open."""
        return self.small.open[-2:]


@contextlib.contextmanager
def _surroundings(cwd: Path, env: Mapping[str, str | None]) -> Iterator[None]:
    before = Path.cwd()
    changed = dict[str, str | None](os.environ) | dict(env)
    wanted = {name: value for name, value in changed.items() if value is not None}
    os.chdir(cwd)
    try:
        with mock.patch.dict(os.environ, wanted, clear=True):
            yield
    finally:
        os.chdir(before)


def through_the_door(
    *words: str | Path, cwd: Path, env: Mapping[str, str | None] | None = None
) -> Ran:
    """Runs the program in this process as its script would, with nothing to read."""
    from labbook.cli import main

    raw = [io.BytesIO(), io.BytesIO()]
    out, err = (io.TextIOWrapper(one, "utf-8", newline="\n") for one in raw)
    with (
        _surroundings(cwd, env or {}),
        mock.patch.object(sys, "argv", ["labbook", *map(str, words)]),
        mock.patch.object(sys, "stdin", io.StringIO("")),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        code = main.run()
    out.flush()
    err.flush()
    return Ran(code, *(one.getvalue().decode("utf-8") for one in raw))


def ended(ran: Ran, code: int = 0) -> Ran:
    """The run, which has to have ended so, and never with a traceback or the program's fault."""
    assert "Traceback" not in ran.out + ran.err, ran.err
    assert ran.code == code, ran
    if code:
        assert "stopped" in ran.err + ran.out or "Error:" in ran.err or "error" in ran.out, ran
    return ran
