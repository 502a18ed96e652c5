"""The curve of a formula's batches: steps where all had the same looks, none for a run."""

import pytest

from labbook.evidence.curves import formula_curve
from labbook.evidence.statistics.refusal import Refusal
from labbook.evidence.timeline import Watched
from labbook.model.jars import Look
from labbook.model.quantities import parse_quantity as q
from labbook.model.results.pictures import CurvePicture
from labbook.show.plots.words import curve_words
from tests.evidence.watched import FORMULA, a_batch, seen, standing, written

HELD = [seen(7), seen(28)]
FAILED = [seen(7), seen(28, 3, "oil on top")]


def told(*batches: list[Look], condition: str = "room") -> CurvePicture | Refusal:
    held = [
        Watched(a_batch(id=f"HC-260122-{n}A"), standing("room"), written(looks), FORMULA)
        for n, looks in enumerate(batches)
    ]
    return formula_curve("HC", held, condition=condition)


def test_the_same_looks_give_kaplan_and_meiers_steps() -> None:
    found = told(HELD, HELD, HELD, FAILED)
    assert isinstance(found, CurvePicture)
    (step,) = found.lines[0].steps
    assert (step.age, step.intact) == (28, 0.75)
    # Greenwood's formula by hand: 0.75 times the root of 1 / (4 times 3).
    assert step.error == pytest.approx(0.75 * (1 / 12) ** 0.5)
    assert "by Kaplan and Meier 75 % on day 28 (standard error 22 %)" in curve_words(found)


def test_looks_that_differ_give_none() -> None:
    """On the day that found it, a failure would be put down to late."""
    found = told(HELD, HELD, HELD, [seen(14), seen(60, 3, "oil on top")])
    assert isinstance(found, CurvePicture)
    assert found.lines[0].steps == ()
    assert "Kaplan" not in curve_words(found)


def test_a_run_has_no_curve() -> None:
    run = seen(1, condition="centrifuge", speed=q("3000 rpm"), radius=q("10 cm"), spun=q("30 min"))
    found = told(*[[run]] * 5, condition="centrifuge 1000 g 30 min")
    assert isinstance(found, Refusal)
    assert "has no age" in found.why
