"""Starter sheets and templates, copied into the notebook the first time they are used."""

from __future__ import annotations

from collections.abc import Iterable

from labbook.model.sheets import Sheets, fold
from labbook.rules.starters import starter_named, starter_names, starter_parts, starter_text
from labbook.shipped import shipped
from labbook.work.draft import Draft


def near_starters(name: str) -> list[str]:
    """Names of starter sheets that look like a name."""
    from difflib import get_close_matches

    return get_close_matches(fold(name), starter_names(), n=3, cutoff=0.75)


def copy_starters(
    draft: Draft, names: Iterable[str], sheets: Sheets
) -> tuple[list[str], list[str]]:
    """Puts starter sheets for names without a sheet into the draft.

    A blend's components are copied with it. Returns the names copied and the names left unknown.
    """
    copied: list[str] = []
    unknown: list[str] = []
    waiting = list(dict.fromkeys(names))
    for name in waiting:  # grows while it is walked through
        if sheets.find(name) is not None or name in copied:
            continue
        starter = starter_named(name)
        text = starter_text(starter) if starter else None
        if starter is None or text is None:
            unknown.append(name)
            continue
        path = f"ingredients/{starter}.yaml"
        if not draft.exists(path):
            draft.create(path, text)
            copied.append(starter)
            waiting += [part for part in starter_parts(starter) if part not in waiting]
    return copied, unknown


def formula_template(emulsion: str) -> str | None:
    """The text of the starter formula of an emulsion type."""
    path = shipped("templates") / "formulas" / f"{emulsion}.yaml"
    return path.read_text(encoding="utf-8") if path.is_file() else None


def protocol_templates() -> dict[str, str]:
    """Starter protocols by name."""
    folder = shipped("templates") / "protocols"
    return {p.stem: p.read_text(encoding="utf-8") for p in sorted(folder.glob("*.yaml"))}
