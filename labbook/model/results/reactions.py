"""A reaction written down, and what it asks for now."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Reacted:
    """A reaction or complaint as it was written down, private.

    Of all jars that hold any of the bulk, those of batches made from it included, `given` are with
    somebody and `here` are the others. `batches` are those batches, `potted` the ones
    without jars. `lots` counts the packs that are in it. `earlier` counts other entries on the same
    bulk. What was said and who said it are echoed, as typed.
    """

    batch: str
    short: str
    of: str
    entry: str
    kind: str
    said: str
    who: str
    jar: str
    given: tuple[str, ...]
    here: tuple[str, ...]
    batches: tuple[str, ...]
    potted: tuple[str, ...]
    lots: int
    earlier: int = 0
