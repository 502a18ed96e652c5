"""The nine questions that an experienced maker asks of a failed batch, and which stay unanswered.

Their order is the one in which answers on public practitioner pages ask (common practice, no
source): what is in it, how was it mixed, how warm, pH and salts, fragrance and preservative,
gellant, what changed, is the test realistic, make it again without it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from labbook.evidence.book import Book
from labbook.evidence.factors.pairing import weighing_line
from labbook.evidence.factors.profile import Profile, profile_of
from labbook.evidence.factors.traits import Trait
from labbook.evidence.sightings import current_looks
from labbook.model.batch import Batch
from labbook.model.moments import in_order

_OPAQUE = frozenset({"blend", "premix", "preservative", "emulsifier"})
_STABILISERS = frozenset({"gellant", "thickener", "powder", "wax", "film former"})


@dataclass(frozen=True, slots=True)
class Unanswered:
    """One of the nine questions that the record can't answer: what is missing, and what to type."""

    number: int
    question: str
    lacks: str
    line: str


QUESTIONS = (
    "What exactly is in it, in percent?",
    "How was it mixed: with what, how fast, how long, how warm?",
    "How warm was each phase when they were combined?",
    "What were the pH, the salts, the acids?",
    "Which fragrance and which preservative, and how much?",
    "Which gellant or stabiliser?",
    "What changed since the last good one?",
    "Is the condition it failed in a realistic one?",
    "Does it fail again when it is made without the suspect?",
)

_Asker = Callable[[Book, Profile], Iterator[tuple[str, str]]]


def unanswered(book: Book, batch: str) -> tuple[Unanswered, ...]:
    """Which of the nine questions the record of a batch can't answer, each with the line to type.

    Args:
        book: the notebook.
        batch: the batch's full id.
    """
    one = book.batches[batch]
    profile = profile_of(book, one, one)
    found = []
    for number, (question, asker) in enumerate(zip(QUESTIONS, _ASKERS, strict=True), 1):
        lacking = list(asker(book, profile))
        if lacking:
            what = "; ".join(dict.fromkeys(text for text, _ in lacking))
            found.append(Unanswered(number, question, what, lacking[0][1]))
    return tuple(found)


def _short(profile: Profile) -> str:
    return profile.batch.short.lower()


def _recorded(profile: Profile, step: str, key: str) -> Trait | None:
    found = profile.traits.get(("steps", step, key))
    return found if found is not None and found.recorded else None


def _steps(batch: Batch, *acts: str) -> list[str]:
    return [s.id for s in batch.steps if s.plan and s.plan.do in acts]


def _composition(book: Book, profile: Profile) -> Iterator[tuple[str, str]]:
    values = [a.value for held in profile.stuff.amounts.values() for a in held.values()]
    if any(value is None for value in values):
        yield "an amount is missing", weighing_line(profile.batch, _unweighed(profile))
    elif values and abs(sum((v for v in values if v is not None), Fraction()) - 100) > 1:
        code = profile.batch.formula.code
        yield "the percents don't add up to 100", f"labbook check {code}"
    for sheet in sorted(profile.stuff.amounts):
        known = book.sheets.find(sheet)
        name = book.sheets.name_of(sheet)
        if known is None:
            yield f"nothing says what {name} is", f"labbook ingredient new {name}"
        elif _OPAQUE & set(known.functions) & {"blend", "premix"} and not known.contains:
            yield f"nothing says what {name} is made of", f"labbook edit {name}"


def _unweighed(profile: Profile) -> str:
    """The first ingredient of which an amount is missing, by its id."""
    held = profile.stuff.amounts.items()
    return next((s for s, by in held if any(a.value is None for a in by.values())), "")


def _mixing(book: Book, profile: Profile) -> Iterator[tuple[str, str]]:
    batch = profile.batch
    mixing = _steps(batch, "combine", "mix", "whip")[:1]
    short = _short(profile)
    if not mixing and book.emulsion(batch) == "anhydrous":
        return
    if not mixing:
        yield "no step says how it was mixed", f"labbook edit {batch.formula.code}"
        return
    step = mixing[0]
    device = _recorded(profile, step, "with") or profile.traits.get(("equipment", "mixer"))
    if device is None:
        yield "with what it was mixed", f'labbook note {short} "mixed with ..."'
    by_hand = device is not None and device.rank == 0
    speed = profile.traits.get(("steps", step, "speed"))
    if not by_hand and not (speed and speed.recorded):
        line = f'labbook note {short} "{step} speed ..."'
        yield "the speed", profile.said(("steps", step, "speed"), speed) if speed else line
    if not (_recorded(profile, step, "mixed") or _recorded(profile, step, "took")):
        yield "how long it was mixed", f'labbook note {short} "mixed ... min"'


