"""Reading the rules of the trade: those of the program, from the cache, and the notebook's own."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from labbook.model.rulebook import RuleBook, rulebook_of
from labbook.model.rules import Rules
from labbook.notebook.cache import read_texts
from labbook.rules.trade import rule_texts


def read_rulebook(root: Path, own: Mapping[str, Rules]) -> RuleBook:
    """All rules that hold in the notebook at a root.

    Raises:
        ValueError: a file of the program is broken, which its tests would have said.
    """
    raws = {f"rules/{name}": text.encode() for name, text in rule_texts().items()}
    found = read_texts(root, "rules", raws)
    broken = [str(problem) for held in found.values() for problem in held.problems]
    if broken:
        raise ValueError("; ".join(broken))
    shipped = (found[path].record for path in raws)
    return rulebook_of((rules for rules in shipped if rules is not None), own.values())
