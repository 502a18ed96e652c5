"""`sync`: exchanges entries with a copy of the notebook elsewhere, only when it is typed."""

from __future__ import annotations

from collections import Counter
from functools import partial
from pathlib import Path

from labbook.model.errors import GitRefused
from labbook.model.problems import Severity
from labbook.model.results.syncing import OpenFile, Synced
from labbook.notebook import git, gitremote
from labbook.notebook.desk import Desk
from labbook.notebook.folder import record_paths
from labbook.notebook.gitcommit import in_the_middle
from labbook.notebook.gitremote import Other
from labbook.notebook.intent import Intent
from labbook.notebook.snapshot import Snapshot
from labbook.work.bench import Bench
from labbook.work.driver_setup import own_merge
from labbook.work.drivers import SAID

ROUNDS = 3
"""How often what was sent may meet something newer before the person is told."""


def sync(bench: Bench, remote: str = "", *, send: bool = True, ask: bool = False) -> Synced:
    """Fetches, merges and sends.

    Args:
        bench: the notebook.
        remote: the other copy's name, where there are several.
        send: whether to send what the other copy lacks.
        ask: whether git may ask for a password at the terminal.

    Raises:
        GitRefused: git is in the middle of something else, the other copy can't be reached or
            declines, or changed files stand in the way; says what to do.
    """
    root = bench.root
    git.available()
    git.must_stand(root)
    branch = git.branch(root)
    if branch.startswith("("):
        raise GitRefused(
            f"The notebook stands on no branch {branch}, so there is nothing to exchange.",
            mend="Go back to one: git switch main",
        )
    other = gitremote.other_copy(root, branch, remote)
    if other is None:
        return Synced(remote="", branch=branch)
    desk = Desk(root, bench.tell)
    before = bench.snapshot
    with desk.exchange("sync") as noted:
        found = _Exchange(desk, other, noted, ask=ask)
        whole = found.run(send=send)
    for sentence in desk.notes:
        bench.tell(sentence)
    return found.done(before, bench.afresh()) if whole else found.stopped()


class _Exchange:
    """One exchange, step by step."""

    def __init__(self, desk: Desk, other: Other, noted: Intent, *, ask: bool) -> None:
        self.desk = desk
        self.noted = noted
        self.spawned = partial(desk.note_git, noted)
        self.root = desk.root
        self.other = other
        self.ask = ask
        self.start = git.head(self.root)
        self.came = 0
        self.finished = False
        self.sent: int | None = None
        self.merged = False
        self.notes: list[str] = []

    def run(self, *, send: bool) -> bool:
        """All of it; False where something has to be put right by hand.

        Raises:
            GitRefused: the other copy got something new each time.
        """
        if not self.finish_merge():
            return False
        for _ in range(ROUNDS):
            if not self.merge():
                return False
            if not send or self.send():
                return True
        raise GitRefused(
            f"{self.other.remote} got something new {ROUNDS} times while this one was sending.",
            mend="What came is merged here. Wait a little, then: labbook sync",
        )

    def finish_merge(self) -> bool:
        """Commits a merge of an earlier `sync` that the person has put right meanwhile.

        Raises:
            GitRefused: git is in the middle of something else.
        """
        doing = git.state(self.root)
        if not doing:
            return True
        known = gitremote.tip(self.root, self.other)
        coming = gitremote.merging(self.root)
        cut_off = doing == "merge" and coming is None  # before git had written what it merges
        coming = known if cut_off else coming
        if coming is None or known is None or not gitremote.is_in(self.root, coming, known):
            raise in_the_middle(doing)
        if open_files(self.root):
            return False
        if cut_off or git.is_hollow(self.root):  # the disk was full; it is done anew
            with self.desk.locked(but=self.noted.ident):
                return self.desk.take_back(self.noted, self.start or "", coming)
        with self.desk.locked(but=self.noted.ident):
            self.came += gitremote.ahead(self.root, coming, self.start)
            mended = [file.path for file in gitremote.unmerged(self.root)]
            gitremote.conclude(self.root, mended, self.spawned)
        self.merged = self.finished = True
        return True

    def merge(self) -> bool:
        """Fetches and merges; False where something has to be put right by hand."""
        gitremote.fetch(self.root, self.other, ask=self.ask, on_spawn=self.spawned)
        with self.desk.locked(but=self.noted.ident):
            here, there = git.head(self.root), gitremote.tip(self.root, self.other)
            new = gitremote.ahead(self.root, there, here)
            if not new:
                return True
            if here is None:
                raise GitRefused(
                    "Nothing is recorded here yet, and the other copy has entries.",
                    mend="Take that one: git clone ADDRESS, then labbook init in it",
                )
            if unread := gitremote.joined_unread(self.root, record_paths(self.root)):
                raise GitRefused(
                    f"{unread[0]} is set to be merged as a union of lines (merge=union), which "
                    "loses parts of entries and still can be read.",
                    mend="Take merge=union out of .gitattributes, and commit it",
                )
            self.came += new
            self.merged = self.merged or bool(gitremote.ahead(self.root, here, there))
            message = gitremote.merge_message(self.other)
            self.desk.will_merge(self.noted, here, there or "", message)
            ran = gitremote.merge_in(self.root, self.other, own_merge(), self.spawned)
            self.notes += said_by_driver(ran.err)
            if ran.code == 0:
                return True
            self.desk.has_merged(self.noted)
            if gitremote.unmerged(self.root):
                return False
            raise gitremote.unfinished(ran)

    def send(self) -> bool:
        """Sends what the other copy lacks; False where it has got something new."""
        here, there = git.head(self.root), gitremote.tip(self.root, self.other)
        count = gitremote.ahead(self.root, here, there)
        if count and not gitremote.push(self.root, self.other, ask=self.ask, on_spawn=self.spawned):
            return False
        self.sent = count
        return True

    def stopped(self) -> Synced:
        """What has to be put right."""
        return self._result(open=open_files(self.root))

    def done(self, before: Snapshot, bench: Bench) -> Synced:
        """What came, and what stands for two things now."""
        old, new = counts(before), counts(bench.snapshot)
        entries = tuple((new[word] - old[word], word) for word in new if new[word] > old[word])
        if self.finished or not self.came:  # the files had it before this run
            entries = ()
        twice = (*_same_endings(before, bench.snapshot), *self._same_numbers(bench))
        return self._result(entries=entries, twice=twice)

    def _same_numbers(self, bench: Bench) -> tuple[str, ...]:
        """Numbers that stand for two contents since this exchange; what `check` says of them."""
        from labbook.work.check_versions import version_problems

        if not self.merged or self.start is None:
            return ()
        rules = {"two-contents-one-number", "merge-kept-number"}
        found = [p for p in version_problems(bench) if p.rule in rules and p.commit]
        return tuple(p.what for p in found if not gitremote.is_in(self.root, p.commit, self.start))

    def _result(
        self,
        *,
        entries: tuple[tuple[int, str], ...] = (),
        open: tuple[OpenFile, ...] = (),
        twice: tuple[str, ...] = (),
    ) -> Synced:
        return Synced(
            remote=self.other.remote,
            address=gitremote.address(self.root, self.other),
            branch=self.other.branch,
            came=self.came,
            entries=entries,
            sent=self.sent,
            merged=self.merged,
            notes=tuple(dict.fromkeys(self.notes)),
            open=open,
            twice=twice,
        )


