"""A file as read, and as the cache keeps it; imported by commands that read nothing cold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from labbook.model.codec import from_json, to_json
from labbook.model.kinds import KINDS
from labbook.model.problems import Place, Problem, Severity
from labbook.notebook.places import nearest_place


@dataclass(frozen=True)
class ReadFile:
    """A file as read: its record, or None where an error keeps it from being one.

    `places` has line and column by names like `phases/0/lines/2/percent`, in the long form.
    """

    path: str
    kind: str
    record: Any | None = None
    problems: tuple[Problem, ...] = ()
    places: Mapping[str, tuple[int, int]] = field(default_factory=dict)

    def place(self, *steps: str | int) -> Place:
        """Where a key or entry stands; where it is absent, the nearest thing that holds it."""
        return nearest_place(self.path, self.places, steps)

    def as_json(self) -> dict[str, Any]:
        """Plain data that `from_json` reads without pydantic."""
        return {
            "path": self.path,
            "kind": self.kind,
            "record": None if self.record is None else to_json(self.record),
            "problems": [_problem_json(p) for p in self.problems],
            "places": {key: list(place) for key, place in self.places.items()},
        }

    @classmethod
    def from_json(
        cls, data: Mapping[str, Any], places: Mapping[str, tuple[int, int]] | None = None
    ) -> ReadFile:
        """What `as_json` was made from; the data are the program's own.

        Args:
            data: what it gave, its places left out where they are handed over apart.
            places: where each key stands.
        """
        record = data["record"]
        if record is not None:
            record = from_json(KINDS[data["kind"]].record, record)
        problems = tuple(_problem_from(one) for one in data["problems"])
        if places is None:
            places = {key: (line, column) for key, (line, column) in data["places"].items()}
        return cls(data["path"], data["kind"], record, problems, places)


def _problem_json(problem: Problem) -> list[Any]:
    place = problem.place
    return [
        problem.severity.value,
        problem.rule,
        place.path,
        place.line,
        place.column,
        problem.what,
        problem.mend,
        problem.source,
        problem.about,
    ]


def _problem_from(data: list[Any]) -> Problem:
    severity, rule, path, line, column, *rest = data
    return Problem(Severity(severity), rule, Place(path, line, column), *rest)


LARGEST = 2 * 1024 * 1024


def read_bytes(path: str, raw: bytes) -> ReadFile:
    """One file from its bytes, cold."""
    from labbook.notebook.validate import read_file

    return read_file(raw, path)


def read_raw(path: Path) -> bytes:
    """The bytes of a file, one more than the largest allowed at most, so that size is seen."""
    with path.open("rb") as file:
        return file.read(LARGEST + 1)


def unreadable(path: str, kind: str, error: OSError) -> ReadFile:
    """A file that the system doesn't give out."""
    what = f"{path} can't be read: {error.strerror}."
    problem = Problem(Severity.ERROR, "unreadable-file", Place(path), what, "Look at its rights.")
    return ReadFile(path, kind, None, (problem,))
