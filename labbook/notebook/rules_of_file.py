"""Rules that hold between the lines of one file, and between the file and its name.

They read plain data, so that a slip elsewhere in the file hides none of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import PurePosixPath
from typing import Any, get_args

from labbook.model.fields import Name
from labbook.model.ids import BATCH_ID, CODE
from labbook.model.quantities import QuantityError, parse_number
from labbook.model.sheets import fold

Report = Callable[[str, str, str, str], None]
"""Takes the place (`phases/0/lines/2`), the rule's name, what is wrong, and how to mend it."""

_QS = ("qs", "q.s.", "q.s")
_PREFIXES = {"weighings": "w", "readings": "r", "deviations": "d", "corrections": "c",
             "lines": "l", "steps": "s", "method": "s", "jars": "j", "stays": "p", "looks": "o",
             "accepted": "a", "calibrations": "c", "remarks": "n", "photos": "p",
             "reactions": "e"}  # fmt: skip


def _entries(data: Any, key: str) -> Iterator[tuple[int, dict[str, Any]]]:
    found = data.get(key) if isinstance(data, dict) else None
    for number, entry in enumerate(found if isinstance(found, list) else ()):
        if isinstance(entry, dict):
            yield number, entry


def check_file(kind: str, path: str, data: dict[str, Any], report: Report) -> None:
    """Reports what doesn't fit together within one file, and with its name."""
    _ids_twice(data, "", report)
    _ranges(data, "", report)
    _file_name(kind, path, data, report)
    if kind in ("formula", "trial"):
        _formula(data, report)
    if kind == "batch":
        _batch(data, report)


# Names -----------------------------------------------------------------------------------------


def _file_name(kind: str, path: str, data: dict[str, Any], report: Report) -> None:
    where = PurePosixPath(path)
    if kind == "formula":
        code = data.get("code")
        if isinstance(code, str) and not CODE.fullmatch(code):
            report(
                "code",
                "code",
                f"{code!r} is no code for a jar",
                "Use 2 to 6 capital letters or digits, a letter first: HC, SOFT2.",
            )
        elif isinstance(code, str) and code != where.stem:
            report(
                "code",
                "name-of-file",
                f"the code is {code}, but the file is {where.name}",
                f"Rename the file to {code}.yaml, or write code: {where.stem}",
            )
    elif kind in ("ingredient", "lot", "equipment", "protocol"):
        try:
            get_args(Name)[1].parse(where.stem)
        except ValueError as error:
            report("", "name-of-file", f"the file's name: {error}", "Rename the file.")
    elif kind == "batch":
        _batch_name(where, data.get("id"), report)
    elif kind in ("jars", "stability", "photos", "reactions"):
        batch = data.get("batch")
        if isinstance(batch, str) and batch != where.parent.name:
            report(
                "batch",
                "name-of-file",
                f"the batch is {batch}, but the folder is {where.parent.name}",
                f"Write batch: {where.parent.name}, or move the file.",
            )


def _batch_name(where: PurePosixPath, batch: Any, report: Report) -> None:
    if not isinstance(batch, str):
        return
    match = BATCH_ID.fullmatch(batch)
    folder, year = where.parent.name, where.parent.parent.name
    if match is None:
        report(
            "id",
            "batch-id",
            f"{batch!r} is no batch id",
            "It is made of code, day and two characters: HC-260109-4M.",
        )
    elif batch != folder:
        report(
            "id",
            "name-of-file",
            f"the id is {batch}, but the folder is {folder}",
            f"Rename the folder to {batch}, or write id: {folder}",
        )
    elif match[2][:2] != year[2:]:
        report(
            "id",
            "name-of-file",
            f"{batch} was made in 20{match[2][:2]}, but lies in batches/{year}",
            f"Move the folder to batches/20{match[2][:2]}/.",
        )


# Entries ---------------------------------------------------------------------------------------


def _ids_twice(data: dict[str, Any], at: str, report: Report) -> None:
    """An entry's id names it for ever, so no two entries of a list share one."""
    for key in data:
        seen: set[str] = set()
        for number, entry in _entries(data, key):
            here = f"{at}{key}/{number}"
            found = entry.get("id")
            if isinstance(found, str) and found in seen:
                free = _free(_PREFIXES.get(key, "e"), data[key])
                report(
                    f"{here}/id",
                    "id-twice",
                    f"two entries of {key} have the id {found}",
                    f'Give the later one its own: id: "{free}"',
                )
            if isinstance(found, str):
                seen.add(found)


