"""The order of a merged list: what both sides keep stands as it stood, what is new after it.

Nothing here depends on which side is called ours: where two orders are as good, content decides.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass

from labbook.notebook.merge_pieces import Key

Rank = Callable[[Key], tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Gap:
    """What two sides have after an item that both know; `after` is None at the beginning.

    `taken_out` says whether both took an item out here: what is new may stand in its place.
    """

    after: Key | None
    runs: tuple[tuple[Key, ...], tuple[Key, ...]]
    taken_out: bool

    @property
    def both(self) -> bool:
        """Whether each side has something here that the other has not."""
        first, second = (set(run) for run in self.runs)
        return bool(first - second) and bool(second - first)


def spine(
    base: Sequence[Key], ours: Sequence[Key], theirs: Sequence[Key]
) -> tuple[list[Key], bool]:
    """The order of what all three have, and whether the two sides disagree about it."""
    shared = set(base) & set(ours) & set(theirs)
    old, one, two = ([key for key in keys if key in shared] for keys in (base, ours, theirs))
    if one == two or two == old:
        return one, False
    if one == old:
        return two, False
    return min(one, two), True


def gaps(
    order: Sequence[Key],
    base: Sequence[Key],
    ours: Sequence[Key],
    theirs: Sequence[Key],
    kept: Set[Key],
) -> list[Gap]:
    """What stands between the items of the spine, by the item before it."""
    known = set(order)
    runs = [_runs(side, known, kept) for side in (ours, theirs)]
    gone = {key for key in base if key not in set(ours) and key not in set(theirs)}
    lost = _runs(base, known, gone)
    found: list[Gap] = []
    placed: set[Key] = set()
    for after in (None, *order):
        # What both have added stands once, where the first of the two has it.
        one, two = (tuple(k for k in run.get(after, ()) if k not in placed) for run in runs)
        placed |= {*one, *two}
        found.append(Gap(after, (one, two), after in lost))
    return found


def _runs(side: Sequence[Key], known: Set[Key], wanted: Set[Key]) -> Mapping[Key | None, list[Key]]:
    found: dict[Key | None, list[Key]] = {}
    after: Key | None = None
    for key in side:
        if key in known:
            after = key
        elif key in wanted:
            found.setdefault(after, []).append(key)
    return found


def together(gap: Gap, rank: Rank) -> list[Key]:
    """Two runs as one: each keeps its order, the earlier entry first."""
    first, second = (list(run) for run in gap.runs)
    found: list[Key] = []
    while first and second:
        one, two = first[0], second[0]
        if one == two or (two in first) != (one in second):
            # What both have waits until each has come to it.
            taken = two if one in second and one != two else one
        else:
            taken = min(one, two, key=rank)
        found.append(taken)
        first = [key for key in first if key != taken]
        second = [key for key in second if key != taken]
    return [*found, *first, *second]
