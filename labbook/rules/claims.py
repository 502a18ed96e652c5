"""The words that a published text should not claim with; a file of the package, `claims.yaml`."""

from __future__ import annotations


def claims_text() -> str:
    """The list as the text of its file."""
    from importlib.resources import files

    return files(__package__).joinpath("claims.yaml").read_text(encoding="utf-8")
