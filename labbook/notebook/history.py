"""The versions of a formula, read from git history.

Version n is the content in the commit that first raises `version:` to n. Formulas are followed by
their permanent id, so a renamed file keeps its versions. Two contents raised to one number on two
machines are a clash that names both commits.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from labbook.model.digest import digest
from labbook.model.errors import UnknownName
from labbook.model.formula import Formula
from labbook.model.sheets import Sheets
from labbook.model.versions import Version
from labbook.notebook.git import Commit, FileChange
from labbook.notebook.index.commits import FOLDER, Fact, facts, formula_commits, keep_facts
from labbook.notebook.index.store import Store
from labbook.notebook.readfile import ReadFile
from labbook.notebook.snapshot import Snapshot, read_blobs

__all__ = ["FOLDER", "History", "read_history"]

_AT_ONCE = 500
"""Contents read at once where all of history is: enough for git, and few for memory."""
_NOTHING = Fact("", 0, "")


@dataclass(slots=True)
class _First:
    """Where a number was first raised, and which commits raised another content to it."""

    commit: Commit
    change: FileChange
    digest: str
    clashes: list[str]


class _Versions(Mapping[str, tuple[Version, ...]]):
    """The versions of each formula by code, built when asked for."""

    def __init__(
        self, history: History, found: Mapping[str, dict[int, _First]], codes: Mapping[str, str]
    ) -> None:
        self._history = history
        self._found: dict[str, tuple[str, dict[int, _First]]] = {}
        self._built: dict[str, tuple[Version, ...]] = {}
        for id_, numbered in found.items():
            code = codes.get(id_)
            if code is None:  # a formula that is gone goes by its last code
                code = history.built("", numbered)[-1].code
            self._found[code] = (code, numbered)

    def __getitem__(self, code: str) -> tuple[Version, ...]:
        if code not in self._built:
            self._built[code] = self._history.built(*self._found[code])
        return self._built[code]

    def stamp(self, code: str) -> str:
        """A text that changes with any version of a formula; its contents needn't be read."""
        _, numbered = self._found.get(code, ("", {}))
        told = (
            (number, one.commit.id, one.change.path, one.change.new_blob, one.digest, one.clashes)
            for number, one in sorted(numbered.items())
        )
        return repr(tuple(told))

    def forget(self) -> None:
        """Lets go of the versions that were built, and of their contents."""
        self._built.clear()
        self._history.forget()

    def __iter__(self) -> Iterator[str]:
        return iter(self._found)

    def __len__(self) -> int:
        return len(self._found)


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
        self._store = store or Store(root)
        self._commits = formula_commits(self._store)
        self._contents: dict[str, ReadFile] = {}
        self._paths = {
            blob: change.path
            for commit in self._commits
            for change in commit.files
            for blob in (change.old_blob, change.new_blob)
            if blob and change.path.endswith(".yaml")
        }
        self._facts = self._told()
        found: dict[str, dict[int, _First]] = {}
        for commit in self._commits:
            for change in commit.files:
                self._take(found, commit, change)
        self.versions: Mapping[str, tuple[Version, ...]] = _Versions(self, found, codes)

    def _told(self) -> dict[str, Fact]:
        """What each content was; those that the index lacks are read."""
        names = names_stamp(self._sheets)
        known = facts(self._store, names)
        missing = [blob for blob in self._paths if blob not in known]
        for start in range(0, len(missing), _AT_ONCE):
            some = missing[start : start + _AT_ONCE]
            self._load(some)
            # A content that git lacks, of a clone in part, may still come.
            fresh = {b: self._fact(self.content(b)) for b in some if b in self._contents}
            self._contents.clear()
            keep_facts(self._store, names, fresh)
            known |= fresh
        return known

    def _fact(self, formula: Formula | None) -> Fact:
        if formula is None:
            return _NOTHING
        return Fact(formula.id, formula.version, digest(formula, self._sheets))

    def _load(self, blobs: Iterable[str]) -> None:
        wanted = {blob: self._paths[blob] for blob in blobs if blob not in self._contents}
        if wanted:
            self._contents |= read_blobs(self.root, wanted, "formula")

    def forget(self) -> None:
        """Lets go of the contents that were read: they are read again when asked for."""
        self._contents.clear()

    def content(self, blob: str | None) -> Formula | None:
        """The formula in a blob; None where it couldn't be read as one."""
        if not blob or blob not in self._paths:
            return None
        self._load([blob])
        held = self._contents.get(blob)
        record = held.record if held else None
        return record if isinstance(record, Formula) else None

    def _take(
        self, found: dict[str, dict[int, _First]], commit: Commit, change: FileChange
    ) -> None:
        new = self._facts.get(change.new_blob or "")
        if new is None or not new.id or not new.number:
            return
        old = self._facts.get(change.old_blob or "")
        numbered = found.setdefault(new.id, {})
        first = numbered.get(new.number)
        if first is None:
            numbered[new.number] = _First(commit, change, new.digest, [])
            return
        raised = old is not None and old.id == new.id and old.number < new.number
        if raised and new.digest != first.digest and commit.id not in first.clashes:
            first.clashes.append(commit.id)

    def built(self, code: str, numbered: Mapping[int, _First]) -> tuple[Version, ...]:
        """The versions of one formula, with their contents."""
        ordered = [(number, numbered[number]) for number in sorted(numbered)]
        self._load(first.change.new_blob for _, first in ordered if first.change.new_blob)
        made = []
        for number, first in ordered:
            formula = self.content(first.change.new_blob)
            if formula is None:
                continue
            made.append(Version(
                code=code or formula.code, number=number, formula=formula, digest=first.digest,
                blob=first.change.new_blob or "", commit=first.commit.id, path=first.change.path,
                when=first.commit.when, subject=first.commit.subject, body=first.commit.body,
                clashes=tuple(first.clashes),
            ))  # fmt: skip
        return _same_as(tuple(made))

    def story(self, formula_id: str) -> list[tuple[Commit, FileChange, Formula | None, Formula]]:
        """Every readable content of a formula that a commit brought, after the one before it."""
        mine = [
            (commit, change)
            for commit in self._commits
            for change in commit.files
            if self._facts.get(change.new_blob or "", _NOTHING).id == formula_id
        ]
        self._load(b for _, change in mine for b in (change.old_blob, change.new_blob) if b)
        return [
            (commit, change, self.content(change.old_blob), new)
            for commit, change in mine
            if (new := self.content(change.new_blob)) is not None
        ]

    def contents(self, version: Version) -> tuple[Version, ...]:
        """All contents that stand under a version's number: its own first, then the clashing."""
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

    def of(self, code: str) -> tuple[Version, ...]:
        """The versions of a formula in order; empty for a draft that was never saved."""
        return self.versions.get(code, ())

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
        last: str | None = None
        for commit in self._commits:
            if commit.when.date() > day:
                continue
            for change in commit.files:
                if self._facts.get(change.new_blob or "", _NOTHING).id == formula_id:
                    last = change.new_blob
        formula = self.content(last)
        if last is None or formula is None:
            raise UnknownName(
                f"{code} was not in the notebook on {day}.", mend=f"See: labbook log {code}"
            )
        return formula, last


def _same_as(versions: tuple[Version, ...]) -> tuple[Version, ...]:
    first: dict[str, int] = {}
    marked = []
    for version in versions:
        earlier = first.setdefault(version.digest, version.number)
        marked.append(replace(version, same_as=earlier if earlier != version.number else None))
    return tuple(marked)


def read_history(snapshot: Snapshot) -> History:
    """The history of a notebook's formulas.

    Raises:
        GitRefused: git is missing, or the notebook is in no repository.
    """
    codes = dict(snapshot.formula_ids)
    store = getattr(snapshot.files, "store", None)
    return History(snapshot.root, snapshot.sheets, codes, store)


def names_stamp(sheets: Sheets) -> str:
    """Stands for the names by which ingredients are found, which digests follow from."""
    names = [(file, sheet.id, sheet.also) for file, sheet in sheets.by_file.items()]
    return hashlib.sha256(repr(names).encode("utf-8", "surrogateescape")).hexdigest()
