"""`stability plan`: the looks planned for a batch, and exceptions to its formula's protocol."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from labbook.evidence.failure import condition_key
from labbook.evidence.plan import plan_of
from labbook.model.batch import Batch
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.quantities import Quantity, QuantityError, parse_quantity
from labbook.model.results.common import Next
from labbook.model.results.planning import DUE, OVERDUE, PlannedJar, StabilityPlan
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.due import watch_of
from labbook.work.note import guard_kept

if TYPE_CHECKING:
    from labbook.notebook.record import Plan

_POINT = re.compile(r"(.+?)\s+([0-9]+(?:[.,][0-9]+)?\s*[a-z]+)", re.DOTALL)


def plan_for(bench: Bench, typed: str) -> StabilityPlan:
    """The looks planned for a batch, jar by jar.

    Raises:
        NotAllowed: it has no jars yet, or was dropped.
    """
    batch = _with_jars(bench, typed)
    name, named_by = _protocol_name(bench, batch)
    watch = watch_of(bench, batch)
    jars = plan_of(watch, bench.today)
    waiting = any(look.state in (DUE, OVERDUE) for jar in jars for look in jar.looks)
    then = [Next("labbook look", "what is due")] if waiting else []
    short = batch.short.lower()
    then.append(Next(f'labbook stability plan {short} --add "room 45 d" -m "..."', "one look more"))
    return StabilityPlan(
        id=batch.id,
        short=batch.short,
        of=batch.formula.name,
        protocol=name if watch.protocol else "",
        title=watch.protocol.title if watch.protocol else "",
        named_by=named_by,
        day=bench.today,
        jars=jars,
        remarks=tuple(_remarks(jars)) if watch.protocol else (),
        then=tuple(then),
    )


def _with_jars(bench: Bench, typed: str) -> Batch:
    batch = bench.batch(typed.partition(".")[0])
    guard_kept(batch)
    jars = bench.snapshot.jars.get(batch.id)
    if jars is None or not jars.jars:
        raise NotAllowed(
            f"{batch.short} has no jars yet, so no looks are planned.",
            mend=f"They come with: labbook close {batch.short.lower()}",
        )
    return batch


def _protocol_name(bench: Bench, batch: Batch) -> tuple[str, str]:
    """The protocol's name, and what names it."""
    snapshot = bench.snapshot
    jars = snapshot.jars.get(batch.id)
    formula = next((f for f in snapshot.formulas.values() if f.id == batch.formula.id), None)
    for name, by in (
        (jars.protocol if jars else None, "batch"),
        (formula.protocol if formula else None, "formula"),
        (snapshot.settings.defaults.protocol, "notebook"),
    ):
        if name:
            return name, by
    return "", ""


def _remarks(jars: Sequence[PlannedJar]) -> list[str]:
    bare = [f"{jar.name} ({jar.condition})" for jar in jars if not jar.looks]
    return [f"The protocol asks for no looks of {', '.join(bare)}."] if bare else []


# Exceptions ---------------------------------------------------------------------------------------


def change_plan(
    bench: Bench, typed: str, *, protocol: str = "", add: Sequence[str] = (), why: str = ""
) -> StabilityPlan:
    """Gives a batch another protocol, or further looks; one commit.

    Looks that are added stand in a protocol of the batch's own, a copy of the one it had, so that
    other batches keep theirs.

    Args:
        bench: the notebook.
        typed: the batch.
        protocol: the name of another protocol; empty keeps the one it has.
        add: conditions with an age, `room 45 d`, or a number of cycles, `freeze-thaw 5 cycles`.
        why: the reason, for the message of the commit.

    Raises:
        UnknownName: no such protocol.
        Unclear: an addition that can't be read.
        NotAllowed: it has no jars, or nothing would change.
    """
    batch = _with_jars(bench, typed)
    points = [_point_of(text) for text in add]
    if protocol and protocol not in bench.snapshot.protocols:
        have = ", ".join(bench.snapshot.protocols) or "none"
        raise UnknownName(f"The notebook has no protocol {protocol}.", mend=f"It has: {have}")
    before = _protocol_name(bench, batch)[0]

    def plan() -> Plan:
        fresh = bench.afresh()
        draft = Draft(bench.root)
        name = protocol or _protocol_name(fresh, batch)[0]
        if points:
            name = _own_protocol(fresh, draft, batch, name, points)
        _name_it(fresh, draft, batch, name)
        written = tuple(change.path for change in draft.changes())
        if not written:
            raise NotAllowed(f"{batch.short} has the protocol {name} already; nothing was changed.")
        said = "; ".join(f"add {text.strip()}" for text in add) or f"by the protocol {name}"
        reason = f"\n\n{why.strip()}" if why.strip() else ""
        return draft.plan(f"Plan looks of {batch.short}: {said}{reason}", written)

    written = bench.record(plan, command="stability plan").result
    then = (Next(f"labbook stability plan {batch.short.lower()}"), Next("labbook undo"))
    found = plan_for(bench.afresh(), batch.id)
    return replace(
        found,
        before=before,
        written=written,
        remarks=(*found.remarks, *_nowhere(found.jars, points)),
        then=then,
    )


