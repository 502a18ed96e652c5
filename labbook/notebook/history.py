"""The versions of a formula, read from git history.

Version n is the content in the commit that first raises `version:` to n. Formulas are followed by
their permanent id, so a renamed file keeps its versions. Two contents raised to one number on two
machines are a clash that names both commits.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

from labbook.model.digest import digest
from labbook.model.errors import UnknownName
from labbook.model.formula import Formula
from labbook.model.sheets import Sheets
from labbook.model.versions import Version
from labbook.notebook import git
from labbook.notebook.git import Commit, FileChange
from labbook.notebook.readfile import ReadFile
from labbook.notebook.snapshot import Snapshot, read_blobs

FOLDER = "formulas"


class History:
    """All versions of all formulas of a notebook, by code of today.

    Attributes:
        versions: code to the versions in order of their number.
    """

    def __init__(self, root: Path, sheets: Sheets, codes: Mapping[str, str]) -> None:
        """Reads the history.

        Args:
            root: the notebook.
            sheets: ingredient sheets of today; contents are compared through them.
            codes: formula id to its code of today.
        """
        self.root = root
        self._sheets = sheets
        self._commits = git.changes(root, None, FOLDER)
        self._contents = self._read_blobs()
        found: dict[str, dict[int, Version]] = {}
        for commit in self._commits:
            for change in commit.files:
                self._take(found, commit, change)
        self.versions: dict[str, tuple[Version, ...]] = {}
        for id_, numbered in found.items():
            ordered = [numbered[number] for number in sorted(numbered)]
            code = codes.get(id_, ordered[-1].code)
            self.versions[code] = _same_as(tuple(replace(v, code=code) for v in ordered))

    def _read_blobs(self) -> dict[str, ReadFile]:
        wanted = {
            blob: change.path
            for commit in self._commits
            for change in commit.files
            for blob in (change.old_blob, change.new_blob)
            if blob and change.path.endswith(".yaml")
        }
        return read_blobs(self.root, wanted, "formula")

    def content(self, blob: str | None) -> Formula | None:
        """The formula in a blob; None where it couldn't be read as one."""
        held = self._contents.get(blob) if blob else None
        record = held.record if held else None
        return record if isinstance(record, Formula) else None

    def _take(
        self, found: dict[str, dict[int, Version]], commit: Commit, change: FileChange
    ) -> None:
        new = self.content(change.new_blob)
        if new is None or not new.version or change.new_blob is None:
            return
        old = self.content(change.old_blob)
        numbered = found.setdefault(new.id, {})
        first = numbered.get(new.version)
        content = digest(new, self._sheets)
        if first is None:
            numbered[new.version] = Version(
                code=new.code,
                number=new.version,
                formula=new,
                digest=content,
                blob=change.new_blob,
                commit=commit.id,
                path=change.path,
                when=commit.when,
                subject=commit.subject,
                body=commit.body,
            )
            return
        raised = old is not None and old.id == new.id and old.version < new.version
        if raised and content != first.digest and commit.id not in first.clashes:
            numbered[new.version] = replace(first, clashes=(*first.clashes, commit.id))

    def story(self, formula_id: str) -> list[tuple[Commit, FileChange, Formula | None, Formula]]:
        """Every readable content of a formula that a commit brought, after the one before it."""
        return [
            (commit, change, self.content(change.old_blob), new)
            for commit in self._commits
            for change in commit.files
            if (new := self.content(change.new_blob)) is not None and new.id == formula_id
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
        last: tuple[Formula, str] | None = None
        for commit in self._commits:
            if commit.when.date() > day:
                continue
            for change in commit.files:
                new = self.content(change.new_blob)
                if new is not None and new.id == formula_id and change.new_blob is not None:
                    last = (new, change.new_blob)
        if last is None:
            raise UnknownName(
                f"{code} was not in the notebook on {day}.", mend=f"See: labbook log {code}"
            )
        return last


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
    codes = {formula.id: code for code, formula in snapshot.formulas.items()}
    return History(snapshot.root, snapshot.sheets, codes)
