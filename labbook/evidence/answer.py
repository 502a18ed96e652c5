"""From a question and its reckoning to the answer that screens and the journal show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from labbook.evidence.causes import (
    Rate,
    Reckoning,
    Row,
    Suspect,
    capped,
    clean_pairs,
    cleared,
    counts,
    exact_tests,
    reckon,
)
from labbook.evidence.factors.types import Factor, Question, Unrecorded
from labbook.evidence.items import Item
from labbook.evidence.saying import Aloud
from labbook.model.results.why import (
    Count,
    NotApart,
    Together,
    Unknown,
    Why,
)
from labbook.model.results.why import (
    Suspect as Told,
)

OUTSIDE = 0.2
"""The chance beforehand that something acts which the notebook doesn't hold."""

STANDS = 0.05
"""From this chance on a suspect is worth naming among those that aren't told apart."""


def short(unit: str) -> str:
    """The two characters of a batch, `9T`, or of a jar with them, `9T.1`."""
    return unit.rsplit("-", 1)[-1]


def rows_of(question: Question) -> tuple[Row, ...]:
    """The decided units of a question, as the reckoning takes them."""
    return tuple(Row(name, failed, sides) for name, failed, sides in question.table)


def counted_rows(question: Question) -> tuple[Row, ...]:
    """The same for plain counts: a part of a bulk says nothing of what another part speaks for."""
    factors = question.factors
    return tuple(
        Row(
            row.name,
            row.failed,
            tuple(
                None if factor.sides[row.name].why == "shared" else side
                for factor, side in zip(factors, row.sides, strict=True)
            ),
        )
        for row in rows_of(question)
    )


def suspects_of(question: Question, *, flat: bool = False) -> tuple[Suspect, ...]:
    """The factors with their chances beforehand; `flat` leaves the rules of the trade out."""
    return capped(
        Suspect(f.name, f.prior_without if flat else f.prior, ruled=f.rule is not None and not flat)
        for f in question.factors
    )


def reckoned(
    question: Question, *, rate: Rate = "mixed", pairs: bool = False, flat: bool = False
) -> Reckoning:
    """The reckoning of a question."""
    suspects = suspects_of(question, flat=flat)
    return reckon(suspects, rows_of(question), rate=rate, outside=OUTSIDE, pairs=pairs)


def answer(
    question: Question,
    code: str,
    *,
    rate: Rate = "mixed",
    pairs: bool = False,
    flat: bool = False,
    sessions: Mapping[str, str] | None = None,
) -> Why:
    """What the batches say about a question.

    Args:
        question: the event, the factors and where every batch stands.
        code: the formula that was asked about.
        rate: how often a real cause acts.
        pairs: also reckons with two differences that act only together.
        flat: leaves the rules of the trade out.
        sessions: in which session each batch was made, by its id.
    """
    found = reckoned(question, rate=rate, pairs=pairs, flat=flat)
    bare = found if flat else reckoned(question, rate=rate, flat=True)
    rows, made_in = counted_rows(question), {} if sessions is None else sessions
    told = _told(question, Aloud(found, made_in, rows), Aloud(bare, made_in, rows))
    order = sorted(range(len(told)), key=lambda i: (-told[i].chance, told[i].what))
    names = [f.what for f in question.factors]
    event = question.event
    return Why(
        failed=short(question.failed) if question.failed else "",
        good=short(question.good) if question.good else "",
        failed_id=question.failed,
        good_id=question.good,
        runner_up=short(question.runner_up) if question.runner_up else "",
        code=code,
        group=event.group,
        event=", ".join(question.modes) or event.group,
        until=until_words(question),
        condition=event.condition,
        suspects=tuple(told[i] for i in order),
        not_apart=not_apart(found, names),
        any_cause=found.any_cause,
        any_cause_before=found.any_cause_before,
        outside=found.outside,
        unknown=tuple(_unknown(one) for one in question.unrecorded),
        follows=tuple(_follows(item) for item in question.follows),
        counted=len(found.rows),
        failed_counted=sum(row.failed for row in found.rows),
        codes=question.codes,
        left_out=tuple((short(unit), why) for unit, why in question.left_out),
        later=tuple(_later(question, unit) for unit in question.later),
        together=tuple(
            Together(one=names[i], other=names[j], chance=chance)
            for i, j, chance in found.pairs[:3]
        ),
        any_together=found.pair_acts,
        sets=found.listed,
        rate=rate,
    )


def until_words(question: Question) -> str:
    """`by day 7`, `by cycle 2`, `in one run`."""
    horizon, unit = question.event.horizon, question.event.unit
    if unit == "run":
        return "in one run"
    if unit == "cycles":
        return f"by cycle {horizon:.0f}"
    if 0 < horizon < 1:
        return f"by hour {max(1, round(horizon * 24))}"
    return f"by day {horizon:.0f}"


# Suspect by suspect ----------------------------------------------------------------------------