def _nowhere(jars: Sequence[PlannedJar], points: Sequence[dict[str, Any]]) -> list[str]:
    """That a look was added for a condition in which no jar stands."""
    stands = {condition_key(jar.condition) for jar in jars}
    names = dict.fromkeys(str(point["condition"]) for point in points)
    bare = [name for name in names if condition_key(name) not in stands]
    where = ", ".join(dict.fromkeys(jar.condition for jar in jars))
    return [f"No jar stands in {name!r}: nothing falls due there. They stand in: {where}"
            for name in bare]  # fmt: skip


def _point_of(text: str) -> dict[str, Any]:
    """`room 45 d` or `freeze-thaw 5 cycles` as an entry of a protocol."""
    mend = 'Write a condition and an age: --add "room 45 d", or --add "freeze-thaw 5 cycles"'
    cycles = re.fullmatch(r"(.+?)\s+([1-9][0-9]{0,2})\s+cycles?", text.strip())
    if cycles:
        return {"condition": cycles[1], "cycles": int(cycles[2])}
    match = _POINT.fullmatch(text.strip())
    if not match:
        raise Unclear(f"{text!r} names no look.", mend=mend)
    try:
        span = parse_quantity(match[2].replace(",", "."), "time")
    except QuantityError as error:
        raise Unclear(f"{error}.", mend=mend) from error
    if span.exact("d") <= 0:
        raise Unclear(f"{match[2]} after filling?", mend=mend)
    return {"condition": match[1], "after": [span]}


def _own_protocol(
    bench: Bench, draft: Draft, batch: Batch, base: str, points: Sequence[dict[str, Any]]
) -> str:
    """Writes the looks into the batch's own protocol, made from the one it had."""
    from labbook.notebook.emit import document
    from labbook.notebook.schema import schema_line

    name = f"looks-{batch.id.lower()}"
    path = f"protocols/{name}.yaml"
    title = f"Looks at {batch.id}"
    known = bench.snapshot.protocols.get(base)
    if base != name and known is not None:
        # Copied anew where another protocol was named; what was added to the old one is history.
        held = draft.text(f"protocols/{base}.yaml")
        draft.create(path, held, replace=True)
        draft.put(path, ("id",), name)
        draft.put(path, ("title",), f"{title}, after: {known.title}")
    elif not draft.exists(path):
        head = {"id": name, "title": title, "looks": []}
        draft.create(path, document(head, head=(schema_line("protocol", 1),)))
    for number, point in enumerate(points):
        _guard_new(bench, base, point)
        if point not in points[:number]:
            draft.append(path, "looks", point)
    return name


def _guard_new(bench: Bench, base: str, point: dict[str, Any]) -> None:
    """Refuses a look that the protocol asks for already."""
    known = bench.snapshot.protocols.get(base)
    for one in known.looks if known else ():
        if condition_key(one.condition) != condition_key(point["condition"]):
            continue
        span: Quantity | None = next(iter(point.get("after", ())), None)
        asked = span is not None and any(s.exact("d") == span.exact("d") for s in one.after)
        if asked:
            raise NotAllowed(f"The protocol asks for {point['condition']} {span} already.")
        if "cycles" in point and one.cycles:
            raise NotAllowed(
                f"The protocol asks for {one.cycles} cycles of {one.condition} already.",
                mend=f"Change the number there: labbook edit {base}",
            )


def _name_it(bench: Bench, draft: Draft, batch: Batch, name: str) -> None:
    path = bench.batch_path(batch.id, "jars.yaml")
    jars = bench.snapshot.jars[batch.id]
    if jars.protocol != name:
        from labbook.notebook.emit import Word

        draft.put(path, ("protocol",), Word(name))
