"""The sample notebook is sound: files, references, order, pins, closed batches."""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from labbook.model.batch import Batch
from labbook.model.digest import digest
from labbook.model.fields import QS
from labbook.model.formula import Formula
from labbook.model.ids import BATCH_ID
from labbook.model.settings import Settings
from labbook.model.sheets import Sheets
from tests.sample import COUNTS, TODAY, batches, formulas, last, record, replay, steps, versions

TRAILER = re.compile(r"Recorded-by: labbook [a-z]+( [a-z]+){0,2}")


# The steps ---------------------------------------------------------------------------------------


def test_steps_are_numbered_named_and_timed_in_order() -> None:
    assert 60 <= len(steps()) <= 90
    for number, step in enumerate(steps(), 1):
        assert step.name.startswith(f"{number:03d}-{step.when:%Y-%m-%dT%H%M}-")
        # Central European time, by the time zone database.
        local = step.when.replace(tzinfo=ZoneInfo("Europe/Berlin"))
        assert step.when.utcoffset() == local.utcoffset(), step.name
    times = [step.when for step in steps()]
    assert times == sorted(set(times))
    assert times[-1].date() < TODAY


def test_only_the_last_step_is_not_committed() -> None:
    assert [step.name for step in steps() if step.message is None] == [steps()[-1].name]
    assert list(steps()[-1].files) == ["formulas/KHB.yaml"]


def test_messages_have_a_subject_a_body_and_the_trailer() -> None:
    for step in steps():
        if step.message is None:
            continue
        subject, blank, *body = step.message.rstrip("\n").split("\n")
        assert 0 < len(subject) <= 72, step.name
        assert not blank
        assert not body[-2]
        assert "".join(body[:-2]), step.name
        assert TRAILER.fullmatch(body[-1]), step.name


def test_every_step_changes_what_it_holds_and_every_file_reads() -> None:
    for step, before, after in replay():
        assert step.files, step.name
        for path, raw in step.files.items():
            assert before.get(path) != raw, f"{step.name}: {path} is unchanged"
            assert raw.endswith(b"\n")
            assert b"\r" not in raw
            if path.endswith(".yaml"):
                assert record(path, raw) is not None
            else:
                assert path.startswith("journal/")
                assert path.endswith(".md")
        assert record("labbook.yaml", after["labbook.yaml"]).title == "Studio notebook"


# References --------------------------------------------------------------------------------------


def names_in(value: Any) -> Iterator[tuple[str, str]]:
    """Folder and name of all that a record refers to."""
    folders = {"ingredient": "ingredients", "sheet": "ingredients", "lot": "lots"}
    folders |= {"balance": "equipment", "mixer": "equipment", "meter": "equipment"}
    folders |= {"thermometer": "equipment", "place": "equipment", "protocol": "protocols"}
    if isinstance(value, tuple):
        for one in value:
            yield from names_in(one)
    if not is_dataclass(value):
        return
    for field in fields(value):
        held = getattr(value, field.name)
        own_number = field.name == "lot" and type(value).__name__ == "Lot"
        if isinstance(held, str) and field.name in folders and not own_number:
            yield folders[field.name], held
        elif isinstance(held, str) and field.name == "with_":
            yield "equipment", held
        else:
            yield from names_in(held)


def test_what_a_file_names_is_there_at_that_step() -> None:
    for step, _, after in replay():
        for path, raw in step.files.items():
            if not path.endswith(".yaml") or path == "labbook.yaml":
                continue
            for folder, name in names_in(record(path, raw)):
                assert f"{folder}/{name}.yaml" in after, f"{step.name}: {path} names {name}"
    settings: Settings = last()["labbook.yaml"]
    for folder, name in names_in(settings.defaults):
        assert f"{folder}/{name}.yaml" in last()


def test_a_lot_is_open_and_not_expired_when_it_is_weighed() -> None:
    for batch in batches().values():
        for weighing in batch.weighings:
            lot = last()[f"lots/{weighing.lot}.yaml"]
            line = next(line for line in batch.lines if line.id == weighing.line)
            assert lot.ingredient == line.ingredient
            assert isinstance(weighing.time, datetime)
            assert lot.opened <= weighing.time.date() < lot.expires


# Formulas and pins -------------------------------------------------------------------------------


def test_formulas_sum_to_100_and_raise_their_number_by_one() -> None:
    numbers: dict[str, int] = {}
    for name, formula in formulas():
        typed = [li.percent for _, li in formula.lines if isinstance(li.percent, Decimal)]
        assert len(typed) == len(formula.lines) - 1, name
        assert 0 < sum(typed) < 100, name
        assert [line.percent for _, line in formula.lines].count(QS) == 1, name
        step = 0 if name == steps()[-1].name else 1
        assert formula.version == numbers.get(formula.code, 0) + step
        numbers[formula.code] = formula.version
    assert numbers == {code: count for code, (count, _) in COUNTS.items()}


