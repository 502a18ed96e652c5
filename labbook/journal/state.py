"""What was published last: names and digests, kept beside the pages, so that news can be told."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from labbook.journal.publish import PublicJournal
from labbook.model.codec import to_json

FILE = "published.json"
FORMAT = 1
LARGEST = 20_000_000


@dataclass(frozen=True)
class Published:
    """What was published: things, and the files of the site, each with a digest.

    Things go by name: `formula SBC`, `version SBC@3`, `batch …`, `entry …`.
    """

    things: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)


def things_of(journal: PublicJournal) -> dict[str, str]:
    """The names and digests of all that is public."""
    found: dict[str, str] = {}
    for formula in journal.formulas:
        code = formula.formula.code
        head = [formula.formula.title, formula.formula.notes, to_json(formula.formula.acceptance)]
        found[f"formula {code}"] = _digest(head)
        for version in formula.versions:
            found[f"version {version.name}"] = _digest([version.subject, to_json(version.formula)])
    for made in journal.batches:
        parts = [to_json(made.batch), to_json(made.jars), to_json(made.stability)]
        found[f"batch {made.batch.id}"] = _digest(parts)
    for entry in journal.entries:
        found[f"entry {entry.name}"] = _digest([entry.title, str(entry.date), entry.text])
    return found


def _digest(data: Any) -> str:
    text = json.dumps(data, sort_keys=True, ensure_ascii=True, default=str)
    return sha256(text.encode("ascii")).hexdigest()[:16]


def file_digest(raw: bytes) -> str:
    """The digest under which a file of the site is remembered."""
    return sha256(raw).hexdigest()[:16]


def written(things: Mapping[str, str], files: Mapping[str, str]) -> bytes:
    """The file that keeps it."""
    data = {"format": FORMAT, "things": dict(things), "files": dict(files)}
    text = json.dumps(data, sort_keys=True, indent=1, ensure_ascii=True)
    return text.encode("ascii") + b"\n"


def read(raw: bytes | None) -> Published:
    """What the file says; nothing where there is none or it can't be read as one."""
    if raw is None or len(raw) > LARGEST:
        return Published()
    try:
        data = json.loads(raw)
    except ValueError:
        return Published()
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        return Published()
    return Published(_words(data.get("things")), _words(data.get("files")))


def _words(data: object) -> dict[str, str]:
    if not isinstance(data, dict):
        return {}
    return {key: value for key, value in data.items() if isinstance(value, str)}


def news(
    before: Mapping[str, str], now: Mapping[str, str]
) -> tuple[list[str], list[str], list[str]]:
    """What is new, what says something else than before, and what is withdrawn."""
    new = [name for name in now if name not in before]
    changed = [name for name in now if name in before and before[name] != now[name]]
    gone = [name for name in before if name not in now]
    return _ordered(new), _ordered(changed), _ordered(gone)


def _ordered(names: Iterable[str]) -> list[str]:
    return sorted(names)