def _temperatures(book: Book, profile: Profile) -> Iterator[tuple[str, str]]:
    for step in profile.batch.steps:
        if not step.plan or step.plan.do != "combine":
            continue
        known = step.done.temperatures if step.done and step.done.temperatures else {}
        phases = tuple(dict.fromkeys(line.phase for line in profile.batch.lines))
        letters = [x for x in (step.plan.into, step.plan.add) if x in phases]
        missing = [letter for letter in letters if letter not in known]
        if missing or not known:
            said = " ".join(f"{letter} ..." for letter in missing or letters or phases[:2])
            which = " and ".join(f"phase {letter}" for letter in missing) or "the phases"
            line = f'labbook note {_short(profile)} "{said}" --step {step.id}'
            yield f"how warm {which} was when combined", line


def _acidity(book: Book, profile: Profile) -> Iterator[tuple[str, str]]:
    if not profile.water and not any(s.is_water for s in profile.stuff.slots):
        return
    if not any(key[:2] == ("readings", "pH") for key in profile.traits):
        yield "no pH was read", f'labbook note {_short(profile)} "pH ... water phase"'


def _preserving(book: Book, profile: Profile) -> Iterator[tuple[str, str]]:
    watery = any(s.is_water for s in profile.stuff.slots)
    kinds = {use for s in profile.stuff.slots for use in s.uses}
    code = profile.batch.formula.code
    if watery and "preservative" not in kinds:
        yield "no line is marked as the preservative", f"labbook edit {code}"
    for slot in profile.stuff.slots:
        amount = profile.stuff.amounts[slot.sheet][slot.phase]
        if slot.uses & {"preservative", "fragrance"} and amount.percent is None:
            name = book.sheets.name_of(slot.sheet)
            yield f"how much {name} was weighed", weighing_line(profile.batch, slot.sheet)


def _stabilising(book: Book, profile: Profile) -> Iterator[tuple[str, str]]:
    for sheet in sorted(profile.stuff.amounts):
        if book.sheets.find(sheet) is None and not profile.stuff.roles(sheet):
            name = book.sheets.name_of(sheet)
            yield f"whether {name} is one", f"labbook ingredient new {name}"
    for slot in profile.stuff.slots:
        amount = profile.stuff.amounts[slot.sheet][slot.phase]
        if slot.uses & _STABILISERS and amount.percent is None:
            name = book.sheets.name_of(slot.sheet)
            yield f"how much {name} was weighed", weighing_line(profile.batch, slot.sheet)


def _changes(book: Book, profile: Profile) -> Iterator[tuple[str, str]]:
    batch = profile.batch
    kin = book.kin(book.lineage(None, batch.formula.id))
    before = [b for b in kin if b.id != batch.id and in_order(b.made) <= in_order(batch.made)]
    if not before:
        code = batch.formula.code
        yield "there is no batch before it to hold it against", f"labbook make {code}"


def _realistic(book: Book, profile: Profile) -> Iterator[tuple[str, str]]:
    batch = profile.batch
    held = book.jars.get(batch.id)
    short = _short(profile)
    if held is None or not held.stays:
        closed = batch.state == "closed"
        yield "where its jars stood", "" if closed else f"labbook close {short}"
        return
    looks = current_looks(book.stability.get(batch.id))
    if not looks:
        yield "nobody has looked at it", f"labbook look {short}"
    elif all("room" not in stay.condition.casefold() for stay in held.stays):
        yield "no jar of it stands in the room", f"labbook stability plan {short}"


def _again(book: Book, profile: Profile) -> Iterator[tuple[str, str]]:
    batch = profile.batch
    later = [
        b
        for b in book.kin(frozenset({batch.formula.id}))
        if b.id != batch.id and in_order(b.made) > in_order(batch.made)
    ]
    if not later:
        yield "it wasn't made again", "labbook next"


_ASKERS: tuple[_Asker, ...] = (
    _composition, _mixing, _temperatures, _acidity, _preserving, _stabilising, _changes,
    _realistic, _again,
)  # fmt: skip
