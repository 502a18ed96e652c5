"""The screen of `help RULE`."""

from __future__ import annotations

from labbook.model.results.rules import RuleHelp
from labbook.show.layout import Screen

CAUSE = "a cause that the trade knows"


def rule_screen(result: RuleHelp, screen: Screen) -> str:
    """What a rule says, its figures, why, what to do, and its source."""
    screen.title(result.rule, result.severity)
    screen.blank()
    screen.row("", f"{_sentence(result.title)}")
    screen.row("", f"It is {result.kind}{_scope(result)}.")
    if result.figures:
        screen.blank()
        for number, (name, figure) in enumerate(result.figures):
            screen.row("" if number else "figures", f"{name}: {figure}")
    for word, text in (("why", result.why), ("do", result.mend), ("source", result.source)):
        if text:
            screen.blank()
            screen.row(word, _sentence(text) if word != "source" else text)
    screen.blank()
    if result.own:
        screen.row("yours", f"this notebook brought or changed it: {result.own}")
    for number, one in enumerate(result.accepted):
        screen.row("" if number else "accepted", one)
    if result.severity == "off":
        screen.row("off", "it is switched off here and says nothing")
    if result.changeable and result.kind != CAUSE:
        screen.row("to change", "in a file rules/NAME.yaml of your notebook, for instance")
        screen.row("", f"checks:\n  - {{rule: {result.rule}, severity: off}}")
    if result.acceptable:
        screen.blank()
        screen.then([(f'labbook check --accept {result.rule} NAME -m "..."', "")])
    return screen.text()


def _scope(result: RuleHelp) -> str:
    return f", for {' and '.join(result.scope)}" if result.scope else ""


def _sentence(text: str) -> str:
    """With a capital and a full stop."""
    said = text.strip()
    if not said:
        return said
    said = said[0].upper() + said[1:] if said[:2] != "pH" else said
    return said if said[-1] in ".:)" else f"{said}."
