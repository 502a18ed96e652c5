"""The starter sheets: one ingredient sheet per generic material, copied into a notebook on use.

They are files of the package, `ingredients/NAME.yaml`, in the format of a notebook's own sheets.
Every figure names its source; "from memory" and "common practice, no source" are said as such.
"""

from __future__ import annotations

import json
import re
from functools import cache
from typing import TYPE_CHECKING

from labbook.model.sheets import fold

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

_SUFFIX = ".yaml"
_OTHER_NAMES = "also: "
_PART = re.compile(r'  - \{ingredient: "([^"]+)"')


def _folder() -> Traversable:
    from importlib.resources import files  # here, because it loads tempfile and zipfile

    return files(__package__).joinpath("ingredients")


@cache
def starter_names() -> tuple[str, ...]:
    """The names of all starter sheets, sorted; each is also the `id` in its sheet."""
    found = (file.name for file in _folder().iterdir())
    return tuple(sorted(name.removesuffix(_SUFFIX) for name in found if name.endswith(_SUFFIX)))


def starter_text(name: str) -> str | None:
    """The sheet of that name as a file's text; None where no starter sheet has it.

    Capitals, spaces and hyphens make no difference: `Sweet Almond Oil` is `sweet-almond-oil`.
    Other names of a material are looked up by `starter_named`.
    """
    known = {fold(starter): starter for starter in starter_names()}
    found = known.get(fold(name))
    if found is None:
        return None
    return _folder().joinpath(found + _SUFFIX).read_text(encoding="utf-8")


def starter_named(name: str) -> str | None:
    """The starter sheet that a name means: `Aqua` is `water`; None where it means none."""
    return _by_any_name().get(fold(name))


def starter_parts(name: str) -> tuple[str, ...]:
    """The components of a starter sheet that is a blend and that have a starter sheet too."""
    found = []
    inside = False
    for line in (starter_text(name) or "").splitlines():
        inside = line.startswith("contains:") or (inside and line.startswith(" "))
        match = _PART.match(line) if inside else None
        if match and starter_text(match[1]) is not None:
            found.append(match[1])
    return tuple(found)


@cache
def _by_any_name() -> dict[str, str]:
    table = {fold(starter): starter for starter in starter_names()}
    for starter in starter_names():
        for other in _other_names(starter_text(starter) or ""):
            table.setdefault(fold(other), starter)
    return table


def _other_names(sheet: str) -> list[str]:
    """The `also:` of a starter sheet, which is one line that reads as JSON too: no YAML needed."""
    for line in sheet.splitlines():
        if line.startswith(_OTHER_NAMES):
            names: list[str] = json.loads(line.removeprefix(_OTHER_NAMES))
            return names
    return []
