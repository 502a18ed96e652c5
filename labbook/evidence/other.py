"""What differs between two formulas beside lines, steps and targets: words, limits, unknown keys.

Compared as plain data by `deepdiff`, with lists matched by id. Before that every scalar is turned
into its JSON text, so that 1 and "1", 2 and 2.0 stay apart, in lists too.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from labbook.model.fields import Qs, key_of
from labbook.model.formula import Formula
from labbook.model.moments import Moment, write_moment
from labbook.model.quantities import Quantity
from labbook.model.sheets import Sheets
from labbook.trade.exact import decimal_text

_ELSEWHERE = frozenset({"code", "id", "version", "public", "phases", "method", "targets"})
_NAMES = ("id", "condition", "phase", "ingredient", "jar")


@dataclass(frozen=True, slots=True)
class OtherChange:
    """Something else that differs: the keys that lead to it, and the value before and after.

    None stands for a key that isn't there.
    """

    path: tuple[str, ...]
    before: Any
    after: Any

    @property
    def what(self) -> str:
        """The keys in one phrase: `acceptance room until`."""
        return " ".join(self.path)

    def to_plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {"what": self.what, "from": self.before, "to": self.after}


def other_difference(
    a: Formula, b: Formula, sheets: Sheets, extra: tuple[Mapping[str, Any], Mapping[str, Any]]
) -> tuple[OtherChange, ...]:
    """All that the parts of their own don't hold, in the order of their keys.

    `extra` are keys of the files that the format doesn't know, as plain data.
    """
    both = _names(a, sheets) & _names(b, sheets)
    old, new = _data_of(a, sheets, both), _data_of(b, sheets, both)
    return compared({**extra[0], **old}, {**extra[1], **new})


def _names(formula: Formula, sheets: Sheets) -> set[str]:
    return {sheets.id_of(line.ingredient) for _, line in formula.lines}


def _data_of(formula: Formula, sheets: Sheets, both: set[str]) -> dict[str, Any]:
    named = {key_of(f.name): getattr(formula, f.name) for f in fields(formula)}
    data = {key: plain(v) for key, v in named.items() if key not in _ELSEWHERE}
    data["phase"] = {p.phase: {"name": p.name} for p in formula.phases if p.name}
    data["step"] = {step.id: {"note": step.note} for step in formula.method if step.note}
    data = {key: value for key, value in data.items() if value}
    return data | {"line": _lines(formula, sheets, both)}


def _lines(formula: Formula, sheets: Sheets, both: set[str]) -> dict[str, Any]:
    """What lines of ingredients in `both` say beside their amount, by the name of today."""
    found: dict[str, list[dict[str, Any]]] = {}
    for _, line in formula.lines:
        sheet = sheets.id_of(line.ingredient)
        if sheet in both:
            own = {
                "percent": plain(line.percent) if isinstance(line.percent, Qs) else None,
                "active percent": plain(line.active_percent),
                "adjust": line.adjust,
                "role": line.role,
                "note": line.note,
            }
            said = {key: value for key, value in own.items() if value is not None}
            found.setdefault(sheets.name_of(sheet), []).extend([said] if said else [])
    for entries in found.values():
        entries.sort(key=repr)
    return {name: own[0] if len(own) == 1 else own or {} for name, own in found.items()}


def plain(value: Any) -> Any:
    """A record as plain data with the keys of the file; equal numbers have one form."""
    if isinstance(value, Decimal):
        return decimal_text(Fraction(value))
    if isinstance(value, Quantity):
        return f"{decimal_text(Fraction(value.value))} {value.unit}"
    if isinstance(value, Qs):
        return value.value
    if isinstance(value, Moment):
        return write_moment(value)
    if is_dataclass(value):
        pairs = ((key_of(f.name), getattr(value, f.name)) for f in fields(value))
        return {key: plain(v) for key, v in pairs if v is not None and v != ()}
    if isinstance(value, Mapping):
        return {str(key): plain(v) for key, v in value.items()}
    if isinstance(value, tuple | list):
        return [plain(v) for v in value]
    return value


def compared(before: Any, after: Any) -> tuple[OtherChange, ...]:
    """Where two plain data differ; a type that differs counts, in lists too."""
    old, new = _keyed(before), _keyed(after)
    if old == new:
        return ()
    from deepdiff import DeepDiff

    tree = DeepDiff(old, new, view="tree", threshold_to_diff_deeper=0)
    found = [
        OtherChange(
            tuple(str(step) for step in change.path(output_format="list")),
            _back(change.t1),
            _back(change.t2),
        )
        for changes in tree.values()
        for change in changes
    ]
    return tuple(sorted(found, key=lambda one: one.path))


def _keyed(value: Any) -> Any:
    """Plain data with scalars as JSON text, and lists of entries as mappings by their id."""
    if isinstance(value, Mapping):
        return {str(key): _keyed(v) for key, v in value.items()}
    if isinstance(value, tuple | list):
        names = [_name(entry) for entry in value]
        if names and all(names) and max(Counter(names).values()) == 1:
            return {name: _keyed(entry) for name, entry in zip(names, value, strict=True)}
        return [_keyed(entry) for entry in value]
    return json.dumps(value, ensure_ascii=False, default=str)


def _name(entry: Any) -> str:
    """What a list entry goes by: its id, else what else names it; nothing for a bare value."""
    if not isinstance(entry, Mapping):
        return ""
    given = [str(entry[key]) for key in (*_NAMES, "reading") if key in entry]
    return given[0] if "id" in entry else " ".join(given)


def _back(value: Any) -> Any:
    """The value that `_keyed` was made from, lists of entries staying mappings."""
    if isinstance(value, Mapping):
        return {key: _back(v) for key, v in value.items()}
    if isinstance(value, list):
        return [_back(v) for v in value]
    return json.loads(value) if isinstance(value, str) else None
