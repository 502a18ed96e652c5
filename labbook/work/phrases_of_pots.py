"""What a maker says of the vessels: `vessel B before 240.1 g`, `returned 3.2 g water`, `residue A`.

Pure. A vessel is named by the phase that is made in it; `pot` is that of the whole batch.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from labbook.model.batch import Batch
from labbook.model.quantities import Quantity
from labbook.trade.exact import decimal_text
from labbook.trade.pots import (
    AFTER,
    BEFORE,
    EMPTIED,
    EMPTY,
    EVAPORATED,
    RESIDUE,
    RETURNED,
    pot_named,
)
from labbook.work.phrases_of_steps import NUMBER, Entry

_MASS = rf"(?P<mass>{NUMBER})\s*(?P<unit>g|kg|mg|oz|lb)?"
_NAME = r"(?P<of>[\w-]+)"
_GROSS = re.compile(
    rf"(?P<vessel>vessel\s+|pot\b\s*)?(?:{_NAME}\s+)?(?P<when>before|after|empty|emptied)"
    rf"(?P<heating>\s+heating)?\s*[:=]?\s+{_MASS}",
    re.IGNORECASE,
)
_WATER = re.compile(
    rf"(?:(?:water\s+)?(?:returned|put back)|returned\s+water)\s*[:=]?\s+{_MASS}"
    rf"(?:\s+(?:of\s+)?water)?(?:\s+(?:in|to|into|of)\s+(?:the\s+)?(?:vessel\s+|phase\s+)?{_NAME})?",
    re.IGNORECASE,
)
_LEFT = re.compile(
    rf"(?P<what>residue|evaporated)(?:\s+(?:of\s+|in\s+)?(?:vessel\s+|phase\s+)?"
    rf"(?P<first>[^\W\d]\w*))?\s*[:=]?\s+{_MASS}"
    rf"(?:\s+(?:in|of|from)\s+(?:the\s+)?(?:vessel\s+|phase\s+)?{_NAME})?",
    re.IGNORECASE,
)
_WHEN = {"before": BEFORE, "after": AFTER, "empty": EMPTY, "emptied": EMPTIED}
_OFF = (BEFORE, AFTER, EVAPORATED)
_WHOLE = frozenset({"pot", "bulk", "batch", "all"})


def said_of_pots(said: str, batch: Batch, emulsion: str, of: str, step: str) -> Entry | None:
    """A reading of the mass balance; None where it is something else that was said."""
    match = _GROSS.fullmatch(said)
    if match:
        word = (match["vessel"] or "").strip().lower()
        named = of or match["of"] or ("pot" if word == "pot" else "")
        sure = word or match["heating"] or match["unit"]
        return _reading(_WHEN[match["when"].lower()], match, batch, named, step) if sure else None
    match = _WATER.fullmatch(said)
    if match:
        return _reading(RETURNED, match, batch, of or match["of"] or _heated(batch), step)
    match = _LEFT.fullmatch(said)
    if match is None:
        return None
    name = RESIDUE if match["what"].lower() == "residue" else EVAPORATED
    return _reading(name, match, batch, of or match["first"] or match["of"] or "pot", step)


def _reading(name: str, match: re.Match[str], batch: Batch, vessel: str, step: str) -> Entry | None:
    """The reading of a vessel that the batch has; None for another word in its place."""
    phases = {line.phase for line in batch.lines}
    phase = pot_named(vessel, phases)
    if (not phase and vessel.lower() not in _WHOLE) or match["mass"].startswith("-"):
        return None
    mass = Quantity(Decimal(match["mass"].replace(",", ".")), (match["unit"] or "g").lower())
    data: dict[str, Any] = {"reading": name, "value": mass.value, "unit": mass.unit}
    data["of"] = phase or "pot"
    if step:
        data["step"] = step
    where = f"vessel {phase}" if phase else "the pot"
    remarks = _went_off(batch, phase, phases, mass) if name == AFTER else ()
    return Entry("readings", data, f"{name} {mass}, {where}", remarks=remarks)


def _heated(batch: Batch) -> str:
    """The vessel that water goes back into where nobody names it: the only one that was weighed."""
    read = {r.of or "pot" for r in batch.readings if not r.struck and r.reading in _OFF}
    return read.pop() if len(read) == 1 else "pot"


def _went_off(batch: Batch, phase: str, phases: set[str], after: Quantity) -> tuple[str, ...]:
    """What went off since it was weighed before, where that was written down."""
    for reading in reversed(batch.readings):
        if reading.reading == BEFORE and not reading.struck and reading.value is not None:
            if pot_named(reading.of, phases) != phase:
                continue
            before = Quantity(reading.value, reading.unit or "g")
            lost = before.exact("g") - after.exact("g")
            if lost < 0:
                return (f"It is {decimal_text(-lost)} g heavier than before; weigh it again.",)
            return (f"{decimal_text(lost)} g went off.",)
    return ()
