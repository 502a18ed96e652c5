"""What is learned later about a closed batch: every line that `why` offers can be typed.

The batches are invented, each with all that a step can hold, beside one that has nothing of it.
"""

from __future__ import annotations

import re
import shlex
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from labbook.evidence.factors import ask, unanswered
from labbook.model.batch import Batch, BatchStep, Done, Room, Tools
from labbook.model.formula import ACTS, Step
from labbook.model.quantities import parse_quantity as q
from labbook.notebook.emit import document
from labbook.trade.weighing import weighed
from labbook.work.bench import Bench
from labbook.work.init import start
from labbook.work.phrases import recognise
from tests.e2e.bench import ended, through_the_door
from tests.evidence.factors.notebooks import EQUIPMENT, a_batch, a_book, pH
from tests.notebook.repos import commit, put

VALUES = (
    (r"\.\.\. °C", "41 °C"), (r"\.\.\. min", "7 min"), (r"\.\.\. rpm", "9000 rpm"),
    (r"\.\.\. %", "44 %"), (r"(mixer|vessel) \.\.\.", r"\1 whisk"),
    (r"(thermometer|meter) \.\.\.", r"\1 meter"), (r"speed \.\.\.", "speed 2"),
    (r"rate \.\.\.", "rate slow"), (r"with \.\.\.", "with spatula"), (r"lot=\.\.\.", "lot=s1"),
    (r"-m \"\.\.\.\"", '-m "found on a slip"'), (r"pH \.\.\.", "pH 4.9"),
    (r"\b([A-Z]) \.\.\.", r"\1 58"), (r"=\.\.\.", "=12.40"),
)  # fmt: skip


def filled(line: str) -> list[str]:
    """The line with values for its dots, as the words that a shell hands over."""
    for pattern, value in VALUES:
        line = re.sub(pattern, value, line)
    assert "..." not in line, line
    return shlex.split(line)


def full(act: str, speed: str) -> tuple[Step, Done]:
    """A step with all that it can be planned with, and all that can be done in it."""
    plan = Step(
        id="s1", do=act, set={"A": q("70 °C")}, hold=q("5 min"), add="B", into="A", rate="slow",
        over=q("3 min"), with_="stick-blender", speed=speed, then_mix=q("5 min"),
        stir_until=q("35 °C"),
    )  # fmt: skip
    done = Done(
        temperatures={"A": q("71 °C"), "B": q("70 °C"), "cream": q("34 °C")}, took=q("3 min"),
        hold=q("5 min"), mixed=q("5 min"), speed=speed, rate="slow", with_="stick-blender",
        stirred_until=q("35 °C"),
    )  # fmt: skip
    return plan, done


def both(*steps: tuple[Step, Done], **more: Any) -> tuple[Batch, Batch]:
    """A failed batch that has nothing written down, and a good one that has all of it."""
    plans = [replace(plan, id=f"s{n}") for n, (plan, _) in enumerate(steps, 1)]
    done = [BatchStep(id=p.id, plan=p, done=d) for p, (_, d) in zip(plans, steps, strict=True)]
    bare = tuple(BatchStep(id=plan.id, plan=plan) for plan in plans)
    tools = Tools(balance="bench", mixer="blender", vessel="blender", meter="meter",
                  thermometer="strips")  # fmt: skip
    good = a_batch(
        "4M", steps=tuple(done), tools=tools, readings=pH("4.9"), lots={"salt": "s1"},
        room=Room(temperature=q("20 °C"), humidity=q("50%")), **more,
    )  # fmt: skip
    bad = a_batch("9T", steps=bare, tools=Tools(balance="bench"), **more)
    return bad, good


def notebook(folder: Path, *batches: Batch) -> Path:
    """A notebook on the disk that holds these batches and the equipment of the tests."""
    start(folder, title="Studio notebook")
    for name, tool in EQUIPMENT.items():
        put(folder, f"equipment/{name}.yaml", document(tool))
    for batch in batches:
        put(folder, f"batches/2026/{batch.id}/batch.yaml", document(batch))
    commit(folder, "what there is", "equipment", "batches")
    return folder


def lines_of(root: Path) -> list[str]:
    """Every line that `why` offers for the pair as the notebook holds it now."""
    held = Bench(root).snapshot.batches
    bad, good = (next(b for b in held.values() if b.short == short) for short in ("9T", "4M"))
    book = a_book((bad, False), (good, True))
    offered = [one.line for one in ask(book).unrecorded]
    offered += [one.line for one in unanswered(book, bad.id)]
    return [line for line in offered if line.startswith(("labbook note", "labbook batch"))]


def typed(root: Path, words: list[str]) -> str:
    """What the command says."""
    return ended(through_the_door(*words[1:], cwd=root)).out


def lines_of_pair(bad: Batch, good: Batch) -> list[str]:
    """The same for two batches in the hand."""
    book = a_book((bad, False), (good, True))
    return [one.line for one in ask(book).unrecorded if one.line.startswith("labbook note")]


@pytest.mark.parametrize("speed", ["9000 rpm", "2"])
def test_every_line_that_is_offered_can_be_typed(speed: str, tmp_path: Path) -> None:
    pair = both(*(full(act, speed) for act in ("heat", "combine", "cool")))
    root = notebook(tmp_path / "nb", *pair)
    count = 0
    while offered := lines_of(root):
        typed(root, filled(offered[0]))
        count += 1
        assert count < 60, offered
    assert count > 30


@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize("speed", ["9000 rpm", "2"])
def test_what_is_offered_of_any_step_is_taken_for_that_of_this_step(act: str, speed: str) -> None:
    bad, good = both(full("combine", speed), full(act, speed), full(act, speed))
    offered = lines_of_pair(bad, good)
    assert len(offered) >= 3 * 8
    names = {name: name for name in EQUIPMENT}
    taken = set()
    for line in offered:
        _, _, _, said, *step = filled(line)
        entry = recognise(said, bad, "water-in-oil", step=step[1] if step else "", equipment=names)
        assert entry.list in ("step", "tools", "room", "readings"), line
        data = entry.data if entry.list != "readings" else {entry.data["reading"]: ""}
        for key, value in data.items():
            part = "".join(value) if isinstance(value, dict) else ""
            taken.add((entry.list, entry.step, key, part))
    assert len(taken) == len(offered)  # each line another thing
    steps = {(step, key) for list_, step, key, _ in taken if list_ == "step"}
    keys = ("took", "hold", "mixed", "speed", "rate", "with", "stirred until", "temperatures")
    assert steps == {(step, key) for step in ("s1", "s2", "s3") for key in keys}


def test_weights_that_nobody_wrote_down_can_be_typed(tmp_path: Path) -> None:
    bad, good = both(full("combine", "9000 rpm"))
    steps = tuple(replace(step, id="s1") for step in good.steps)
    bad = replace(bad, weighings=(), steps=steps, tools=good.tools, room=good.room,
                  readings=good.readings)  # fmt: skip
    root = notebook(tmp_path / "nb", bad, good)
    count = 0
    while offered := [line for line in lines_of(root) if ".lot=" not in line]:
        assert offered[0].startswith("labbook batch correct 9t "), offered
        said = typed(root, filled(offered[0]))
        assert "first       nothing written down" in said
        count += 1
        assert count <= len(bad.lines), offered
    found = weighed(Bench(root).batch("9t"))
    known = {line: float(mass) for line, mass in found.lines.items() if mass is not None}
    assert len(known) == count >= 3
    assert set(known.values()) == {12.4}
    assert found.corrected == frozenset(known)