def _free(prefix: str, entries: list[Any]) -> str:
    used = {str(entry.get("id")) for entry in entries if isinstance(entry, dict)}
    return next(f"{prefix}{n}" for n in range(1, len(used) + 2) if f"{prefix}{n}" not in used)


def _ranges(data: Any, at: str, report: Report) -> None:
    """A range runs from its lower to its upper end."""
    if isinstance(data, list):
        for number, entry in enumerate(data):
            _ranges(entry, f"{at}{number}/", report)
    elif isinstance(data, dict):
        low, high = _number(data.get("from")), _number(data.get("to"))
        if low is not None and high is not None and low > high:
            report(
                f"{at}from",
                "range-backwards",
                f"from {data['from']} is above to {data['to']}",
                "Swap the two.",
            )
        for key, value in data.items():
            if isinstance(value, dict | list):
                _ranges(value, f"{at}{key}/", report)


def _number(text: Any) -> Any:
    try:
        return parse_number(text, signed=True) if isinstance(text, str) else None
    except QuantityError:
        return None


# Formula ---------------------------------------------------------------------------------------


def _formula(data: dict[str, Any], report: Report) -> None:
    phases: set[str] = set()
    qs_at = ""
    for number, phase in _entries(data, "phases"):
        name = phase.get("phase")
        if isinstance(name, str):
            if name in phases:
                report(
                    f"phases/{number}/phase",
                    "phase-twice",
                    f"there are two phases {name}",
                    "Put their lines together, or give the second one another letter.",
                )
            phases.add(name)
        lines: dict[str, str] = {}
        for index, line in _entries(phase, "lines"):
            here = f"phases/{number}/lines/{index}"
            qs_at = _line(line, here, qs_at, report)
            written = line.get("ingredient")
            if not isinstance(written, str):
                continue
            if fold(written) in lines:
                report(
                    f"{here}/ingredient",
                    "line-twice",
                    f"{written} stands twice in phase {name}",
                    "Add the two percents together in one line, or move one to its phase.",
                )
            lines[fold(written)] = here


def _line(line: dict[str, Any], here: str, qs_at: str, report: Report) -> str:
    percent, name = line.get("percent"), line.get("ingredient", "the line")
    if percent in _QS:
        if qs_at:
            report(
                f"{here}/percent",
                "two-qs",
                f"{name}: a second line has qs",
                "Only one line can fill up to 100 %; give this one a number.",
            )
        return qs_at or here
    if percent is None and "active percent" not in line and "adjust" not in line:
        report(
            f"{here}/percent",
            "percent-missing",
            f"{name} has no percent",
            "Write it: percent: 1.5, or qs in the one line that fills up to 100 %.",
        )
    return qs_at


# Batch -----------------------------------------------------------------------------------------


def _batch(data: dict[str, Any], report: Report) -> None:
    lines, steps = _ids(data, "lines"), _ids(data, "steps")
    for key in ("weighings", "readings", "deviations", "remarks"):
        for number, entry in _entries(data, key):
            here, what = f"{key}/{number}", entry.get("id", "an entry")
            if isinstance(entry.get("line"), str) and entry["line"] not in lines:
                report(
                    f"{here}/line",
                    "unknown-line",
                    f"{what}: no line has the id {entry['line']}",
                    f"The lines of this batch: {_listed(lines)}.",
                )
            if isinstance(entry.get("step"), str) and entry["step"] not in steps:
                report(
                    f"{here}/step",
                    "unknown-step",
                    f"{what}: no step has the id {entry['step']}",
                    f"The steps of this batch: {_listed(steps)}.",
                )
            if key == "weighings" and "line" not in entry and "ingredient" not in entry:
                report(
                    here,
                    "weighing-of-nothing",
                    f"{what} doesn't say what was weighed",
                    "Add line: and the id of its line, or ingredient: and a name.",
                )
    if data.get("state") == "closed" and "closed" not in data:
        report(
            "state",
            "closed-without-time",
            "the batch is closed, but no time says when",
            "Write closed: and the time, or state: open",
        )
    if data.get("state") == "open" and "closed" in data:
        report(
            "closed",
            "closed-but-open",
            "a closing time stands here, but the state is open",
            "Write state: closed, or delete the time.",
        )


def _ids(data: dict[str, Any], key: str) -> set[str]:
    """The ids of a list's entries; one that is a group of keys or a list is told elsewhere."""
    found: set[str] = set()
    for _, entry in _entries(data, key):
        ident: Any = entry.get("id")
        if isinstance(ident, str):
            found.add(ident)
    return found


def _listed(ids: set[str]) -> str:
    return ", ".join(sorted(ids)) or "none"
