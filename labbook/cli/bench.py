"""Weighing at the terminal: the number pad alone suffices.

Digits, point or comma, Enter; `-` goes back, `*` takes the target (kept as such), `/` shows more.
Enter alone leaves the line open. Each weight is on the disk before the next is asked for.
"""

from __future__ import annotations

import sys
from fractions import Fraction

from labbook.cli import say
from labbook.cli.place import nobody_to_ask
from labbook.model.batch import Batch, BatchLine
from labbook.model.errors import LabbookError, NotAllowed
from labbook.model.quantities import Quantity
from labbook.notebook.record import Session
from labbook.show.making import bench_screen, weighed_screen
from labbook.show.slips import choices
from labbook.trade.exact import decimal_text
from labbook.trade.slips import Slip, clearly_over, far_off
from labbook.work.at_bench import bench_of, mass_in
from labbook.work.bench import Bench
from labbook.work.correctable import mass_of
from labbook.work.note import guard_open
from labbook.work.slips import grams, slip_of, strike_last, too_much, weigh_up
from labbook.work.weigh import session_message
from labbook.work.weigh_one import add_weighing, known_lot

HELP = (
    "            Enter leaves it open, - goes back, * takes the target, / shows this.\n"
    "            Where a weight stands already, + in front adds to it: +0.35\n"
    "            l LOT names the pack, end stops.\n"
)


def weigh_at_the_bench(
    bench: Bench, named: str | None, *, lot: str | None, known_from: str
) -> None:
    """Asks for the weight of each open line of a batch, and writes each down as it comes."""
    batch = bench.the_open_batch(named)
    guard_open(batch, "a weighing")
    if not sys.stdin.isatty():  # lines of a pipe are taken as if they were typed
        first = sys.stdin.readline()
        if not first:
            raise nobody_to_ask(f"labbook weigh {batch.short} {batch.lines[0].ingredient}=1.52")
        _ahead.append(first)
    say.show(bench_of(bench, batch), bench_screen)
    with bench.session("weigh") as session:
        state = Weighing(bench, batch.id, session, lot, known_from)
        try:
            state.ask_all()
        except (EOFError, KeyboardInterrupt):
            say.write("\n            stopped; what was typed is kept\n")
        if state.said:
            session.message = session_message(batch, state.said)
    fresh = bench.afresh()
    say.write("\n")
    say.show(bench_of(fresh, fresh.snapshot.batches[batch.id]), weighed_screen)


_ahead: list[str] = []
"""A line that was read before the first question."""


def ask(question: str) -> str:
    """One line typed by the person.

    Raises:
        EOFError: nothing more is typed.
    """
    say.write(question)
    sys.stdout.flush()
    text = _ahead.pop() if _ahead else sys.stdin.readline()
    if not text:
        raise EOFError
    return text.strip()


