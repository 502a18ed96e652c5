"""Everything that differs materially between a failed and a good batch, before sides are taken."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from labbook.evidence.book import Book
from labbook.evidence.factors.diffs import Diff, Effect
from labbook.evidence.factors.lines import line_diffs
from labbook.evidence.factors.material import MattersFrom, comparable, same
from labbook.evidence.factors.packs import pack_diffs
from labbook.evidence.factors.profile import Profile
from labbook.evidence.factors.setting import NO_DEVIATION
from labbook.evidence.factors.together import joined
from labbook.evidence.factors.trade import Trade
from labbook.evidence.factors.traits import Trait, Traits, of_name
from labbook.evidence.factors.types import Key, Unrecorded
from labbook.model.batch import Batch

_NAMES = MattersFrom(Fraction())
_NO_SUCH = "no such step"
_NEVER_SAID = {"gap", "into"}  # the first follows, the second is of the method
_NEVER_ASKED = {("emulsion",), ("from",), ("size",), ("session",), ("evaporation",)}


@dataclass(frozen=True, slots=True)
class Paired:
    """What differs between two batches: differences, consequences of lines, what one lacks."""

    diffs: tuple[Diff, ...]
    follows: tuple[Diff, ...]
    unrecorded: tuple[Unrecorded, ...]

    @property
    def distance(self) -> float:
        """Material differences, and half for each thing that one of them hasn't recorded."""
        return len(self.diffs) + len(self.unrecorded) / 2


def paired(
    book: Book,
    failed: Profile,
    good: Profile,
    trade: Trade,
    jars: tuple[Traits, Traits] = ({}, {}),
) -> Paired:
    """Compares two batches.

    Args:
        book: the notebook.
        failed: the batch that failed.
        good: the other.
        trade: the rules that hold for the failed one.
        jars: what is known of the jars of either that were looked at.
    """
    lines = line_diffs(failed, good, book.sheets, trade)
    own = (failed.traits | jars[0], good.traits | jars[1])
    diffs, unrecorded = _traits(own, trade, (failed, good))
    diffs += _order(failed, good)
    diffs += pack_diffs(book, failed, good)
    diffs = joined([*lines.acts, *diffs], book.sheets)
    diffs += _deviations(failed, good, diffs)
    if not diffs:
        diffs += _session(failed, good)
    asked = [*_weights(failed, good), *lines.unsaid, *unrecorded]
    return Paired(tuple(diffs), lines.follows, tuple(asked))


def _traits(
    own: tuple[Traits, Traits], trade: Trade, profiles: tuple[Profile, Profile]
) -> tuple[list[Diff], list[Unrecorded]]:
    """Differences of traits that both have, and what only one has written down."""
    diffs: list[Diff] = []
    unrecorded: list[Unrecorded] = []
    for key in _keys(own):
        if key == ("session",):
            continue
        a, b = (step_or_none(key, traits) for traits in own)
        if key[0] == "lots":
            if key[2] == "lot" and (a is None) != (b is None):
                unrecorded += _unrecorded(key, a, b, profiles)
            continue
        if not any(trait is not None and trait.recorded for trait in (a, b)):
            if a is None or b is None:
                continue
        elif not all(trait is not None and trait.recorded for trait in (a, b)):
            known = [trait if trait and trait.recorded else None for trait in (a, b)]
            unrecorded += _unrecorded(key, known[0], known[1], profiles)
            continue
        assert a is not None and b is not None
        diff = _difference(key, a, b, trade, profiles)
        if diff is not None:
            diffs.append(diff)
    return diffs, unrecorded


def _keys(own: tuple[Traits, Traits]) -> list[Key]:
    """The keys of both; details only of steps that both have done."""
    found = []
    for key in dict.fromkeys((*own[1], *own[0])):
        if key[0] == "steps" and key[2] != "done":
            steps = [traits.get(("steps", key[1], "done")) for traits in own]
            if any(step is None or step.value for step in steps):
                continue
        found.append(key)
    return found


def step_or_none(key: Key, traits: Mapping[Key, Trait]) -> Trait | None:
    """A trait by its key; a step that a batch doesn't have is one that it left out."""
    found = traits.get(key)
    if found is None and key[0] == "steps" and key[2] == "done":
        return of_name(_NO_SUCH, "skipped", "", name="left-out", value=Fraction(1), step=key[1])
    return found


def _difference(
    key: Key, failed: Trait, good: Trait, trade: Trade, profiles: tuple[Profile, Profile]
) -> Diff | None:
    if failed.name == good.name:
        return None
    kind = failed.kind if failed.kind == good.kind else "device"
    acts = failed.acts | good.acts
    scope = _scope(key, profiles)
    step = _NAMES
    if comparable(failed, good):
        assert failed.value is not None and good.value is not None
        step = trade.step(kind, failed.base, scope, acts, failed.value, good.value)
    if same(failed, good, step):
        return None
    effects: tuple[Effect, ...] = ()
    if kind in ("shear", "device"):
        other = "device" if kind == "shear" else "shear"
        effects = (Effect(other, acts=acts),) if kind == "shear" else ()
    if kind == "fill temperature" and failed.value is not None and good.value is not None:
        effects = (Effect("temperature", failed.value, good.value, "°C", acts),)
    what = good.what or failed.what
    if kind == "skipped":
        failed, good = replace(failed, what=what), replace(good, what=what)
    return Diff(
        key=key,
        kind=kind,
        what=what,
        failed=failed,
        good=good,
        step=step,
        effects=effects,
        extra=scope,
        planned=not (failed.recorded and good.recorded),
    )


