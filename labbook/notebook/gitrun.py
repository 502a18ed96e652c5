"""Starting git: the only module that imports GitPython, and the one environment git gets.

GitPython's object and index interfaces are not used: they skip filters, signing and the person's
identity, and fail on SHA-256 repositories. What remains is its runner, given whole command lines.
"""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Callable, Iterator, Mapping
from contextvars import ContextVar
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from labbook.model.errors import GitRefused

OLDEST = (2, 32)
Spawned = Callable[[int], None]
"""Is told 0 before a git that writes is started, then its process id."""

# A list of what is kept, since a list of what is dropped ages with each release of git. Above all
# GIT_DIR, GIT_WORK_TREE and GIT_INDEX_FILE go: git exports them to hooks, and they would send a
# command to another repository (pre-commit/pre-commit#300, golangci/golangci-lint#6513).
KEPT = frozenset({
    "GIT_ASKPASS",  # how the person is asked for a key's passphrase
    "GIT_ATTR_NOSYSTEM",
    "GIT_AUTHOR_DATE",
    "GIT_AUTHOR_EMAIL",  # who records: some people set a name only here
    "GIT_AUTHOR_NAME",
    "GIT_CEILING_DIRECTORIES",  # where to stop looking for a repository (slow network folders)
    "GIT_COMMITTER_DATE",
    "GIT_COMMITTER_EMAIL",
    "GIT_COMMITTER_NAME",
    "GIT_CONFIG_COUNT",  # settings handed over by the caller; KEY_n and VALUE_n belong to it
    "GIT_CONFIG_GLOBAL",
    "GIT_CONFIG_NOSYSTEM",
    "GIT_CONFIG_SYSTEM",
    "GIT_DISCOVERY_ACROSS_FILESYSTEM",
    "GIT_EDITOR",  # for hooks that open one
    "GIT_EXEC_PATH",  # a git that is not installed where it was built
    "GIT_HTTP_PROXY_AUTHMETHOD",
    "GIT_SSH",
    "GIT_SSH_COMMAND",
    "GIT_SSH_VARIANT",
    "GIT_SSL_CAINFO",
    "GIT_SSL_NO_VERIFY",
    "GIT_TEMPLATE_DIR",  # the person's own hooks for new repositories
    "GIT_TERMINAL_PROMPT",
})  # fmt: skip
KEPT_BEGINNINGS = ("GIT_CONFIG_KEY_", "GIT_CONFIG_VALUE_", "GIT_TRACE")

ALWAYS = (
    "--no-pager",
    *("-c", "core.fsmonitor=false"),  # a helper process is of no use to short commands
    *("-c", "core.quotePath=false"),
    *("-c", "log.showSignature=false"),  # would stand in the parsed log (tibirna/qgit#66)
    *("-c", "color.ui=false"),
    *("-c", "protocol.ext.allow=never"),  # a clone could name a program as its remote
)
WRITING = (
    # After a power cut a commit must not name objects that never reached the disk.
    *("-c", "core.fsync=committed,loose-object"),
    *("-c", "i18n.commitEncoding=UTF-8"),
)
SEALED = (
    *("-c", "core.hooksPath=" + os.devnull),
    *("-c", "commit.gpgSign=false"),
    *("-c", "core.autocrlf=false"),
    *("-c", "core.attributesFile=" + os.devnull),
    *("-c", "core.excludesFile=" + os.devnull),
    *("-c", "gc.auto=0"),
)

_sealed: ContextVar[Mapping[str, str] | None] = ContextVar("sealed", default=None)


@dataclass(frozen=True, slots=True)
class Ran:
    """What a git command left behind."""

    code: int
    out: bytes
    err: str

    @property
    def line(self) -> str:
        """The output as one line, as a path or name: decoded like file names."""
        return os.fsdecode(self.out.removesuffix(b"\n").removesuffix(b"\r"))


@contextlib.contextmanager
def sealed(name: str, mail: str) -> Iterator[None]:
    """Inside, no setting, hook, attribute or identity of the person has a say (for the demo)."""
    who = {
        f"GIT_{role}_{key}": value
        for role in ("AUTHOR", "COMMITTER")
        for key, value in (("NAME", name), ("EMAIL", mail))
    }
    nothing = {
        "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_CONFIG_NOSYSTEM": "1",
        "GIT_ATTR_NOSYSTEM": "1",
        "GIT_CONFIG_COUNT": "0",
    }
    token = _sealed.set(who | nothing)
    try:
        yield
    finally:
        _sealed.reset(token)


def is_sealed() -> bool:
    """Whether commands run under `sealed` now."""
    return _sealed.get() is not None


