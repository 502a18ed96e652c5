"""Later changes around looks: a look corrected, a jar put somewhere else or seen enough of."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from labbook.evidence.failure import condition_key
from labbook.evidence.sightings import (
    BULK,
    all_looks,
    corrected,
    plain_jar,
    stay_at,
    stays_of,
)
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.ids import next_entry_id
from labbook.model.jars import Look
from labbook.model.moments import Moment, age_in_days
from labbook.model.results.looking import Looked
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.due import watch_of
from labbook.work.look import Named, jar_of, moment_of
from labbook.work.seeing import cautions, mode_of

if TYPE_CHECKING:
    from labbook.notebook.record import Plan

_CHANGE = re.compile(r"([a-z ]+?)\s*=\s*(.*)", re.DOTALL)


def correct_look(
    bench: Bench, typed: str, entry: str, changes: Sequence[str], why: str, *, who: str = ""
) -> Looked:
    """Writes a correction of a look beside its first figures.

    Args:
        bench: the notebook.
        typed: the jar.
        entry: the look's id.
        changes: `grade=2`, `modes=oil beads`; `struck=wrong jar` takes the look out of the count.
        why: the reason.
        who: the person, where that matters.
    """
    named = jar_of(bench, typed)
    if not why.strip():
        raise Unclear("A correction needs its reason.", mend='Add it: -m "..."')
    if not changes:
        raise Unclear(
            "What is to be corrected?",
            mend=f"labbook look {typed} --correct {entry} grade=2 -m ...",
        )

    def plan() -> Plan:
        fresh = bench.afresh()
        stability = fresh.snapshot.stability.get(named.batch.id)
        found = next((one for one in all_looks(stability) if one.id == entry), None)
        if found is None or stability is None or plain_jar(named.batch, found.jar) != named.jar:
            mine = [
                o.id for o in all_looks(stability) if plain_jar(named.batch, o.jar) == named.jar
            ]
            raise UnknownName(
                f"{named.name} has no look {entry}.", mend=f"Its looks: {', '.join(mine) or 'none'}"
            )
        draft = Draft(bench.root)
        path = fresh.batch_path(named.batch.id, "stability.yaml")
        used = [one.id for one in stability.corrections]
        said = []
        for change in changes:
            data, found = _correction(found, change)
            id_ = next_entry_id("c", used)
            used.append(id_)
            draft.append(path, "corrections", {
                "id": id_, "of": entry, **data, "why": why,
                **({"who": who} if who else {}), "time": bench.now,
            })  # fmt: skip
            said.append(f"{data['key']} {data.get('was', '-')} → {data.get('now', '-')}")
        told = "; ".join(said)
        result = Looked(
            id=named.batch.id, short=named.batch.short, jar=named.name, entry=entry,
            said=f"corrected: {told}",
            remarks=("The first figure stays beside it; outcomes use the new one.",),
            cautions=cautions(named.batch.short, named.name, found.modes),
        )  # fmt: skip
        return draft.plan(f"Correct {named.name}, look {entry}: {told}\n\n{why}", result)

    result: Looked = bench.record(plan, command="look --correct").result
    return result


def _correction(look_: Look, change: str) -> tuple[dict[str, str], Look]:
    match = _CHANGE.fullmatch(change.strip())
    if not match:
        raise Unclear(f"{change!r} says nothing to correct.", mend="Write KEY=VALUE: grade=2")
    key, value = match[1], match[2].strip()
    if key in ("mode", "modes"):
        key = "modes"
        value = ", ".join(mode_of(part) for part in value.split(",") if part.strip())
    if key == "grade" and value and value not in "01234":
        raise Unclear(f"Grade {value}?", mend="Grades are 0 to 4.")
    try:
        new = corrected(look_, key, value)
    except ValueError as error:
        raise Unclear(f"{error}.", mend="Write KEY=VALUE: grade=2") from error
    data = {"key": key}
    for word, state in (("was", look_), ("now", new)):
        text = _text(state, key)
        if text:
            data[word] = text
    return data, new


def _text(look_: Look, key: str) -> str:
    from labbook.notebook.emit import text_of

    name = key.replace(" ", "_")
    value = getattr(look_, name)
    if value is None:
        return ""
    return ", ".join(value) if isinstance(value, tuple) else text_of(value)


def move(bench: Bench, typed: str, condition: str, *, place: str = "", made: str = "") -> Looked:
    """Writes down that a jar now stands elsewhere.

    Ages under the new condition count from this moment on.
    """
    named = jar_of(bench, typed)
    if named.jar == BULK:
        raise NotAllowed("The bulk is in no jar; it stands where it was made.")
    since = moment_of(bench, made or None, "")

    def plan() -> Plan:
        fresh = bench.afresh()
        jars = fresh.snapshot.jars[named.batch.id]
        draft = Draft(bench.root)
        entry = {
            "id": next_entry_id("y", [stay.id for stay in jars.stays]),
            "jar": named.as_written,
            "condition": condition.strip(),
            **({"place": place} if place else {}),
            "since": since,
        }
        draft.append(fresh.batch_path(named.batch.id, "jars.yaml"), "stays", entry)
        known = watch_of(fresh, named.batch).protocol
        asked = [p.condition for p in known.looks] if known else []
        remarks = []
        if condition_key(condition) not in map(condition_key, asked):
            remarks.append(f"The protocol asks for no looks in {condition!r}: none will fall due.")
        result = Looked(
            id=named.batch.id, short=named.batch.short, jar=named.name, entry=str(entry["id"]),
            said=f"now stands in: {condition}", remarks=tuple(remarks),
        )  # fmt: skip
        return draft.plan(f"{named.name}: moved to {condition}", result)

    result: Looked = bench.record(plan, command="look --moved").result
    return result


def set_done(bench: Bench, typed: str, why: str, *, made: str = "") -> Looked:
    """Writes down that enough was seen of a jar: it is asked for no more where it stands.

    Args:
        bench: the notebook.
        typed: the jar.
        why: the reason; it may be empty.
        made: the day, where that was earlier.

    Raises:
        UnknownName, Unclear, NotAllowed: nothing is written.
    """
    named = jar_of(bench, typed)
    when = moment_of(bench, made or None, "")

    def plan() -> Plan:
        fresh = bench.afresh()
        draft = Draft(bench.root)
        entry = put_done(fresh, draft, named, when, why)
        result = Looked(
            id=named.batch.id, short=named.batch.short, jar=named.name, entry=entry, said="done",
            remarks=("It falls due no more. Its looks stay, and another can still be made.",),
        )  # fmt: skip
        reason = f"\n\n{why.strip()}" if why.strip() else ""
        return draft.plan(f"{named.name}: seen enough{reason}", result)

    result: Looked = bench.record(plan, command="look --done").result
    return result


def put_done(bench: Bench, draft: Draft, named: Named, when: Moment, why: str) -> str:
    """Adds to a draft that a jar is done; the new entry's id.

    Raises:
        NotAllowed: there is no jar, or it is done already.
    """
    jars = bench.snapshot.jars.get(named.batch.id)
    if named.jar == BULK or jars is None:
        raise NotAllowed("The bulk is in no jar, so nothing falls due of it.")
    stay = stay_at(stays_of(named.batch, jars, named.jar), when)
    for one in jars.done:
        mine = plain_jar(named.batch, one.jar) == named.jar
        if mine and (stay is None or age_in_days(stay.since, one.time) >= 0):
            raise NotAllowed(f"{named.name} is done already ({one.id}).")
    entry = {
        "id": next_entry_id("z", [one.id for one in jars.done]),
        "jar": named.as_written,
        "time": when,
        **({"why": why.strip()} if why.strip() else {}),
    }
    draft.append(bench.batch_path(named.batch.id, "jars.yaml"), "done", entry)
    return str(entry["id"])
