"""`look` alone: through what is due, jar by jar; the number pad suffices.

A digit and Enter is the grade; where something was seen, the number of what it was. Enter leaves a
jar open, `-` goes back, `/` shows the numbers, `end` stops. Each answer is on the disk before the
next jar is asked for.
"""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass, field, replace

from labbook.cli import say
from labbook.model.errors import LabbookError, Unclear
from labbook.model.results.looking import DueLook, Looked
from labbook.notebook.record import Session
from labbook.show.looking import modes_table
from labbook.show.outcomes import GRADES, due_point
from labbook.work.bench import Bench
from labbook.work.look import Named, jar_of, plan_look
from labbook.work.seeing import Seen, grade_of, modes_by_number, with_reading

HELP = (
    f"            {GRADES}.\n"
    "            Enter leaves it open, - goes back, / shows this, end stops.\n"
)


@dataclass
class Walk:
    """One walk: what was said, and the entries that going back would strike."""

    bench: Bench
    session: Session
    who: str = ""
    said: list[str] = field(default_factory=list)
    entries: dict[str, Looked] = field(default_factory=dict)
    told_modes: bool = False
    told_cautions: set[str] = field(default_factory=set)


def walk(bench: Bench, looks: tuple[DueLook, ...], *, who: str) -> None:
    """Asks for each jar at a terminal, and writes each answer down as it comes."""
    say.write(HELP + "\n")
    with bench.session("look") as session:
        state = Walk(bench, session, who)
        try:
            _ask_all(state, looks)
        except (EOFError, KeyboardInterrupt):
            say.write("\n            stopped; what was typed is kept\n")
        if state.entries:
            session.message = _message(state)
    left = len(looks) - len(state.entries)
    tail = f", {left} left open" if left else ""
    say.write(f"\n            {len(state.entries)} of {len(looks)} jars looked at{tail}\n")
    _lessons(bench, state)


def _lessons(bench: Bench, state: Walk) -> None:
    """What the trials among the jars told, now that their looks are in."""
    fresh = bench.afresh()
    for id_ in dict.fromkeys(look.id for look in state.entries.values()):
        if fresh.snapshot.batches[id_].asks:
            from labbook.show.next_batch import lesson_screen
            from labbook.work.why import lesson_of

            told = lesson_of(fresh, id_)
            if told is not None:
                say.write("\n")
                say.show(told, lesson_screen)


def _message(state: Walk) -> str:
    jars = sorted(look.jar for look in state.entries.values())
    body = "\n".join(f"{look.jar}  {look.said}" for look in state.entries.values())
    head = jars[0] if len(jars) == 1 else f"{len(jars)} jars"
    return f"Look at {head}\n\n{body}"


def _ask_all(state: Walk, looks: tuple[DueLook, ...]) -> None:
    place = 0
    while place < len(looks):
        look = looks[place]
        answer = _ask(f"{look.name:<12}{_about(look)}: ")
        if answer in ("end", "q"):
            return
        if answer == "-":
            place = max(0, place - 1)
        elif answer == "":
            place += 1
        elif answer == "/":
            say.write(HELP)
            _show_modes(state)
        elif _take(state, look, answer):
            place += 1


def _about(look: DueLook) -> str:
    parts = [look.condition, due_point(look)]
    parts += [f"due {look.day.isoformat()}"] if look.state == "overdue" else []
    parts += [look.note, look.why]
    return ", ".join(part for part in parts if part)


def _ask(question: str) -> str:
    say.write(question)
    sys.stdout.flush()
    text = sys.stdin.readline()
    if not text:
        raise EOFError
    return text.strip()


def _take(state: Walk, look: DueLook, answer: str) -> bool:
    """Writes one answer; False where the jar has to be asked about again."""
    try:
        seen = replace(Seen(who=state.who), grade=grade_of(answer))
        if seen.grade:
            modes = _ask_modes(state)
            if modes is None:
                return False
            seen = replace(seen, modes=modes)
        if re.search(r"\bpH\b", look.note):
            seen = _ask_ph(seen)
        named = jar_of(state.bench, f"{look.batch}.{look.jar}")
        before = state.entries.get(look.name)
        result = _write(state, named, seen, before.entry if before else "")
    except LabbookError as found:
        say.write(f"            {found.what} {found.mend}\n")
        return False
    state.entries[look.name] = result
    for remark in result.remarks:
        say.write(f"            {remark}\n")
    for caution in result.cautions:
        if caution not in state.told_cautions:
            state.told_cautions.add(caution)
            _say_wrapped("caution", caution)
    return True


def _write(state: Walk, named: Named, seen: Seen, before: str) -> Looked:
    result: Looked = state.session.write(
        lambda: plan_look(state.bench, named, seen, instead_of=before)
    )
    return result


def _ask_modes(state: Walk) -> tuple[str, ...] | None:
    """What was seen, by number; empty where it is left open, None to go back to the grade."""
    if not state.told_modes:
        _show_modes(state)
    while True:
        answer = _ask("            what, by number: ")
        if answer == "-":
            return None
        if answer == "/":
            _show_modes(state)
            continue
        try:
            return modes_by_number(answer) if answer else ()
        except Unclear as found:
            say.write(f"            {found.what} {found.mend}\n")


def _ask_ph(seen: Seen) -> Seen:
    while True:
        answer = _ask("            pH: ")
        if not answer:
            return seen
        try:
            return with_reading(seen, f"pH {answer}")
        except Unclear as found:
            say.write(f"            {found.what} Digits and a point, or Enter.\n")


def _show_modes(state: Walk) -> None:
    state.told_modes = True
    say.write(modes_table(say.screen_for(sys.stdout)))


def _say_wrapped(word: str, text: str) -> None:
    screen = say.screen_for(sys.stdout)
    screen.row(word, text)
    say.write(screen.text())