def is_kept(name: str) -> bool:
    """Whether git may see a variable of this name."""
    return not name.startswith("GIT_") or name in KEPT or name.startswith(KEPT_BEGINNINGS)


@contextlib.contextmanager
def _clean_environment() -> Iterator[None]:
    """Takes the variables that git must not see out of the environment, and puts them back.

    GitPython hands the whole environment on and can't leave anything out of it.
    """
    taken = {name: os.environ.pop(name) for name in list(os.environ) if not is_kept(name)}
    try:
        yield
    finally:
        os.environ.update(taken)


def _library() -> Any:
    """GitPython, imported when first needed (up to an eighth of a second), quiet without git."""
    # gitpython-developers/GitPython#1882: without this the import itself fails where git is missing
    os.environ["GIT_PYTHON_REFRESH"] = "quiet"
    try:
        import git
    finally:
        os.environ.pop("GIT_PYTHON_REFRESH", None)
    return git


def missing() -> GitRefused:
    """The sentence for a machine without git."""
    return GitRefused(
        "git is not installed, or not found on the PATH; labbook keeps every entry in it.",
        mend="Install git from https://git-scm.com and open a new terminal.",
    )


def _variables(env: Mapping[str, str] | None, reading: bool) -> dict[str, str]:
    found = {"GIT_TERMINAL_PROMPT": os.environ.get("GIT_TERMINAL_PROMPT", "0")}
    if reading:
        found["GIT_OPTIONAL_LOCKS"] = "0"  # a look must not stand in the way of a commit
    else:
        # Hooks and signing programs speak the person's language; GitPython would force C on them.
        found |= {name: os.environ.get(name, "") for name in ("LC_ALL", "LANGUAGE")}
    return found | dict(_sealed.get() or {}) | dict(env or {})


def run(
    root: Path,
    *words: str,
    stdin: bytes = b"",
    ok: tuple[int, ...] = (0,),
    reading: bool = True,
    env: Mapping[str, str] | None = None,
    on_spawn: Spawned | None = None,
) -> Ran:
    """Runs `git WORDS` in a folder.

    Args:
        root: the folder; git goes there itself, so a missing one is git's error.
        words: the command and its arguments.
        stdin: what it reads.
        ok: exit codes that are no failure; empty allows every one.
        reading: takes no optional lock and gives output in English.
        env: variables on top of the cleaned environment.
        on_spawn: is told 0 before it starts, and its process id before it gets any input.

    Raises:
        GitRefused: git is missing, or ended with another code; its own words are kept.
    """
    options = ALWAYS + (() if reading else WRITING) + (SEALED if is_sealed() else ())
    line = ["git", "-C", str(root.absolute()), *options, *words]
    tell = on_spawn or (lambda _: None)
    tell(0)
    with _clean_environment():
        library = _library()
        try:
            process = library.Git(str(root.absolute())).execute(
                line, istream=-1, as_process=True, env=_variables(env, reading)
            )
        except (library.GitCommandNotFound, FileNotFoundError) as error:
            raise missing() from error
    # `proc` is the plain process; its wrapper ends it should this function be left early.
    tell(process.proc.pid)
    out, err = process.proc.communicate(stdin)
    ran = Ran(process.proc.returncode, out, err.decode("utf-8", "replace").strip())
    if ok and ran.code not in ok:
        raise refusal(words[0], ran)
    return ran


def refusal(verb: str, ran: Ran, *, what: str = "", mend: str = "") -> GitRefused:
    """An error with git's own words."""
    words = ran.err or os.fsdecode(ran.out).strip()
    if ran.code < 0:
        words = f"{words}\ngit was ended by signal {-ran.code}".strip()
    head = what or f"git {verb} refused (exit {ran.code})."
    return GitRefused(f"{head}\n{words}".strip(), mend=mend)


def available() -> None:
    """Makes sure that git is there and new enough.

    Raises:
        GitRefused: it is missing, or older than 2.32; says what to install.
    """
    _version(os.environ.get("PATH", ""))


_known_versions: dict[str, tuple[int, int]] = {}


def _version(path: str) -> tuple[int, int]:
    if path not in _known_versions:
        said = run(Path.cwd(), "version").line
        found = re.search(r"(\d+)\.(\d+)", said)
        number = (int(found[1]), int(found[2])) if found else (0, 0)
        if number < OLDEST:
            raise GitRefused(
                f"git is too old: it says “{said}”, and labbook needs 2.32 or newer.",
                mend="Install a newer git from https://git-scm.com and open a new terminal.",
            )
        _known_versions[path] = number
    return _known_versions[path]