class Weighing:
    """One turn at the bench: which lines were passed, which lack something, and what was said."""

    def __init__(
        self, bench: Bench, batch_id: str, session: Session, lot: str | None, known_from: str
    ) -> None:
        self.said: list[str] = []
        self._bench = bench
        self._id = batch_id
        self._session = session
        self._lot = lot
        self._pack = lot
        self._known_from = known_from
        self._passed: set[str] = set()
        self._lacking: set[str] = set()

    @property
    def _batch(self) -> Batch:
        return self._bench.afresh().snapshot.batches[self._id]

    def ask_all(self) -> None:
        """Asks line by line until none is open, or the person stops.

        Raises:
            EOFError: nothing more is typed.
        """
        batch = self._batch
        place = self._after(batch, -1)
        while place < len(batch.lines):
            line = batch.lines[place]
            answer = self._ask(batch, line)
            if answer in ("end", "q"):
                return
            if answer == "-":
                place = max(0, place - 1)
            elif answer == "":
                self._passed.add(line.id)
                place = self._after(batch, place)
            elif answer == "/":
                say.write(HELP)
            elif answer.startswith("l "):
                self._name_pack(answer[2:].strip())
            elif self._take(batch, line, answer):
                batch = self._batch
                place = self._after(batch, -1 if self._lacking else place)

    def _after(self, batch: Batch, place: int) -> int:
        """The next line that wants a weight; behind the last where none does."""
        for index in range(place + 1, len(batch.lines)):
            line = batch.lines[index]
            if line.id not in self._passed and (
                line.id in self._lacking or mass_in(batch, line) is None
            ):
                return index
        return len(batch.lines)

    def _ask(self, batch: Batch, line: BatchLine) -> str:
        target = str(line.target) if line.target else "no target"
        name = f"{line.ingredient}{', q.s.' if line.qs else ''}"
        have = mass_in(batch, line)
        if have is not None and line.id in self._lacking and line.target:
            told = f"{name}, {decimal_text(line.target.exact('g') - have)} g more, to {target}"
        elif have is not None:
            told = f"{name}, {target}, has {decimal_text(have)} g"
        else:
            told = f"{name}, {target}"
        return ask(f"{f'phase {line.phase}':<12}{told}: ")

    def _name_pack(self, name: str) -> None:
        try:
            self._pack = known_lot(self._bench, name)
        except LabbookError as found:
            self._tell(found)
            return
        say.write(f"            the next weight is from {name}\n")

    def _take(self, batch: Batch, line: BatchLine, answer: str) -> bool:
        """Writes one answer; False where the line has to be asked again."""
        try:
            as_target = answer == "*"
            if as_target and line.target is None:
                raise NotAllowed(f"{line.ingredient} has no target.", mend="Type the weight.")
            have = mass_in(batch, line)
            on_top = have is not None and self._is_on_top(line, answer, have)
            wanted = line.target
            if on_top and line.target and have is not None:
                wanted = grams(line.target.exact("g") - have)
            mass = wanted if as_target and wanted else mass_of(answer.removeprefix("+"))
            sure = mass if as_target else self._sure(mass, wanted)
            if sure is None:
                return False
            self._write(line, sure, as_target=as_target, instead=have is not None and not on_top)
            return self._settle(batch, line, sure, on_top=on_top)
        except LabbookError as found:
            self._tell(found)
            return False

    def _is_on_top(self, line: BatchLine, answer: str, have: Fraction) -> bool:
        """Whether a weight joins the one that stands there, or takes its place."""
        if answer.startswith("+") or line.id in self._lacking:
            return True
        question = f"            1 instead of {decimal_text(have)} g, 2 on top of it; 1 or 2: "
        while True:
            choice = ask(question)
            if choice in ("1", "2"):
                return choice == "2"

    def _sure(self, mass: Quantity, wanted: Quantity | None) -> Quantity | None:
        """The weight, asked about once where it is far off; None: the line is asked again."""
        while wanted is not None and far_off(mass.exact("g"), wanted.exact("g")):
            again = ask_again(mass, wanted)
            if again is None or again.exact("g") == mass.exact("g"):
                return again
            mass = again
        return mass

    def _write(self, line: BatchLine, mass: Quantity, *, as_target: bool, instead: bool) -> None:
        told = add_weighing(
            self._bench, self._id, line.id, mass, self._session.write,
            lot=self._pack, as_target=as_target, known_from=self._known_from,
            replace="weighed again" if instead else "",
        )  # fmt: skip
        self._pack = self._lot
        self._passed.discard(line.id)
        self._lacking.discard(line.id)
        self.said.append(told)
        say.write(f"            written: {told}\n")

    def _settle(self, before: Batch, line: BatchLine, mass: Quantity, *, on_top: bool) -> bool:
        """Asks what to do about clearly too much; False where it was taken out again."""
        have = mass_in(before, line) if on_top else None
        total = grams(mass.exact("g") + (have or 0))
        if line.target is None or line.adjust:
            return True
        if not clearly_over(total.exact("g"), line.target.exact("g")):
            return True
        found = slip_of(self._bench, before, line, total)
        choice = _choice(found)
        if choice == "2":
            self._weigh_up(found)
        if choice == "3":
            told = strike_last(
                self._bench, self._id, line.id, "taken out again", self._session.write
            )
            self.said.append(told)
            say.write(f"            written: {told}\n")
        return choice != "3"

    def _weigh_up(self, found: Slip) -> None:
        weigh_up(self._bench, self._id, found, self._session.write)
        batch = self._batch
        add = found.weigh_up.still_to_add
        self._lacking = {
            one.id
            for one in batch.lines
            if add.get(one.id, 0) > 0 and mass_in(batch, one) is not None
        }
        say.write(f"            The batch is {batch.size} now; the targets follow.\n")

    @staticmethod
    def _tell(found: LabbookError) -> None:
        say.write(f"            {found.what} {found.mend}".rstrip() + "\n")


def ask_again(mass: Quantity, wanted: Quantity) -> Quantity | None:
    """Asks about a weight that is far off; None where nothing is typed.

    Raises:
        Unclear: what was typed is no weight.
    """
    question = f"            {mass} where {wanted} is wanted? The same again confirms it: "
    typed = ask(question)
    return mass_of(typed) if typed else None


def _choice(found: Slip) -> str:
    """One of the three ways on; asked until one of those on offer is typed."""
    shown = too_much(found)
    offered = choices(shown)
    told = f"            {shown.over} g over. "
    told += "\n            ".join(f"{number} {text}" for number, text in offered.items())
    say.write(told + "\n")
    numbers = list(offered)
    if len(numbers) == 1:
        return numbers[0]
    question = "            " + ", ".join(numbers[:-1]) + f" or {numbers[-1]}: "
    while True:
        choice = ask(question)
        if choice in offered:
            return choice
