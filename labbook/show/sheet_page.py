"""The bench sheet as one HTML file that needs nothing else: no request, hashed script and style.

Everything is in the page as it is written, so it prints and reads without a script. The script
keeps what is typed and reckons; `templates/bench` holds it.
"""

from __future__ import annotations

import base64
import hashlib
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from labbook.model.batch import Batch, BatchLine, BatchStep
from labbook.model.results.sheet_page import Premade, SheetOf
from labbook.show.formulas import step_words
from labbook.show.layout import clean
from labbook.show.sheet_data import grams, sheet_data
from labbook.show.sheet_vessels import vessels
from labbook.trade.bench_places import keys_of, temperature_places
from labbook.trade.exact import decimal_text, to_places

LAST_CAUTION = "Local rules and the makers' safety sheets come first."
_HEAT = (
    "Hot oil and water burn; water overheated in a microwave can boil up without warning."
    " Nothing is heated in a closed jar."
)
_BLADE = "Unplug the blender before touching its blade."
_UNITS = {"hold": "min", "mixed": "min", "stirred until": "°C"}
_FINISHED_PH = (
    "The pH of a finished water-in-oil emulsion says nothing: the electrode meets oil. Measure the"
    " water phase before combining."
)
READINGS = (
    ("pH", ""), ("emulsion type", ""), ("viscosity", "mPa s"), ("spread", "mm"), ("funnel", "s"),
    ("weight", "g"), ("density", "g/ml"), ("temperature", "°C"), ("conductivity", "mS/cm"),
    ("droplet size", "µm"), ("evaporated", "g"),
)  # fmt: skip
"""Readings that the page offers, with the unit of each."""
TYPES = ("water-in-oil", "oil-in-water", "never formed", "unclear")


@dataclass(frozen=True, slots=True)
class Parts:
    """The texts that a page is made of: the template, the style, and the scripts in order.

    The last script is the page itself and the others are its parts. `wire` is the part that only a
    served page has: it sends entries to the computer.
    """

    template: str
    style: str
    scripts: tuple[str, ...]
    wire: str


def policy_of(script: str, style: str, *, served: bool = False) -> str:
    """What the page may do: run this script, use this style, and nothing else."""
    connect = "connect-src 'self'; " if served else ""
    return (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; "
        f"img-src data:; {connect}form-action 'none'; base-uri 'none'"
    )


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode()


def sheet_page(what: SheetOf, parts: Parts, *, post: str = "") -> bytes:
    """The page of a batch, as UTF-8.

    Args:
        what: the batch and what is known of its lines.
        parts: the texts that it is made of.
        post: where a served page sends entries; empty for a file, which sends nothing.
    """
    from jinja2 import DictLoader, StrictUndefined
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    environment = ImmutableSandboxedEnvironment(
        loader=DictLoader({"page": parts.template}), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True,
    )  # fmt: skip
    *before, page = parts.scripts
    script = "\n".join((*before, *((parts.wire,) if post else ()), page))
    text = environment.get_template("page").render(
        **_head(what),
        phases=_phases(what),
        steps=_steps(what),
        vessels=vessels(what.batch),
        readings=[{"name": name, "unit": unit} for name, unit in READINGS],
        types=TYPES,
        media=_media(what.emulsion),
        finished_ph=_FINISHED_PH if what.emulsion == "water-in-oil" else "",
        finish_words=_finish_words(post),
        cautions=(LAST_CAUTION,),
        policy=_safe(policy_of(script, parts.style, served=bool(post))),
        style=_safe(parts.style),
        script=_safe(script),
        data=_safe(sheet_data(what, post)),
    )
    return text.encode("utf-8")


def _safe(text: str) -> Any:
    """Text of the program's own, or escaped already, as the template takes it."""
    from markupsafe import Markup

    return Markup(text)


def _head(what: SheetOf) -> dict[str, Any]:
    batch = what.batch
    return {
        "short": batch.short,
        "title": clean(what.title or batch.formula.code),
        "id": batch.id,
        "of": batch.formula.name,
        "size": grams(batch.size),
        "balance": batch.tools.balance if batch.tools else None,
        "trial": batch.formula.trial_of is not None,
        "aim": clean(batch.aim or ""),
        "changes": clean(batch.changes or ""),
    }


