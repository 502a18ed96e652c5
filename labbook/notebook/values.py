"""Plain data to a record by pydantic, each refusal in a maker's words.

pydantic is imported when a file is read cold; one adapter per kind of file is kept.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from functools import cache
from typing import TYPE_CHECKING, Any, get_args

from labbook.model.fields import Number, Percent, SignedNumber
from labbook.model.kinds import KINDS, Kind
from labbook.model.problems import Place, Problem, Severity
from labbook.notebook.keys import nearest
from labbook.notebook.places import nearest_place
from labbook.notebook.shapes import Shape, shape_of
from labbook.notebook.shaping import Shaping

if TYPE_CHECKING:
    from pydantic import TypeAdapter


@cache
def _adapter(kind: str) -> TypeAdapter[Any]:
    from pydantic import TypeAdapter

    return TypeAdapter(KINDS[kind].record)


def validated(kind: Kind, data: Any, shaping: Shaping) -> tuple[Any | None, list[Problem]]:
    """The record that the data make, or None with everything that is wrong in them."""
    from pydantic import ValidationError

    try:
        return _adapter(kind.name).validate_python(data), []
    except ValidationError as error:
        details = error.errors(include_url=False)
    guessed = [d for d in details if "/".join(map(str, d["loc"])) in shaping.meant]
    told = [d for d in details if d not in guessed or d["type"] != "missing"]
    return None, [_explained(detail, kind, data, shaping) for detail in told]


def record_or_place(kind: Kind, data: Any) -> tuple[Any | None, tuple[str | int, ...] | None]:
    """The record that the data make, or None and the place of the first thing that doesn't fit."""
    from pydantic import ValidationError

    try:
        return _adapter(kind.name).validate_python(data), None
    except ValidationError as error:
        loc: tuple[str | int, ...] = error.errors(include_url=False)[0]["loc"]
        return None, loc


def _explained(detail: Mapping[str, Any], kind: Kind, data: Any, shaping: Shaping) -> Problem:
    loc: tuple[str | int, ...] = detail["loc"]
    place = nearest_place(shaping.path, shaping.places, loc)
    said, label = detail["type"], _label(data, loc)
    shape = _shape_at(shape_of(kind.record), loc)
    if said == "missing":
        name = "/".join(map(str, loc))
        if name in shaping.empty:
            place = Place(shaping.path, *shaping.empty[name])
        what = f"{label} is missing"
        mend = f"Add it: {loc[-1]}: {_example(shape)}"
        return Problem(Severity.ERROR, "missing-key", place, what, mend)
    if said == "maker":
        why = str(detail["msg"])
        rule = "decimal-comma" if "decimal comma" in why else "wrong-value"
        return Problem(Severity.ERROR, rule, place, f"{label}: {why}", _mend(shape, detail, why))
    wanted = {"tuple_type": "a list", "dict_type": "a group of keys"}.get(said, "a group of keys")
    how = "Begin each entry with a dash." if said == "tuple_type" else "Write {KEY: VALUE, …}."
    return Problem(Severity.ERROR, "wrong-value", place, f"{label}: {wanted} belongs here", how)


def _label(data: Any, loc: tuple[str | int, ...]) -> str:
    """What a maker calls the place: `percent of beeswax`, `set A of s1`."""
    entry: Any = data
    name, since = "", 0
    for number, step in enumerate(loc):
        try:
            entry = entry[step]
        except (KeyError, IndexError, TypeError):
            break
        if isinstance(step, int) and isinstance(entry, dict):
            keys = ("ingredient", "id", "phase", "of", "condition", "batch")
            sure = [k for k in keys if isinstance(entry.get(k), str) and k != loc[-1]]
            number_of = f"entry {step + 1} of {loc[number - 1]}"
            name, since = entry[sure[0]] if sure else number_of, number + 1
    tail = [str(step) for step in loc[since:] if isinstance(step, str)]
    words = " ".join(tail) or "this entry"
    return f"{words} of {name}" if name else words


def _shape_at(shape: Shape, loc: Iterable[str | int]) -> Shape | None:
    here: Shape | None = shape
    for step in loc:
        if here is None:
            return None
        here = here.item if here.form in ("list", "map") else here.keys.get(str(step))
    return here


_PERCENT = get_args(Percent)[1]
_NUMBERS = (get_args(Number)[1], get_args(SignedNumber)[1])


def _words(shape: Shape | None) -> list[str]:
    if shape is None or shape.marker is None:
        return []
    words: list[Any] = json.loads(shape.marker.schema).get("enum", [])
    return [word for word in words if isinstance(word, str)]


def _example(shape: Shape | None) -> str:
    words = _words(shape)
    return " or ".join(words[:3]) + (" …" if len(words) > 3 else "") if words else "…"


def _mend(shape: Shape | None, detail: Mapping[str, Any], why: str) -> str:
    marker = shape.marker if shape else None
    if marker is not None and "is not a number" in why:
        if marker == _PERCENT:
            return "Write digits with a point, like 0.8, or qs in the line that fills up."
        if marker in _NUMBERS:
            return "Write digits with a point, like 0.8."
    near = nearest(str(detail.get("input", "")), _words(shape))
    return f"Write {near}, if that is meant." if near else ""
