"""Two machines, edits in random order: both end alike, and nothing is lost.

`python -m tests.notebook.two_machines 500` runs more of them and prints the counts.
"""

from __future__ import annotations

from collections import Counter

from tests.notebook.two_machines import LISTS, interleaving

INTERLEAVINGS = 80
COLLIDING = 0.2
"""The least share of edits that touch what the other machine has touched and not sent."""


def test_both_machines_end_alike_and_nothing_is_lost() -> None:
    total: Counter[str] = Counter()
    for seed in range(INTERLEAVINGS):
        total += interleaving(seed).seen
    assert total["colliding"] >= COLLIDING * total["edits"]
    assert total["merges with a conflict"] > 0
    assert total["entries renamed"] > 0
    assert total["numbers given"] > 0
    for kind in ("comment", "line", *(f"entry of {name}" for _, name, _ in LISTS)):
        given_up = total[f"given up in a conflict: {kind}"]
        assert total[f"kept: {kind}"] + given_up == total[kind] > 0, kind
