"""The page's text: a policy that names just its own script and style, and nothing that escapes."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from labbook.model.batch import Batch, BatchLine, BatchStep, Pin
from labbook.model.formula import Step
from labbook.model.quantities import Quantity
from labbook.model.results.sheet_page import Premade, SheetOf
from labbook.show.sheet_page import Parts, sheet_page
from labbook.work.sheet_page import SCRIPTS

FOLDER = Path(__file__).parents[2] / "templates" / "bench"
TEXT = {file.name: file.read_text(encoding="utf-8") for file in FOLDER.iterdir()}
PARTS = Parts(
    TEXT["page.html.j2"],
    TEXT["bench.css"],
    tuple(TEXT[name] for name in SCRIPTS),
    TEXT["phone.js"],
)
EVIL = "</script><script>alert(1)</script><img src=x onerror=alert(1)>\"'&{{ 7*7 }}<!--"


ELSEWHERE = (
    "fetch(", "XMLHttpRequest", "WebSocket", "sendBeacon", "import(", 'type="module', "http://",
    "https://", "@import", "url(", " src=", "<link", "connect-src", "indexedDB", "sessionStorage",
    "cookie", "caches.", "serviceWorker", "eval(", "new Function", "innerHTML", "postMessage",
)  # fmt: skip
"""What a page that asks nobody for anything, and keeps one text in one place, has no use for."""


def grams(text: str) -> Quantity:
    return Quantity(Decimal(text), "g")


def sheet_of(evil: str = "", **changes: Any) -> SheetOf:
    """A batch with two lines and two steps; `evil` in every free text."""
    line = BatchLine(
        id="a1", phase=f"A{evil}", ingredient="beeswax", sheet="beeswax", target=grams("4.50")
    )
    lye = replace(line, id="a2", phase="B", ingredient="sodium-hydroxide", adjust=f"pH to 5{evil}")
    hot = {"A": Quantity(Decimal(72), "°C")}
    batch = Batch(
        id="HC-260409-7K", state="open", made=date(2026, 4, 9),
        aim=f"smoother{evil}", changes=evil or None,
        formula=Pin(code="HC", id="f-x", version=3, digest="0", blob="0"), size=grams("100"),
        lines=(line, lye),
        steps=(
            BatchStep(id="s1", plan=Step(id="s1", do="heat", set=hot, note=evil or None)),
            BatchStep(id="s2", plan=Step(id="s2", do="combine", add="B", into="A",
                                         with_="stick-blender")),
        ),
    )  # fmt: skip
    caution = f"Strong alkali: goggles and gloves.{evil}"
    return SheetOf(
        batch=replace(batch, **changes), title=f"Hand cream{evil}", emulsion="water-in-oil",
        readability=Decimal("0.01"), cautions={"a2": (caution,), "a1": (caution,)},
        lots={"a1": (f"lot{evil}",)}, usual={}, premixes={"a1": (_premade(evil),)},
    )  # fmt: skip


def _premade(evil: str) -> Premade:
    """A premix whose formula's code no notebook would take, nor any file hold."""
    made = Batch(
        id=f"SBW-260301-2B{evil}", state="closed", made=date(2026, 3, 1), size=grams("50"),
        formula=Pin(code=f"SBW{evil}", id="f-y", version=1, digest="0", blob="0"),
    )  # fmt: skip
    return Premade(made, None)


def page(what: SheetOf, post: str = "") -> str:
    return sheet_page(what, PARTS, post=post).decode("utf-8")


def policy(text: str) -> str:
    found = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    assert found
    return html.unescape(found[1])


def sha(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def test_the_policy_names_just_this_script_and_this_style() -> None:
    text = page(sheet_of())
    scripts = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    styles = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
    assert (len(scripts), len(styles)) == (1, 1)
    assert policy(text) == (
        f"default-src 'none'; script-src '{sha(scripts[0])}'; style-src '{sha(styles[0])}'; "
        "img-src data:; form-action 'none'; base-uri 'none'"
    )


def test_only_the_served_page_can_send_and_only_to_where_it_came_from() -> None:
    text = page(sheet_of())
    for word in ELSEWHERE:
        assert word not in text, word
    served = page(sheet_of(), post="/key/entries")
    assert "fetch(" in served
    assert "connect-src 'self';" in policy(served)


def test_no_text_of_the_batch_acts() -> None:
    text = page(sheet_of(EVIL))
    assert text.count("<script") == 2
    assert "<img" not in text
    assert "49" not in re.sub(r"<script>.*?</script>|<style>.*?</style>", "", text, flags=re.DOTALL)
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', text, re.DOTALL)
    assert found
    assert json.loads(found[1])["batch"] == "HC-260409-7K"
    for name, script in TEXT.items():
        assert "</script" not in script.lower() or name.endswith(".j2")
        assert "<!--" not in script


def test_no_part_of_the_script_is_too_long_to_read() -> None:
    assert {*SCRIPTS, "phone.js"} == {name for name in TEXT if name.endswith(".js")}
    assert {name: text.count("\n") for name, text in TEXT.items() if text.count("\n") > 300} == {}


def test_a_trial_says_that_it_is_none_to_be_used() -> None:
    trial = Pin(code="HC", id="f-x", version=0, digest="0", blob="0", trial_of=3)
    assert "test only, not for use" in page(sheet_of(formula=trial))
    assert "test only" not in page(sheet_of())


def test_cautions_stand_once_where_they_matter() -> None:
    text = page(sheet_of())
    assert text.count("Strong alkali") == 1
    assert text.count("Hot oil and water burn") == 1
    assert text.index("Hot oil") < text.index("Unplug the blender") < text.index("Local rules")
    assert text.count("Unplug the blender") == 1
    for word in ("safe to use", "stable", "please", "Please", "successfully", "invalid "):
        assert word not in re.sub(r"<script>.*?</script>|<style>.*?</style>", "", text,
                                  flags=re.DOTALL), word  # fmt: skip