def said_by_driver(err: str) -> list[str]:
    """The sentences of the merge driver among what git said."""
    return [line.removeprefix(SAID) for line in err.splitlines() if line.startswith(SAID)]


# What is open ------------------------------------------------------------------------------------


def open_files(root: Path) -> tuple[OpenFile, ...]:
    """The files of an unfinished merge that nobody has put right yet."""
    found = []
    for file in gitremote.unmerged(root):
        if not file.sides:
            told = ("taken away in one copy, changed in the other",)
            found.append(OpenFile(path=file.path, places=told, by_hand=True))
        elif places := _places(root / file.path):
            found.append(OpenFile(path=file.path, places=places))
    return tuple(found)


def _places(file: Path) -> tuple[str, ...]:
    """What is still marked in a file."""
    from labbook.notebook.nodes import MERGE_CONFLICT, FileProblem, decode, parse_all

    try:
        text = decode(file.read_bytes(), file.name)
    except (FileProblem, OSError):
        return ("no text that could be merged",)
    if not file.name.endswith(".yaml"):
        return ("marked with <<<<<<< and >>>>>>>",) if "\n<<<<<<< " in f"\n{text}" else ()
    _, problems = parse_all(text, file.name)
    wrong = [p for p in problems if p.severity is Severity.ERROR]
    return tuple(
        f"line {p.place.line}: {p.what}" if p.rule != MERGE_CONFLICT else p.what for p in wrong
    )


# What came ---------------------------------------------------------------------------------------


def counts(snapshot: Snapshot) -> Counter[str]:
    """How many of each kind a notebook holds."""
    found: Counter[str] = Counter()
    found["formulas"] = len(snapshot.formulas)
    found["batches"] = len(snapshot.batches)
    for batch in snapshot.batches.values():
        found["weighings"] += len(batch.weighings)
        found["readings"] += len(batch.readings)
        found["corrections"] += len(batch.corrections)
    for jars in snapshot.jars.values():
        found["jars"] += len(jars.jars)
    for stability in snapshot.stability.values():
        found["looks"] += len(stability.looks)
    return found


def _same_endings(before: Snapshot, after: Snapshot) -> tuple[str, ...]:
    """Batches that share their two characters now, and did not before."""
    shared: dict[str, list[str]] = {}
    for full in after.batches:
        shared.setdefault(full.rsplit("-", 1)[-1], []).append(full)
    return tuple(
        f"{ending} is the ending of {' and '.join(sorted(ids))}: write the full id on one's jars"
        for ending, ids in sorted(shared.items())
        if len(ids) > 1 and not set(ids) <= set(before.batches)
    )
