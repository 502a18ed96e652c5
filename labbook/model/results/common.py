"""Parts that several results share."""

from __future__ import annotations

from dataclasses import dataclass

from labbook.model.batch import pin_name


@dataclass(frozen=True, slots=True)
class Next:
    """A command worth typing next, with what it is for."""

    command: str
    gloss: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FormulaState:
    """A formula of today against its numbered versions.

    `number` is the version whose content it has, or the one it says it comes from; `changed` tells
    the two apart; `number` is None for a draft that was never saved. Where git is missing, `seen`
    is False and `number` only what the file says.
    """

    code: str
    title: str
    emulsion: str
    path: str
    number: int | None
    changed: bool
    highest: int
    same_as: int | None = None
    versions: int = 0
    batches: int = 0
    seen: bool = True

    @property
    def words(self) -> str:
        """`SBC@3`, `changed since SBC@3`, `not saved yet`; without git, what the file says."""
        if not self.seen:
            return f"{self.code}@{self.number} by its file" if self.number else "number unknown"
        if self.number is None:
            return "not saved yet"
        name = f"{self.code}@{self.number}"
        return f"changed since {name}" if self.changed else name


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchLabel:
    """What a list says of a batch.

    `outcome` is what became of it; `due` and `departures` (of the making from its method) are
    filled where a list tells them.
    """

    id: str
    short: str
    code: str
    version: int
    made: str
    state: str
    size: str
    aim: str = ""
    dropped: str = ""
    weighed: int = 0
    lines: int = 0
    outcome: str = ""
    due: str = ""
    departures: tuple[str, ...] = ()
    trial_of: int | None = None

    @property
    def of(self) -> str:
        """`SBC@2`, or `trial of SBC@1`."""
        return pin_name(self.code, self.version, self.trial_of)
