"""The parts of a screen on what differs between two versions: lines, method, targets, the rest."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.evidence.difference import Difference, Explanation, LineChange
from labbook.evidence.method import KeyChange, StepChange, TargetChange
from labbook.model.formula import Step
from labbook.show.layout import Column, Row, Screen
from labbook.trade.exact import to_places

ARROW = "→"
_ORDER = {"deliberate": 0, "undecided": 0, None: 0, "proportional": 2, "balancing": 3}
_TEXT_KEYS = 60


def version_parts(screen: Screen, found: Difference) -> None:
    """Adds what differs between two versions: lines, method, targets, other, what it makes."""
    heads = short_names(found.from_name, found.to_name)
    if found.lines:
        _lines(screen, found, heads)
        _explanations(screen, found.readings)
    for part in (_method, _targets, _other):
        part(screen, found)
    unchanged = _unchanged(found)
    if unchanged and (found.method or found.targets or found.other):
        screen.row("same", unchanged)
    if found.told:
        screen.blank()
        rows = [
            ("", [one.what, one.text(one.before) or "", one.text(one.after) or "", one.unit])
            for one in found.told
        ]
        screen.table(figure_columns("", heads), rows, margin="which makes")
        for one in found.told:
            if one.note:
                screen.row("", one.note)


def short_names(first: str, second: str) -> tuple[str, str]:
    """Heads for two columns: `@2` and `@3` for versions of one formula, else the whole names."""
    code, _, number = first.rpartition("@")
    other, _, last = second.rpartition("@")
    return (f"@{number}", f"@{last}") if code and code == other else (first, second)


def figure_columns(head: str, heads: tuple[str, str]) -> tuple[Column, ...]:
    """A name, two figures under their heads, and the unit of both."""
    return (
        Column(head),
        Column(heads[0], "point", 6),
        Column(heads[1], "point", 5),
        Column("", "unit"),
    )


# Lines -------------------------------------------------------------------------------------------


def _lines(screen: Screen, found: Difference, heads: tuple[str, str]) -> None:
    columns = (
        Column("ingredient"),
        Column("phase"),
        Column(heads[0], "point", 4),
        Column(heads[1], "point", 5),
        Column("", "unit", 1),
        Column("points", "point"),
    )
    screen.table(columns, [line_row(line) for line in in_makers_order(found.lines)])
    if found.same_lines:
        screen.row("same", counted(found.same_lines, "other"))


def in_makers_order(lines: Sequence[LineChange]) -> list[LineChange]:
    """What was done, then what moved only, then what was scaled along, then what it made of q.s."""
    return sorted(
        lines,
        key=lambda line: 1 if line.change == "moved" else _ORDER[line.kind],
    )


def word_of(line: LineChange) -> str:
    """The margin's word for a line."""
    if line.kind == "balancing":
        return "follows"
    if line.kind == "proportional":
        return "scaled"
    return "swapped" if line.change == "substituted" else line.change


def line_row(line: LineChange) -> Row:
    """A line's margin word and cells: name, phase, both percents, unit, points."""
    name = line.ingredient + (", q.s." if line.qs else "")
    if line.change == "substituted":
        name = f"{line.from_ingredient} {ARROW} {name}"
    phases = [phase for phase in (line.from_phase, line.to_phase) if phase is not None]
    places = f" {ARROW} ".join(dict.fromkeys(phases))
    sides = (_percent(line.from_text, line.from_phase), _percent(line.to_text, line.to_phase))
    return word_of(line), [name, places, *sides, "%", points_text(line)]


def _percent(text: str | None, phase: str | None) -> str:
    """An amount; a dash for a line that isn't there, a question mark for an unknown amount."""
    if phase is None:
        return "-"
    return "?" if text is None else text


def points_text(line: LineChange) -> str:
    """The change in points with its sign, 0 alone for none, a question mark where unknown."""
    if line.points is None:
        return "?"
    shown = to_places(line.points, line.places)
    return f"{shown:+f}" if shown else "0"


