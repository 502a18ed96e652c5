"""What people said of a batch after using it: reactions of the skin, and complaints. All private.

The list only grows; an entry is struck with a reason, and what is heard later is a further entry.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from labbook.model.fields import CLOSED, EntryId, Moment, Name, Span, Text, YesNo, one_of

REACTION_KINDS = ("reaction", "complaint")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reaction:
    """What one person had, or found wrong; nothing of it is ever published.

    `kind` is `reaction` for anything that the skin, an eye or the breath did, else `complaint`.
    `jar` is absent where it isn't known, `after` how long after use it began, `lasted` how long it
    was felt. `about` is an earlier entry of which more is told. `time` is when it was so.
    """

    __pydantic_config__ = CLOSED

    id: EntryId
    kind: Annotated[str, one_of(*REACTION_KINDS)]
    text: Text
    who: Text | None = None
    jar: Text | None = None
    after: Span | None = None
    lasted: Span | None = None
    doctor: YesNo | None = None
    about: EntryId | None = None
    time: Moment
    struck: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reactions:
    """Reactions and complaints about one batch; the list only grows."""

    __pydantic_config__ = CLOSED

    batch: Name
    reactions: tuple[Reaction, ...] = ()
