"""On which side of a difference a unit stands, by its own value."""

from __future__ import annotations

from dataclasses import replace

from labbook.evidence.factors.components import may_hold
from labbook.evidence.factors.diffs import Diff
from labbook.evidence.factors.lines import phase_trait, swap_trait
from labbook.evidence.factors.material import comparable, same
from labbook.evidence.factors.pairing import order_trait, step_or_none
from labbook.evidence.factors.profile import Profile
from labbook.evidence.factors.setting import NO_DEVIATION
from labbook.evidence.factors.stuff import NONE, Stuff, amount_trait
from labbook.evidence.factors.traits import Trait, Traits, indistinct
from labbook.evidence.factors.types import Side
from labbook.model.sheets import Sheets

NOT_WRITTEN = "not written down"
_NO_STEP = Side(None, "no such step", "other")


def side_of(diff: Diff, profile: Profile, jars: Traits, sheets: Sheets, beyond: str) -> Side:
    """The side of one unit.

    Args:
        diff: the difference of the pair.
        profile: the unit's batch.
        jars: what is known of the unit's jars.
        sheets: the ingredient sheets.
        beyond: `both` where further values count like the pair's, `failed` where that holds on the
            failed side only, `none` where only nearly equal ones count.
    """
    if diff.parts:
        return _together([side_of(p, profile, jars, sheets, beyond) for p in diff.parts])
    if _step_missing(diff, profile):
        return _NO_STEP
    own = trait_of(diff, profile, jars, sheets)
    if own is None or not (own.recorded or diff.planned):
        return Side(None, NOT_WRITTEN, "unrecorded")
    if not (diff.ordered and comparable(own, diff.failed)):
        return _by_name(diff, own)
    found = _by_figure(diff, own, beyond)
    return _unsaid(diff, own, profile.stuff, beyond, found) if diff.kind == "amount" else found


def _unsaid(diff: Diff, own: Trait, stuff: Stuff, beyond: str, found: Side) -> Side:
    """The side by an amount, undecided where a blend may hold so much that it would be another."""
    none = own.text == NONE
    for blend, most, listed in may_hold(stuff, diff.sheets[0], diff.open):
        if not listed and not none:
            continue
        text = f"some in {blend}" if none and listed else f"{own.whole}, unless {blend} holds some"
        if most is None or (none and listed):
            return Side(None, text, "unrecorded")
        more = replace(own, value=(own.value or 0) + most, meant=None)
        if _by_figure(diff, more, beyond).side != found.side:
            return Side(None, text, "unrecorded")
    return found


def _step_missing(diff: Diff, profile: Profile) -> bool:
    if diff.key[0] != "steps" or diff.key[2] == "done":
        return False
    done = profile.traits.get(("steps", diff.key[1], "done"))
    return done is None or bool(done.value)


def trait_of(diff: Diff, profile: Profile, jars: Traits, sheets: Sheets) -> Trait | None:
    """What a batch has for a difference; None where nothing is known."""
    key = diff.key
    if key[0] == "lines" and key[-1] == "swap":
        return swap_trait(profile, (key[1], key[2]), sheets)
    if key[0] == "lines" and len(key) == 3:
        return phase_trait(profile, key[1], diff.what)
    if key[0] == "lines":
        return amount_trait(profile.stuff, diff.sheets[0], diff.what, diff.phase)
    if key[0] == "order":
        return order_trait(profile, key[1:])
    if key[0] == "deviations":
        return profile.deviations.get(key, NO_DEVIATION)
    if key[0] == "jar":
        return jars.get(key)
    return step_or_none(key, profile.traits)


def _by_name(diff: Diff, own: Trait) -> Side:
    if own.name == diff.failed.name:
        return Side(True, own.whole)
    if own.name == diff.good.name:
        return Side(False, own.whole)
    return Side(None, own.whole, "other")


def _by_figure(diff: Diff, own: Trait, beyond: str) -> Side:
    failed, good = diff.failed.value, diff.good.value
    assert failed is not None and good is not None and own.value is not None
    up = failed > good
    to_failed, to_good = abs(own.value - failed), abs(own.value - good)
    past_failed = own.value >= failed if up else own.value <= failed
    past_good = own.value <= good if up else own.value >= good
    near_failed = _at(own, diff.failed, diff)
    near_good = _at(own, diff.good, diff)
    if past_failed and beyond in ("both", "failed"):
        return Side(True, own.whole)
    if past_good and beyond == "both":
        return Side(False, own.whole)
    if beyond != "both":
        near_failed = near_failed or (beyond == "none" and same(own, diff.failed, diff.step))
        near_good = near_good or same(own, diff.good, diff.step)
    between = not past_failed and not past_good
    if near_failed and near_good and to_failed == to_good:
        return Side(None, own.whole, "between")
    if near_failed and (not near_good or to_failed < to_good):
        return Side(True, own.whole)
    if near_good:
        return Side(False, own.whole)
    return Side(None, own.whole, "between" if between else "other")


def _at(own: Trait, end: Trait, diff: Diff) -> bool:
    """Whether a figure is that of the pair: within uncertainty, or meant alike and weighed so."""
    if indistinct(own, end):
        return True
    alike = own.meant is not None and own.meant == end.meant
    return alike and same(own, end, diff.step)


def _together(sides: list[Side]) -> Side:
    """The side of several packs that nobody has told apart: the one that all known ones share."""
    known = {side.side for side in sides if side.side is not None}
    text = ", ".join(dict.fromkeys(side.text for side in sides))
    whys = {side.why for side in sides if side.side is None}
    if len(known) == 1 and not whys:
        return Side(known.pop(), text)
    return Side(None, text, "unrecorded" if "unrecorded" in whys else "other")