def _explanations(screen: Screen, readings: Sequence[Explanation]) -> None:
    if not readings:
        return
    screen.blank()
    screen.row("", "It can't be told from the figures which of these was meant:")
    for number, one in enumerate(readings):
        screen.row("or" if number else "either", explanation_text(one))


def explanation_text(one: Explanation) -> str:
    """One explanation of several as a sentence."""
    parts = []
    if one.deliberate:
        parts.append(f"{_and(one.deliberate)} chosen")
    if one.balancing:
        parts.append(f"{one.balancing} took up the rest")
    if one.proportional:
        parts.append(f"{_and(one.proportional)} scaled by one ratio")
    if one.held:
        parts.append(f"{_and(one.held)} held")
    return "; ".join(parts)


def _and(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def counted(number: int, word: str) -> str:
    """`1 other`, `5 others`."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def _unchanged(found: Difference) -> str:
    parts = []
    if found.same_steps:
        parts.append(counted(found.same_steps, "other step" if found.method else "step"))
    if found.same_targets:
        parts.append(counted(found.same_targets, "target"))
    return ", ".join(parts)


# Method, targets, the rest ----------------------------------------------------------------------


def _method(screen: Screen, found: Difference) -> None:
    if not found.method:
        return
    screen.blank()
    rows: list[Row] = []
    for step in found.method:
        name = step_name(step)
        lines = step_lines(step) or [("", "")]
        for number, (key, text) in enumerate(lines):
            margin = "method" if not rows else ""
            rows.append((margin, ["" if number else name, key, text]))
    screen.table((Column(), Column(gap=1), Column(gap=2)), rows)


def step_name(step: StepChange) -> str:
    """A step in words, with what became of it where it is not only changed."""
    content = step.content
    words = _step_words(content) if content else step.do
    if step.change == "changed":
        return f"{words}:"
    place = "" if step.change != "moved" else f" {step.from_place} {ARROW} {step.to_place}"
    return f"{words}, {step.change}{place}{':' if step.keys and step.change == 'moved' else ''}"


def _step_words(step: Step) -> str:
    """`combine B into A`; the id where the act alone would say too little."""
    words = step.do if step.add is None else f"{step.do} {step.add}"
    if step.into is not None:
        words += f" into {step.into}"
    return words if step.add or step.into else f"{words} ({step.id})"


def step_lines(step: StepChange) -> list[tuple[str, str]]:
    """The keys of a step that differ, each with its text before and after."""
    shown = step.keys
    if step.change in ("added", "removed"):  # the name says what is added into what already
        shown = tuple(key for key in shown if key.key not in ("add", "into"))
    return [(key.key, key_text(key)) for key in shown]


def key_text(key: KeyChange) -> str:
    """`3 min → 5 min`, or the one side that there is."""
    if key.before is None or key.after is None:
        only = key.after if key.before is None else f"{key.before} {ARROW} none"
        return only or ""
    return f"{key.before} {ARROW} {key.after}"


def _targets(screen: Screen, found: Difference) -> None:
    if not found.targets:
        return
    screen.blank()
    for number, target in enumerate(found.targets):
        screen.row("" if number else "targets", target_text(target))


def target_text(target: TargetChange) -> str:
    """A target that differs, in one line."""
    keys = ", ".join(f"{key.key} {key_text(key)}" for key in target.keys)
    if target.change == "removed":
        return f"{target.reading} of {target.of}, removed"
    word = ", added" if target.change == "added" else ""
    return f"{target.reading} of {target.of}{word}: {keys}"


def _other(screen: Screen, found: Difference) -> None:
    if not found.other:
        return
    screen.blank()
    for number, one in enumerate(found.other):
        sides = [_short(one.before), _short(one.after)]
        screen.row("" if number else "also", f"{one.what}: {sides[0]} {ARROW} {sides[1]}")


def _short(value: object) -> str:
    """A value in one line; a long text by its beginning."""
    text = "none" if value is None else " ".join(str(value).split())
    return text if len(text) <= _TEXT_KEYS else f"{text[: _TEXT_KEYS - 3].rstrip()}..."