def test_versions_differ_and_keep_their_permanent_id() -> None:
    sheets = Sheets({p[12:-5]: r for p, r in last().items() if p.startswith("ingredients/")})
    digests = Counter(digest(formula, sheets) for _, formula in formulas())
    assert set(digests.values()) == {1}
    assert len({(formula.code, formula.id) for _, formula in formulas()}) == len(COUNTS)


def test_formulas_with_water_are_preserved_before_combining_at_a_ph_where_it_works() -> None:
    for _, formula in formulas():
        watery = {phase.phase for phase, line in formula.lines if line.ingredient == "water"}
        if formula.emulsion == "anhydrous":
            assert not watery
            continue
        acids = [(p, li) for p, li in formula.lines if li.ingredient == "sodium-benzoate"]
        assert [(p.phase in watery, li.percent) for p, li in acids] == [(True, Decimal("0.50"))]
        (target,) = formula.targets
        assert (target.of, target.reading) == ("water phase", "pH")
        assert target.to == Decimal("5.0")
        adjuster = [p.phase in watery for p, li in formula.lines if li.adjust]
        assert adjuster == [True]


def test_a_batch_copies_the_version_that_stood_in_the_notebook() -> None:
    for step, _, after in replay():
        for path, raw in step.files.items():
            if not path.endswith("/batch.yaml"):
                continue
            assert raw.count(b'digest: "@digest@", blob: "@blob@"') == 1
            batch: Batch = record(path, raw)
            pin = batch.formula
            content: Formula = versions()[pin.code, pin.version]
            today: Formula = record(f"formulas/{pin.code}.yaml", after[f"formulas/{pin.code}.yaml"])
            if path not in {p for s in steps() if s.when < step.when for p in s.files}:
                assert today == content, f"{step.name}: the formula was changed since"
            assert pin.id == content.id
            copied = [(li.phase, li.ingredient, li.adjust, li.role) for li in batch.lines]
            assert copied == [
                (p.phase, li.ingredient, li.adjust, li.role) for p, li in content.lines
            ]
            percents = [li.percent for li in batch.lines if li.percent is not None]
            assert sum(percents) == 100
            assert sum(li.target.value for li in batch.lines if li.target) == batch.size.value
            typed = [li.percent for _, li in content.lines if li.percent is not QS]
            assert [li.percent for li in batch.lines if not li.qs] == typed
            assert tuple(one.plan for one in batch.steps) == content.method


# Batches only grow -------------------------------------------------------------------------------


def grows(old: Any, new: Any) -> bool:
    """Whether a list of entries begins with all that it held before."""
    return bool(new[: len(old)] == old)


def test_closed_batches_change_by_correction_only_and_lists_only_grow() -> None:
    corrected = []
    for step, before, _ in replay():
        for path, raw in step.files.items():
            if not path.startswith("batches/") or path not in before:
                continue
            old, new = record(path, before[path]), record(path, raw)
            for field in fields(old):
                held = getattr(old, field.name)
                if isinstance(held, tuple):
                    assert grows(held, getattr(new, field.name)), f"{step.name}: {field.name}"
            if isinstance(old, Batch) and old.state == "closed":
                assert replace(new, corrections=old.corrections) == old, step.name
                corrected.append(new.short)
            if not isinstance(old, Batch):
                assert raw.startswith(before[path]), f"{step.name}: {path} was rewritten"
    assert corrected == ["C3"]
    c3 = batches()["C3"]
    (correction,) = c3.corrections
    wrong = next(one for one in c3.weighings if one.id == correction.of)
    assert str(wrong.mass) == correction.was == "3.30 g"
    assert correction.now == "3.03 g"


def entries(value: Any) -> Iterator[tuple[str, Any]]:
    for field in fields(value):
        held = getattr(value, field.name)
        if isinstance(held, tuple):
            yield field.name, held


def test_ids_are_unique() -> None:
    for path, one in last().items():
        for name, held in entries(one):
            ids = [entry.id for entry in held if hasattr(entry, "id")]
            assert len(ids) == len(set(ids)), f"{path}: {name}"
    assert len(batches()) == sum(count for _, count in COUNTS.values())
    for batch in batches().values():
        assert BATCH_ID.fullmatch(batch.id)
        assert batch.short not in COUNTS
        assert batch.id.split("-")[1] == f"{batch.made:%y%m%d}"


def moments(value: Any) -> Iterator[datetime]:
    if isinstance(value, datetime):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from moments(one)
    elif is_dataclass(value):
        for field in fields(value):
            yield from moments(getattr(value, field.name))


def test_nothing_was_written_down_before_it_happened() -> None:
    for step, before, _ in replay():
        for path, raw in step.files.items():
            if path.startswith("batches/"):
                times = list(moments(record(path, raw)))
                assert all(one <= step.when for one in times), f"{step.name}: {path}"
                known = list(moments(record(path, before[path]))) if path in before else []
                fresh = [one for one in times if one not in known]
                assert all(step.when - one < timedelta(hours=4) for one in fresh), step.name
