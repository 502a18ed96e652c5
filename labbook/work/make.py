"""`make`: opens a batch pinned to the exact content of a formula."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from labbook.model.batch import Batch, BatchLine, BatchStep, Parent, Pin, Tools
from labbook.model.digest import digest
from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.formula import Formula
from labbook.model.ids import draw_batch_id
from labbook.model.moments import Moment, day_of, parse_moment
from labbook.model.quantities import Quantity
from labbook.model.results.formulas import Saved
from labbook.model.results.making import Made
from labbook.model.versions import Version
from labbook.trade.composition import Composition, resolve
from labbook.trade.exact import decimal_text, to_decimal
from labbook.trade.scaling import targets
from labbook.work.bench import Bench
from labbook.work.check_trade import grave
from labbook.work.correctable import mass_of
from labbook.work.draft import Draft
from labbook.work.states import state_of
from labbook.work.weights import balance_at, warnings_of
from labbook.work.weights import readability_of as readability_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What a person may say about the batch to make; None is left to the defaults."""

    size: Quantity | None = None
    made: str | None = None
    known_from: str | None = None
    like: str | None = None
    aim: str | None = None
    changes: str | None = None
    asks: Sequence[str] = ()
    parents: Sequence[Parent] = ()
    maker: str | None = None
    session: str | None = None


def _moment(bench: Bench, wish: Wish) -> Moment:
    if wish.made is None:
        if wish.known_from:
            raise Unclear(
                f"A batch known from {wish.known_from} needs its day.",
                mend="Add the day: --made 2026-02-05",
            )
        return bench.now
    try:
        made = parse_moment(wish.made)
    except ValueError as error:
        raise Unclear(str(error), mend="Days are written 2026-02-05.") from error
    if day_of(made) > bench.today:
        raise NotAllowed(f"{wish.made} has not come yet.", mend=f"Today is {bench.today}.")
    if day_of(made) < bench.today and not wish.known_from:
        raise Unclear(
            f"How is what happened on {day_of(made)} known?",
            mend="Add --from paper or --from memory; each value then says so.",
        )
    return made


def _chosen(bench: Bench, typed: str) -> tuple[Version, Saved | None]:
    """The version to make: the one named, or today's content, saved first when it changed."""
    code, _, at = typed.partition("@")
    formula = bench.formula(code)
    if at:
        from labbook.work.states import content_of

        content = content_of(bench, typed)
        if content.version is not None:
            return content.version, None
        wanted = digest(content.formula, bench.snapshot.sheets)
        for version in bench.history.of(formula.code):
            if version.digest == wanted:
                return version, None
        raise UnknownName(
            f"{typed} has a content that was never numbered.",
            mend=f"Make it a version first: labbook restore {typed}",
        )
    state = state_of(bench, formula.code)
    saved = None
    if state.changed:
        from labbook.work.save import save

        saved = save(bench, formula.code)
        bench.reread()
        state = state_of(bench, formula.code)
    if state.number is None:
        raise UnknownName(f"{formula.code} could not be numbered.", mend="See: labbook check")
    return bench.history.number(formula.code, state.number), saved


def batch_lines(
    composition: Composition, masses: Sequence[Decimal | None]
) -> tuple[BatchLine, ...]:
    """The resolved lines that a batch keeps, with the mass to weigh."""
    return tuple(
        BatchLine(
            id=f"a{number}",
            phase=line.phase,
            ingredient=line.ingredient,
            sheet=line.sheet,
            percent=None if line.percent is None else to_decimal(line.percent),
            qs=True if line.qs else None,
            adjust=line.adjust,
            role=line.role,
            target=None if mass is None else Quantity(mass, "g"),
        )
        for number, (line, mass) in enumerate(zip(composition.lines, masses, strict=True), 1)
    )


def _tools(bench: Bench, like: Batch | None) -> Tools | None:
    if like is not None:
        return like.tools
    defaults = bench.snapshot.settings.defaults
    tools = Tools(
        balance=defaults.balance,
        mixer=defaults.mixer,
        meter=defaults.meter,
        thermometer=defaults.thermometer,
    )
    return None if tools == Tools() else tools


def _size(bench: Bench, wish: Wish, formula: Formula, like: Batch | None) -> Quantity:
    split = next((p.mass for p in wish.parents if p.how == "split"), None)
    size = wish.size or split or (like.size if like else None) or formula.batch_size
    size = size or bench.snapshot.settings.defaults.batch_size
    if size is None:
        raise Unclear(
            f"How much of {formula.code}?",
            mend=f"Say it: labbook make {formula.code} --size 100g, or write `batch size: 100 g`"
            " into the formula.",
        )
    if size.value <= 0:
        raise NotAllowed(f"A batch of {size} can't be weighed.")
    return size


def _pin(version: Version) -> Pin:
    return Pin(
        code=version.code,
        id=version.formula.id,
        version=version.number,
        digest=version.digest,
        blob=version.blob,
        commit=version.commit,
    )


