"""Reading the rules of the trade: those of the program, from the cache, and the notebook's own."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from labbook.model.rulebook import RuleBook, rulebook_of
from labbook.model.rules import Rules
from labbook.notebook.cache import Cache
from labbook.notebook.readfile import ReadFile
from labbook.notebook.snapshot import content_hash, read_bytes
from labbook.rules.trade import rule_texts


def read_rulebook(root: Path, own: Mapping[str, Rules]) -> RuleBook:
    """All rules that hold in the notebook at a root.

    Raises:
        ValueError: a file of the program is broken, which its tests would have said.
    """
    raws = {f"rules/{name}": text.encode() for name, text in rule_texts().items()}
    keys = {path: ("rules", content_hash(raw)) for path, raw in raws.items()}
    cache = Cache(root)
    try:
        stored = cache.contents(keys.values())
        found = {p: ReadFile.from_json(stored[key]) for p, key in keys.items() if key in stored}
        fresh: dict[tuple[str, str], Any] = {}
        for path, raw in raws.items():
            if path not in found:
                found[path] = read_bytes(path, raw)
                fresh[keys[path]] = found[path].as_json()
        cache.remember({}, fresh)
    finally:
        cache.close()
    broken = [str(problem) for held in found.values() for problem in held.problems]
    if broken:
        raise ValueError("; ".join(broken))
    shipped = (found[path].record for path in raws)
    return rulebook_of((rules for rules in shipped if rules is not None), own.values())
