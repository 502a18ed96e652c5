"""What one file says of another: every name has to lead somewhere."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from labbook.model.batch import Batch
from labbook.model.problems import Place, Problem, Severity
from labbook.model.sheets import fold
from labbook.notebook.readfile import ReadFile
from labbook.notebook.snapshot import Snapshot
from labbook.trade.standing import unreadable


def reference_problems(snapshot: Snapshot) -> Iterator[Problem]:
    """Names without a file, ids that are there twice, and names that two sheets share."""
    yield from _twice(snapshot, "formula")
    yield from _twice(snapshot, "ingredient")
    yield from _shared_names(snapshot)
    for code, formula in snapshot.formulas.items():
        held = snapshot.files[f"formulas/{code}.yaml"]
        if formula.protocol and formula.protocol not in snapshot.protocols:
            yield _no_file(
                held.place("protocol"), "protocol", formula.protocol, snapshot.protocols, code
            )
    for batch_id, batch in snapshot.batches.items():
        batch_file = snapshot.of_batch(batch_id)
        if batch_file is not None:
            yield from _batch(snapshot, batch, batch_file)
    yield from _jars(snapshot)
    yield from _defaults(snapshot)


def _no_file(
    place: Place, kind: str, name: str, known: Mapping[str, object], about: str
) -> Problem:
    from difflib import get_close_matches

    near = get_close_matches(name, list(known), n=2, cutoff=0.6)
    mend = f"Near it: {', '.join(near)}." if near else f"Add it, or take the {kind} out of here."
    return Problem(
        Severity.WARNING,
        "name-without-file",
        place,
        f"The notebook has no {kind} {name}.",
        mend,
        about=about,
    )


def _twice(snapshot: Snapshot, kind: str) -> Iterator[Problem]:
    first: dict[str, str] = {}
    for path, held in snapshot.files.items():
        if held.kind != kind or held.record is None:
            continue
        id_ = held.record.id
        if id_ in first:
            yield Problem(
                Severity.ERROR,
                "id-twice",
                held.place("id"),
                f"The id {id_} stands in {first[id_]} too; an id belongs to one {kind} for ever.",
                f"Where one is a copy, give it a new id: labbook {kind} new makes one.",
            )
        first.setdefault(id_, path)


def _shared_names(snapshot: Snapshot) -> Iterator[Problem]:
    owner: dict[str, str] = {}
    for path, held in snapshot.files.items():
        if held.kind != "ingredient" or held.record is None:
            continue
        names = [path.split("/")[-1].removesuffix(".yaml"), held.record.id, *held.record.also]
        for name in dict.fromkeys(fold(n) for n in names):
            if name in owner and owner[name] != path:
                yield Problem(
                    Severity.WARNING,
                    "name-of-two-sheets",
                    held.place("also"),
                    f"{name} is a name in {owner[name]} too; lines that say it mean that sheet.",
                    "Take the name out of one of them.",
                )
            owner.setdefault(name, path)


def _batch(snapshot: Snapshot, batch: Batch, held: ReadFile) -> Iterator[Problem]:
    for index, weighing in enumerate(batch.weighings):
        if weighing.lot and weighing.lot not in snapshot.lots:
            place = held.place("weighings", index, "lot")
            yield _no_file(place, "lot", weighing.lot, snapshot.lots, batch.id)
        if weighing.batch and weighing.batch not in snapshot.batches:
            place = held.place("weighings", index, "batch")
            yield _no_file(place, "batch", weighing.batch, snapshot.batches, batch.id)
    for index, parent in enumerate(batch.from_):
        if parent.batch not in snapshot.batches:
            place = held.place("from", index, "batch")
            yield _no_file(place, "batch", parent.batch, snapshot.batches, batch.id)
    for key in ("balance", "mixer", "meter", "thermometer", "vessel"):
        name = getattr(batch.tools, key) if batch.tools else None
        if name and name not in snapshot.equipment:
            place = held.place("tools", key)
            yield _no_file(place, "equipment", name, snapshot.equipment, batch.id)
    for index, why in unreadable(batch):
        yield Problem(
            Severity.WARNING,
            "correction-unreadable",
            held.place("corrections", index),
            f"{why}, so it says nothing.",
            f'Beside it: labbook batch correct {batch.short} ... -m "..."',
            about=batch.id,
        )


def _jars(snapshot: Snapshot) -> Iterator[Problem]:
    for batch_id, jars in snapshot.jars.items():
        held = snapshot.of_batch(batch_id, "jars.yaml")
        if held is None:
            continue
        if batch_id not in snapshot.batches:
            yield _lonely(held, batch_id)
        known = {jar.jar: jar for jar in jars.jars}
        if jars.protocol and jars.protocol not in snapshot.protocols:
            place = held.place("protocol")
            yield _no_file(place, "protocol", jars.protocol, snapshot.protocols, batch_id)
        for name in ("stays", "done"):
            for index, entry in enumerate(getattr(jars, name)):
                if entry.jar not in known and entry.jar != "bulk":
                    place = held.place(name, index, "jar")
                    yield _no_file(place, "jar", entry.jar, known, batch_id)
    for batch_id, looks in snapshot.stability.items():
        held = snapshot.of_batch(batch_id, "stability.yaml")
        if held is None:
            continue
        if batch_id not in snapshot.batches:
            yield _lonely(held, batch_id)
        filled = snapshot.jars.get(batch_id)
        names = {jar.jar: jar for jar in filled.jars} if filled else {}
        for index, look in enumerate(looks.looks):
            if look.jar not in names and look.jar != "bulk":
                yield _no_file(held.place("looks", index, "jar"), "jar", look.jar, names, batch_id)


def _lonely(held: ReadFile, batch_id: str) -> Problem:
    return Problem(
        Severity.ERROR,
        "batch-file-missing",
        Place(held.path),
        f"There is no readable batch.yaml beside it, so nobody knows what {batch_id} is.",
        "Git still has it: git log -- " + held.path.rsplit("/", 1)[0],
        about=batch_id,
    )


def _defaults(snapshot: Snapshot) -> Iterator[Problem]:
    held = snapshot.files.get("labbook.yaml")
    if held is None:
        return
    defaults = snapshot.settings.defaults
    for key in ("balance", "mixer", "meter", "thermometer"):
        name = getattr(defaults, key)
        if name and name not in snapshot.equipment:
            yield _no_file(held.place("defaults", key), "equipment", name, snapshot.equipment, "")
    if defaults.protocol and defaults.protocol not in snapshot.protocols:
        place = held.place("defaults", "protocol")
        yield _no_file(place, "protocol", defaults.protocol, snapshot.protocols, "")