def make(bench: Bench, typed: str, wish: Wish) -> Made:
    """Opens a batch of a formula or version.

    A changed formula is saved first. The batch keeps its own copy of the resolved lines and of the
    method, so that it stands though history be lost.

    Raises:
        UnknownName, Unclear, NotAllowed, GitRefused: see their messages.
    """
    made = _moment(bench, wish)
    version, saved = _chosen(bench, typed)
    return open_batch(bench, version.formula, _pin(version), wish, made=made, saved=saved)


def make_trial(bench: Bench, base: Version, content: Formula, wish: Wish) -> Made:
    """Opens a trial batch from a content that is no version; it lies beside the batch.

    The formula's own file and its numbers stay as they are.
    """
    from labbook.notebook import git

    text = trial_text(content)
    pin = Pin(
        code=base.code,
        id=base.formula.id,
        version=0,
        digest=digest(content, bench.snapshot.sheets),
        blob=git.blob_id(bench.root, text.encode(), bench.formula_path(base.code)),
        trial_of=base.number,
    )
    return open_batch(bench, content, pin, wish, made=_moment(bench, wish), trial=text)


def open_batch(
    bench: Bench,
    content: Formula,
    pin: Pin,
    wish: Wish,
    *,
    made: Moment,
    saved: Saved | None = None,
    trial: str = "",
) -> Made:
    """Opens a batch of a content with its pin; `trial` is the text that then lies beside it."""
    from labbook.notebook import git

    like = bench.batch(wish.like) if wish.like else None
    tools = _tools(bench, like)
    size = _size(bench, wish, content, like)
    composition = resolve(content, bench.snapshot.sheets)
    device = balance_at(bench, tools.balance if tools else None)
    goals = targets(composition, size, to_decimal(device.readability))
    # A part of another batch holds all of it already: nothing is to be weighed but what is added.
    apart = any(parent.how == "split" for parent in wish.parents)
    masses = [None if apart else goal.mass for goal in goals]
    blank = Batch(
        id="",
        state="open",
        made=made,
        known_from=wish.known_from,
        maker=wish.maker,
        aim=wish.aim,
        changes=wish.changes,
        asks=tuple(wish.asks),
        formula=pin,
        size=size,
        from_=tuple(wish.parents),
        session=wish.session,
        tools=tools,
        lines=batch_lines(composition, masses),
        steps=tuple(BatchStep(id=step.id, plan=step) for step in content.method),
    )
    git.available()
    done: Made = bench.record(lambda: _open_plan(bench, blank, saved, trial), command="make").result
    return replace(
        done,
        findings=(*(problem.what for problem in composition.problems), *grave(bench, content)),
        warnings=() if apart else warnings_of(goals, device, bench.snapshot.sheets),
        parents=tuple(parent.batch for parent in wish.parents),
    )


def _open_plan(bench: Bench, blank: Batch, saved: Saved | None, trial: str) -> Any:
    """What opening writes: the batch under an id that nobody has yet."""
    pin = blank.formula
    taken, codes = set(_ids_on_disk(bench)), set(bench.snapshot.formulas)
    batch = replace(
        blank, id=draw_batch_id(pin.code, day_of(blank.made), taken, codes, bench.random)
    )
    draft = Draft(bench.root)
    path = bench.batch_path(batch.id)
    draft.create(path, batch_text(batch))
    if trial:
        draft.create(bench.batch_path(batch.id, "formula.yaml"), trial)
    message = f"Open {batch.short}: {pin.name}, {batch.size}\n\n{batch.aim or ''}".rstrip()
    return draft.plan(message, Made(batch=batch, path=path, saved=saved))


def batch_text(batch: Batch) -> str:
    """The text of a new batch file; the empty lists stand there for whoever adds by hand."""
    from labbook.notebook.emit import document
    from labbook.notebook.schema import schema_line

    return document(batch, head=(schema_line("batch", 3),))


def trial_text(content: Formula) -> str:
    """The text of a trial's content, to lie beside its batch."""
    from labbook.notebook.emit import document
    from labbook.notebook.schema import schema_line

    return document(content, head=(schema_line("trial", 3),))


def _ids_on_disk(bench: Bench) -> list[str]:
    """Ids of all batch folders there now, readable or not, so that no ending is drawn twice."""
    found = (bench.root / "batches").glob("*/*")
    return [path.name for path in found if "-" in path.name]


def parents_of(bench: Bench, *, split: str = "", rework: str = "") -> tuple[Parent, ...]:
    """Parents typed as `7k:50g`: the batch and the mass that came from it."""
    found = []
    for how, typed in (("split", split), ("rework", rework)):
        if not typed:
            continue
        name, colon, mass = typed.partition(":")
        if not colon:
            raise Unclear(f"How much of {typed}?", mend=f"labbook make CODE --{how} {typed}:50g")
        parent = bench.batch(name)
        taken = mass_of(mass)
        held = sum((w.mass.exact("g") for w in parent.weighings if not w.struck), Fraction())
        whole = max(parent.size.exact("g"), held)
        if taken.exact("g") > whole:
            raise NotAllowed(
                f"{parent.short} was {decimal_text(whole)} g; {taken} can't come from it.",
                mend=f"How much was it? --{how} {name}:50g",
            )
        found.append(Parent(batch=parent.id, mass=taken, how=how))
    return tuple(found)
