"""Where a notebook stands in git: its folders, branch, state, identity; names of revisions."""

from __future__ import annotations

import os
import re
import shlex
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from labbook.model.errors import GitRefused, UnknownName
from labbook.notebook.gitrun import Ran, is_sealed, refusal, run


@dataclass(frozen=True, slots=True)
class Standing:
    """The folders of a notebook's repository.

    `own` is the git directory of this work tree, `common` the one that all its work trees share,
    `prefix` the notebook's path inside the repository ("" or "sub/dir/").
    """

    top: Path
    own: Path
    common: Path
    prefix: str


def literal(path: str) -> str:
    """A path that git takes as it is, whatever signs are in it."""
    # The magic word, not --literal-pathspecs: that one would reach the person's hooks as well.
    return f":(literal){path}"


def literals(paths: Iterable[str]) -> list[str]:
    """Several paths, after `--`."""
    return ["--", *map(literal, paths)]


def _no_repository(root: Path) -> GitRefused:
    return GitRefused(
        "This folder is not kept in git.",
        where=str(root),
        mend="Type labbook init here; it starts git and leaves your files as they are.",
    )


def _ask(root: Path, question: str) -> Ran:
    return run(root, "rev-parse", "--path-format=absolute", question, ok=())


def _somebody_elses(root: Path, ran: Ran) -> GitRefused:
    """The error of a repository that another user of the computer owns (CVE-2022-24765)."""
    told = refusal(
        "rev-parse",
        Ran(ran.code, b"", ran.err.partition("\n")[0]),  # the rest of git's words is to trust it
        what="This notebook belongs to another user of this computer, and git won't read this "
        "repository: its settings and hooks would run as you.",
        mend="If it is your own, from another disk or restored as root, make yourself its "
        f"owner (chown -R). If it is theirs, look into .git/config and .git/hooks first; if you "
        f"trust both, and whoever can change them: git config --global --add safe.directory "
        f"{shlex.quote(str(root))}",
    )
    told.where = str(root)
    return told


def standing(root: Path) -> Standing | None:
    """The folders of the repository around a notebook; None where there is none.

    Raises:
        GitRefused: git is missing, or there is a repository that it declines to read.
    """
    questions = ("--show-toplevel", "--git-dir", "--git-common-dir", "--show-prefix")
    ran = run(root, "rev-parse", "--path-format=absolute", *questions, ok=())
    if ran.code:
        if "not a git repository" in ran.err or "must be run in a work tree" in ran.err:
            return None
        if "safe.directory" in ran.err:
            raise _somebody_elses(root, ran)
        raise refusal("rev-parse", ran, what="git won't read this repository.")
    lines = ran.out.split(b"\n")
    if len(lines) == len(questions) + 1:
        answers = [Ran(0, line, "").line for line in lines[:-1]]
    else:  # a folder's name holds a line break
        answers = [_ask(root, question).line for question in questions]
    top, own, common, prefix = answers
    return Standing(Path(top), Path(own), Path(common), prefix)


def must_stand(root: Path) -> Standing:
    """As `standing`, where a notebook without git can't go on."""
    found = standing(root)
    if found is None:
        raise _no_repository(root)
    return found


def toplevel(root: Path) -> Path | None:
    """The top of the work tree; None outside of any."""
    found = standing(root)
    return found.top if found else None


def git_dir(root: Path) -> Path:
    """The git directory of this work tree."""
    return must_stand(root).own


def common_dir(root: Path) -> Path:
    """The git directory that all work trees of the repository share."""
    return must_stand(root).common


def prefix(root: Path) -> str:
    """Where the notebook lies inside the repository: "" or "sub/dir/"."""
    return must_stand(root).prefix


def head(root: Path) -> str | None:
    """The id of the current commit; None before the first one."""
    ran = run(root, "rev-parse", "--verify", "--quiet", "HEAD^{commit}", ok=(0, 1))
    return ran.line or None


def branch(root: Path) -> str:
    """The branch's name, also before its first commit; "(detached at abc1234)" on none."""
    named = run(root, "symbolic-ref", "--quiet", "--short", "HEAD", ok=(0, 1))
    if named.code == 0:
        return named.line
    return f"(detached at {run(root, 'rev-parse', '--short', 'HEAD').line})"


def branches_elsewhere(root: Path) -> tuple[str, ...]:
    """The branches that a clone brought from where it was cloned."""
    form = "--format=%(refname:lstrip=3)"
    names = os.fsdecode(run(root, "for-each-ref", form, "refs/remotes").out).splitlines()
    return tuple(dict.fromkeys(name for name in names if name != "HEAD"))


