"""`diff`: two contents of formulas, or two batches."""

from __future__ import annotations

from typing import TYPE_CHECKING

from labbook.evidence.difference import Difference, difference
from labbook.model.batch import Batch
from labbook.model.errors import GitRefused, Unclear
from labbook.model.formula import Formula
from labbook.model.ids import CODE, matching_batches
from labbook.model.moments import day_of
from labbook.model.results.common import Next
from labbook.model.results.thinking import Comparison
from labbook.work.batches import label
from labbook.work.bench import Bench
from labbook.work.outcomes import became
from labbook.work.states import Content, as_content, content_of, state_of

if TYPE_CHECKING:  # two versions need nothing of what was really done
    from labbook.evidence.batches import BatchDifference

    Compared = Comparison[Difference | BatchDifference]


def compare(bench: Bench, first: str, second: str = "", third: str = "") -> Compared:
    """The difference that a person asked for.

    `HC` is today's file against its version; `HC 2 3` two versions; `HC@2 HC@3`, `HC SOFT` two
    contents; `9t 4m` two batches.

    Raises:
        Unclear: one batch and one formula, or too few names.
    """
    if third:
        code = bench.formula(first).code
        return _contents(bench, _of(code, second), _of(code, third))
    if _is_batch(bench, first) or (second and _is_batch(bench, second)):
        if not second:
            raise Unclear(f"{first} and which other batch?", mend=f"labbook diff {first} OTHER")
        if not (_is_batch(bench, first) and _is_batch(bench, second)):
            raise Unclear(
                f"{first} and {second} are a batch and a formula.",
                mend="Name two batches, or two versions.",
            )
        return _batches(bench, bench.batch(first), bench.batch(second))
    if not second:
        return _since_version(bench, first)
    if second.isascii() and second.isdigit():
        return _contents(bench, first, _of(first.partition("@")[0], second))
    return _contents(bench, first, second)


def _of(code: str, number: str) -> str:
    return number if "@" in number else f"{code}@{number}"


def _is_batch(bench: Bench, typed: str) -> bool:
    if typed.upper() in bench.snapshot.formulas or "@" in typed:
        return False
    if CODE.fullmatch(typed.upper()) and not matching_batches(typed, bench.snapshot.batches):
        return False
    return bool(bench.batch_id(typed))


def _since_version(bench: Bench, typed: str) -> Compared:
    code, _, at = typed.partition("@")
    if at:
        content = content_of(bench, typed)
        number = content.version.number if content.version else None
        before = [v for v in bench.history.of(code.upper()) if number and v.number < number]
        if not before:
            raise Unclear(f"{typed} and which other?", mend=f"labbook diff {typed} {code}")
        return _named(bench, as_content(before[-1]), content)
    state = state_of(bench, code)
    if state.number is None:
        raise Unclear(f"{state.code} has no version yet.", mend=f"labbook save {state.code}")
    return _contents(bench, f"{state.code}@{state.number}", state.code)


def _contents(bench: Bench, first: str, second: str) -> Compared:
    return _named(bench, content_of(bench, first), content_of(bench, second))


def _named(bench: Bench, a: Content, b: Content) -> Compared:
    names = (a.name, b.name if b.name != a.name else f"{b.name} today")
    found = difference(
        a.formula, b.formula, bench.snapshot.sheets, a_name=names[0], b_name=names[1]
    )
    became = _became(bench, a, b)
    failed = [text.split(" ")[0].strip(",;") for _, text in became if "failed" in text]
    then = [Next(f"labbook log {b.formula.code}", "the versions, and their batches")]
    if b.version is None and b.when == "today" and not found.empty:
        then.insert(0, Next(f"labbook save {b.formula.code}", "numbers it"))
    elif failed:
        then.insert(0, Next(f"labbook why {failed[0].lower()}"))
    return Comparison(found=found, dates=(a.when, b.when), became=became, then=tuple(then))


def _became(bench: Bench, *contents: Content) -> tuple[tuple[str, str], ...]:
    """What became of the batches of each version."""
    versions = [content.version for content in contents if content.version is not None]
    return tuple(row for version in versions for row in became(bench, version))


def _batches(bench: Bench, a: Batch, b: Batch) -> Compared:
    about = tuple(
        (
            batch.short,
            f"{day_of(batch.made)}  {batch.formula.name}  "
            f"{label(bench, batch).outcome or batch.state}",
        )
        for batch in (a, b)
    )
    names = f"{a.short.lower()} {b.short.lower()}"
    failed = any("failed" in text for _, text in about)
    then = (
        *((Next(f"labbook why {names}", "which of it can be the cause"),) if failed else ()),
        Next(f"labbook show {b.short.lower()}"),
    )
    return Comparison(found=diff_batches(bench, a, b), about=about, then=then)


def pinned_content(bench: Bench, batch: Batch) -> Formula | None:
    """The formula content that a batch is pinned to; None where history doesn't hold it."""
    pin = batch.formula
    if pin.trial_of is not None:
        return bench.snapshot.trials.get(batch.id)
    try:
        return bench.history.pinned(pin.id, pin.blob, pin.digest)
    except GitRefused:
        return None


def diff_batches(bench: Bench, a: Batch, b: Batch) -> BatchDifference:
    """Two batches: their versions' difference, and what was really done."""
    from labbook.evidence.batches import batch_difference

    formulas = (pinned_content(bench, a), pinned_content(bench, b))
    versions = None
    if formulas[0] is not None and formulas[1] is not None:
        versions = difference(
            formulas[0],
            formulas[1],
            bench.snapshot.sheets,
            a_name=a.formula.name,
            b_name=b.formula.name,
        )
    return batch_difference(
        a,
        b,
        versions,
        bench.snapshot.sheets,
        bench.snapshot.equipment,
        bench.snapshot.lots,
        emulsions=(
            formulas[0].emulsion if formulas[0] else "",
            formulas[1].emulsion if formulas[1] else "",
        ),
        batches=bench.snapshot.batches,
    )
