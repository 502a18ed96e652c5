"""`ingredient swaps` on the sample notebook: history first, then what the sheets say."""

from __future__ import annotations

import json
from pathlib import Path

from tests.conftest import RunLabbook
from tests.e2e.bench import ended


def test_a_swap_of_ones_own_stands_first_with_what_became_of_it(
    run_labbook: RunLabbook, sample: Path
) -> None:
    shown = ended(run_labbook("ingredient", "swaps", "isopropyl-myristate", cwd=sample), 0).out
    assert "SBC@4 → SBC@5" in shown
    assert "SBC@4: N6 intact on day 28" in shown
    assert shown.index("so far") < shown.index("by sheet")

    words = ("ingredient", "swaps", "isopropyl-myristate", "caprylic-capric-triglyceride")
    found = json.loads(ended(run_labbook(*words, "--json", cwd=sample), 0).out)
    assert [one["after"] for one in found["own"]] == ["SBC@5"]
    assert all(len(row) == 4 for row in found["rows"])

    for name in ("nowhere-oil", "isopropyl-myristat"):
        done = ended(run_labbook("ingredient", "swaps", name, cwd=sample), 2)
        assert f"There is no sheet for {name}." in done.err
