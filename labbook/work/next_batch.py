"""`next`: the batch that would tell; `next --make` opens it, and the repeat of the good one."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from labbook.evidence.book import Book
from labbook.evidence.factors import Question
from labbook.evidence.failure import condition_key
from labbook.evidence.saying import sessions_of
from labbook.evidence.session import Session, next_batch
from labbook.evidence.sightings import sightings
from labbook.model.batch import Batch
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.formula import Formula
from labbook.model.ids import batch_of
from labbook.model.problems import Severity
from labbook.model.quantities import Quantity
from labbook.model.results.common import Next
from labbook.model.results.cost import CostLine
from labbook.model.results.making import Made
from labbook.model.results.why import NextBatch
from labbook.model.versions import Version
from labbook.show.why import listed
from labbook.trade.composition import resolve
from labbook.trade.cost import money, totals
from labbook.trade.scaling import targets
from labbook.work.bench import Bench
from labbook.work.book import book_of
from labbook.work.cost import lines_of
from labbook.work.make import Wish, make, make_trial, readability_of
from labbook.work.why import Asked, question_of, rate_of

SMALL = Quantity(Decimal(50), "g")
"""What a test takes where its size is no suspect: enough to look at three jars."""


FEW = 4
"""Up to fewer than so many ingredients without a price are named, more are counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A next batch with all that is needed to open it."""

    shown: NextBatch
    session: Session
    good: Batch
    base: Version
    setting: tuple[bool, ...]
    size: Quantity


def plan_next(
    bench: Bench,
    first: str,
    second: str,
    asked: Asked,
    *,
    keep: Sequence[str],
    size: Quantity | None,
) -> Plan:
    """The batch that would tell most about a question.

    Args:
        bench: the notebook.
        first: as for `why`: the failed batch, either of two, or nothing for the latest failure.
        second: the good batch; the nearest where left out.
        asked: how to reckon.
        keep: ingredients that are to stay as in the good batch, `salt` or `salt=0.80`.
        size: how much to make.
    """
    book = book_of(bench)
    question, code = question_of(bench, book, first, second, asked)
    if not question.failed or not question.good:
        raise Unclear(f"Which batch of {code}?", mend="labbook next 9t: one that failed")
    good = book.batches[batch_of(question.good)]
    base = _base(bench, good)
    amount = size or _size(question, good)
    session = Session(
        question=question,
        base=base.formula,
        base_name=base.name,
        failed=book.contents.get(batch_of(question.failed)),
        sheets=book.sheets,
        keep=frozenset(_kept(bench, question, keep)),
        limits=_limits(bench, base.formula),
        rate=rate_of(asked.rate),
        sessions=sessions_of(book),
        cost=lambda content: _one_sum(_priced(bench, (content,), amount)),
    )
    shown = next_batch(session, size=str(amount), looks=_looks(book, question))
    setting = () if shown.settled else session.best[0].setting
    if setting:
        shown = replace(
            shown,
            weigh=_small(bench, session, setting, amount),
            costs=_costs(bench, (session.trial(setting).content, base.formula), amount),
        )
    shown = replace(shown, then=_then(shown, _alone(question, setting), first, second))
    return Plan(shown=shown, session=session, good=good, base=base, setting=setting, size=amount)


def _base(bench: Bench, good: Batch) -> Version:
    for version in bench.history.of(good.formula.code):
        if version.number == good.formula.version:
            return version
    raise UnknownName(
        f"The content of {good.short} is in no version, so nothing can be changed in it.",
        mend=f"See: labbook check {good.short.lower()}",
    )


def _kept(bench: Bench, question: Question, keep: Sequence[str]) -> set[str]:
    """Names of the factors that are to stay; every one typed has to be one."""
    sheets = bench.snapshot.sheets
    found: set[str] = set()
    for typed in keep:
        name = typed.partition("=")[0].strip()
        ids = {sheets.id_of(name), name}
        mine = [f for f in question.factors if ids & {f.what, f.name, *f.sheets}]
        if not mine:
            raise Unclear(
                f"{name} is none of the differences.",
                mend="One of: " + ", ".join(f.what for f in question.factors),
            )
        found |= {f.name for f in mine}
    return found


def _size(question: Question, good: Batch) -> Quantity:
    """The usual size of a test, unless size is one of the suspects."""
    if any(factor.kind == "size" for factor in question.factors):
        return good.size
    return SMALL if good.size.exact("g") > SMALL.exact("g") else good.size


def _looks(book: Book, question: Question) -> str:
    """The ages at which either batch of the pair was looked at until the horizon: `day 1 and 7`."""
    event = question.event
    points = {event.horizon}
    for unit in (question.failed, question.good):
        batch = book.batches[batch_of(unit)]
        jars, looks = book.jars.get(batch.id), book.stability.get(batch.id)
        for seen in sightings(batch, jars, looks, book.formula_of(batch)):
            if condition_key(seen.condition) == condition_key(event.condition):
                points.add(seen.point)
    word = {"cycles": "cycle", "days": "day"}.get(event.unit, "run")
    told = [f"{point:g}" for point in sorted(points) if 1 <= point <= event.horizon]
    return f"{word} {listed(told)}" if told else "once"


def _limits(bench: Bench, base: Formula) -> Callable[[Formula], tuple[str, ...]]:
    """Which limits of law a content would break that the base doesn't."""
    from labbook.trade.checks import run
    from labbook.work.check_trade import formula_case

    def broken(content: Formula) -> dict[str, str]:
        found = run(formula_case(bench, content))
        return {one.rule: one.what for one in found if one.severity is Severity.ERROR}

    before = broken(base)
    return lambda content: tuple(w for rule, w in broken(content).items() if rule not in before)


