"""`check --fix`: every decimal comma of a file, and nothing else of it, is mended."""

from __future__ import annotations

from pathlib import Path

import pytest

from labbook.model.errors import ChangedMeanwhile
from labbook.work.bench import Bench
from labbook.work.mending import fixes, mend

HEAD = "format: 1\ntitle: Studio\n"
FORMULA = (
    'code: HC\r\ntitle: "A, B, 1,2"   # 3,4 stays\r\nid: "f-1"\r\nemulsion: gel\r\n'
    "batch size: 100,5 g\r\nphases:\r\n  - phase: A\r\n    lines:\r\n"
    "      - {ingredient: water, percent: 98,25}\r\n"
    '      - {ingredient: xanthan-gum, percent: "1,75", note: "0,5 to 2,0"}\r\n'
)


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    (tmp_path / "labbook.yaml").write_text(HEAD, encoding="utf-8")
    (tmp_path / "formulas").mkdir()
    (tmp_path / "formulas" / "HC.yaml").write_bytes(FORMULA.encode())
    return Bench(tmp_path)


def test_all_commas_of_numbers_are_mended_and_nothing_else(bench: Bench) -> None:
    mend(bench, fixes(bench))
    wanted = FORMULA.replace("100,5 g", "100.5 g").replace("98,25", "98.25")
    wanted = wanted.replace('percent: "1,75"', 'percent: "1.75"')
    assert (bench.root / "formulas" / "HC.yaml").read_bytes() == wanted.encode()
    assert not bench.afresh().snapshot.problems


def test_what_is_shown_is_what_is_written(bench: Bench) -> None:
    shown = fixes(bench)
    assert [fix.line for fix in shown] == [5, 9, 10]
    assert shown[0].before == "batch size: 100,5 g\r\n"
    assert shown[0].after == "batch size: 100.5 g\r\n"


def test_a_file_that_changed_since_is_left_alone(bench: Bench) -> None:
    shown = fixes(bench)
    path = bench.root / "formulas" / "HC.yaml"
    path.write_bytes(FORMULA.replace("100,5", "200,5").encode())
    with pytest.raises(ChangedMeanwhile):
        mend(bench, shown)
    assert b"200,5" in path.read_bytes()


def test_nothing_to_mend(bench: Bench) -> None:
    mend(bench, fixes(bench))
    assert fixes(bench.afresh()) == ()
