"""`close`: the batch is made; its yield, its jars, where each stands, and the protocol."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from labbook.model.batch import Batch
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.jars import Jar, Jars, Stay
from labbook.model.moments import Moment, in_order, write_moment
from labbook.model.quantities import Quantity
from labbook.model.results.making import Closed
from labbook.trade.exact import to_decimal
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.note import guard_open


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """What a person says when closing; None and empty take what was done the last time."""

    yield_: Quantity | None = None
    jars: int | None = None
    conditions: Sequence[str] = ()
    container: str | None = None
    protocol: str | None = None
    filled: Moment | None = None


def last_time(bench: Bench, batch: Batch) -> Jars | None:
    """The jars of the latest closed batch of the same formula, else of any formula."""
    closed = [
        b
        for b in bench.snapshot.batches.values()
        if b.state == "closed" and b.id != batch.id and b.id in bench.snapshot.jars
    ]
    same = [b for b in closed if b.formula.id == batch.formula.id]
    chosen = max(same or closed, key=lambda b: (in_order(b.made), b.id), default=None)
    return bench.snapshot.jars[chosen.id] if chosen else None


def _condition_words(jars: Jars | None) -> list[str]:
    if jars is None:
        return []
    first: dict[str, str] = {}
    for stay in jars.stays:
        first.setdefault(stay.jar, stay.condition)
    return [first.get(jar.jar, "") for jar in jars.jars]


def close(bench: Bench, typed: str | None, filling: Filling) -> Closed:
    """Closes an open batch; from then on it changes by corrections only.

    Raises:
        NotAllowed: it is closed already, or an unknown protocol was named.
        Unclear: fewer conditions than jars.
    """
    chosen = bench.the_open_batch(typed)
    if chosen.state == "closed":
        when = f", on {write_moment(chosen.closed)[:16].replace('T', ' ')}" if chosen.closed else ""
        raise NotAllowed(
            f"{chosen.short} was closed already{when}.",
            mend=f'A figure is corrected: labbook batch correct {chosen.short} NAME=VALUE -m "why"',
        )
    result: Closed = bench.record(
        lambda: _plan(bench.afresh(), chosen.id, filling), command="close"
    ).result
    return result


def _plan(bench: Bench, batch_id: str, filling: Filling) -> Any:
    from labbook.notebook.emit import Word, document
    from labbook.notebook.schema import schema_line

    batch = bench.snapshot.batches[batch_id]
    guard_open(batch, "closing it")
    before = last_time(bench, batch)
    protocol = _protocol(bench, batch, filling)
    jars = _jars(bench, batch, filling, before)
    draft = Draft(bench.root)
    path = bench.batch_path(batch_id)
    if filling.yield_ is not None:
        draft.put(path, ("yield",), filling.yield_)
    draft.put(path, ("closed",), bench.now)
    draft.put(path, ("state",), Word("closed"))
    jars_path = bench.batch_path(batch_id, "jars.yaml")
    record_ = Jars(batch=batch_id, protocol=protocol or None, jars=jars[0], stays=jars[1])
    draft.create(jars_path, document(record_, head=(schema_line("jars", 3),)))
    looks_path = bench.batch_path(batch_id, "stability.yaml")
    if not draft.exists(looks_path):
        draft.create(looks_path, document({"batch": batch_id}, head=(schema_line("stability", 3),)))
    apart = any(parent.how == "split" for parent in batch.from_)
    made_of = [] if apart else [x for x in batch.lines if not _weighed(batch, x.id)]
    result = Closed(
        id=batch.id,
        short=batch.short,
        code=batch.formula.code,
        version=batch.formula.version,
        made_of=batch.formula.name,
        yield_text=str(filling.yield_) if filling.yield_ else "",
        loss=_loss(batch, filling.yield_),
        jars=tuple(
            (f"{batch.short}.{jar.jar}", stay.condition, jar.container or "")
            for jar, stay in zip(jars[0], jars[1], strict=True)
        ),
        protocol=protocol,
        unweighed=tuple(line.ingredient for line in made_of),
        not_recorded=not_recorded(batch),
    )
    count = len(jars[0])
    told = f"{count} jar{'' if count == 1 else 's'}" if count else "no jars"
    return draft.plan(f"Close {batch.short}: {told}", result)


def _weighed(batch: Batch, line: str) -> bool:
    return any(w.line == line and not w.struck for w in batch.weighings)


def _protocol(bench: Bench, batch: Batch, filling: Filling) -> str:
    if filling.protocol:
        if filling.protocol not in bench.snapshot.protocols:
            have = ", ".join(bench.snapshot.protocols) or "none"
            raise UnknownName(
                f"The notebook has no protocol {filling.protocol}.", mend=f"It has: {have}"
            )
        return filling.protocol
    formula = bench.snapshot.formula_of(batch)
    own = formula.protocol if formula else None
    return own or bench.snapshot.settings.defaults.protocol or ""


def _jars(
    bench: Bench, batch: Batch, filling: Filling, before: Jars | None
) -> tuple[tuple[Jar, ...], tuple[Stay, ...]]:
    usual = _condition_words(before)
    conditions = list(filling.conditions) or usual
    count = filling.jars if filling.jars is not None else len(conditions)
    if count > 500:
        raise Unclear(f"{count} jars of {batch.size}?", mend="Say how many there really are.")
    if len(conditions) < count:
        if len(conditions) != 1 and filling.conditions:
            raise Unclear(
                f"{count} jars, but {len(conditions)} places were named.",
                mend="Name one for each: --places room,fridge,40C",
            )
        conditions += [conditions[-1] if conditions else "room"] * (count - len(conditions))
    container = filling.container or (before.jars[0].container if before and before.jars else None)
    container = container or bench.snapshot.settings.defaults.container
    # A batch written down later was filled when it was made: ages count from there.
    filled = filling.filled or (batch.made if batch.known_from else bench.now)
    jars = tuple(
        Jar(id=f"j{n}", jar=str(n), container=container, filled=filled) for n in range(1, count + 1)
    )
    stays = tuple(
        Stay(id=f"y{n}", jar=str(n), condition=conditions[n - 1], since=filled)
        for n in range(1, count + 1)
    )
    return jars, stays


def _loss(batch: Batch, got: Quantity | None) -> str:
    if got is None:
        return ""
    masses = [w.mass.exact("g") for w in batch.weighings if not w.struck]
    if not masses or not all(_weighed(batch, line.id) for line in batch.lines):
        return ""
    lost = sum(masses) - got.exact("g")
    return f"{to_decimal(lost):f} g" if lost >= 0 else ""


def not_recorded(batch: Batch) -> tuple[str, ...]:
    """What experience asks first about a failed batch, and nobody wrote down."""
    missing = []
    heated = [s for s in batch.steps if s.plan and s.plan.do in ("heat", "combine")]
    if heated and not any(s.done and s.done.temperatures for s in heated):
        missing.append("the temperatures of the phases when combined")
    mixed = [s for s in batch.steps if s.plan and s.plan.do in ("combine", "mix", "whip")]
    if mixed and not any(s.done and s.done.speed for s in mixed):
        missing.append("the mixer's speed")
    if mixed and not any(s.done and (s.done.took or s.done.mixed or s.done.ended) for s in mixed):
        missing.append("how long it was mixed")
    if not any(r.reading == "pH" and not r.struck for r in batch.readings) and any(
        line.adjust and "pH" in line.adjust for line in batch.lines
    ):
        missing.append("the pH")
    if not any(w.lot for w in batch.weighings):
        missing.append("the lots")
    return tuple(missing)
