"""Result of `help RULE`: what a rule says, from which figures on, and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleHelp:
    """One rule as it holds here.

    `kind` is what it is in words (`a limit of law`, `what doesn't go together`); `figures` are its
    thresholds, with units; `scope` the emulsion types, empty for all. `own` is where the notebook
    brought or changed it (`rules/studio.yaml:12:5`), empty for the program's own. `acceptable` says
    whether a finding may be accepted, `changeable` whether a notebook may change the rule.
    """

    rule: str
    kind: str
    severity: str
    title: str
    figures: tuple[tuple[str, str], ...] = ()
    scope: tuple[str, ...] = ()
    why: str = ""
    mend: str = ""
    source: str = ""
    own: str = ""
    accepted: tuple[str, ...] = ()
    acceptable: bool = True
    changeable: bool = True
