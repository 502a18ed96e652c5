"""The rules of the trade that come with the program, as the texts of their files.

`limits-*.yaml` are limits of law, each with region, text and the day it was read; `pairs.yaml` what
doesn't go together; `checks.yaml` the figures and reasons of the rules of `check`; `causes*.yaml`
what the trade holds to be causes of failure. A notebook's own files have the same form.
"""

from __future__ import annotations

_STEMS = ("limits", "pairs", "checks", "causes")


def rule_texts() -> dict[str, str]:
    """The text of each file of rules by its name, sorted."""
    from importlib.resources import files

    folder = files(__package__)
    names = sorted(
        one.name
        for one in folder.iterdir()
        if one.name.endswith(".yaml") and one.name.split("-")[0].split(".")[0] in _STEMS
    )
    return {name: folder.joinpath(name).read_text(encoding="utf-8") for name in names}
