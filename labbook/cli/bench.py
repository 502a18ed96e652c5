"""Weighing at the terminal: the number pad alone suffices.

Digits, point or comma, Enter; `-` goes back, `*` takes the target (kept as such), `/` shows more.
Enter alone leaves the line open. Each weight is on the disk before the next is asked for.
"""

from __future__ import annotations

import sys

from labbook.cli import say
from labbook.model.batch import Batch, BatchLine
from labbook.model.errors import LabbookError, NotAllowed
from labbook.model.quantities import Quantity
from labbook.notebook.record import Session
from labbook.show.making import weighed_screen
from labbook.trade.exact import decimal_text
from labbook.work.bench import Bench
from labbook.work.correct import mass_of
from labbook.work.note import guard_open
from labbook.work.weigh import (
    add_weighing,
    bench_of,
    session_message,
    slip_of,
    weigh_up,
)

HELP = (
    "            Enter leaves it open, - goes back, * takes the target, / shows this,\n"
    "            l LOT names the pack, end stops. A second number for the same line adds to it.\n"
)


def weigh_at_the_bench(
    bench: Bench, named: str | None, *, lot: str | None, known_from: str
) -> None:
    """Asks for the weight of each open line of a batch, and writes each down as it comes."""
    batch = bench.the_open_batch(named)
    guard_open(batch, "a weighing")
    if not sys.stdin.isatty() and sys.stdin.closed:
        raise NotAllowed("There is nobody to ask.", mend=f"labbook weigh {batch.short} NAME=1.52")
    say.show(bench_of(bench, batch), weighed_screen)
    said: list[str] = []
    with bench.session("weigh") as session:
        try:
            _ask_all(bench, batch, session, said, lot, known_from)
        except (EOFError, KeyboardInterrupt):
            say.write("\n            stopped; what was typed is kept\n")
        if said:
            session.message = session_message(batch, said)
    fresh = bench.afresh()
    say.show(bench_of(fresh, fresh.snapshot.batches[batch.id]), weighed_screen)


def _ask_all(
    bench: Bench, batch: Batch, session: Session, said: list[str], lot: str | None, known_from: str
) -> None:
    weighed = {w.line for w in batch.weighings if not w.struck}
    order = [line.id for line in batch.lines]
    place = next((i for i, id_ in enumerate(order) if id_ not in weighed), len(order))
    pack = lot
    while place < len(order):
        now = bench.afresh().snapshot.batches[batch.id]
        line = now.lines[place]
        answer = _ask(line)
        if answer in ("end", "q"):
            return
        if answer == "-":
            place = max(0, place - 1)
        elif answer == "":
            place += 1
        elif answer == "/":
            say.write(HELP)
        elif answer.startswith("l "):
            pack = answer[2:].strip()
        else:
            told = _take(bench, now, line, answer, session, pack, known_from)
            if told:
                said.append(told)
                place += 1
                pack = lot


def _ask(line: BatchLine) -> str:
    target = str(line.target) if line.target else "no target"
    name = f"{line.ingredient}{', q.s.' if line.qs else ''}"
    say.write(f"{line.phase:<12}{name}, {target}: ")
    sys.stdout.flush()
    text = sys.stdin.readline()
    if not text:
        raise EOFError
    return text.strip()


def _take(
    bench: Bench,
    batch: Batch,
    line: BatchLine,
    answer: str,
    session: Session,
    lot: str | None,
    known_from: str,
) -> str:
    """Writes one answer; empty where it has to be asked again."""
    as_target = answer == "*"
    try:
        if as_target and line.target is None:
            raise NotAllowed(f"{line.ingredient} has no target.", mend="Type the weight.")
        mass = line.target if as_target and line.target else mass_of(answer)
        if not as_target and _doubtful(line, mass):
            say.write(f"            {mass} where {line.target} is wanted? Again, to confirm: ")
            sys.stdout.flush()
            if mass_of(sys.stdin.readline().strip() or "0") != mass:
                return ""
        if _too_much(bench, batch, line, mass, session) == "again":
            return ""
        told = add_weighing(
            bench, batch.id, line.id, mass, session.write,
            lot=lot, as_target=as_target, known_from=known_from,
        )  # fmt: skip
    except LabbookError as found:
        say.write(f"            {found.what} {found.mend}\n")
        return ""
    say.write(f"            written: {told}\n")
    return told


def _doubtful(line: BatchLine, mass: Quantity) -> bool:
    """Ten times off, or over three times the target: a slip of the point, or of the unit."""
    if line.target is None or not line.target.value:
        return False
    ratio = mass.exact("g") / line.target.exact("g")
    return ratio > 3 or ratio <= 1 / 8


def _too_much(bench: Bench, batch: Batch, line: BatchLine, mass: Quantity, session: Session) -> str:
    """Asks what to do about clearly too much; `again` where it was taken out."""
    if line.target is None or line.adjust or mass.exact("g") <= line.target.exact("g") * 21 / 20:
        return ""
    found = slip_of(bench, batch, line, mass)
    say.write(f"            {decimal_text(found.too_much)} g over. 1 leave it")
    if found.leave_it.percents and found.leave_it.size:
        percent = found.leave_it.percents[line.id]
        say.write(f": {float(percent):.2f} % of {float(found.leave_it.size):.2f} g")
    if found.weigh_up.size is not None:
        say.write(f"\n            2 weigh the rest up to it: {found.weigh_up.size} g in all")
        if found.weigh_up.cant_follow:
            told = ", ".join(found.weigh_up.cant_follow)
            say.write(f"; combined already, can't follow: {told}")
    if found.take_out.possible:
        say.write("\n            3 it was taken out again")
    say.write("\n            1, 2 or 3: ")
    sys.stdout.flush()
    choice = sys.stdin.readline().strip()
    if choice == "2" and found.weigh_up.size is not None:
        weigh_up(bench, batch.id, found, session.write)
    return "again" if choice == "3" else ""
