"""What every command works with: a notebook, a clock and a source of chance."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from functools import cached_property
from pathlib import Path
from random import Random, SystemRandom
from typing import TYPE_CHECKING

from labbook.model.batch import Batch
from labbook.model.errors import Unclear, UnknownName, Unreadable
from labbook.model.formula import Formula
from labbook.model.ids import matching_batches
from labbook.notebook.folder import batch_folder
from labbook.notebook.snapshot import Snapshot, read_notebook

if TYPE_CHECKING:
    from labbook.notebook.history import History
    from labbook.notebook.index.batches import BatchRow
    from labbook.notebook.record import Plan, Recorded, Session


@dataclass
class Bench:
    """One notebook at one moment.

    Args:
        root: the notebook.
        clock: the moment, with offset; None takes the computer's clock, or the notebook's stopped
            one where `today:` stands in its head.
        random: chance for ids; seeded in tests and in the sample.
        tell: is told a sentence when another command holds the lock, and what became of writing
            that was cut off earlier.
    """

    root: Path
    clock: datetime | None = None
    random: Random = field(default_factory=SystemRandom)
    tell: Callable[[str], None] = lambda sentence: None

    @cached_property
    def snapshot(self) -> Snapshot:
        """All files, read once for this command."""
        return read_notebook(self.root)

    @cached_property
    def rows(self) -> list[BatchRow]:
        """What lists ask of each batch, dropped ones too, in the order of their folders."""
        from labbook.work.rows import rows_of

        return rows_of(self)

    @cached_property
    def made_of(self) -> Mapping[str, int]:
        """How many batches were made of each formula, by its id, dropped ones left out."""
        return Counter(row.formula for row in self.rows if not row.dropped)

    @cached_property
    def history(self) -> History:
        """The versions of all formulas, read once; needs git."""
        from labbook.notebook.history import read_history

        return read_history(self.snapshot)

    def afresh(self) -> Bench:
        """The same bench after something was written."""
        return Bench(self.root, self.clock, self.random, self.tell)

    def reread(self) -> None:
        """Forgets what was read, after something was written."""
        for name in ("snapshot", "rows", "made_of", "history"):
            self.__dict__.pop(name, None)

    def record(self, plan: Callable[[], Plan], *, command: str) -> Recorded:
        """Writes and commits what a plan says; see `labbook.notebook.record.record`."""
        from labbook.notebook.record import record

        done = record(self.root, plan, command=command, wait=self.tell, when=self._set_time)
        for sentence in done.notes:
            self.tell(sentence)
        return done

    @contextmanager
    def session(self, command: str) -> Iterator[Session]:
        """Entries written one by one and committed together; see `Session` there."""
        from labbook.notebook.record import Session

        with Session(self.root, command, wait=self.tell, when=self._set_time) as session:
            yield session
        for sentence in session.notes:
            self.tell(sentence)

    @property
    def _set_time(self) -> datetime | None:
        """The time of a commit where the clock stands still, as that of its entries."""
        stopped = self.clock is not None or self.snapshot.settings.today is not None
        return self.now if stopped else None

    @property
    def now(self) -> datetime:
        """The moment that entries get, to the second, with offset."""
        stopped = self.snapshot.settings.today
        if self.clock is not None:
            return self.clock.replace(microsecond=0)
        if isinstance(stopped, datetime):
            return stopped
        if isinstance(stopped, date):
            return datetime.combine(stopped, time(12), UTC)
        return datetime.now().astimezone().replace(microsecond=0)

    @property
    def today(self) -> date:
        """The calendar day where the person is."""
        return self.now.date()

    def formula(self, typed: str) -> Formula:
        """The formula of a code, in any case.

        Raises:
            UnknownName: no such formula; near codes are offered.
            Unreadable: its file has errors, which `check` lists.
        """
        code = typed.upper()
        found = self.snapshot.formulas.get(code)
        if found is not None:
            return found
        held = self.snapshot.files.get(f"formulas/{code}.yaml")
        if held is not None:
            first = next(iter(held.problems), None)
            what = first.what if first else "it can't be read as a formula."
            place = str(first.place) if first else held.path
            mend = f"{first.mend}\n" if first and first.mend else ""
            raise Unreadable(what, where=place, mend=f"{mend}All of it: labbook check {code}")
        raise UnknownName(
            f"The notebook has no formula {typed}.", mend=_offer(code, self.snapshot.formulas)
        )

    def formula_path(self, code: str) -> str:
        """Where a formula's file stands."""
        return f"formulas/{code}.yaml"

    def batch_id(self, typed: str) -> str:
        """The full id that `7k` or a full id means.

        Raises:
            UnknownName: no such batch.
            Unclear: two batches share the ending; both full ids are named.
        """
        ids = matching_batches(typed, self.snapshot.batches)
        if len(ids) == 1:
            return ids[0]
        if ids:
            raise Unclear(
                f"{typed.upper()} is the ending of {len(ids)} batches: {', '.join(ids)}.",
                mend="Type the full id.",
            )
        unread = [
            path
            for path, held in self.snapshot.files.items()
            if held.kind == "batch" and held.record is None and typed.upper() in path.upper()
        ]
        if unread:
            raise Unreadable(
                f"{unread[0]} can't be read as a batch.",
                mend=f"What is wrong: labbook check {typed}",
            )
        raise UnknownName(f"The notebook has no batch {typed}.", mend="See all: labbook batch list")

    def batch(self, typed: str) -> Batch:
        """The batch that an id means."""
        return self.snapshot.batches[self.batch_id(typed)]

    def batch_path(self, batch_id: str, file: str = "batch.yaml") -> str:
        """Where a file of a batch stands, or will stand."""
        folder = self.snapshot.batch_folders.get(batch_id) or batch_folder(batch_id)
        return f"{folder}/{file}"

    def open_batches(self) -> list[Batch]:
        """Open batches that were not dropped, oldest first."""
        batches = self.snapshot.batches
        found = [batches[r.id] for r in self.rows if r.state == "open" and not r.dropped]
        return sorted(found, key=lambda b: (str(b.made), b.id))

    def the_open_batch(self, typed: str | None) -> Batch:
        """The batch named, or the only open one.

        Raises:
            Unclear: none is open, or several are and none was named.
        """
        if typed:
            return self.batch(typed)
        found = self.open_batches()
        if len(found) == 1:
            return found[0]
        if not found:
            raise Unclear("No batch is open.", mend="Open one: labbook make CODE")
        names = ", ".join(f"{b.short} ({b.formula.name})" for b in found)
        raise Unclear(f"{len(found)} batches are open: {names}.", mend="Name the one you mean.")


def _offer(typed: str, known: Mapping[str, object]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(typed, list(known), n=3, cutoff=0.5)
    if near:
        return f"Near it: {', '.join(near)}"
    return "See all: labbook formula list" if known else "Write one: labbook formula new CODE"
