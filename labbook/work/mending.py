"""`check --fix`: mends what can be mended without guessing, after showing before and after.

So far that is one thing: a decimal comma in a file. The file is written, not committed: what a
person edits by hand is theirs to save.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from labbook.model.results.keeping import Fix
from labbook.work.bench import Bench
from labbook.work.draft import Draft

_COMMA = re.compile(r"([0-9]+),([0-9]+)")


@dataclass(frozen=True, slots=True)
class _Spot:
    line: int
    column: int


def fixes(bench: Bench) -> tuple[Fix, ...]:
    """Every line with a decimal comma, as it is and as it would be, in the order of the files."""
    spots: dict[str, set[_Spot]] = {}
    for problem in bench.snapshot.problems:
        if problem.rule == "decimal-comma":
            place = problem.place
            spots.setdefault(place.path, set()).add(_Spot(place.line, place.column))
    found = []
    draft = Draft(bench.root)
    for path, places in sorted(spots.items()):
        lines = draft.text(path).splitlines(keepends=True)
        for line in sorted({spot.line for spot in places}):
            before = after = lines[line - 1]
            columns = sorted((s.column for s in places if s.line == line), reverse=True)
            for column in columns:  # from the end, so that earlier columns stay true
                after = _pointed(after, column - 1)
            if after != before:
                found.append(Fix(path=path, line=line, before=before, after=after))
    return tuple(found)


def _pointed(line: str, start: int) -> str:
    match = _COMMA.search(line, start)
    if match is None or match.start() > start + 1:
        return line
    return f"{line[: match.start()]}{match[1]}.{match[2]}{line[match.end() :]}"


def mend(bench: Bench, wanted: tuple[Fix, ...]) -> None:
    """Writes the fixes that were shown; a file that changed meanwhile is left alone.

    Raises:
        ChangedMeanwhile: a file is not as it was when the fixes were shown.
    """
    from labbook.model.errors import ChangedMeanwhile
    from labbook.notebook.atomic import write_file

    for path in dict.fromkeys(fix.path for fix in wanted):
        draft = Draft(bench.root)
        old = draft.raw(path)
        lines = draft.text(path).splitlines(keepends=True)
        for fix in (one for one in wanted if one.path == path):
            if len(lines) < fix.line or lines[fix.line - 1] != fix.before:
                raise ChangedMeanwhile(f"{path} changed since it was shown.", where=path)
            lines[fix.line - 1] = fix.after
        write_file(bench.root / path, "".join(lines).encode("utf-8"), expect=old, root=bench.root)
