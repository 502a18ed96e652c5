"""Plain counts beside the reckoning: failures on each side, and rows that differ in one suspect."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from labbook.evidence.causes.types import Row

__all__ = ["CleanPair", "Counts", "clean_pairs", "counts", "speaking_sessions"]


@dataclass(frozen=True, slots=True)
class Counts:
    """For one suspect: rows like the failed batch, rows like the good one, and undecided ones."""

    failed_like: int
    like: int
    failed_unlike: int
    unlike: int
    failed_undecided: int
    undecided: int


@dataclass(frozen=True, slots=True)
class CleanPair:
    """Two rows that differ in one suspect only: the one on its failed side, and the other."""

    like: str
    unlike: str
    like_failed: bool
    unlike_failed: bool

    @property
    def speaks_for(self) -> bool | None:
        """True: only the one on the failed side failed; False: only the other; None: alike."""
        return None if self.like_failed == self.unlike_failed else self.like_failed


def counts(rows: Sequence[Row], i: int, *, left_out: Collection[str] = ()) -> Counts:
    """The counts for suspect i, rows of those names left out."""
    seen = [(row.sides[i], row.failed) for row in rows if row.name not in left_out]
    like = [failed for side, failed in seen if side is True]
    unlike = [failed for side, failed in seen if side is False]
    undecided = [failed for side, failed in seen if side is None]
    return Counts(sum(like), len(like), sum(unlike), len(unlike), sum(undecided), len(undecided))


def clean_pairs(rows: Sequence[Row], i: int) -> tuple[CleanPair, ...]:
    """Pairs of rows on different sides of suspect i, all other sides decided and the same."""
    others: dict[tuple[bool | None, ...], tuple[list[Row], list[Row]]] = {}
    for row in rows:
        side, rest = row.sides[i], row.sides[:i] + row.sides[i + 1 :]
        if side is not None and None not in rest:
            others.setdefault(rest, ([], []))[0 if side else 1].append(row)
    return tuple(
        CleanPair(one.name, other.name, one.failed, other.failed)
        for like, unlike in others.values()
        for one in like
        for other in unlike
    )


def speaking_sessions(rows: Sequence[Row], sessions: Mapping[str, str], i: int) -> int:
    """In how many sessions a batch failed and its control, which differs in suspect i only, held.

    `sessions`: per row's name the session that it was made in; rows without one are no part of any.
    Other rows of the same day share what isn't recorded, which is what makes such a pair speak.
    """
    made: dict[str, list[Row]] = {}
    for row in rows:
        if row.name in sessions:
            made.setdefault(sessions[row.name], []).append(row)
    return sum(
        any(pair.speaks_for for pair in clean_pairs(together, i)) for together in made.values()
    )
