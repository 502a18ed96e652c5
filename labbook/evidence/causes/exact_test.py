"""The exact test of two proportions, as a plain cross-check beside the reckoning."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from math import comb

from labbook.evidence.causes.counting import Counts, counts
from labbook.evidence.causes.types import Row

__all__ = ["ExactTest", "exact_tests", "one_sided_exact"]


@dataclass(frozen=True, slots=True)
class ExactTest:
    """One suspect's test: the counts that it saw, and its one-sided p."""

    suspect: int
    counts: Counts
    p: float


def one_sided_exact(failed_like: int, like: int, failed_unlike: int, unlike: int) -> float:
    """How often chance alone gives at least so many failures on the failed side.

    Fisher's exact test, one-sided: of all rows and failures as they are, the share of arrangements
    with at least `failed_like` of the failures among the `like` rows. 1 where a side is empty.
    Raises ValueError where more failed than there are.
    """
    if not 0 <= failed_like <= like or not 0 <= failed_unlike <= unlike:
        raise ValueError(
            f"{failed_like} of {like} and {failed_unlike} of {unlike} failed; "
            "no more can fail than there are"
        )
    failed = failed_like + failed_unlike
    ways = sum(
        comb(like, f) * comb(unlike, failed - f) for f in range(failed_like, min(like, failed) + 1)
    )
    return ways / comb(like + unlike, failed)


def exact_tests(
    rows: Sequence[Row], suspects: int, *, left_out: Collection[str] = ()
) -> tuple[ExactTest, ...]:
    """A test per suspect, smallest p first, rows of those names left out.

    The two batches that were chosen because one failed and the other didn't belong left out. The
    first of the answer is the smallest of so many tests and no more than that.
    """
    tests = []
    for i in range(suspects):
        c = counts(rows, i, left_out=left_out)
        p = one_sided_exact(c.failed_like, c.like, c.failed_unlike, c.unlike)
        tests.append(ExactTest(i, c, p))
    return tuple(sorted(tests, key=lambda t: (t.p, t.suspect)))
