"""Pictures of a whole notebook: the sample on the disk tells what its records tell."""

from pathlib import Path

import pytest

from labbook.evidence.statistics.refusal import Refusal
from labbook.model.errors import UnknownName
from labbook.show.layout import Screen
from labbook.show.plots.terminal import curve_screen, timeline_screen
from labbook.work.bench import Bench
from labbook.work.pictures import curve, timeline
from tests.conftest import RunLabbook
from tests.show.plots.pictures import sample_curve
from tests.show.plots.test_examples import CURVE_SCREEN, K2_SCREEN


def test_the_sample_on_the_disk(run_labbook: RunLabbook, tmp_path: Path) -> None:
    assert run_labbook("demo", "studio").code == 0
    bench = Bench(tmp_path / "studio")
    assert timeline_screen(timeline(bench, "k2"), Screen()) == K2_SCREEN
    found = curve(bench, "sbc")
    assert found == sample_curve()
    assert not isinstance(found, Refusal)
    assert curve_screen(found, Screen()) == CURVE_SCREEN
    # What isn't public is a picture here all the same.
    names = {row.name.partition(".")[0] for row in timeline(bench, "KHB").rows}
    assert "B6" in names
    assert isinstance(curve(bench, "KHB"), Refusal)
    with pytest.raises(UnknownName):
        timeline(bench, "zz")
