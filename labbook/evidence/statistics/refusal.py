"""What stands in place of a result that the numbers don't carry."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Refusal"]


@dataclass(frozen=True, slots=True)
class Refusal:
    """No result, and the sentence that says why and what it would take."""

    why: str
