"""The digest that names a formula's content.

SHA-256 over a label and canonical JSON of what the jar is made from and how: emulsion, use, phases
(lines by ingredient id, percents as exact fractions, without order; 1 h and 60 min are both
`3600 s`: quantities stand in °C, g, ml, s, mm), the method in order, targets.
Title, notes, acceptance, comments, roles and the long or short form of lines don't count. A key
that is absent is absent, never its default: a field that a later version adds changes no digest of
today (test vectors are frozen in `tests/model/digest_vectors.json`).
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from typing import Any

from labbook.model.fields import key_of
from labbook.model.formula import Formula, Line
from labbook.model.quantities import Quantity
from labbook.model.sheets import Sheets

LABEL = "labbook-digest-1"
_NOT_COUNTED = frozenset({"note", "role"})


def _plain(value: Any) -> Any:
    """A record as canonical plain data: absent stays absent, numbers become exact fractions."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Quantity):
        amount, unit = value.base
        return f"{amount} {unit}"
    if isinstance(value, Decimal):
        return str(Fraction(value))
    if isinstance(value, date):
        return value.isoformat()
    if is_dataclass(value):
        pairs = ((key_of(f.name), getattr(value, f.name)) for f in fields(value))
        return {k: _plain(v) for k, v in pairs if v is not None and k not in _NOT_COUNTED}
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(v) for v in value]
    return value


def _line(line: Line, sheets: Sheets) -> dict[str, Any]:
    content: dict[str, Any] = _plain(line)
    content["ingredient"] = sheets.id_of(line.ingredient)
    return content


def canonical(formula: Formula, sheets: Sheets) -> str:
    """The canonical JSON of a formula's content: keys sorted, no spaces, non-ASCII escaped."""
    content: dict[str, Any] = {"emulsion": formula.emulsion}
    if formula.use is not None:
        content["use"] = formula.use
    lines = [{"phase": p.phase, **_line(line, sheets)} for p, line in formula.lines]
    content["lines"] = sorted(lines, key=lambda line: json.dumps(line, sort_keys=True))
    if formula.method:
        content["method"] = _plain(formula.method)
    if formula.targets:
        targets = _plain(formula.targets)
        content["targets"] = sorted(targets, key=lambda target: json.dumps(target, sort_keys=True))
    return json.dumps(content, sort_keys=True, separators=(",", ":"))


def digest(formula: Formula, sheets: Sheets) -> str:
    """The digest in lower-case hexadecimal, 64 characters."""
    text = f"{LABEL}\n{canonical(formula, sheets)}"
    return hashlib.sha256(text.encode("ascii")).hexdigest()