def _small(bench: Bench, session: Session, setting: tuple[bool, ...], size: Quantity) -> str:
    """Lines that are small for the notebook's balance, in a sentence; empty where none is."""
    content = session.trial(setting).content
    balance = bench.snapshot.settings.defaults.balance
    shows = readability_of(bench, balance)
    goals = [g for g in targets(resolve(content, session.sheets), size, shows) if g.too_small]
    if not goals:
        return ""
    names = [f"{g.line.ingredient} {g.mass} g" for g in goals]
    worst = max((g.error for g in goals if g.error is not None), default=Fraction())
    tail = f": your balance ({shows:f} g) is good to about {-(-worst * 100 // 1)} % there"
    return f"with care: {', '.join(names)}{tail if worst else ''}"


def _priced(bench: Bench, contents: Sequence[Formula], amount: Quantity) -> tuple[CostLine, ...]:
    """What so much of each content costs, line by line."""
    sheets, grams = bench.snapshot.sheets, amount.exact("g")
    return tuple(
        line for content in contents for line in lines_of(bench, resolve(content, sheets), grams)
    )


def _one_sum(lines: Sequence[CostLine]) -> Fraction | None:
    """The sum of costs, None where a price is missing or there are two currencies."""
    sums = totals(lines)
    known = len(sums) == 1 and all(line.cost is not None for line in lines)
    return sums[0][1] if known else None


def _costs(bench: Bench, contents: Sequence[Formula], amount: Quantity) -> str:
    """What both batches take: `100 g in all; ingredients 1.20 EUR, beeswax without a price`."""
    lines = _priced(bench, contents, amount)
    both = f"{len(contents)} x {amount}"
    sums = [f"{money(total)} {currency}" for currency, total in totals(lines)]
    if not sums:
        return f"{both}; no pack of these ingredients has a price"
    missing = dict.fromkeys(line.ingredient for line in lines if line.cost is None)
    told = f"{both}; ingredients {'at least ' if missing else ''}{listed(sums)}"
    if not missing:
        return told
    named = listed(list(missing)) if len(missing) < FEW else f"{len(missing)} ingredients"
    return f"{told}; no price for {named}"


def _alone(question: Question, setting: tuple[bool, ...]) -> str:
    """The first difference that the batch has, as `--keep` takes it."""
    chosen = [f.what for f, on in zip(question.factors, setting, strict=False) if on]
    return chosen[0] if chosen else ""


def _then(shown: NextBatch, alone: str, first: str, second: str) -> tuple[Next, ...]:
    names = " ".join(part for part in (first, second) if part)
    if shown.settled:
        return (Next(f"labbook why {names}".rstrip()),)
    command = f"labbook next {names}".rstrip()
    steps = [Next(f"{command} --make", f"opens the batch; {shown.base.split('@')[0]}.yaml stays")]
    if alone:
        name = f'"{alone}"' if re.search(r"[^\w.-]", alone) else alone
        steps.append(Next(f"{command} --keep {name}", "leave that alone"))
    return tuple(steps)


def open_next(bench: Bench, plan: Plan, *, control: bool = True) -> tuple[Made, ...]:
    """Opens the trial and, beside it, a fresh repeat of the good batch.

    Raises:
        NotAllowed: there is no batch worth making.
    """
    if not plan.setting:
        raise NotAllowed(plan.shown.settled or "There is no batch worth making.")
    question = plan.session.question
    asks = (batch_of(question.failed), batch_of(question.good))
    trial = plan.session.trial(plan.setting)
    told = "; ".join((*trial.changes, *trial.by_hand))
    wish = Wish(
        size=plan.size,
        like=plan.good.id,
        aim=f"test only, not for use: {plan.shown.title[0].lower()}{plan.shown.title[1:]}",
        changes=told,
        asks=asks,
        session=bench.today.isoformat(),
    )
    content = replace(trial.content, version=0)
    made = [make_trial(bench, plan.base, content, wish)]
    if control:
        bench.reread()
        repeat = replace(
            wish,
            aim=f"repeat of {plan.good.short}, beside {made[0].batch.short}",
            changes=None,
        )
        made.append(make(bench, plan.base.name, repeat))
    return tuple(made)
