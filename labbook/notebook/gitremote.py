"""A notebook's copy elsewhere: fetching from it, merging what came, sending to it.

Nothing here is called but by a command that the person typed for it. Credentials are git's
business: it asks at the terminal where there is one, and fails where there is none.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from labbook.model.errors import GitRefused, Unclear, UnknownName
from labbook.notebook.githistory import _entries
from labbook.notebook.gitrun import Ran, Spawned, refusal, run
from labbook.notebook.gitstate import git_dir, head, literals

# What a clone brings could name repositories inside it; a notebook holds none.
_ALONE = ("-c", "submodule.recurse=false", "-c", "fetch.recurseSubmodules=false")
_NAME = re.compile(r"[^-\s\x00-\x1f\x7f][^\s\x00-\x1f\x7f]*")


@dataclass(frozen=True, slots=True)
class Other:
    """The copy elsewhere: its name here, the branch there, and whether git knows that already."""

    remote: str
    branch: str
    followed: bool

    @property
    def tracking(self) -> str:
        """Where git keeps what it last saw there."""
        return f"refs/remotes/{self.remote}/{self.branch}"


@dataclass(frozen=True, slots=True)
class Unmerged:
    """A file that a merge left open; `sides` says whether both sides have it."""

    path: str
    sides: bool


def other_copy(root: Path, branch: str, named: str = "") -> Other | None:
    """The copy that a branch is exchanged with; None where the notebook has no other one.

    Args:
        root: the notebook.
        branch: the one that it stands on.
        named: a copy's name, as typed.

    Raises:
        UnknownName: no copy of that name, or a name that git could take for an option.
        Unclear: several copies and none named.
    """
    names = os.fsdecode(run(root, "remote").out).splitlines()
    follows, there = (_setting(root, f"branch.{branch}.{key}") for key in ("remote", "merge"))
    if named and named not in names:
        have = f"There is: {', '.join(names)}" if names else "See: git remote add"
        raise UnknownName(f"There is no other copy called {named}.", mend=have)
    chosen = named or (follows if follows in names else "")
    if not chosen and len(names) > 1:
        if "origin" not in names:
            raise Unclear(
                f"There are {len(names)} copies elsewhere: {', '.join(names)}.",
                mend=f"Name one: labbook sync {names[0]}",
            )
        chosen = "origin"
    chosen = chosen or next(iter(names), "")
    if not chosen:
        return None
    same = follows == chosen and there.startswith("refs/heads/")
    return Other(
        _sound(chosen, "copy"),
        _sound(there.removeprefix("refs/heads/") if same else branch, "branch"),
        same,
    )


def _setting(root: Path, key: str) -> str:
    return run(root, "config", "--get", key, ok=()).line


def _sound(name: str, what: str) -> str:
    if not _NAME.fullmatch(name) or ".." in name:
        raise UnknownName(
            f"The {what} is called {name!r}, which git could take for something else.",
            mend="Give it a name of letters and digits: git remote rename, git branch -m",
        )
    return name


def address(root: Path, other: Other) -> str:
    """Where the other copy is, without a password that may stand in it."""
    found = run(root, "remote", "get-url", "--", other.remote, ok=()).line
    return re.sub(r"(?<=://)[^/@]*@", "", found)


def _asking(root: Path, *, ask: bool) -> dict[str, str]:
    """How git gets at a password: at the terminal, or not at all."""
    if ask:
        return {"GIT_TERMINAL_PROMPT": os.environ.get("GIT_TERMINAL_PROMPT", "1")}
    quiet = {"GIT_TERMINAL_PROMPT": "0"}
    own = any(os.environ.get(name) for name in ("GIT_SSH", "GIT_SSH_COMMAND"))
    if not own and not _setting(root, "core.sshCommand"):
        quiet["GIT_SSH_COMMAND"] = "ssh -o BatchMode=yes"
    return quiet


def fetch(root: Path, other: Other, *, ask: bool, on_spawn: Spawned | None = None) -> None:
    """Brings what the other copy has; files and branches here stay as they are.

    Raises:
        GitRefused: it can't be reached, or declines.
    """
    what = f"+refs/heads/*:refs/remotes/{other.remote}/*"
    ran = run(
        root,
        *_ALONE,
        *("fetch", "--quiet", "--no-recurse-submodules", "--no-tags", "--no-auto-maintenance"),
        *("--", other.remote, what),
        ok=(),
        env={**_asking(root, ask=ask), "LC_ALL": "C", "LANGUAGE": "C"},
        reading=False,
        on_spawn=on_spawn,
    )
    if ran.code:
        raise refusal(
            "fetch",
            ran,
            what=f"{other.remote} can't be read, at {address(root, other)}.",
            mend="Mend what git names; nothing was changed here. Where it is: git remote -v",
        )


def tip(root: Path, other: Other) -> str | None:
    """The last commit that the other copy is known to have; None where it has none yet."""
    name = f"{other.tracking}^{{commit}}"
    return run(root, "rev-parse", "--verify", "--quiet", name, ok=(0, 1)).line or None


def ahead(root: Path, of: str | None, than: str | None) -> int:
    """How many commits one revision has that the other lacks."""
    if of is None:
        return 0
    span = [of] if than is None else [of, f"^{than}"]
    return int(run(root, "rev-list", "--count", "--end-of-options", *span, "--").line)


def is_in(root: Path, commit: str, revision: str) -> bool:
    """Whether a commit is part of a revision's history."""
    words = ("merge-base", "--is-ancestor", "--end-of-options", commit, revision)
    return run(root, *words, ok=(0, 1)).code == 0


