"""`init`: starts a notebook, or gives a cloned one what a clone can't bring."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from labbook.model.errors import NotAllowed, Unclear
from labbook.model.results.keeping import Started
from labbook.notebook.folder import FOLDERS, HEAD
from labbook.show.keeping import quoted
from labbook.work.draft import Draft
from labbook.work.driver_setup import ATTRIBUTE, set_up
from labbook.work.starters import protocol_templates

IGNORED = """\
# What labbook writes for itself and can write again.
.labbook/
.labbook-tmp-*
site/
"""
ATTRIBUTES = f"""\
# Plain text with the same line ends on every machine.
*.yaml text eol=lf
*.md text eol=lf
*.jpg binary
*.png binary
*.webp binary
# labbook shows and merges these, where `labbook init` was typed; elsewhere git does.
{ATTRIBUTE}
"""


def start(
    folder: Path, *, title: str = "", author: str = "", identity: str = "", protocol: str = "home"
) -> Started:
    """Makes a folder a notebook under git; in one that is a notebook already, adds what it lacks.

    Args:
        folder: made when it is not there.
        title: what stands at the head; the folder's name otherwise.
        author: who publishes, if anybody.
        identity: a name for commits of this notebook, for a git that knows none.
        protocol: the starter protocol that new formulas take.

    Raises:
        GitRefused: git is missing or too old; said before anything is written.
        Unclear: git knows no name and none was given.
    """
    from labbook.notebook import git
    from labbook.notebook.record import leftovers, record

    git.available()
    if folder.exists() and not folder.is_dir():
        raise NotAllowed(f"{folder} is a file.", mend="Name a folder: labbook init my-notebook")
    made = not folder.exists()
    folder.mkdir(parents=True, exist_ok=True)
    try:
        top = git.toplevel(folder)
        if not identity and git.identity(folder) is None:
            raise Unclear(
                "Git knows no name to write beside your entries.",
                mend="Give one, for this notebook only:\n"
                f'labbook init {quoted(str(folder))} --name "Your name"',
            )
        if top is None:
            git.start(folder)
        if identity:
            git.set_identity(folder, identity)
    except BaseException:
        if made and not any(folder.iterdir()):
            folder.rmdir()
        raise
    new = not (folder / HEAD).exists()
    if new and git.head(folder) is None and (there := git.branches_elsewhere(folder)):
        raise Unclear(
            "This clone shows none of the entries that it holds: the copy that it came from names "
            "a branch that isn't there.",
            mend=f"Take one of its branches, then again: git switch {there[0]}",
        )
    write_schemas(folder)
    written: tuple[str, ...] = ()
    if new:
        written = record(
            folder, lambda: _plan(folder, title, author, protocol), command="init"
        ).paths
    elif _lacks_driver(folder) or leftovers(folder):  # of an `init` that was cut off, too
        written = record(folder, lambda: _named(folder), command="init").paths
    set_up(folder)
    inside = "" if top is None or top.resolve() == folder.resolve() else str(top)
    return Started(
        folder=str(folder),
        title=title or folder.absolute().name,
        new=new,
        repository=inside,
        identity=git.identity(folder) or "",
        written=written,
    )


def _lacks_driver(root: Path) -> bool:
    """Whether a notebook of an earlier labbook doesn't name the drivers yet."""
    file = root / ".gitattributes"
    try:
        text = file.read_text(encoding="utf-8", errors="replace")
    except FileNotFoundError:
        return True
    return ATTRIBUTE not in text.splitlines()


def _named(root: Path) -> Any:
    draft = Draft(root)
    name = ".gitattributes"
    if draft.exists(name):
        lacking = ATTRIBUTES.splitlines()[-2:] if _lacks_driver(root) else []
        draft.edit(name, partial(_with_lines, lacking))
    else:
        draft.create(name, ATTRIBUTES)
    return draft.plan("Name what shows and merges the notebook's files")


def write_schemas(root: Path) -> None:
    """Writes the JSON Schemas that editors use; ignored by git, written anew by each version."""
    from labbook.notebook.schema import schemas

    folder = root / ".labbook" / "schema"
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in schemas().items():
        (folder / name).write_text(text, encoding="utf-8")


def _plan(root: Path, title: str, author: str, protocol: str) -> Any:
    from labbook.notebook.emit import document
    from labbook.notebook.schema import schema_line

    if (root / HEAD).exists():  # an `init` that was cut off has just been finished
        return _named(root)
    draft = Draft(root)
    protocols = protocol_templates()
    head: dict[str, Any] = {"format": 1, "title": title or root.absolute().name}
    if author:
        head["author"] = author
    if protocol in protocols:
        head["defaults"] = {"protocol": protocol}
    draft.create(HEAD, document(head, head=(schema_line("notebook", 0),)))
    for name, text in ((".gitignore", IGNORED), (".gitattributes", ATTRIBUTES)):
        if draft.exists(name):
            draft.edit(name, partial(_with_lines, text.splitlines()))
        else:
            draft.create(name, text)
    for name, text in protocols.items():
        path = f"protocols/{name}.yaml"
        if not draft.exists(path):
            draft.create(path, text)
    for folder in (*FOLDERS, "batches", "journal"):
        (root / folder).mkdir(exist_ok=True)
    return draft.plan(f"Start the notebook {title or root.absolute().name}")


def _with_lines(lines: list[str], old: str) -> str:
    """A text with the lines that it lacks at its end."""
    lacking = [line for line in lines if line not in old.splitlines()]
    if not lacking:
        return old
    return old + ("" if old.endswith("\n") or not old else "\n") + "\n".join(lacking) + "\n"
