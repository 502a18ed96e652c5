"""Reading commands stay near their floors; ratios with twice the slack, never times."""

from pathlib import Path

import pytest

from tests.benchmarks.notebooks import SMALL, write
from tests.benchmarks.scale import CASES, Case, warm

SLACK = 2.0


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("scale")
    return write(folder / "book", SMALL)


@pytest.mark.parametrize("case", [case for case in CASES if case.goal], ids=lambda c: c.words[0])
def test_a_warm_command_stays_near_its_floor(
    small: Path, case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
    monkeypatch.setenv("PYTHONPYCACHEPREFIX", str(small.parent / "compiled"))
    (row,) = warm(small, [case], times=3)
    assert case.goal is not None
    assert row.ratio <= SLACK * case.goal, f"{row.ratio:.2f} x floor"
    assert row.megabytes <= 300
