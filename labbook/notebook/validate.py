"""One file's bytes to its record, with all problems of the file at once and the place of each key.

What the keys mean stands in the records of `labbook.model`; pydantic, imported here when a file is
read cold, checks every value.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import PurePosixPath
from typing import Any

from labbook.model.codec import from_json, to_json
from labbook.model.kinds import KINDS, Kind, kind_of
from labbook.model.problems import Place, Problem, Severity
from labbook.model.settings import FORMAT
from labbook.notebook.nodes import FileProblem, Node, decode, parse_all
from labbook.notebook.places import nearest_place
from labbook.notebook.rules_of_file import check_file
from labbook.notebook.shapes import shape_of
from labbook.notebook.shaping import Shaping
from labbook.notebook.values import validated


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
    def from_json(cls, data: Mapping[str, Any]) -> ReadFile:
        """What `as_json` was made from; the data are the program's own."""
        record = data["record"]
        if record is not None:
            record = from_json(KINDS[data["kind"]].record, record)
        problems = tuple(_problem_from(one) for one in data["problems"])
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


# Reading ---------------------------------------------------------------------------------------


def read_file(raw: bytes, path: str, *, format_of: int = FORMAT) -> ReadFile:
    """Reads one file of a notebook; whatever is wrong with it is in `problems`, nothing is raised.

    Args:
        raw: the bytes of the file.
        path: its path from the notebook's root, with forward slashes; the kind follows from it.
        format_of: the format that the notebook's `labbook.yaml` names.
    """
    kind = kind_of(path)
    if kind is None:
        what = "no kind of file of a notebook stands at this path"
        problem = Problem(Severity.ERROR, "unknown-file", Place(path), what)
        return ReadFile(path, "", None, (problem,))
    about = about_of(kind.name, path)
    try:
        text = decode(raw, path)
    except FileProblem as error:
        return ReadFile(path, kind.name, None, _about(error.problems, about))
    node, problems = parse_all(text, path)
    if node is None:
        return ReadFile(path, kind.name, None, _about(problems, about))
    newer = _newer(node, kind, path, format_of)
    if newer is not None:
        return ReadFile(path, kind.name, None, _about((newer,), about))
    shaping = Shaping(path)
    data = shaping.data(node, shape_of(kind.record))
    record, wrong = validated(kind, data, shaping)
    found = [*problems, *shaping.problems, *wrong, *_cross_line(kind, path, data, shaping)]
    found = sorted(set(found), key=lambda p: p.sort_key)
    if any(p.severity is Severity.ERROR for p in found):
        record = None
    return ReadFile(path, kind.name, record, _about(found, about), shaping.places)


def about_of(kind: str, path: str) -> str:
    """The formula, batch or sheet that a file is about."""
    where = PurePosixPath(path)
    if kind in ("batch", "jars", "stability"):
        return where.parent.name
    return "" if kind == "notebook" else where.stem


def _about(problems: Iterable[Problem], about: str) -> tuple[Problem, ...]:
    return tuple(replace(problem, about=about) for problem in problems)


def _newer(node: Node, kind: Kind, path: str, format_of: int) -> Problem | None:
    """The format is tested before anything else: what it changed can't be known here."""
    place = Place(path)
    written = format_of
    if kind.name == "notebook" and (found := node.value.get("format")):
        place = Place(path, found.line, found.column)
        text = found.value if isinstance(found.value, str) else ""
        written = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else FORMAT
    if written <= FORMAT:
        return None
    what = f"the notebook has format {written}; this labbook reads up to {FORMAT}"
    mend = "Install a newer one: pip install --upgrade emulsion-labbook"
    return Problem(Severity.ERROR, "newer-format", place, what, mend)


def _cross_line(kind: Kind, path: str, data: Any, shaping: Shaping) -> list[Problem]:
    found: list[Problem] = []

    def report(at: str, rule: str, what: str, mend: str) -> None:
        place = nearest_place(path, shaping.places, at.split("/"))
        found.append(Problem(Severity.ERROR, rule, place, what, mend))

    check_file(kind.name, path, data, report)
    return found
