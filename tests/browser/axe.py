"""What axe-core, a checker of pages by the rules of WCAG, finds wrong in an open page.

The engine is read out of a package of the test extra and put into the page through the debugging
protocol, which the page's own policy doesn't concern: no page is changed in order to be checked.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from tests.browser.chromium import Page

GRAVE = ("serious", "critical")
"""The two worst of axe-core's four impacts; minor and moderate are the others."""

_RUN = "axe.run().then((found) => JSON.stringify(found.violations))"


@dataclass(frozen=True, slots=True)
class Violation:
    """A rule that a page breaks, and where: the elements as CSS selectors, each with its reason."""

    rule: str
    impact: str
    help: str
    places: tuple[str, ...]

    @property
    def grave(self) -> bool:
        """Whether somebody is kept out, or nearly."""
        return self.impact in GRAVE


def violations(page: Page) -> list[Violation]:
    """All rules of axe-core that the page, as it stands now, breaks; none is left out.

    What is hidden isn't looked at, so open it first. Contrast is that of the colours shown.
    """
    page.evaluate(engine() + "\n;null")
    asked = {"expression": _RUN, "awaitPromise": True, "returnByValue": True}
    found = page._ask("Runtime.evaluate", asked)
    assert "exceptionDetails" not in found, found
    return [_violation(one) for one in json.loads(found["result"]["value"])]


def grave(page: Page) -> list[Violation]:
    """The serious and critical ones of `violations`."""
    return [one for one in violations(page) if one.grave]


@cache
def engine() -> str:
    """The script of axe-core."""
    return files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8")


def _violation(found: dict[str, Any]) -> Violation:
    places = tuple(
        f"{' '.join(map(str, node['target']))}: {node['failureSummary']}" for node in found["nodes"]
    )
    return Violation(found["id"], str(found["impact"]), found["help"], places)
