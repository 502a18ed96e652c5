"""The versions of a formula, read from git history.

Version n is the content in the commit that first raises `version:` to n. Formulas are followed by
their permanent id, so a renamed file keeps its versions. Two contents raised to one number on two
machines are a clash that names both commits.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

from labbook.model.digest import digest
from labbook.model.errors import UnknownName
from labbook.model.formula import Formula
from labbook.model.sheets import Sheets
from labbook.model.versions import Version
from labbook.notebook.git import Commit, FileChange
from labbook.notebook.index.commits import FORMULAS as FOLDER
from labbook.notebook.index.facts import FormulaLog, Step
from labbook.notebook.index.store import Store
from labbook.notebook.snapshot import Snapshot, read_blobs

__all__ = ["FOLDER", "History", "read_history"]

_HELD = 400
_FORMULAS = 16
"""Contents, and formulas, held at once: a walk over all of them needs one at a time."""


class Numbered(NamedTuple):
    """A number of a formula without its content; `same_as` as of a `Version`."""

    number: int
    digest: str
    same_as: int | None
    blob: str


@dataclass(slots=True)
class _First:
    """The step that first raised a number, and those that raised another content to it."""

    step: Step
    clashes: list[Step]


def _firsts(steps: Iterable[Step]) -> list[_First]:
    """By number in order, from the contents of one formula in the order of their commits."""
    found: dict[int, _First] = {}
    for step in steps:
        if not step.number:
            continue
        first = found.setdefault(step.number, _First(step, []))
        raised = step.before is not None and step.before < step.number
        known = {one.place for one in first.clashes}  # a merge is told once for each parent
        if raised and step.digest != first.step.digest and step.place not in known:
            first.clashes.append(step)
    return [found[number] for number in sorted(found)]


class _Versions(Mapping[str, tuple[Version, ...]]):
    """The versions of each formula by code, built when asked for and not held."""

    def __init__(self, history: History) -> None:
        self._history = history

    def __getitem__(self, code: str) -> tuple[Version, ...]:
        return self._history.built(self._history.ids[code], code)

    def stamp(self, code: str) -> str:
        """A text that changes with any version of a formula; its contents needn't be read."""
        return self._history.stamp(code)

    def forget(self) -> None:
        """Lets go of the versions that were built, and of their contents."""
        self._history.forget()

    def __iter__(self) -> Iterator[str]:
        return iter(self._history.ids)

    def __len__(self) -> int:
        return len(self._history.ids)


