"""One file's bytes to its record, with all problems of the file at once and the place of each key.

What the keys mean stands in the records of `labbook.model`; pydantic, imported here when a file is
read cold, checks every value.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import PurePosixPath
from typing import Any

from labbook.model.kinds import Kind, kind_of
from labbook.model.problems import Place, Problem, Severity
from labbook.model.settings import FORMAT
from labbook.notebook.nodes import FileProblem, Node, decode, parse_all
from labbook.notebook.places import nearest_place
from labbook.notebook.readfile import ReadFile
from labbook.notebook.rules_of_file import check_file
from labbook.notebook.shapes import shape_of
from labbook.notebook.shaping import Shaping
from labbook.notebook.values import validated

__all__ = ["ReadFile", "about_of", "read_file"]


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
    if kind in ("batch", "trial", "jars", "stability", "photos", "reactions"):
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
        if at in shaping.meant:  # a mistyped key stands for it and is named already
            return
        place = nearest_place(path, shaping.places, at.split("/"))
        found.append(Problem(Severity.ERROR, rule, place, what, mend))

    check_file(kind.name, path, data, report)
    return found