_STATES = (
    ("rebase-merge", "rebase"),
    ("rebase-apply", "rebase"),
    ("MERGE_HEAD", "merge"),
    ("CHERRY_PICK_HEAD", "cherry-pick"),
    ("REVERT_HEAD", "revert"),
    ("BISECT_LOG", "bisect"),
)


def state(root: Path) -> str:
    """What git is in the middle of: merge, rebase, cherry-pick, revert, bisect, or ""."""
    own = git_dir(root)
    return next((word for file, word in _STATES if (own / file).exists()), "")


# Identity ---------------------------------------------------------------------------------------

_IDENTITY = re.compile(r"(?P<who>.*<[^>]*>) \d+ [-+]\d+")


def identity(root: Path) -> str | None:
    """`Name <mail>` under which git would record; None where it knows no name or refuses one."""
    author, committer = (
        run(root, "var", f"GIT_{role}_IDENT", ok=()) for role in ("AUTHOR", "COMMITTER")
    )
    found = _IDENTITY.fullmatch(author.out.decode("utf-8", "replace").strip())
    return found["who"] if found and committer.code == 0 and author.code == 0 else None


def need_identity(root: Path) -> None:
    """Makes sure that git knows who records.

    Raises:
        GitRefused: it doesn't; says what to type.
    """
    if identity(root) is not None:
        return
    said = run(root, "var", "GIT_AUTHOR_IDENT", ok=())
    if said.code == 0:
        said = run(root, "var", "GIT_COMMITTER_IDENT", ok=())
    raise refusal(
        "var",
        Ran(said.code, b"", said.err.rpartition("\n")[2]),
        what="git doesn't know your name yet, and every entry carries one.",
        mend='For this notebook only: labbook init --name "Your name"\n'
        'For all you do with git: git config --global user.name "Your name"\n'
        "and git config --global user.email with your address",
    )


def set_identity(root: Path, name: str) -> None:
    """Sets a name for this notebook's repository only, with an address that can't exist.

    The address is under .invalid, a top-level name reserved for this (RFC 2606).
    """
    plain = re.sub(r"[^a-z0-9]+", ".", name.casefold()).strip(".") or "maker"
    for key, value in (("user.name", name), ("user.email", f"{plain}@labbook.invalid")):
        run(root, "config", "--local", key, value, reading=False)


def configure(root: Path, settings: Iterable[tuple[str, str]]) -> None:
    """Sets keys in the settings of this repository; what stands there already is left alone."""
    for key, value in settings:
        held = run(root, "config", "--local", "--get", key, ok=())
        if held.code or held.line != value:
            run(root, "config", "--local", "--replace-all", key, value, reading=False)


def start(root: Path, *, sealed: bool = False) -> None:
    """Makes a folder a git repository; `sealed` gives the same one on every machine.

    Raises:
        GitRefused: git declines.
    """
    root.mkdir(parents=True, exist_ok=True)
    same = ("--template=", "--object-format=sha1", "-b", "main")
    words = ("init", "--quiet", *(same if sealed or is_sealed() else ()))
    ran = run(root, *words, ok=(), reading=False)
    if ran.code:
        raise refusal(
            "init",
            ran,
            what="git could not begin here.",
            mend="Mend what git names. Was an earlier start cut off, delete the folder .git in "
            f"{root}, which holds no entry yet, and type it again.",
        )


# Revisions --------------------------------------------------------------------------------------


def resolve(root: Path, revision: str) -> str:
    """The commit's id for any name that git understands.

    Raises:
        UnknownName: there is no such commit, or the name looks like an option.
    """
    if revision and not revision.startswith("-") and "\0" not in revision:
        ran = run(root, "rev-parse", "--verify", "--quiet", f"{revision}^{{commit}}", ok=())
        if ran.code == 0:
            return ran.line
    raise UnknownName(
        f"“{revision}” names no commit of this notebook.",
        mend="git log --oneline lists them.",
    )


def revision_on(root: Path, day: date) -> str | None:
    """The last commit written at or before the end of a day; None if there is none.

    A commit belongs to the day that its author's calendar showed.
    """
    if (newest := head(root)) is None:
        return None
    form = "--format=tformat:%H%x00%aI"
    ran = run(root, "log", "-z", "--topo-order", "--no-show-signature", form, newest, "--")
    parts = ran.out.decode("ascii").split("\0")
    for commit, when in zip(parts[::2], parts[1::2], strict=False):
        if datetime.fromisoformat(when).date() <= day:
            return commit
    return None
