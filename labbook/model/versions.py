"""A version of a formula: a numbered content with where it stands in history."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from labbook.model.formula import Formula


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """Version `number` of `code`: the content in the commit that first raised it to that number.

    `same_as` is the earliest number with an equal content; `clashes` holds the commits of further
    contents under the same number (two machines).
    """

    code: str
    number: int
    formula: Formula
    digest: str
    blob: str
    commit: str
    path: str
    when: datetime
    subject: str = ""
    body: str = ""
    same_as: int | None = None
    clashes: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """`SBC@3`."""
        return f"{self.code}@{self.number}"