def merge_message(other: Other) -> str:
    """The message of a merge's commit."""
    return f"Merge what {other.remote} has"


def merge_in(
    root: Path, other: Other, driver: Sequence[str], on_spawn: Spawned | None = None
) -> Ran:
    """Merges what the other copy has into the branch here; the person's hooks run as for git.

    Args:
        root: the notebook; its lock is held by the caller.
        other: whose commits were fetched.
        driver: settings for this merge alone, as `-c KEY=VALUE`.
        on_spawn: is told the process id of each git that writes, here and in the others.

    Returns:
        git's exit code with what it said; 0 where nothing is left to do.

    Raises:
        GitRefused: the two have no common beginning, or changed files stand in the way.
    """
    if run(root, "merge-base", "HEAD", other.tracking, ok=(0, 1)).code:
        raise GitRefused(
            f"The notebook at {other.remote} and this one have no common beginning.",
            mend="Clone the one (git clone), copy the other's files into it, and commit them.",
        )
    ran = run(
        root,
        *_ALONE,
        *driver,
        *("merge", "--quiet", "--ff", "--commit", "--no-squash", "--no-edit", "--no-stat"),
        *("--no-autostash", "--no-rerere-autoupdate", "-m", merge_message(other)),
        other.tracking,
        ok=(),
        env={"LC_ALL": "C", "LANGUAGE": "C"},
        reading=False,
        on_spawn=on_spawn,
    )
    if ran.code and not (git_dir(root) / "MERGE_HEAD").exists():
        raise refusal(
            "merge",
            ran,
            what="What came can't be merged over what is changed here and not committed.",
            mend="Keep what you changed (labbook save CODE, or git commit); "
            "then again: labbook sync",
        )
    return ran


def joined_unread(root: Path, paths: Iterable[str]) -> list[str]:
    """Files that a `.gitattributes` has merged as a union of lines, whatever they then say."""
    stdin = b"".join(os.fsencode(path) + b"\0" for path in paths)
    ran = run(root, "check-attr", "-z", "--stdin", "merge", stdin=stdin)
    fields = ran.out.split(b"\0")
    rows = zip(fields[::3], fields[2::3], strict=False)
    return [os.fsdecode(path) for path, value in rows if value == b"union"]


def merging(root: Path) -> str | None:
    """The commit that is being merged in, where a merge is unfinished."""
    file = git_dir(root) / "MERGE_HEAD"
    try:
        return file.read_text("ascii").split()[0]
    except (FileNotFoundError, IndexError):
        return None


def unmerged(root: Path) -> tuple[Unmerged, ...]:
    """The files that an unfinished merge left open, relative to the notebook."""
    stages: dict[str, set[str]] = {}
    for words, path in _entries(run(root, "ls-files", "-u", "-z", "--full-name").out):
        stages.setdefault(path, set()).add(words[2])
    begin = run(root, "rev-parse", "--show-prefix").line
    return tuple(
        Unmerged(path.removeprefix(begin), {"2", "3"} <= found) for path, found in stages.items()
    )


def conclude(root: Path, paths: Sequence[str], on_spawn: Spawned | None = None) -> None:
    """Ends a merge whose files are mended, as `git add` and `git commit` would.

    Raises:
        GitRefused: a hook or the signing program declined; the merge stays open.
    """
    if paths:
        run(root, "add", *literals(paths), reading=False, on_spawn=on_spawn)
    # A git that was cut off may have left no message for its merge.
    message = git_dir(root) / "MERGE_MSG"
    told = message.exists() and message.read_bytes().strip()
    words = ("commit", "--quiet", *(("--no-edit",) if told else ("-m", "Merge what came")))
    ran = run(root, *words, ok=(), reading=False, on_spawn=on_spawn)
    if ran.code:
        raise unfinished(ran)


def unfinished(ran: Ran) -> GitRefused:
    """The error of a merge that is done but for its commit."""
    return refusal(
        "commit",
        ran,
        what="The merge is done, but git did not commit it:",
        mend="Mend what git names, then again: labbook sync",
    )


def push(root: Path, other: Other, *, ask: bool, on_spawn: Spawned | None = None) -> bool:
    """Sends the branch; False where the other copy has got something new in the meantime.

    Raises:
        GitRefused: it can't be reached, or declines.
    """
    if head(root) is None:
        return True
    follow = () if other.followed else ("--set-upstream",)
    ran = run(
        root,
        *_ALONE,
        *("push", "--porcelain", "--recurse-submodules=no", "--no-follow-tags", *follow),
        *("--", other.remote, f"HEAD:refs/heads/{other.branch}"),
        ok=(),
        env={**_asking(root, ask=ask), "LC_ALL": "C", "LANGUAGE": "C"},
        reading=False,
        on_spawn=on_spawn,
    )
    if ran.code == 0:
        return True
    said = ran.out.decode("utf-8", "replace")
    if re.search(r"^!\t.*\[rejected\] \((?:fetch first|non-fast-forward)\)", said, re.MULTILINE):
        return False
    raise refusal(
        "push",
        ran,
        what=f"{other.remote} did not take what was sent.",
        mend="What came from there is merged here. Mend what git names, then: labbook sync",
    )
