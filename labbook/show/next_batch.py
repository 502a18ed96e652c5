"""The batch that would tell, as a screen."""

from __future__ import annotations

from labbook.model.results.why import Branch, Lesson, NextBatch
from labbook.show.layout import Column, Screen
from labbook.show.why import verdict


def next_screen(found: NextBatch, screen: Screen, *, explain: bool = False) -> str:
    """The screen of `next`; `explain` adds the figures by which it was chosen."""
    screen.title(found.title)
    screen.blank()
    if found.settled:
        screen.row("", found.settled)
        screen.blank()
        screen.then([(one.command, one.gloss) for one in found.then])
        return screen.text()
    for number, text in enumerate((f"{found.size} of {found.base} {_with(found)}", *found.change)):
        screen.row("" if number else "make", text if not number else f"  {text}")
    screen.row("beside it", f"{found.size} of {found.base} as it is, the same day and lots")
    for number, text in enumerate(found.keep):
        screen.row("" if number else "keep", text)
    screen.row("look", f"{found.look}; an answer in {found.answer_in}")
    if found.weigh:
        screen.row("weigh", found.weigh)
    if found.costs:
        screen.row("takes", found.costs)
    screen.row("mark", "test only, not for use: on the sheet and on the jar")
    fails = "if it separates" if found.group == "separation" else "if it fails"
    for branch, words in ((found.fails, fails), (found.holds, "if it holds")):
        if branch is not None:
            screen.blank()
            _branch(screen, branch, words)
    if found.instead or found.refused:
        screen.blank()
    for number, text in enumerate(found.instead):
        screen.row("" if number else "instead", text)
    for number, text in enumerate(found.refused):
        screen.row("" if number else "not offered", text)
    if explain:
        screen.blank()
        _explained(screen, found)
    screen.blank()
    screen.then([(one.command, one.gloss) for one in found.then])
    return screen.text()


def _explained(screen: Screen, found: NextBatch) -> None:
    """Bits, and chances as they were reckoned."""
    fails = found.fails.chance if found.fails else 0.0
    others = ", ".join(f"{bits:.3f}" for bits in found.bits_instead)
    instead = f"; instead of it {others}" if others else ""
    screen.row(
        "reckoned",
        f"It tells {found.bits:.3f} bits{instead}. That it fails: {fails:.3f}. A bit is what a "
        "yes or no tells that is as likely as not; within 5 % of the best the fewest changes "
        "come first, then the cheaper, then the name.",
    )


def next_words(found: NextBatch) -> tuple[str, ...]:
    """The batch in a sentence or two, for a first screen."""
    if found.settled:
        return (found.settled,)
    changed = [text.split(", ")[0] for text in found.change]
    return (f"{found.base} with {' and '.join(changed)}; {found.size}, {found.look}",)


def _with(found: NextBatch) -> str:
    if not found.change:
        return "once more, nothing changed"
    return "with one change" if len(found.change) == 1 else f"with {len(found.change)} changes"


def _branch(screen: Screen, branch: Branch, words: str) -> None:
    rows = [
        ("", [one.what, f"{one.before} → {one.after}", one.about])
        if one.before != one.after
        else ("", [one.what, f"stays {one.after}", one.about])
        for one in branch.shifts
    ]
    screen.table((Column(), Column(), Column()), rows, margin=f"{words}, about {branch.about}")


def lesson_screen(found: Lesson, screen: Screen) -> str:
    """What a trial told, before and after its look."""
    screen.title(f"What {found.trial} told about {found.failed} and {found.good}")
    screen.blank()
    lesson_part(found, screen)
    screen.blank()
    names = f"{found.failed.lower()} {found.good.lower()}"
    screen.then([(f"labbook why {names}", ""), (f"labbook next {names}", "")])
    return screen.text()


def lesson_part(found: Lesson, screen: Screen) -> None:
    """Adds the block: what was made, what became of it, and how the suspects moved."""
    screen.row(found.trial, f"{found.made_of}: {found.changes}".rstrip(": "))
    if not found.outcome:
        screen.row("", f"too young to say anything; {found.why.until} it will")
        return
    screen.row("", found.outcome)
    rows = [("", [one.what, one.before, "→", f"{one.after}, {one.about}"]) for one in found.shifts]
    screen.table((Column(), Column("before"), Column(gap=1), Column("now", gap=1)), rows)
    for sentence in verdict(found.why):
        screen.row("", sentence)
