"""The checks of the trade on formulas, and on what batches were really made of, with their places.

Of a batch only what its plan didn't say is reported, and limits of law: a jar on a shelf may be
over one whatever its formula says today.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from labbook.model.batch import Batch
from labbook.model.formula import Formula
from labbook.model.moments import day_of, in_order
from labbook.model.problems import Place, Problem, Severity
from labbook.model.quantities import QuantityError
from labbook.notebook.readfile import ReadFile
from labbook.trade.advice import Advice
from labbook.trade.balance import Balance, balance_of
from labbook.trade.checks import Looked, look
from labbook.trade.checks.case import Case, Unseen
from labbook.trade.checks.limits import UNCOVERED, sums
from labbook.trade.checks.made import Made, as_made
from labbook.trade.checks.regions import regions_of
from labbook.trade.composition import resolve
from labbook.trade.standing import standing
from labbook.work.actual import actual_of
from labbook.work.bench import Bench
from labbook.work.diff import pinned_content

SHOWN = 4
"""Names that a line of what was not checked holds before it counts the rest."""


@dataclass
class Trade:
    """What the checks of the trade found, and what they couldn't see."""

    problems: list[Problem] = field(default_factory=list)
    unseen: list[Unseen] = field(default_factory=list)
    without_masses: list[str] = field(default_factory=list)
    without_balance: list[str] = field(default_factory=list)


def check_trade(bench: Bench, covers: Callable[[str], bool]) -> Trade:
    """All checks of the trade on the formulas and batches whose files are wanted."""
    found = Trade()
    for code, (held, formula) in readable_formulas(bench).items():
        if covers(bench.formula_path(code)):
            looked = look(formula_case(bench, formula))
            found.unseen += looked.unseen
            places = [_place_in_formula(one, held, formula) for one in looked.advice]
            pairs = zip(looked.advice, places, strict=True)
            found.problems += (_problem(one, place, code) for one, place in pairs)
    for batch in bench.snapshot.batches.values():
        if not batch.dropped and covers(bench.batch_path(batch.id)):
            _check_batch(bench, batch, found)
    return found


def grave(bench: Bench, formula: Formula) -> tuple[str, ...]:
    """What law or safety forbids about a content, to be said before it is weighed."""
    found = look(formula_case(bench, formula)).advice
    return tuple(one.what for one in found if one.severity is Severity.ERROR)


def readable_formulas(bench: Bench) -> dict[str, tuple[ReadFile, Formula]]:
    """Formulas by code with their files; of a file with errors, what can be understood of it."""
    found: dict[str, tuple[ReadFile, Formula]] = {}
    for path, held in bench.snapshot.files.items():
        if held.kind != "formula":
            continue
        code = path.removeprefix("formulas/").removesuffix(".yaml")
        meant = held if held.record is not None else _leniently(bench, path)
        if meant is not None and isinstance(meant.record, Formula):
            found[code] = (meant, meant.record)
    return found


def _leniently(bench: Bench, path: str) -> ReadFile | None:
    from labbook.notebook.lenient import read_leniently
    from labbook.notebook.snapshot import read_raw

    try:
        return read_leniently(read_raw(bench.root / path), path)
    except OSError:
        return None


# Formulas ----------------------------------------------------------------------------------------


def formula_case(bench: Bench, formula: Formula) -> Case:
    """A formula as the checks look at it, with the balance that the notebook weighs on."""
    size = formula.batch_size or bench.snapshot.settings.defaults.batch_size
    return Case(
        formula=formula,
        composition=resolve(formula, bench.snapshot.sheets),
        sheets=bench.snapshot.sheets,
        rules=bench.snapshot.rulebook,
        region=bench.snapshot.settings.region or "",
        balance=_balance(bench, None),
        observed=_observed_of(bench, formula),
        size=None if size is None else size.exact("g"),
        today=bench.today,
    )


def _observed_of(bench: Bench, formula: Formula) -> str:
    """The type that was last seen on a batch of the formula's version as it stands."""
    own = [
        batch
        for batch in bench.snapshot.batches.values()
        if batch.formula.id == formula.id and batch.formula.version == formula.version
    ]
    seen = [_observed(batch) for batch in sorted(own, key=lambda b: in_order(b.made))]
    return next((one for one in reversed(seen) if one), "")


def _observed(batch: Batch) -> str:
    for reading in reversed(standing(batch).readings):
        if reading.reading == "emulsion type" and reading.seen and not reading.struck:
            return reading.seen
    return ""


def _balance(bench: Bench, name: str | None) -> Balance | None:
    tool = bench.snapshot.equipment.get(name or bench.snapshot.settings.defaults.balance or "")
    try:
        return None if tool is None else balance_of(tool)
    except QuantityError:
        return None


def _place_in_formula(advice: Advice, held: ReadFile, formula: Formula) -> Place:
    if advice.line is not None:
        phase, line = position(formula, advice.line)
        steps: tuple[str | int, ...] = ("phases", phase, "lines", line)
        return held.place(*steps, "percent")
    if advice.step is not None:
        ids = [step.id for step in formula.method]
        return held.place("method", ids.index(advice.step) if advice.step in ids else 0)
    if advice.target is not None:
        return held.place("targets", advice.target)
    return held.place(advice.key or "phases")


def position(formula: Formula, index: int) -> tuple[int, int]:
    """The phase and the line within it of a line's index in the order of the file."""
    for number, phase in enumerate(formula.phases):
        if index < len(phase.lines):
            return number, index
        index -= len(phase.lines)
    return 0, 0


