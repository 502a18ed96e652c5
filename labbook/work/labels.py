"""`batch labels 7K`: what stands on the jars, and what may not stand there."""

from __future__ import annotations

import re
from datetime import date

from labbook.evidence.sightings import age, current_looks, filled_at, jars_by_name, plain_jar
from labbook.evidence.trace import BATCH, LOT, Key, jar_id, web_of
from labbook.model.batch import Batch
from labbook.model.errors import LabbookError, NotAllowed, Unclear, UnknownName
from labbook.model.jars import Jars
from labbook.model.moments import day_of
from labbook.model.results.labels import JarLabel, Labels
from labbook.show.label_grid import PAPERS
from labbook.trade.stock import loose_ingredients
from labbook.work.bench import Bench
from labbook.work.label import label as draft_of
from labbook.work.label_sheet import guard_room, sheet_of
from labbook.work.outcomes import headline_for
from labbook.work.reaction import reactions_of
from labbook.work.tracing import held_by

CAUTIONS = ("For the skin only, not into the eyes.", "Stop if your skin reacts.")
"""Usual cautions of a handmade cream: common practice, no source. What the law wants on a label is
for whoever sells it to look up.
"""

_JAR = re.compile(r"[A-Za-z0-9]{1,6}", re.ASCII)


def labels(
    bench: Bench,
    typed: str,
    *,
    jars: str = "",
    paper: str = "",
    best_before: str = "",
    start: int = 1,
    sheet: str = "",
) -> Labels:
    """The labels of a batch's jars.

    Args:
        bench: the notebook.
        typed: the batch.
        jars: numbers such as `1,2`; empty takes all jars that are written down.
        paper: `a4` or `letter`; empty takes A4.
        best_before: the day that the maker stands for; empty leaves it off.
        start: the first free place on the sheet, counted along the rows.
        sheet: the sheet that the maker has, `3x7 63.5x38.1`; empty takes one that fits the words.

    Raises:
        NotAllowed: the batch was dropped, has no jars, or the day is later than a lot's, or past.
        UnknownName: no such jar.
        Unclear: no such paper, day, sheet or place on it, or no room on a label.
    """
    batch = bench.batch(typed)
    if batch.dropped:
        raise NotAllowed(
            f"{batch.short} was dropped: {batch.dropped.why}", mend="A label is for what is used."
        )
    chosen = _paper(paper)
    trial = batch.formula.trial_of is not None or bool(batch.asks)
    dates, undated = _expiries(bench, batch)
    until = _until(bench, batch, best_before, dates, trial=trial) if best_before else ""
    text, note = _ingredients(bench, batch)
    formula = bench.snapshot.formulas.get(batch.formula.code)
    found = Labels(
        batch=batch.id,
        large=_large(bench, batch),
        name=formula.title if formula else batch.formula.code,
        made=day_of(batch.made).isoformat(),
        jars=_jars(batch, bench.snapshot.jars.get(batch.id), jars),
        paper=chosen,
        trial=trial,
        best_before=until,
        earliest=f"{dates[0][1]} on {dates[0][0].isoformat()}" if dates else "",
        undated=undated,
        ingredients=text,
        ingredients_note=note,
        cautions=CAUTIONS,
        watched=_watched(bench, batch),
        outcome=headline_for(bench, batch),
        start=start,
        sheet=sheet_of(sheet, chosen) if sheet else None,
        reacted=bool(reactions_of(bench, batch)),
    )
    guard_room(found)
    return found


def _paper(typed: str) -> str:
    chosen = (typed or "a4").lower()
    if chosen not in PAPERS:
        raise Unclear(f"Paper {typed}?", mend=f"One of: {', '.join(PAPERS)}")
    return chosen


def _large(bench: Bench, batch: Batch) -> str:
    alike = [id_ for id_, one in bench.snapshot.batches.items() if one.short == batch.short]
    return batch.short if len(alike) == 1 else batch.id


# Jars ---------------------------------------------------------------------------------------------


def _jars(batch: Batch, held: Jars | None, typed: str) -> tuple[JarLabel, ...]:
    """The jars that are written down, or those named; before filling any number may be named."""
    known = list(dict.fromkeys(plain_jar(batch, jar.jar) for jar in held.jars)) if held else []
    names = [plain_jar(batch, part.strip()) for part in typed.split(",") if part.strip()]
    for name in names:
        if not _JAR.fullmatch(name):
            raise Unclear(f"Jar {name}?", mend="Numbers, with commas between: --jars 1,2")
        if known and name not in known:
            some = ", ".join(known)
            raise UnknownName(f"{batch.short} has no jar {name}.", mend=f"It has: {some}")
    if not (names or known):
        raise NotAllowed(
            f"{batch.short} has no jars yet.",
            mend=f"Close it, or name them: labbook batch labels {batch.short.lower()} --jars 1,2",
        )
    chosen = list(dict.fromkeys(names or known))
    return tuple(JarLabel(jar=name, id=jar_id(batch, name)) for name in chosen)


