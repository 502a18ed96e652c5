"""A notebook's own templates, and whether the person here trusts them.

A clone brings templates that somebody else wrote. They run only once a person said so on this
machine: the SHA-256 of all of them, names and bytes, stands in the git directory, which no clone
and no commit carries. Whatever changes one of them needs trust again.
"""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from labbook.model.errors import Unreadable
from labbook.notebook.gitstate import common_dir

FOLDERS = ("journal", "site")
"""The folders under `templates/` whose templates the journal runs."""

ENDING = ".j2"
LARGEST = 256 * 1024
MOST = 100
_TRUSTED = "trusted-templates"


@dataclass(frozen=True, slots=True)
class OwnTemplates:
    """The texts by folder and file name, and what names them all."""

    texts: Mapping[str, Mapping[str, str]]
    digest: str

    @property
    def names(self) -> tuple[str, ...]:
        """Paths from the notebook's folder, in order."""
        return tuple(
            f"templates/{folder}/{name}" for folder in FOLDERS for name in self.texts[folder]
        )


def own_templates(root: Path) -> OwnTemplates | None:
    """What stands in `templates/journal` and `templates/site`; None where nothing does.

    Raises:
        Unreadable: a link, something that is no plain file, too large, too many, or no UTF-8.
    """
    texts = {folder: _texts(root, folder) for folder in FOLDERS}
    if not any(texts.values()):
        return None
    whole = hashlib.sha256()
    for folder, held in texts.items():
        for name, text in held.items():
            raw = text.encode("utf-8")
            whole.update(f"{folder}/{name}\0{len(raw)}\0".encode() + raw)
    return OwnTemplates(texts, whole.hexdigest())


def _texts(root: Path, folder: str) -> dict[str, str]:
    place = root / "templates" / folder
    if (root / "templates").is_symlink() or place.is_symlink() or not place.is_dir():
        return {}
    paths = sorted(path for path in place.iterdir() if path.name.endswith(ENDING))
    if len(paths) > MOST:
        raise Unreadable(
            f"{place.name} holds {len(paths)} templates; {MOST} are taken at most.",
            where=f"templates/{folder}",
        )
    return {path.name: _text(path, f"templates/{folder}/{path.name}") for path in paths}


def _text(path: Path, where: str) -> str:
    # A link could show any file of this machine in a public page, a pipe would never end.
    if path.is_symlink() or not path.is_file():
        raise Unreadable(f"{where} is no plain file.", where=where, mend="Put the text there.")
    with path.open("rb") as file:
        raw = file.read(LARGEST + 1)
    if len(raw) > LARGEST:
        raise Unreadable(f"{where} is larger than {LARGEST // 1024} KB.", where=where)
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise Unreadable(
            f"{where} is no text in UTF-8: byte {error.start + 1}.", where=where
        ) from error


# Trust ------------------------------------------------------------------------------------------


def _file(root: Path) -> Path:
    return common_dir(root) / "labbook" / _TRUSTED


def is_trusted(root: Path, own: OwnTemplates) -> bool:
    """Whether exactly these templates were trusted here."""
    with contextlib.suppress(FileNotFoundError):
        return own.digest in _file(root).read_text(encoding="ascii", errors="replace").split()
    return False


def trust(root: Path, own: OwnTemplates) -> None:
    """Keeps that these may run; templates trusted before may not any more."""
    file = _file(root)
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(f"{own.digest}\n", encoding="ascii")


def forget(root: Path) -> bool:
    """Trusts none any more; gives whether any were."""
    try:
        _file(root).unlink()
    except FileNotFoundError:
        return False
    return True
