"""The screen of `check`: findings like advice from a colleague, and what was not checked."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.problems import Problem
from labbook.model.results.keeping import Checked, Fix
from labbook.show.layout import Screen
from labbook.show.parts import plural


def checked_screen(result: Checked, screen: Screen) -> str:
    """`check`."""
    counts = [
        plural(sum(1 for p in result.problems if p.severity.value == word), word)
        for word in ("error", "warning", "note")
    ]
    found = ", ".join(c for c in counts if not c.startswith("0 ")) or "nothing found"
    counted = [
        plural(result.formulas, "formula"),
        plural(result.batches, "batch", "batches"),
        plural(result.looks, "look"),
    ]
    looked = ", ".join(counted + [plural(result.commits, "commit")] * bool(result.commits))
    screen.title(f"{f'{result.scope}: ' if result.scope else ''}{looked}: {found}")
    for problem in result.problems:
        screen.blank()
        _problem(problem, screen)
    if result.accepted:
        screen.blank()
        rules = ", ".join(dict.fromkeys(p.rule for p in result.accepted))
        screen.row("accepted", f"{plural(len(result.accepted), 'finding')}: {rules}")
    screen.blank()
    for number, sentence in enumerate(result.not_checked):
        screen.row("not checked" if not number else "", sentence)
    _then(result, screen)
    return screen.text()


def _then(result: Checked, screen: Screen) -> None:
    """What the first finding rests on, and how to accept one that may stand."""
    if not result.problems or result.scope == "staged":
        return
    first = result.problems[0]
    commands = [(f"labbook help {first.rule}", "what the rule rests on")]
    soft = next((p for p in result.problems if p.severity.rank and p.about), None)
    if soft is not None:
        about = soft.about.rsplit("-", 1)[-1].lower() if "-" in soft.about else soft.about
        commands.append((f'labbook check --accept {soft.rule} {about} -m "..."', ""))
    screen.blank()
    screen.then(commands)


def _problem(problem: Problem, screen: Screen) -> None:
    screen.row(problem.severity.value, str(problem.place))
    screen.row("", problem.what)
    if problem.mend:
        screen.row("", problem.mend)
    source = f"; {problem.source}" if problem.source else ""
    screen.row("  rule", f"{problem.rule}{source}")


def fixes_screen(fixes: Sequence[Fix], screen: Screen) -> str:
    """`check --fix`: each line before and after."""
    if not fixes:
        screen.title("Nothing here can be mended without guessing")
        return screen.text()
    screen.title(f"{plural(len(fixes), 'line')} with a decimal comma")
    for fix in fixes:
        screen.blank()
        screen.row("", f"{fix.path}:{fix.line}")
        screen.row("before", fix.before.strip())
        screen.row("after", fix.after.strip())
    return screen.text()
