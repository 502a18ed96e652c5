"""Chances as they may be said aloud: counted down to what they kept in worlds unlike the model's.

The reckoning is too sure of itself where causes act rarely, where batches fail for other reasons
too, or where something moved along unseen; `held` has the measured figures for it. Screens say what
comes out here; the plain reckoning stands in `--explain` and in `--json`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from labbook.evidence.book import Book
from labbook.evidence.causes import (
    Outlook,
    Reckoning,
    Row,
    cleared,
    figure,
    held,
    speaking_sessions,
    word,
)
from labbook.model.batch import Batch


@dataclass(frozen=True)
class Aloud:
    """What may be said of one reckoning.

    Args:
        found: the reckoning.
        sessions: the session of each row, by its name; where a batch with one change failed while
            its repeat beside it held, more may be said.
        counted: the rows as plain counts take them, where parts of one bulk are among them.
    """

    found: Reckoning
    sessions: Mapping[str, str] = field(default_factory=dict)
    counted: tuple[Row, ...] | None = None

    def tried(self, i: int) -> int:
        """In how many sessions suspect i alone made the difference."""
        rows = self.found.rows if self.counted is None else self.counted
        return speaking_sessions(rows, self.sessions, i)

    def chance(self, i: int) -> float:
        """The chance of suspect i as it may be said."""
        return held(self.found.marginals[i], self.found.outside, self.tried(i))

    def word(self, i: int) -> str:
        """`likely`; what nobody cleared is called unlikely, however small its chance."""
        return plain(self.chance(i))

    def figure(self, i: int) -> str:
        """`2 in 5`."""
        return figure(self.chance(i))

    def after(self, i: int, look: Outlook, *, fails: bool) -> float:
        """The chance of suspect i as it may be said once a next batch failed, or held."""
        alone = fails and look.setting[i] and look.changes == 1
        chance = (look.if_fails if fails else look.if_holds)[i]
        outside = look.outside_if_fails if fails else look.outside_if_holds
        return held(chance, outside, self.tried(i) + alone)


def plain(chance: float) -> str:
    """The word for a chance of a suspect that isn't cleared."""
    name = word(chance)
    return "unlikely" if name == "nearly cleared" else name


class _Sessions(Mapping[str, str]):
    def __init__(self, batches: Mapping[str, Batch]) -> None:
        self._batches = batches

    def __getitem__(self, id_: str) -> str:
        session = self._batches[id_].session
        if not session:
            raise KeyError(id_)
        return session

    def __iter__(self) -> Iterator[str]:
        return (id_ for id_, batch in self._batches.items() if batch.session)

    def __len__(self) -> int:
        return sum(1 for _ in self)


def sessions_of(book: Book) -> Mapping[str, str]:
    """The session of each batch that has one, by full id."""
    return _Sessions(book.batches)


__all__ = ["Aloud", "cleared", "figure", "plain", "sessions_of", "word"]
