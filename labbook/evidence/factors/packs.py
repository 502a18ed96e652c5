"""Packs that changed: another lot, and where the packs say it another grade or supplier.

A new grade or supplier is a new lot too, so the three are one difference of an ingredient, named
after what says most. Packs that came into the house on one day are one difference until some batch
tells them apart.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from labbook.evidence.book import Book
from labbook.evidence.factors.diffs import Diff, Effect
from labbook.evidence.factors.material import MattersFrom
from labbook.evidence.factors.profile import Profile
from labbook.evidence.factors.setting import shopping_day
from labbook.evidence.factors.traits import Trait
from labbook.model.moments import in_order

_NAMES = MattersFrom(Fraction())
PACK_KINDS = ("lot", "supplier", "grade")


def pack_diffs(book: Book, failed: Profile, good: Profile) -> list[Diff]:
    """The ingredients of both batches that came from other packs."""
    newer, older = failed, good
    if in_order(failed.batch.made) < in_order(good.batch.made):
        newer, older = good, failed
    found = []
    for sheet in sorted(set(failed.stuff.amounts) & set(good.stuff.amounts)):
        diffs = {}
        for kind in PACK_KINDS:
            key = ("lots", sheet, kind)
            a, b = failed.traits.get(key), good.traits.get(key)
            if a and b and a.name != b.name:
                diffs[kind] = Diff(key=key, kind=kind, what=a.what, failed=a, good=b, step=_NAMES,
                                   sheets=(sheet,))  # fmt: skip
        lot = diffs.get("lot")
        if lot is None:
            continue
        came = _names(newer, sheet) - _names(older, sheet) or _names(newer, sheet)
        main = diffs.get("grade") or diffs.get("supplier") or lot
        main = replace(main, shopping=shopping_day(book, came))
        others = tuple(
            replace(other, shopping=main.shopping)
            for kind, other in diffs.items()
            if kind != main.kind
        )
        found.append(_holding(main, others))
    return found


def _holding(main: Diff, others: Sequence[Diff]) -> Diff:
    """A new grade with the new lot that it came in."""
    bare = main
    for other in others:
        main = main.with_folded(other, Effect(other.kind, sheets=other.sheets, lent=True))
    return replace(main, hidden=(bare, *others) if others else ())


def grades_and_lots(
    diffs: Sequence[Diff], sides: Callable[[Diff], Sequence[bool | None]]
) -> list[Diff]:
    """Lets out a lot that is held by its grade where a batch has the grade of another lot."""
    found: list[Diff] = []
    for diff in diffs:
        if not diff.hidden:
            found.append(diff)
            continue
        bare, *others = diff.hidden
        by_main = sides(bare)
        out = [
            other
            for other in others
            if any(
                one is not None and one != two
                for one, two in zip(by_main, sides(other), strict=True)
            )
        ]
        found.append(_holding(bare, [other for other in others if other not in out]))
        found += out
    return found


def _names(profile: Profile, sheet: str) -> frozenset[str]:
    held = profile.stuff.amounts[sheet]
    return frozenset(lot for amount in held.values() for lot in amount.lots)


def bought_together(
    diffs: Sequence[Diff], sides: Callable[[Diff], Sequence[bool | None]]
) -> list[Diff]:
    """Packs of one shopping day as one difference, unless a batch tells them apart.

    Args:
        diffs: all differences of a pair.
        sides: on which side of one of them each unit stands, in a fixed order.
    """
    found: list[Diff] = []
    groups: list[tuple[str, list[Diff], list[Sequence[bool | None]]]] = []
    for diff in diffs:
        if diff.kind not in PACK_KINDS or not diff.shopping:
            found.append(diff)
            continue
        stands = sides(diff)
        for day, members, known in groups:
            own = any(set(diff.sheets) & set(other.sheets) for other in members)
            if (
                day == diff.shopping
                and not own
                and not any(_told_apart(stands, other) for other in known)
            ):
                members.append(diff)
                known.append(stands)
                break
        else:
            groups.append((diff.shopping, [diff], [stands]))
    return found + [_one(members) for _, members, _ in groups]


def _told_apart(one: Sequence[bool | None], other: Sequence[bool | None]) -> bool:
    return any(a is not None and b is not None and a != b for a, b in zip(one, other, strict=True))


def _one(members: Sequence[Diff]) -> Diff:
    """Several packs as one difference."""
    if len(members) == 1:
        return members[0]
    lead = members[0]

    def both(traits: Sequence[Trait]) -> Trait:
        text = ", ".join(trait.text for trait in traits)
        return replace(traits[0], text=text, name=" ".join(trait.name for trait in traits))

    sheets = tuple(sheet for one in members for sheet in one.sheets)
    kinds = {one.kind for one in members}
    return replace(
        lead,
        key=("lots", *(part for one in members for part in one.key[1:])),
        kind=kinds.pop() if len(kinds) == 1 else "lot",
        what=" and ".join(one.what for one in members),
        failed=both([one.failed for one in members]),
        good=both([one.good for one in members]),
        sheets=sheets,
        parts=tuple(members),
        folded=tuple(item for one in members for item in one.folded),
    )
