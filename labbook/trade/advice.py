"""What a check of the trade has to say: one finding, with its figure, its reason and its source."""

from __future__ import annotations

from dataclasses import dataclass

from labbook.model.problems import Severity


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """A finding about a formula or a batch, before anybody knows where in a file it stands.

    `rule` is the stable name under which `help RULE` explains it and a notebook may accept it.
    `what` says what is so, with its figure; `why` what it does; `mend` what to do. The place is the
    index of a line in the order of the file, the id of a step, the index of a target, or a key of
    the formula (`emulsion`); none of them means the formula as a whole.
    """

    rule: str
    severity: Severity
    what: str
    why: str = ""
    mend: str = ""
    source: str = ""
    line: int | None = None
    step: str | None = None
    target: int | None = None
    key: str = ""
