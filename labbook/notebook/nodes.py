"""The text of a file as a tree of positions: every scalar stays what the maker typed.

The tree is built from the parser's events, several times faster than composing it, and nesting is
stopped before the parser goes deep (it crashes on 30,000 brackets).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from labbook.model.problems import Problem, Severity
from labbook.notebook.builder import Builder, Node, plain
from labbook.notebook.explain import syntax_problem
from labbook.notebook.text import FileProblem, decode, error_at, line_and_column

__all__ = ["FileProblem", "Node", "decode", "line_and_column", "parse", "parse_all", "plain"]

MERGE_CONFLICT = "merge-conflict"
_CONFLICT = re.compile(r"^(?:<<<<<<<|>>>>>>>|\|\|\|\|\|\|\|)(?: |\r?$)", re.MULTILINE)


def parse(text: str, path: str) -> Node:
    """The tree of a file.

    Raises:
        FileProblem: with every problem that could be named; the first is a syntax error, a double
            key, a decimal comma, or something of YAML that files of a notebook don't use.
    """
    node, problems = parse_all(text, path)
    errors = tuple(p for p in problems if p.severity is Severity.ERROR)
    if node is None or errors:
        raise FileProblem(errors)
    return node


def parse_all(text: str, path: str) -> tuple[Node | None, tuple[Problem, ...]]:
    """The tree with the problems on the way; None where there is no tree to go on with."""
    from ruamel.yaml.error import MarkedYAMLError

    if conflict := _merge_conflict(text, path):
        return None, (conflict,)
    builder = Builder(text, path)
    try:
        try:
            root = builder.build(_events(builder.body))
            return root, (*builder.problems, *_kept_conflicts(root, path))
        except MarkedYAMLError as error:
            if error.problem != "found unexpected ':'":
                raise
        # The C parser follows YAML 1.1 and refuses `{time: 2026-01-09T14:10+01:00}` unquoted.
        builder = Builder(text, path)
        root = builder.build(_pure_events(builder.body))
        return root, (*builder.problems, *_kept_conflicts(root, path))
    except MarkedYAMLError as error:
        syntax = syntax_problem(error, builder.body, path)
        named = [p for p in builder.problems if p.severity is Severity.ERROR]
        return None, (*named, syntax)
    except FileProblem as error:
        return None, (*builder.problems, *error.problems)


def _merge_conflict(text: str, path: str) -> Problem | None:
    match = _CONFLICT.search(text)
    if match is None:
        return None
    line, column = line_and_column(text, match.start())
    what = "git left both sides of a merge here"
    mend = (
        "The two sides stand between <<<<<<< and >>>>>>>, parted by =======. "
        "Keep what is right and delete the marker lines."
    )
    return error_at(path, line, column, MERGE_CONFLICT, what, mend)


def _kept_conflicts(root: Node, path: str) -> Iterator[Problem]:
    """The places that labbook's own merge could not decide, kept under `conflict` at the end."""
    kept = root.value.get("conflict")
    if kept is None:
        return
    mend = (
        "Put right what stands there and delete what is here; with the last one the key "
        "`conflict` as well. Then: git add, and git commit."
    )
    entries = kept.value if isinstance(kept.value, tuple) else (kept,)
    for entry in entries:
        at = entry.value.get("at") if isinstance(entry.value, dict) else None
        place = f"“{at.value}”" if at is not None else "the same place"
        what = f"two machines changed {place}: one text stands there, the other one is kept here"
        yield error_at(path, entry.line, entry.column, MERGE_CONFLICT, what, mend)


def _events(body: str) -> Iterator[Any]:
    from ruamel import yaml

    compiled = getattr(yaml, "CParser", None)
    if compiled is None:  # an interpreter for which there is no compiled part
        yield from _pure_events(body)
        return
    parser = compiled(body)
    while (event := parser.get_event()) is not None:
        yield event


def _pure_events(body: str) -> Iterator[Any]:
    from ruamel.yaml import YAML

    yield from YAML(typ="safe", pure=True).parse(body)