def _finish_words(post: str) -> str:
    if post:
        return (
            "What you type goes into the notebook while the computer serves this page. Finish"
            " also gives a file of all of it, and clears this browser."
        )
    return (
        "Gives a file, and the same as text, that labbook takes into the notebook. Afterwards"
        " nothing has to stay in this browser."
    )


# Lines -------------------------------------------------------------------------------------------


def _phases(what: SheetOf) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    said: set[str] = set()
    names = [line.ingredient for line in what.batch.lines]
    for line in what.batch.lines:
        if not found or found[-1]["phase"] != line.phase:
            found.append({"phase": line.phase, "lines": []})
        cautions = [c for c in what.cautions.get(line.id, ()) if c not in said]
        said.update(cautions)
        twice = names.count(line.ingredient) > 1
        found[-1]["lines"].append(_line(what, line, cautions, twice=twice))
    return found


def _line(what: SheetOf, line: BatchLine, cautions: list[str], *, twice: bool) -> dict[str, Any]:
    name = line.ingredient + (", q.s." if line.qs else "")
    name += f", {clean(line.adjust)}" if line.adjust else ""
    before = _before(what.batch, line.id)
    return {
        "id": line.id,
        "name": name,
        "label": f"{line.ingredient}{f' in {line.phase}' if twice else ''},",
        "target": bool(line.target),
        "shown": f"{grams(line.target)} g" if line.target else "no target",
        "cautions": [clean(caution) for caution in cautions],
        "before": decimal_text(before) if before is not None else "",
        "lots": what.lots.get(line.id, ()),
        "lot": what.usual.get(line.id, ""),
        "premixes": [
            {"id": made.batch.id, "words": _premix_words(made)}
            for made in what.premixes.get(line.id, ())
        ],
    }


def _premix_words(made: Premade) -> str:
    name = clean(f"{made.batch.short}, {made.batch.formula.name}")
    return name if made.holds is None else f"{name}, {to_places(made.holds, 2)} %"


def _before(batch: Batch, line: str) -> Fraction | None:
    """What the notebook holds for a line already, in g."""
    found = [w.mass.exact("g") for w in batch.weighings if w.line == line and not w.struck]
    return sum(found, Fraction()) if found else None


# Steps -------------------------------------------------------------------------------------------


def _steps(what: SheetOf) -> list[dict[str, Any]]:
    phases = {line.phase for line in what.batch.lines}
    found = []
    heated = cut = False
    for step in what.batch.steps:
        plan = step.plan
        cautions = []
        if plan and not heated and (plan.set or plan.do in ("heat", "melt")):
            cautions.append(_HEAT)
            heated = True
        if plan and not cut and "blender" in f"{plan.with_ or ''} {_mixer(what.batch, plan.do)}":
            cautions.append(_BLADE)
            cut = True
        found.append(
            {
                "id": step.id,
                "words": clean(step_words(plan) if plan else step.id),
                "cautions": cautions,
                "fields": _fields(step, phases),
                "hold_from": bool(plan and plan.hold and plan.do != "hold"),
            }
        )
    return found


def _mixer(batch: Batch, act: str) -> str:
    used = act in ("combine", "mix", "whip", "disperse")
    return batch.tools.mixer or "" if used and batch.tools else ""


def _fields(step: BatchStep, phases: set[str]) -> list[dict[str, str]]:
    found = []
    for name in temperature_places(step, phases):
        planned = step.plan.set.get(name) if step.plan and step.plan.set else None
        label = f"phase {name}" if name in phases else name
        label += f", set {planned}" if planned else ", temperature"
        unit = planned.unit if planned else "°C"
        found.append(_field(f"temperature {name}", label, unit, "number"))
    for key in keys_of(step):
        unit = _UNITS.get(key, "")
        label = {"seen": "how it looked", "hold": "held"}.get(key, key)
        found.append(_field(key, label, unit, "number" if unit else "text"))
    return [{**one, "id": f"f{number}"} for number, one in enumerate(found)]


def _field(key: str, label: str, unit: str, kind: str) -> dict[str, str]:
    return {"key": key, "label": clean(label), "unit": unit, "kind": kind}


def _media(emulsion: str) -> tuple[str, ...]:
    if emulsion in ("gel", "solution", "surfactant", "anhydrous"):
        return ("product", "water phase")
    return ("water phase", "finished emulsion")
