"""How a batch was made, step by step, as traits; each step under the name it has in all batches."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from labbook.evidence.factors.traits import Trait, Traits, of_name, of_quantity
from labbook.evidence.method import matched_steps
from labbook.model.batch import Batch, BatchStep, Done
from labbook.model.formula import Step
from labbook.model.materials import SHEAR_CLASSES, Equipment
from labbook.model.quantities import Quantity, QuantityError, parse_quantity
from labbook.model.sheets import fold

WHEN = {
    "add": "when added", "adjust": "when adjusted", "combine": "when combined",
    "cool": "when cooled", "disperse": "when dispersed", "fill": "when filled",
    "heat": "when heated", "hold": "while held", "hydrate": "when hydrated",
    "melt": "when melted", "mix": "when mixed", "pour": "when poured", "whip": "when whipped",
}  # fmt: skip
MEETING = frozenset({"combine", "add", "pour"})
"""The acts in which something comes to something else, so that it has a rate."""

_RANKS = (
    (re.compile(r"\bdrop|\bthread|\bthin"), 1),
    (re.compile(r"\bslow|\bgradual|\bsteady|\bportion"), 2),
    (re.compile(r"\bpour|\bfast|\bquick|\bonce|\bdump"), 3),
)
"""Rates in words from slow to fast: common practice, no source."""

_SAID = {"took": "took", "hold": "held", "mixed": "mixed", "until": "stirred until"}
_UNIT = re.compile(r"[0-9.]+\s*(rpm|g/min|1/min|/min)", re.ASCII)


def canonical(batch: Batch, reference: Sequence[Step]) -> dict[str, str]:
    """The name of each of a batch's steps: that of the same step in the reference, where it is one.

    Steps are the same by id, then by content; another act under the same id is another step.
    """
    plans = [plan_of(step) for step in batch.steps]
    if [(p.id, p.do) for p in plans] == [(r.id, r.do) for r in reference]:
        return {plan.id: plan.id for plan in plans}
    taken = {step.id for step in reference}
    names = {p.id: f"{p.do} {p.id}" if p.id in taken else p.id for p in plans}
    for i, j in matched_steps(reference, plans):
        if reference[i].do == plans[j].do:
            names[plans[j].id] = reference[i].id
    return names


def plan_of(step: BatchStep) -> Step:
    """The plan of a step; without one it is something else."""
    return step.plan or Step(id=step.id, do="other")


def step_traits(
    batch: Batch,
    names: Mapping[str, str],
    phases: Mapping[str, str],
    equipment: Mapping[str, Equipment],
) -> Traits:
    """The traits of all steps: presence, temperatures, times, speed, rate, device, what went in."""
    acts = Counter(plan_of(step).do for step in batch.steps)
    coarse = _resolution(batch, equipment)
    found: Traits = {}
    targets: dict[str, Quantity] = {}
    for step in batch.steps:
        plan, done = plan_of(step), step.done or Done()
        targets |= plan.set or {}
        name = names[step.id]
        alone = acts[plan.do] == 1 and plan.do != "other"
        where = plan.do if alone else f"{plan.do} {plan.id}"
        left_out = bool(done.skipped)
        about = {"step": name, "acts": frozenset({plan.do})}
        found["steps", name, "done"] = of_name(
            "left out" if left_out else "done", "skipped", where, value=Fraction(left_out), **about
        )
        if left_out:
            continue
        own = _Step(name, where, plan, done, coarse)
        planned = targets if plan.do in ("combine", "heat", "melt", "hold") else plan.set or {}
        found |= own.temperatures(phases, planned)
        found |= own.spans()
        found |= own.words(equipment)
    return found


class _Step:
    """One step of one batch while its traits are taken."""

    def __init__(self, name: str, where: str, plan: Step, done: Done, coarse: Fraction) -> None:
        self.name, self.where, self.plan, self.done = name, where, plan, done
        self.coarse = coarse
        self.acts = frozenset({plan.do})

    def temperatures(self, phases: Mapping[str, str], planned: Mapping[str, Quantity]) -> Traits:
        """The temperature of each phase in this step."""
        given = self.done.temperatures or {}
        kind = "fill temperature" if self.plan.do == "fill" else "temperature"
        when = WHEN.get(self.where, f"in step {self.where}")
        found: Traits = {}
        for letter in (*given, *(p for p in planned if p not in given)):
            quantity = given.get(letter) or planned[letter]
            found["steps", self.name, letter] = of_quantity(
                quantity, kind, f"{phases.get(letter, letter)} {when}", coarse=self.coarse,
                recorded=letter in given, step=self.name, acts=self.acts,
                line=f'"{letter} ... °C"',
            )  # fmt: skip
        degrees = [q.exact("°C") for q in given.values()]
        if self.plan.do == "combine" and len(degrees) > 1:
            gap = max(degrees) - min(degrees)
            wide = 2 * max(self.coarse, Fraction(1, 2))
            found["steps", self.name, "gap"] = Trait(
                kind="gap", what=f"gap between the phases {when}", text=f"{float(gap):g}",
                unit="°C", value=gap, base="°C", spread=wide, step=self.name,
                acts=self.acts, name=f"{float(gap):g}",
            )  # fmt: skip
        return found

    def spans(self) -> Traits:
        """Times, and the temperature until which it was stirred."""
        plan, done = self.plan, self.done
        mixing = self.acts | {"mix"}
        rows: tuple[tuple[str, str, str, Quantity | None, Quantity | None, frozenset[str]], ...] = (
            ("took", "time", "time taken", _took(done), plan.over, self.acts),
            ("hold", "hold", "hold", done.hold, plan.hold, self.acts | {"hold"}),
            ("mixed", "time", "mixed for", done.mixed, plan.then_mix or plan.for_, mixing),
            ("until", "stir until", "stirred until", done.stirred_until, plan.stir_until, mixing),
        )
        found: Traits = {}
        for key, kind, word, real, planned, acts in rows:
            quantity = real or planned
            if quantity is None:
                continue
            value = "... °C" if key == "until" else "... min"
            found["steps", self.name, key] = of_quantity(
                quantity, kind, f"{self.where}: {word}", recorded=real is not None,
                step=self.name, acts=acts, line=f'"{_SAID[key]} {value}"',
                coarse=self.coarse if key == "until" else Fraction(),
            )  # fmt: skip
        return found

    def words(self, equipment: Mapping[str, Equipment]) -> Traits:
        """Speed, rate, device, and what went into what."""
        plan, done = self.plan, self.done
        found: Traits = {}
        rows = (
            ("speed", "speed", "speed", done.speed, plan.speed),
            ("rate", "rate", "rate", done.rate, plan.rate),
            ("with", "device", "with", done.with_, plan.with_),
        )
        for key, kind, word, real, planned in rows:
            text = real or planned
            if not text:
                continue
            trait = _word(text, kind, f"{self.where}: {word}", equipment)
            found["steps", self.name, key] = _with(
                trait, real is not None, self.name, self.acts, f'"{word} ..."'
            )
        speed = found.get(("steps", self.name, "speed"))
        if speed is not None:
            device = done.with_ or plan.with_ or ""
            stirred = "blender" if "blend" in device else self.plan.do
            line = f'"{stirred} ... rpm"' if speed.base == "rpm" else '"speed ..."'
            found["steps", self.name, "speed"] = _with(
                speed, speed.recorded, self.name, self.acts | {"mix"}, line
            )
        if plan.add and plan.into and plan.do in MEETING:
            found["steps", self.name, "into"] = of_name(
                f"{plan.add} into {plan.into}", "order", f"{self.where}: which into which",
                step=self.name, acts=self.acts,
            )  # fmt: skip
        return found


def _with(trait: Trait, recorded: bool, step: str, acts: frozenset[str], line: str) -> Trait:
    return replace(trait, recorded=recorded, step=step, acts=acts, line=line)


def _word(text: str, kind: str, what: str, equipment: Mapping[str, Equipment]) -> Trait:
    if kind == "device":
        return device_trait(text, what, equipment)
    match = _UNIT.fullmatch(text.strip())
    if match:
        try:
            return of_quantity(parse_quantity(text.strip()), kind, what)
        except QuantityError:
            pass
    rank = next((r for pattern, r in _RANKS if pattern.search(fold(text))), None)
    return of_name(text, kind, what, rank=rank if kind == "rate" else None)


def device_trait(name: str, what: str, equipment: Mapping[str, Equipment]) -> Trait:
    """A device by its title and class of shear; without a known class it is a mere name."""
    known = equipment.get(name) or next(
        (e for e in equipment.values() if e.title and fold(e.title) == fold(name)), None
    )
    if known is None:
        return of_name(name, "device", what)
    title = known.title or name
    if known.shear is None:
        return of_name(title, "device", what, rank=None)
    shear = known.shear if known.shear == "by hand" else f"{known.shear} shear"
    rank = SHEAR_CLASSES.index(known.shear)
    return of_name(
        f"{title} ({shear})", "shear", what, value=Fraction(rank), base="classes", rank=rank
    )


def _took(done: Done) -> Quantity | None:
    """How long a step took, by the clock where nobody wrote it."""
    started, ended = done.started, done.ended
    if (
        done.took is not None
        or not isinstance(started, datetime)
        or not isinstance(ended, datetime)
    ):
        return done.took
    seconds = int((ended - started).total_seconds())
    if seconds < 0:
        return None
    return Quantity(Decimal(seconds) / 60 if seconds % 60 else Decimal(seconds // 60), "min")


def _resolution(batch: Batch, equipment: Mapping[str, Equipment]) -> Fraction:
    """What the batch's thermometer tells apart, in °C; a step of 1 °F is 5/9 °C."""
    tool = equipment.get(batch.tools.thermometer or "") if batch.tools else None
    given = tool.resolution if tool else None
    if given is None or given.dimension != "temperature":
        return Fraction()
    return Fraction(given.value) * (Fraction(5, 9) if given.unit == "°F" else 1)


def order_of(batch: Batch, names: Mapping[str, str], only: Iterable[str]) -> tuple[str, ...]:
    """The order in which a batch did these steps, those left out not counted."""
    wanted = set(only)
    return tuple(
        names[step.id]
        for step in batch.steps
        if names[step.id] in wanted and not (step.done and step.done.skipped)
    )
