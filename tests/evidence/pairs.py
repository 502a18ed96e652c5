"""The labelled pairs as formulas, and their labels as comparable text."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

from labbook.evidence.difference import Difference, LineChange
from labbook.model.fields import QS, key_of
from labbook.model.formula import Formula, Line, Phase, Step, Target
from labbook.model.materials import Ingredient
from labbook.model.quantities import QuantityError, parse_quantity
from labbook.model.sheets import Sheets

_LINE = re.compile(r"(?P<name>\S+) (?P<percent>qs|[0-9.]+)(?: \((?P<role>[^)]+)\))?")
_TEXT = {"id", "do", "add", "into", "rate", "with", "speed", "note"}
_TEXT |= {"of", "reading", "unit"}


@dataclass(frozen=True)
class Labelled:
    """One pair with what somebody expects of it."""

    name: str
    covers: tuple[str, ...]
    a: Formula
    b: Formula
    expected: tuple[str, ...]
    other: tuple[str, ...]
    readings: int


def read() -> tuple[Sheets, tuple[Labelled, ...]]:
    """All pairs of the file beside this one."""
    text = (Path(__file__).parent / "pairs.yaml").read_text(encoding="utf-8")
    data = YAML(typ="base", pure=True).load(text)
    sheets = Sheets({name: _sheet(keys) for name, keys in data["sheets"].items()})
    return sheets, tuple(_labelled(entry) for entry in data["pairs"])


def _sheet(keys: Mapping[str, Any]) -> Ingredient:
    return Ingredient(
        id=keys["id"],
        functions=tuple(keys["functions"]),
        also=tuple(keys.get("also", ())),
    )


def _labelled(entry: Mapping[str, Any]) -> Labelled:
    return Labelled(
        entry["pair"],
        tuple(entry["covers"]),
        _formula(entry, "before"),
        _formula(entry, "after"),
        tuple(entry["expected"]),
        tuple(entry.get("other", ())),
        int(entry.get("readings", 0)),
    )


def _formula(entry: Mapping[str, Any], side: str) -> Formula:
    return formula(
        entry[side],
        method=[_record(Step, step) for step in entry.get(f"method {side}", ())],
        targets=[_record(Target, target) for target in entry.get(f"targets {side}", ())],
        **entry.get(f"other {side}", {}),
    )


def formula(
    phases: Mapping[str, str],
    method: Sequence[Step] = (),
    targets: Sequence[Target] = (),
    **other: Any,
) -> Formula:
    """A small formula from lines in one text per phase."""
    keys: dict[str, Any] = {"title": "Hand cream for throwers"} | other
    return Formula(
        code="HC",
        id="f-hc",
        emulsion="oil-in-water",
        phases=tuple(
            Phase(phase=letter, lines=tuple(_line(one) for one in text.split(", ")))
            for letter, text in phases.items()
        ),
        method=tuple(method),
        targets=tuple(targets),
        **keys,
    )


def _line(text: str) -> Line:
    found = _LINE.fullmatch(text)
    assert found, text
    percent = QS if found["percent"] == "qs" else Decimal(found["percent"])
    return Line(ingredient=found["name"], percent=percent, role=found["role"])


def _record(kind: type[Any], keys: Mapping[str, Any]) -> Any:
    """A step or target from the keys of a file."""
    names = {key_of(name): name for name in kind.__dataclass_fields__}
    return kind(**{names[key]: _value(key, value) for key, value in keys.items()})


def _value(key: str, value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: _value("", one) for name, one in value.items()}
    if key in _TEXT:
        return value
    try:
        return parse_quantity(value)
    except QuantityError:
        return Decimal(value)


def labels_of(found: Difference) -> list[str]:
    """What the program says, in the words of the labels."""
    labels = [_label(line) for line in found.lines]
    for step in found.method:
        word = "reordered" if step.change == "moved" else step.change
        keys = ", ".join(key.key for key in step.keys)
        shown = f": {keys}" if keys and word in ("changed", "reordered") else ""
        labels.append(f"step {step.step} {word}{shown}")
    for target in found.targets:
        keys = ", ".join(key.key for key in target.keys)
        shown = f": {keys}" if target.change == "changed" else ""
        labels.append(f"target {target.of} {target.reading} {target.change}{shown}")
    return labels


def _label(line: LineChange) -> str:
    what = {
        "added": f"{line.to_ingredient} added in {line.to_phase}",
        "removed": f"{line.from_ingredient} removed in {line.from_phase}",
        "changed": f"{line.to_ingredient} changed in {line.to_phase}",
        "moved": f"{line.to_ingredient} moved from {line.from_phase} to {line.to_phase}",
        "substituted": f"{line.from_ingredient} replaced by {line.to_ingredient} in "
        f"{line.to_phase}",
    }[line.change]
    return f"{what}, {line.kind}"


def points_of(label: str) -> Fraction | None:
    """The change in points at the end of a label, if there is one."""
    found = re.search(r", ([+-]?[0-9.]+)$", label)
    return Fraction(found[1]) if found else None


def without_points(label: str) -> str:
    """The label without the figure at its end."""
    return re.sub(r", [+-]?[0-9.]+$", "", label)