def _scope(key: Key, profiles: tuple[Profile, Profile]) -> tuple[str, ...]:
    """The ingredients in the phase that a temperature is of, or that a step adds."""
    if key[0] != "steps":
        return ()
    letters = {key[2]}
    if not any(slot.phase == key[2] for profile in profiles for slot in profile.stuff.slots):
        plans = [s.plan for p in profiles for s in p.batch.steps if s.plan and s.id == key[1]]
        letters |= {letter for plan in plans for letter in (plan.add, *(plan.set or {})) if letter}
    return tuple(
        sorted({s.sheet for profile in profiles for s in profile.stuff.slots if s.phase in letters})
    )


def _unrecorded(
    key: Key, failed: Trait | None, good: Trait | None, profiles: tuple[Profile, Profile]
) -> list[Unrecorded]:
    if key in _NEVER_ASKED or key[0] == "jar" or key[-1] in _NEVER_SAID:
        return []
    known = failed or good
    assert known, "one of the two has it"
    lacking = profiles[0] if failed is None else profiles[1]
    missing = lacking.batch
    if key[0] == "lots":
        entry = _weighing_of(missing, key[1])
        line = weighing_line(missing, key[1])
        if missing.state == "closed" and entry:
            line = f'labbook batch correct {missing.short.lower()} {entry}.lot=... -m "..."'
    else:
        line = lacking.said(key, known)
    texts = (failed.whole if failed else None, good.whole if good else None)
    return [Unrecorded(key=key, what=known.what, failed=texts[0], good=texts[1],
                       missing=missing.id, line=line)]  # fmt: skip


def weighing_line(batch: Batch, sheet: str = "") -> str:
    """What to type where a weight is missing: into a closed batch goes a correction."""
    short = batch.short.lower()
    wanted = [line for line in batch.lines if sheet in ("", line.sheet)]
    lacking = next((line for line in wanted if not _weighed(batch, line.id)), None)
    if batch.state != "closed" or lacking is None:
        return f"labbook weigh {short}"
    once = sum(line.sheet == lacking.sheet for line in batch.lines) == 1
    name = lacking.ingredient if once else lacking.id
    return f'labbook batch correct {short} {name}=... -m "..."'


def _weighed(batch: Batch, line: str) -> bool:
    return any(w.line == line and not w.struck for w in batch.weighings)


def _weighing_of(batch: Batch, sheet: str) -> str:
    lines = {line.id for line in batch.lines if line.sheet == sheet}
    return next((w.id for w in batch.weighings if w.line in lines and not w.struck), "")


def _weights(failed: Profile, good: Profile) -> list[Unrecorded]:
    """That only one of the two was weighed, once for all its lines."""
    if failed.stuff.weighed == good.stuff.weighed:
        return []
    missing = good.batch if failed.stuff.weighed else failed.batch
    texts = ["weighed" if p.stuff.weighed else None for p in (failed, good)]
    return [
        Unrecorded(key=("lines", "weight"), what="weights of the ingredients", failed=texts[0],
                   good=texts[1], missing=missing.id, line=weighing_line(missing))
    ]  # fmt: skip


def _order(failed: Profile, good: Profile) -> list[Diff]:
    """The steps that both did, in another order."""
    common = [step for step in good.steps if step in failed.steps]
    sides = [order_trait(profile, common) for profile in (failed, good)]
    if sides[0].name == sides[1].name:
        return []
    return [Diff(key=("order", *common), kind="order", what="order of the steps", failed=sides[0],
                 good=sides[1], step=_NAMES)]  # fmt: skip


def order_trait(profile: Profile, common: Iterable[str]) -> Trait:
    """The order in which a batch did some steps, as a name."""
    wanted = set(common)
    mine = [step for step in profile.steps if step in wanted]
    acts = {s.id: s.plan.do for s in profile.batch.steps if s.plan}
    text = ", ".join(f"{acts[step]} {step}" if step in acts else step for step in mine)
    return of_name(text, "order", "order of the steps", name=" ".join(mine))


def _deviations(failed: Profile, good: Profile, diffs: Iterable[Diff]) -> list[Diff]:
    """Departures that one of them has, where no difference of that step holds them already."""
    held = {diff.key[1] for diff in diffs if diff.key[0] == "steps"}
    texts = {part.key[1] for diff in diffs for part in diff.parts if part.key[0] == "steps"}
    found = []
    for key in dict.fromkeys((*failed.deviations, *good.deviations)):
        sides = [p.deviations.get(key) for p in (failed, good)]
        known = sides[0] or sides[1]
        if all(sides) or known is None or known.step in held | texts:
            continue
        found.append(
            Diff(key=key, kind="other", what="deviation", failed=sides[0] or NO_DEVIATION,
                 good=sides[1] or NO_DEVIATION, step=_NAMES)
        )  # fmt: skip
    return found


def _session(failed: Profile, good: Profile) -> list[Diff]:
    """The session, where nothing else holds a difference."""
    a, b = (p.traits.get(("session",)) for p in (failed, good))
    if a is None or b is None or a.name == b.name:
        return []
    return [Diff(key=("session",), kind="session", what="session", failed=a, good=b, step=_NAMES)]
