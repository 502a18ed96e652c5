"""The program against pairs that a person labelled before it was there (`pairs.yaml`)."""

from collections import Counter

import pytest

from labbook.evidence.difference import difference
from tests.evidence.pairs import Labelled, labels_of, points_of, read, without_points

SHEETS, PAIRS = read()
CASES = (
    "added", "removed", "substituted", "moved", "deliberate", "balancing", "proportional",
    "undecided", "split or joined", "two phases", "renamed", "hydrate or grade", "typed-equal",
    "trailing zeros", "step changed", "step added", "step removed", "step reordered",
    "target changed", "nothing",
)  # fmt: skip


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: pair.name)
def test_the_program_says_what_the_person_said(pair: Labelled) -> None:
    found = difference(pair.a, pair.b, SHEETS, a_name="HC@1", b_name="HC@2")
    assert sorted(labels_of(found)) == sorted(map(without_points, pair.expected))
    assert len(found.readings) == pair.readings
    assert sorted(one.path[-1] for one in found.other) == sorted(pair.other)
    points = {without_points(label): points_of(label) for label in pair.expected}
    for label, line in zip(labels_of(found), found.lines, strict=False):
        assert points[label] in (None, line.points), label


def test_every_case_has_five_pairs_or_more() -> None:
    counts = Counter(case for pair in PAIRS for case in pair.covers)
    assert set(counts) == set(CASES)
    assert min(counts.values()) >= 5, counts
    assert len(PAIRS) >= 60
    assert len({pair.name for pair in PAIRS}) == len(PAIRS)
