"""`batch reaction`: what somebody had after using it, written down privately, with what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from labbook.evidence.sightings import jars_by_name
from labbook.model.batch import Batch
from labbook.model.errors import Unclear, UnknownName
from labbook.model.ids import matching_batches, next_entry_id
from labbook.model.moments import Moment
from labbook.model.quantities import Quantity
from labbook.model.reactions import Reaction
from labbook.model.results.looking import jar_name
from labbook.model.results.reactions import Reacted
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.tracing import trace

if TYPE_CHECKING:
    from labbook.notebook.record import Plan

FILE = "reactions.yaml"
PRIVATE = "Private: nothing of it is ever published."


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What a person told, as typed; empty and None are not written down."""

    text: str
    complaint: bool = False
    who: str = ""
    after: Quantity | None = None
    lasted: Quantity | None = None
    doctor: bool = False
    about: str = ""
    time: Moment | None = None

    @property
    def kind(self) -> str:
        """`reaction` or `complaint`."""
        return "complaint" if self.complaint else "reaction"


def react(bench: Bench, typed: str, said: Said) -> Reacted:
    """Writes a reaction or a complaint down, beside the batch and for nobody else's eyes.

    A dropped batch takes one too: jars of it may be with somebody.

    Args:
        bench: the notebook.
        typed: the batch, or the jar where it is known.
        said: what was told.

    Raises:
        Unclear: nothing was said.
        UnknownName: no such batch, jar, or earlier entry.
    """
    if not said.text.strip():
        raise Unclear(
            "What happened?", mend='Say it: labbook batch reaction 7k.1 "red and itching"'
        )
    chosen, jar = _subject(bench, typed)

    def plan() -> Plan:
        fresh = bench.afresh()
        held = fresh.snapshot.reactions.get(chosen.id)
        known = [one.id for one in held.reactions] if held else []
        if said.about and said.about not in known:
            raise UnknownName(
                f"{chosen.short} has no reaction {said.about}.",
                mend=f"It has: {', '.join(known) or 'none'}",
            )
        draft = Draft(bench.root)
        id_ = next_entry_id("e", known)
        path = fresh.batch_path(chosen.id, FILE)
        draft.begin(path, chosen.id, "reactions", note=PRIVATE)
        draft.append(path, "reactions", _entry(fresh, id_, jar, said))
        # The commit's words may be pushed anywhere: what was said stays in the file.
        return draft.plan(f"{chosen.short}: {said.kind} written down", id_)

    id_ = str(bench.record(plan, command="batch reaction").result)
    return _result(bench.afresh(), chosen, jar, id_, said)


def _subject(bench: Bench, typed: str) -> tuple[Batch, str]:
    """The batch and, where one was named, its jar as the file names it."""
    if matching_batches(typed, bench.snapshot.batches) or "." not in typed:
        return bench.batch(typed), ""
    head, _, tail = typed.rpartition(".")
    batch = bench.batch(head)
    jars = jars_by_name(batch, bench.snapshot.jars.get(batch.id))
    found = next((jar for name, jar in jars.items() if name.casefold() == tail.casefold()), None)
    if found is None:
        names = ", ".join(jar_name(batch.short, name) for name in jars) or "none"
        raise UnknownName(f"{batch.short} has no jar {tail}.", mend=f"It has: {names}")
    return batch, found.jar


def reactions_of(bench: Bench, batch: Batch) -> tuple[Reaction, ...]:
    """The reactions and complaints about a batch that count; private."""
    held = bench.snapshot.reactions.get(batch.id)
    return tuple(one for one in held.reactions if not one.struck) if held else ()


def _entry(bench: Bench, id_: str, jar: str, said: Said) -> dict[str, Any]:
    from labbook.notebook.emit import Word

    entry: dict[str, Any] = {
        "id": id_,
        "kind": Word(said.kind),
        "text": said.text.strip(),
        "who": said.who or None,
        "jar": jar or None,
        "after": said.after,
        "lasted": said.lasted,
        "doctor": True if said.doctor else None,
        "about": said.about or None,
        "time": said.time or bench.now,
    }
    return {key: value for key, value in entry.items() if value is not None}


def _result(bench: Bench, batch: Batch, jar: str, id_: str, said: Said) -> Reacted:
    found = trace(bench, batch.id, people=True)
    held = [one for one in found.reactions if one.entry != id_ or one.batch != batch.id]
    return Reacted(
        batch=batch.id,
        short=batch.short,
        of=batch.formula.name,
        entry=id_,
        kind=said.kind,
        said=said.text.strip(),
        who=said.who,
        jar=jar,
        given=tuple(one.name for one in found.jars if one.given),
        here=tuple(one.name for one in found.jars if not one.given),
        batches=tuple(hop.name for hop in found.forward if hop.kind == "batch"),
        potted=found.potted,
        lots=sum(1 for hop in found.back if hop.kind == "lot"),
        earlier=len(held),
    )
