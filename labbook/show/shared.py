"""What failed batches share and intact ones lack, as a screen with all four counts."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.evidence.factors import Common, Shared, SharedBy
from labbook.show.layout import Screen
from labbook.show.parts import plural
from labbook.show.why import listed

MOST = 4
"""Features that are shown; the ones that single out failure best come first."""
ALIKE = 3


def shared_screen(found: Shared, screen: Screen) -> str:
    """The screen of `why HC --shared`."""
    event = found.event
    what = ", ".join(found.modes) or event.group
    screen.title(f"What failed batches of {listed(found.codes)} share", what)
    screen.blank()
    if not found.singles:
        screen.row("", "Nothing that was written down is commoner among the failed ones.")
    _block(screen, found.singles[:MOST], "one thing")
    if found.pairs and not (found.singles and found.singles[0].clean):
        screen.blank()
        _block(screen, found.pairs[:MOST], "together")
    screen.blank()
    failed = sum(1 for row in found.rows if row.state == "failed")
    intact = sum(1 for row in found.rows if row.state == "intact")
    screen.row(
        "counted",
        f"{plural(failed, 'failed batch', 'failed batches')} and {intact} intact, "
        f"{event.condition}. {found.tried} things were looked at; among so many, some fit by "
        "chance.",
    )
    if found.left_out:
        left = ", ".join(f"{unit.rsplit('-', 1)[-1]}, {why}" for unit, why in found.left_out)
        screen.row("left out", left)
    screen.blank()
    code = found.codes[0] if found.codes else ""
    screen.then([(f"labbook why {code}", "what each of them is worth")] if code else [])
    return screen.text()


def _block(screen: Screen, rows: Sequence[SharedBy], margin: str) -> None:
    """Features with the failed and intact batches that have them, and that lack them."""
    for number, one in enumerate(rows):
        screen.row(margin if not number else "", named(one.parts))
        bad, worse, good, better = one.counts
        unknown = f"; unknown for {len(one.unknown)}" if one.unknown else ""
        screen.row("", f"  failed: {bad} with it, {worse} without; intact: {good} with it, "
                   f"{better} without{unknown}")  # fmt: skip
        if one.alike:
            others = "; ".join(named(parts) for parts in one.alike[:ALIKE])
            more = f"; {len(one.alike) - ALIKE} more" if len(one.alike) > ALIKE else ""
            screen.row("", f"  the same batches: {others}{more}")


def named(parts: Sequence[Common]) -> str:
    """`sodium-chloride up to 0.40 %`, or two of them joined."""
    return " with ".join(f"{part.what} {part.text}" for part in parts)