# Best before --------------------------------------------------------------------------------------


def _expiries(bench: Bench, batch: Batch) -> tuple[list[tuple[date, str]], tuple[str, ...]]:
    """When the lots in a batch expire, earliest first, and what has no day.

    Lots that came in by a premix, a split or a rework count; what was weighed without a lot, or
    never weighed, is named among those without a day.
    """
    snapshot = bench.snapshot
    back = web_of(held_by(bench)).reach(Key(BATCH, batch.id), back=True)
    dated, undated = [], []
    for name in sorted(key.name for key in back if key.kind == LOT):
        lot = snapshot.lots.get(name)
        if lot is not None and lot.expires is not None:
            dated.append((day_of(lot.expires), name))
        else:
            undated.append(name)
    for key in [Key(BATCH, batch.id), *(one for one in back if one.kind == BATCH)]:
        made = snapshot.batches.get(key.name)
        loose = loose_ingredients(made, snapshot.sheets) if made else (key.name,)
        undated += [f"{name} (no lot named)" for name in loose]
    return sorted(dated), tuple(dict.fromkeys(undated))


def _until(
    bench: Bench, batch: Batch, typed: str, dates: list[tuple[date, str]], *, trial: bool
) -> str:
    """The best-before that was typed, where nothing speaks against it; it is never reckoned."""
    try:
        day = date.fromisoformat(typed)
    except ValueError as error:
        raise Unclear(f"Best before {typed}?", mend="A day like 2026-12-31.") from error
    if trial:
        raise NotAllowed(
            f"{batch.short} was made for a test and is not for use, so it gets no best-before.",
            mend="Leave --best-before out.",
        )
    if day < bench.today:
        raise NotAllowed(f"{typed} is past.", mend="Type a day to come, or leave it out.")
    if dates and day > dates[0][0]:
        first, lot = dates[0]
        raise NotAllowed(
            f"{typed} is later than {first.isoformat()}, when {lot} expires, which is in it.",
            mend=f"At the latest: --best-before {first.isoformat()}. "
            "How long it keeps the notebook can't tell.",
        )
    return day.isoformat()


def _watched(bench: Bench, batch: Batch) -> str:
    """How long the jar that was watched longest was watched, of the formula and of the version."""
    pin = batch.formula
    best: dict[bool, tuple[int, str, int | None]] = {}
    for one in bench.snapshot.batches.values():
        if one.formula.id != pin.id or one.dropped:
            continue
        jars = jars_by_name(one, bench.snapshot.jars.get(one.id))
        for look in current_looks(bench.snapshot.stability.get(one.id)):
            name = plain_jar(one, look.jar)
            if name not in jars:
                continue
            days = int(age(filled_at(one, jars[name]), look.time))
            same = (one.formula.version, one.formula.trial_of) == (pin.version, pin.trial_of)
            for key in {False, same}:
                if days > best.get(key, (-1,))[0]:
                    best[key] = (days, f"{one.short}.{name}", look.grade)
    if not best:
        return f"no jar of {pin.code} was looked at yet"
    days, jar, grade = best[False]
    told = f"the jar of {pin.code} watched longest, {jar}, until day {days}"
    told += f", grade {grade} then" if grade is not None else ""
    own = f"until day {best[True][0]}" if True in best else "not at all"
    return f"{told}; of {pin.name}, {own}"


# Ingredients --------------------------------------------------------------------------------------


def _ingredients(bench: Bench, batch: Batch) -> tuple[str, str]:
    """The draft of the list, and what it is drawn from."""
    if any(parent.how == "rework" for parent in batch.from_):
        return "", "it holds a reworked batch, so its list has to be written by hand"
    split = next((parent.batch for parent in batch.from_ if parent.how == "split"), "")
    if split and batch.weighings:
        return "", f"split from {split}, and more was added: its list has to be written by hand"
    try:
        draft = draft_of(bench, "", batch=split or batch.id)
        return draft.text, f"a draft for {draft.region}, of what was weighed"
    except LabbookError as error:
        if batch.formula.trial_of is not None:
            return "", "no list of a trial before all of it is weighed"
        if split:
            return "", error.what
    try:
        draft = draft_of(bench, batch.formula.name)
    except LabbookError as error:
        return "", error.what
    return draft.text, f"a draft for {draft.region}, of {batch.formula.name}: not all is weighed"