def _problem(advice: Advice, place: Place, about: str, before: str = "") -> Problem:
    what = f"{before}{_lowered(advice.what) if before else advice.what}"
    return Problem(
        severity=advice.severity,
        rule=advice.rule,
        place=place,
        what=f"{what} {advice.why}" if advice.why else what,
        mend=advice.mend,
        source=advice.source,
        about=about,
    )


def _lowered(sentence: str) -> str:
    """A sentence as it goes on after a colon; abbreviations and pH keep their capitals."""
    word = sentence.split(" ", 1)[0]
    return sentence[:1].lower() + sentence[1:] if word.istitle() and len(word) > 1 else sentence


# Batches -----------------------------------------------------------------------------------------


def _check_batch(bench: Bench, batch: Batch, found: Trade) -> None:
    planned = pinned_content(bench, batch)
    held = bench.snapshot.of_batch(batch.id)
    if planned is None or held is None:
        return  # the check of pins says so
    actual = actual_of(bench, batch)
    made = as_made(batch, planned, bench.snapshot.sheets, actual)
    if made is None:
        if batch.state == "closed":
            found.without_masses.append(f"{batch.short} ({some(actual.missing)})")
        return
    case = _batch_case(bench, batch, made)
    if sums(case):
        if case.balance is None:
            found.without_balance.append(batch.short)
        else:
            case = replace(case, uncertainty=made.uncertainties)
    for one in _new_in_batch(bench, planned, look(case), case):
        place = _place_in_batch(one, held, batch, made)
        found.problems.append(_problem(one, place, batch.id, f"{batch.short} as made: "))


def _batch_case(bench: Bench, batch: Batch, made: Made) -> Case:
    """A batch as the checks look at it, as it stands, with the balance it was weighed on."""
    batch = standing(batch)
    return Case(
        formula=made.formula,
        composition=made.composition,
        sheets=bench.snapshot.sheets,
        rules=bench.snapshot.rulebook,
        region=bench.snapshot.settings.region or "",
        balance=_balance(bench, batch.tools.balance if batch.tools else None),
        batch=batch,
        observed=_observed(batch),
        size=sum(made.masses, Fraction()),
        today=bench.today,
    )


def _new_in_batch(bench: Bench, planned: Formula, looked: Looked, case: Case) -> Iterator[Advice]:
    """What the plan of the batch didn't have, and every limit of law."""
    plan = replace(formula_case(bench, planned), size=case.size, balance=case.balance)
    known = {_subject(one, plan) for one in look(plan).advice}
    for one in looked.advice:
        if one.rule in case.rules.limits or _subject(one, case) not in known:
            yield one


def _subject(advice: Advice, case: Case) -> tuple[str, str]:
    """What a finding is about: its rule, and the ingredient of its line."""
    if advice.line is None:
        return advice.rule, ""
    lines = {line.index: line.sheet for line in case.composition.lines}
    return advice.rule, lines.get(advice.line, "")


def _place_in_batch(advice: Advice, held: ReadFile, batch: Batch, made: Made) -> Place:
    if advice.line is not None:
        return held.place(*made.places[advice.line])
    if advice.step is not None:
        ids = [step.id for step in batch.steps]
        return held.place("steps", ids.index(advice.step) if advice.step in ids else 0)
    return held.place("weighings")


# What was not checked ----------------------------------------------------------------------------


def not_checked(bench: Bench, trade: Trade) -> tuple[str, ...]:
    """What the checks of the trade did not look at, or could not, in sentences."""
    found = [_tables(bench)]
    region = regions_of(bench.snapshot.settings.region or "", _known_regions(bench))
    if region.said:
        found.append(region.said)
    uncovered = _names(one for one in trade.unseen if one.rule == UNCOVERED)
    if uncovered:
        found.append(f"limits of law for {some(uncovered)}: no row of the tables names them")
    by_lack: dict[str, list[str]] = {}
    for one in trade.unseen:
        if one.rule != UNCOVERED:
            names = by_lack.setdefault(one.lacks, [])
            names += [one.ingredient] if one.ingredient else []
    for lacks, names in by_lack.items():
        found.append(f"what needs {lacks}: {some(_unique(names))}" if names else lacks)
    if trade.without_masses:
        found.append(f"what was not weighed, in {some(trade.without_masses)}")
    if trade.without_balance:
        batches = some(trade.without_balance)
        found.append(f"how exact the weighing was, which no balance tells for {batches}")
    return tuple(found)


def _tables(bench: Bench) -> str:
    rows = [row for row in bench.snapshot.rulebook.limits.values() if not row.changed]
    wanted = regions_of(bench.snapshot.settings.region or "", _known_regions(bench)).names
    days = sorted(day_of(row.read) for row in rows if row.region in wanted)
    if not days:
        return "limits of law: there is no table of them"
    span = days[0].isoformat()
    if days[-1] != days[0]:
        span += f" to {days[-1].isoformat()}"
    return (
        f"what the law says today: the table of limits ({', '.join(wanted)}) holds preservatives "
        f"only, from texts as of {span}; look up the law in force"
    )


def _known_regions(bench: Bench) -> set[str]:
    return {row.region for row in bench.snapshot.rulebook.limits.values()}


def _names(unseen: Iterable[Unseen]) -> tuple[str, ...]:
    return _unique(one.ingredient for one in unseen)


def _unique(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(dict.fromkeys(names)))


def some(names: Iterable[str]) -> str:
    """A few of the names, and how many more there are."""
    every = list(names)
    shown = ", ".join(every[:SHOWN])
    return f"{shown} and {len(every) - SHOWN} more" if len(every) > SHOWN else shown
