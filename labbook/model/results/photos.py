"""Photos as they are told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A photo as it is told: `jar` is `7K.1`, or empty for one of the making or the batch.

    `path` leads to the file from the notebook's root; `look` and `step` are ids, or empty.
    """

    id: str
    path: str
    file: str
    day: date
    jar: str
    look: str
    step: str
    caption: str
    private: bool
