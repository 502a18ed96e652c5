"""What the templates are handed of a batch: what was weighed, done, read, seen."""

from __future__ import annotations

from labbook.evidence.failure import condition_key
from labbook.evidence.outcomes import in_order_of_telling
from labbook.evidence.runs import run_of
from labbook.evidence.sightings import Sighting, sightings
from labbook.journal.markdown import day
from labbook.journal.names import batch_path
from labbook.journal.publish import PublicBatch
from labbook.journal.teller import Teller
from labbook.journal.views import View, batch_line, unbroken
from labbook.model.batch import Correction, Reading
from labbook.model.moments import day_of
from labbook.model.results.looking import RUN
from labbook.show.batch import done_words
from labbook.show.formulas import step_words
from labbook.show.outcomes import point_words
from labbook.trade import weighing
from labbook.trade.exact import decimal_text
from labbook.trade.standing import TEMPERATURES


def batch_view(teller: Teller, made: PublicBatch) -> View:
    """All that is told of a batch."""
    batch = made.batch
    line = batch_line(teller, made)
    return {
        **line,
        "headline": line["became"][:1].upper() + line["became"][1:],
        "title": made.title,
        "code": batch.formula.code,
        "number": batch.formula.version,
        "size": str(batch.size),
        "known_from": batch.known_from or "",
        "aim": batch.aim or "",
        "changes": batch.changes or "",
        "notes": batch.notes or "",
        "yield": str(batch.yield_) if batch.yield_ else "",
        "room": _room(made),
        "rows": _weighed(teller, made),
        "corrections": _corrections(teller, made),
        "steps": [
            (step_words(step.plan) if step.plan else step.id, done_words(step, clock=False))
            for step in batch.steps
        ],
        "readings": [_reading(one) for one in batch.readings],
        "deviations": [one.text for one in batch.deviations],
        "remarks": [one.text for one in batch.remarks],
        "parents": [_parent(one.batch, one.how, one.mass) for one in batch.from_],
        "looks": _looks(teller, made),
    }


def _room(made: PublicBatch) -> str:
    room = made.batch.room
    values = (room.temperature, room.humidity) if room else ()
    return ", ".join(str(value) for value in values if value)


def _parent(batch: str, how: str, mass: object) -> View:
    told = f"{how}, {mass}" if mass else how
    return {"short": batch.rsplit("-", 1)[-1], "path": batch_path(batch), "how": told}


def _title(teller: Teller, written: str) -> str:
    """An ingredient as its page is called."""
    sheet = teller.journal.sheets.find(written)
    return (sheet.title if sheet else "") or written


def _weighed(teller: Teller, made: PublicBatch) -> list[View]:
    found = weighing.weighed(made.batch)
    digits = {w.line: w.mass.value for w in made.batch.weighings if w.line}
    over = {one.line: one for one in weighing.differences(made.batch)}
    rows = []
    phase = ""
    for line in made.batch.lines:
        mass = found.lines.get(line.id)
        beyond = over[line.id].over if line.id in over else None
        told = ""
        if beyond and not over[line.id].expected_only:
            told = f"{'+' if beyond > 0 else '-'}{decimal_text(abs(beyond))}"
        rows.append(
            {
                "phase": "" if line.phase == phase else line.phase,
                "ingredient": _title(teller, line.ingredient) + (", q.s." if line.qs else ""),
                "target": f"{line.target.value:f}" if line.target else "",
                "weighed": "" if mass is None else decimal_text(mass, digits.get(line.id)),
                "over": told,
                "remark": "corrected" if line.id in found.corrected else "",
            }
        )
        phase = line.phase
    for entry in found.unplanned:
        mass_text = "" if entry.mass is None else decimal_text(entry.mass)
        name = _title(teller, entry.now.ingredient) if entry.now.ingredient else "something"
        rows.append(
            {"phase": entry.now.phase or "", "ingredient": name,
             "target": "", "weighed": mass_text, "over": "", "remark": "not planned"}
        )  # fmt: skip
    return rows


def _corrections(teller: Teller, made: PublicBatch) -> list[str]:
    lines = {line.id: _title(teller, line.ingredient) for line in made.batch.lines}
    names = lines | {
        w.id: lines.get(w.line or "") or _title(teller, w.ingredient or "")
        for w in made.batch.weighings
    }
    names |= {reading.id: reading.reading for reading in made.batch.readings}
    names |= {step.id: step.plan.do if step.plan else step.id for step in made.batch.steps}
    looks = made.stability.looks if made.stability else ()
    names |= {look.id: f"look at {made.batch.short}.{look.jar}" for look in looks}
    later = made.stability.corrections if made.stability else ()
    return [
        _correction(one, names.get(one.of, one.of)) for one in (*made.batch.corrections, *later)
    ]


def _correction(one: Correction, name: str) -> str:
    key = (one.key or "").replace(f"{TEMPERATURES} ", "temperature of ", 1)
    about = key if name in ("tools", "batch", "readings") else f"{name}, {key}"
    known = f", from {one.known_from}" if one.known_from else ""
    told = f"{about}: {one.was or '-'} → {one.now or '-'}"
    return f"{told} ({day(day_of(one.time))}: {one.why}{known})"


def _looks(teller: Teller, made: PublicBatch) -> list[View]:
    seen = sightings(made.batch, made.jars, made.stability, made.formula)
    conditions = in_order_of_telling(one.condition for one in seen)
    order = {condition_key(name): number for number, name in enumerate(conditions)}
    ordered = sorted(
        seen, key=lambda one: (order[condition_key(one.condition)], one.jar, one.unit, one.point)
    )
    rows = []
    before = ("", "")
    for one in ordered:
        here = (f"{made.batch.short}.{one.jar}", one.condition)
        shown = ("", "") if here == before else here
        rows.append({"jar": shown[0], "condition": shown[1], **_look(one)})
        before = here
    return rows


def _look(one: Sighting) -> View:
    look = one.look
    words = [run_of(look).words] if one.unit == RUN else []
    words += look.modes
    words += [f"layer of {look.layer}"] if look.layer else []
    words += [look.extent] if look.extent else []
    if look.reading and look.value is not None:
        words.append(f"{look.reading} {look.value:f} {look.unit or ''}".strip())
    told = ", ".join(words)
    return {
        "when": unbroken(point_words(one.point, one.unit)),
        "grade": "" if look.grade is None else str(look.grade),
        "seen": "; ".join(part for part in (told, look.note or "") if part),
    }


def _reading(one: Reading) -> str:
    value = one.seen if one.value is None else f"{one.value:f} {one.unit or ''}"
    told = f"{one.reading} {(value or '').strip()}"
    told += f" of the {one.of}" if one.of else ""
    told += f", at {one.at}" if one.at else ""
    return told + (f", from {one.known_from}" if one.known_from else "")