class History:
    """All versions of all formulas of a notebook, by code of today.

    Attributes:
        versions: code to the versions in order of their number.
    """

    def __init__(
        self, root: Path, sheets: Sheets, codes: Mapping[str, str], store: Store | None = None
    ) -> None:
        """Reads the history.

        Args:
            root: the notebook.
            sheets: ingredient sheets of today; contents are compared through them.
            codes: formula id to its code of today.
            store: the index; None opens it.
        """
        self.root = root
        self._sheets = sheets
        self._codes = codes
        self._store = store or Store(root)
        self._log = FormulaLog(self._store, sheets)
        self._contents: dict[str, Formula | None] = {}
        self._built: dict[str, tuple[Version, ...]] = {}
        self.versions: Mapping[str, tuple[Version, ...]] = _Versions(self)

    @cached_property
    def ids(self) -> dict[str, str]:
        """The id of each formula that has a version, by its code; one that is gone by its last."""
        found = {}
        for id_ in self._log.numbered():
            code = self._codes.get(id_)
            if code is None:
                last = _firsts(self._log.steps(id_))[-1].step
                formula = self._content(last.change)
                code = formula.code if formula else ""
            if code:
                found[code] = id_
        return found

    def _id_of(self, code: str) -> str:
        """The same of one formula, for which those that are gone need not be read."""
        return self._today.get(code) or self.ids.get(code, "")

    @cached_property
    def _today(self) -> dict[str, str]:
        return {code: id_ for id_, code in self._codes.items()}

    # Contents ------------------------------------------------------------------------------------

    def forget(self) -> None:
        """Lets go of the contents that were read: they are read again when asked for."""
        self._contents.clear()
        self._built.clear()

    def _load(self, changes: Iterable[FileChange]) -> None:
        wanted = {c.new_blob: c.path for c in changes if c.new_blob}
        wanted |= {c.old_blob: c.path for c in changes if c.old_blob}
        missing = {blob: path for blob, path in wanted.items() if blob not in self._contents}
        if not missing:
            return
        held = read_blobs(self.root, missing, "formula", store=self._store)
        if len(self._contents) > _HELD:
            self._contents = {b: f for b, f in self._contents.items() if b in wanted}
        for blob in missing:
            record = held[blob].record if blob in held else None
            self._contents[blob] = record if isinstance(record, Formula) else None

    def _content(self, change: FileChange) -> Formula | None:
        """The formula that a change brought; None where it couldn't be read as one."""
        if change.new_blob not in self._contents:
            self._load([change])
        return self._contents[change.new_blob or ""]

    # Versions ------------------------------------------------------------------------------------

    def of(self, code: str) -> tuple[Version, ...]:
        """The versions of a formula in order; empty for a draft that was never saved."""
        return self.built(self._id_of(code), code)

    @cached_property
    def _every(self) -> dict[str, list[Step]]:
        return self._log.all_steps()

    @cached_property
    def digests(self) -> dict[str, str]:
        """Digests of contents that history holds, by the hash of a file that holds them."""
        return self._log.digests()

    def numbered(self, code: str, *, among_all: bool = False) -> tuple[Numbered, ...]:
        """The numbers of a formula in order, without a look at their contents.

        Args:
            code: the formula's.
            among_all: whether the others are asked for as well, so that all are read at once.
        """
        id_ = self._id_of(code)
        told = self._every.get(id_, []) if among_all else self._log.steps(id_)
        steps = [first.step for first in _firsts(told)]
        same = _same_as([(step.number, step.digest) for step in steps])
        return tuple(
            Numbered(step.number, step.digest, earlier, step.change.new_blob or "")
            for step, earlier in zip(steps, same, strict=True)
        )

    def built(self, id_: str, code: str) -> tuple[Version, ...]:
        """The versions of one formula, with their contents."""
        if id_ in self._built:
            return self._built[id_]
        told = self._log.told_steps(id_)
        commits = {step.place: commit for commit, step in told}
        firsts = _firsts(step for _, step in told)
        self._load(first.step.change for first in firsts)
        made = []
        for step, clashes in ((first.step, first.clashes) for first in firsts):
            formula, commit = self._content(step.change), commits[step.place]
            if formula is None:
                continue
            made.append(Version(
                code=code, number=step.number, formula=formula, digest=step.digest,
                blob=step.change.new_blob or "", commit=commit.id, path=step.change.path,
                when=commit.when, subject=commit.subject, body=commit.body,
                clashes=tuple(commits[one.place].id for one in clashes),
            ))  # fmt: skip
        same = _same_as([(version.number, version.digest) for version in made])
        marked = zip(made, same, strict=True)
        found = tuple(replace(version, same_as=earlier) for version, earlier in marked)
        while len(self._built) >= _FORMULAS:
            del self._built[next(iter(self._built))]
        self._built[id_] = found
        return found

    def stamp(self, code: str) -> str:
        """A text that changes with any version of a formula; its contents needn't be read."""
        return self._stamps.get(self._id_of(code), "")

    @cached_property
    def _stamps(self) -> dict[str, str]:
        return self._log.stamps()

    def story(self, formula_id: str) -> list[tuple[Commit, FileChange, Formula | None, Formula]]:
        """Every readable content of a formula that a commit brought, after the one before it."""
        mine = [(commit, step.change) for commit, step in self._log.told_steps(formula_id)]
        self._load(change for _, change in mine)
        return [
            (commit, change, self._contents.get(change.old_blob or ""), new)
            for commit, change in mine
            if (new := self._content(change)) is not None
        ]

    def contents(self, version: Version) -> tuple[Version, ...]:
        """All contents that stand under a version's number: its own first, then the clashing."""
        if not version.clashes:
            return (version,)
        # A merge lists its result once for each side.
        others = {
            change.new_blob: replace(
                version, formula=new, digest=digest(new, self._sheets), commit=commit.id,
                blob=change.new_blob or "", path=change.path, when=commit.when, clashes=(),
            )
            for commit, change, _, new in self.story(version.formula.id)
            if commit.id in version.clashes and new.version == version.number
        }  # fmt: skip
        return (version, *others.values())

    def pinned(self, formula_id: str, blob: str, content: str) -> Formula | None:
        """The content of a formula in a blob, else one of a digest; None where there is neither."""
        steps = self._log.steps(formula_id)
        same = [step for step in steps if step.change.new_blob == blob]
        same += [step for step in steps if step.digest == content]
        return self._content(same[0].change) if same else None

    def of_id(self, formula_id: str) -> tuple[Version, ...]:
        """The versions of a formula by its permanent id, also of one that is gone."""
        code = self._codes.get(formula_id)
        if code is None:
            code = next((code for code, one in self.ids.items() if one == formula_id), "")
        return self.built(formula_id, code) if code else ()

    def with_blob(self, blob: str) -> tuple[Version, ...]:
        """The versions, of whatever formula, whose content stands in a blob."""
        return tuple(v for v in self.of_id(self._log.formula_in(blob)) if v.blob == blob)

    def number(self, code: str, number: int) -> Version:
        """One version by its number.

        Raises:
            UnknownName: no such number; says which there are.
        """
        for version in self.of(code):
            if version.number == number:
                return version
        have = ", ".join(str(v.number) for v in self.of(code)) or "none yet"
        raise UnknownName(
            f"{code} has no version {number}.",
            mend=f"Versions of {code}: {have}. See them: labbook log {code}",
        )

    def by_digest(self, code: str, start: str) -> Version:
        """The first version whose digest begins with some hexadecimal digits."""
        for version in self.of(code):
            if version.digest.startswith(start.lower()):
                return version
        raise UnknownName(
            f"No version of {code} has a digest that begins with {start}.",
            mend=f"See them: labbook log {code}",
        )

    def as_on(self, code: str, formula_id: str, day: date) -> tuple[Formula, str]:
        """The content at the end of a day, numbered or not, and the blob that holds it."""
        told = self._log.told_steps(formula_id)
        changes = [step.change for commit, step in told if commit.when.date() <= day]
        formula = self._content(changes[-1]) if changes else None
        if formula is None:
            raise UnknownName(
                f"{code} was not in the notebook on {day}.", mend=f"See: labbook log {code}"
            )
        return formula, changes[-1].new_blob or ""


def _same_as(numbers: Sequence[tuple[int, str]]) -> list[int | None]:
    """For each number with its content's digest the earliest one of the same; None for that."""
    first: dict[str, int] = {}
    earliest = ((number, first.setdefault(content, number)) for number, content in numbers)
    return [earlier if earlier != number else None for number, earlier in earliest]


def read_history(snapshot: Snapshot) -> History:
    """The history of a notebook's formulas.

    Raises:
        GitRefused: git is missing, or the notebook is in no repository.
    """
    codes = dict(snapshot.formula_ids)
    store = getattr(snapshot.files, "store", None)
    return History(snapshot.root, snapshot.sheets, codes, store)
