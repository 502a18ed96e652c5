"""Result of `trust`: which templates of the notebook would run, and whether they may."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class TrustedTemplate:
    """A template: its path, its lines, and whether it stands in for one of the program's."""

    path: str
    lines: int
    replaces: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Trust:
    """All of them under one digest; `trusted` says whether they may run here."""

    templates: tuple[TrustedTemplate, ...]
    digest: str
    trusted: bool