def _told(question: Question, aloud: Aloud, bare: Aloud) -> list[Told]:
    found = aloud.found
    clear = cleared(found)
    chosen = {question.failed, question.good} - {""}
    plain = counted_rows(question)
    tests = {t.suspect: t.p for t in exact_tests(plain, len(clear), left_out=chosen)}
    told = []
    for i, factor in enumerate(question.factors):
        chance, seen = found.marginals[i], counts(plain, i)
        rule = factor.rule
        told.append(
            Told(
                key=factor.name,
                what=factor.what,
                phrase=phrase(factor),
                failed=_with_unit(factor.failed, factor.unit),
                good=_with_unit(factor.good, factor.unit),
                before=found.suspects[i].prior,
                chance=chance,
                unruled=bare.found.marginals[i],
                word="nearly cleared" if clear[i] else aloud.word(i),
                about=aloud.figure(i),
                unruled_about=bare.figure(i),
                tried=aloud.tried(i),
                cleared=clear[i],
                told=all(found.told_apart(i, j) for j in range(len(clear)) if j != i),
                like_failed=Count(seen.failed_like, seen.like),
                like_good=Count(seen.failed_unlike, seen.unlike),
                unrecorded=_undecided(question, factor, ("unrecorded",)),
                between=_undecided(question, factor, ("between", "other")),
                clean_pairs=tuple(
                    (short(one.like), short(one.unlike)) for one in clean_pairs(plain, i)
                ),
                remark=_remark(question, factor),
                rule=rule.name if rule else "",
                strength=rule.strength if rule else "",
                says=rule.says if rule else "",
                mechanism=rule.mechanism if rule else "",
                source=rule.source if rule else "",
                follows=tuple(_follows(item) for item in factor.folded),
                exact=tests.get(i),
            )
        )
    return told


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if unit and text else text


def phrase(factor: Factor) -> str:
    """A factor as a sentence names it: `less sodium-chloride`, `the colder water phase …`."""
    more, what = factor.more, factor.what
    if factor.kind == "skipped":
        return f"{what} {factor.failed}"
    if more is None:
        return f"{what} ({factor.failed})" if factor.failed else what
    act, colon, rest = what.partition(": ")
    if colon:
        what = f"{rest} ({act})"
    if factor.kind == "amount":
        return f"{'more' if more else 'less'} {what}"
    pair = _COMPARED.get(factor.kind, ("higher", "lower"))
    return f"the {pair[0] if more else pair[1]} {what}"


_COMPARED = {
    "temperature": ("warmer", "colder"),
    "stir until": ("warmer", "colder"),
    "fill temperature": ("warmer", "colder"),
    "room": ("warmer", "colder"),
    "time": ("longer", "shorter"),
    "hold": ("longer", "shorter"),
    "speed": ("faster", "slower"),
    "rate": ("faster", "slower"),
    "gap": ("wider", "smaller"),
    "size": ("larger", "smaller"),
    "evaporation": ("greater", "smaller"),
}


def _undecided(question: Question, factor: Factor, why: tuple[str, ...]) -> tuple[str, ...]:
    decided = [row.unit for row in question.rows if row.state != "undecided"]
    return tuple(short(unit) for unit in decided if factor.sides[unit].why in why)


def _remark(question: Question, factor: Factor) -> str:
    """Batches that speak against it: like the failed one and intact, or the other way round."""
    chosen = {question.failed, question.good}
    against, spared = [], []
    for row in question.rows:
        side = factor.sides[row.unit]
        if row.unit in chosen or row.state == "undecided" or side.why == "shared":
            continue
        if side.side is True and row.state == "intact":
            against.append(f"{short(row.unit)} had {side.text} too and is {row.text}")
        if side.side is False and row.state == "failed":
            spared.append(f"{short(row.unit)} had {side.text} and {row.text} all the same")
    return "; ".join([*against[:2], *spared[:2]])


# What stands around them -----------------------------------------------------------------------


def not_apart(found: Reckoning, names: Sequence[str]) -> tuple[NotApart, ...]:
    """Groups of suspects worth naming of which none is told apart from the others."""
    standing = [i for i, chance in enumerate(found.marginals) if chance >= STANDS]
    groups: list[list[int]] = []
    for i in sorted(standing, key=lambda i: -found.marginals[i]):
        for group in groups:
            if all(not found.told_apart(j, i) and not found.told_apart(i, j) for j in group):
                group.append(i)
                break
        else:
            groups.append([i])
    return tuple(
        NotApart(names=tuple(names[i] for i in group), never=_never_apart(found, group))
        for group in groups
        if len(group) > 1
    )


def _never_apart(found: Reckoning, group: Sequence[int]) -> bool:
    """Whether each row has the same side of all of them, as far as is decided."""
    return all(len({row.sides[i] for i in group} - {None}) < 2 for row in found.rows)


def _unknown(one: Unrecorded) -> Unknown:
    sentence = f"{one.what} was not written down for {short(one.missing)}, so it may differ."
    return Unknown(sentence=sentence, command=one.line)


def _follows(item: Item) -> str:
    unit = f" {item.unit}" if item.unit else ""
    return f"{item.what} {item.a} against {item.b}{unit}"


def _later(question: Question, unit: str) -> str:
    return f"{short(unit)} failed after that; it counts as neither."
