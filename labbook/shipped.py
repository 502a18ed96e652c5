"""Where the files that come with the program lie: starter templates and the sample notebook.

In a source tree, and in an editable installation, they are folders at the root of the project. A
wheel has no such root, so there they lie inside the package, in `labbook/_shipped`.
"""

from pathlib import Path
from typing import Final, Literal

Folder = Literal["templates", "sample_repo"]

PACKAGE: Final = Path(__file__).resolve().parent


def shipped(folder: Folder) -> Path:
    """The folder of that name, as an absolute path; only read from it, never write to it.

    The package is asked first: beside an installed package lie other people's packages, and a
    `templates` among them would not be ours.

    Raises FileNotFoundError when the folder is in neither place.
    """
    inside = PACKAGE / "_shipped" / folder
    beside = PACKAGE.parent / folder
    if inside.is_dir():
        return inside
    if beside.is_dir() and (PACKAGE.parent / "pyproject.toml").is_file():
        return beside
    raise FileNotFoundError(
        f"labbook: its own folder {folder!r} is missing, looked in {inside} and {beside}. "
        "The installation is incomplete: install emulsion-labbook again."
    )
