"""Ids: of batches, drawn so that two characters tell jars apart, and of entries."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from datetime import date
from random import Random

CODE = re.compile(r"[A-Z][A-Z0-9]{1,5}", re.ASCII)
"""A formula's code: 2 to 6 capital letters or digits, a letter first; it goes on the jar."""

BATCH_ID = re.compile(r"([A-Z][A-Z0-9]{1,5})-([0-9]{6})-([0-9][A-Z]|[A-Z][0-9])", re.ASCII)
LETTERS = "ABCDEFGHJKMNPQRSTVWXYZ"  # without I, L, O, U: easily misread, or read as words
DIGITS = "23456789"  # without 0 and 1: misread as O and I


def endings() -> tuple[str, ...]:
    """All pairs of one digit and one letter, in either order: 7K and K7."""
    return tuple(d + letter for d in DIGITS for letter in LETTERS) + tuple(
        letter + d for letter in LETTERS for d in DIGITS
    )


def draw_batch_id(
    code: str, day: date, used: Collection[str], codes: Collection[str], random: Random
) -> str:
    """A batch id CODE-YYMMDD-XX whose ending is free in the notebook while there are free ones.

    Args:
        code: the formula's code.
        day: the day of making.
        used: full ids of all batches, dropped ones too.
        codes: all formula codes; an ending never equals one.
        random: the source of chance, seeded in tests and in the sample.
    """
    taken = {full.rsplit("-", 1)[-1] for full in used}
    usable = [ending for ending in endings() if ending not in codes]
    stem = f"{code}-{day:%y%m%d}"
    free = [ending for ending in usable if ending not in taken]
    if not free:
        free = [ending for ending in usable if f"{stem}-{ending}" not in used]
    if not free:
        raise ValueError(f"every ending is taken for {stem}")
    return f"{stem}-{random.choice(free)}"


def matching_batches(typed: str, known: Iterable[str]) -> tuple[str, ...]:
    """The full ids that a typed `7k` or full id means, in any case; several when endings repeat."""
    wanted = typed.upper()
    ids = sorted(known)
    exact = tuple(full for full in ids if full.upper() == wanted)
    return exact or tuple(full for full in ids if full.rsplit("-", 1)[-1].upper() == wanted)


def batch_of(unit: str) -> str:
    """The full id of the batch that a unit is, or of whose jars it is one: `HC-260205-C3.1`."""
    return unit.partition(".")[0]


def short_commit(commit: str) -> str:
    """The first seven signs of a commit's id, and more until one of them is a letter.

    `HC@` with digits alone is always a version's number.
    """
    return next((commit[:n] for n in range(7, 41) if not commit[:n].isdigit()), commit)


def next_entry_id(prefix: str, used: Iterable[str], random: Random | None = None) -> str:
    """An entry id such as `w4`: one more than the highest in use, with a random tail if asked.

    The tail keeps two machines apart that add to one list before they meet.
    """
    numbers = [
        int(m[1]) for one in used if (m := re.fullmatch(rf"{prefix}([0-9]+)(?:-[a-z0-9]+)?", one))
    ]
    number = max(numbers, default=0) + 1
    tail = (
        ""
        if random is None
        else "-" + "".join(random.choices("abcdefghjkmnpqrstvwxyz23456789", k=3))
    )
    return f"{prefix}{number}{tail}"


def new_permanent_id(prefix: str, random: Random) -> str:
    """A permanent id such as `f-3k8dqa`: it begins with a letter, so it is never a number."""
    return f"{prefix}-" + "".join(random.choices("abcdefghjkmnpqrstvwxyz23456789", k=6))
