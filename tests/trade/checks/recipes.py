"""Recipes to check, short to write and to change, on the starter sheets and the program's rules.

An invented pottery studio's creams. Each is sound as it stands; a test changes one thing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any

from labbook.model.batch import Batch, BatchStep, Done, Reading
from labbook.model.fields import QS
from labbook.model.formula import Formula, Line, Phase, Step, Target
from labbook.model.materials import Ingredient
from labbook.model.quantities import Quantity, parse_quantity
from labbook.model.rulebook import RuleBook, rulebook_of
from labbook.model.rules import CheckRule, Rules
from labbook.model.sheets import Sheets
from labbook.notebook.snapshot import read_bytes
from labbook.rules.starters import starter_names, starter_text
from labbook.rules.trade import rule_texts
from labbook.trade.advice import Advice
from labbook.trade.balance import Balance
from labbook.trade.checks import look, run
from labbook.trade.checks.case import Case, Unseen
from labbook.trade.composition import resolve
from tests.trade.making import PIN, exact, grams


# Read here, while the module is loaded: tests of a pure room read nothing.
def _sheet(name: str) -> Ingredient:
    record = read_bytes(f"ingredients/{name}.yaml", (starter_text(name) or "").encode()).record
    assert isinstance(record, Ingredient)
    return record


def _rules(name: str, text: str) -> Rules:
    record = read_bytes(f"rules/{name}", text.encode()).record
    assert isinstance(record, Rules)
    return record


SHEETS: dict[str, Ingredient] = {name: _sheet(name) for name in starter_names()}
_FILES = {name: _rules(name, text) for name, text in rule_texts().items()}
RULES: RuleBook = rulebook_of(_FILES.values())
CHECK_ROWS: tuple[CheckRule, ...] = _FILES["checks.yaml"].checks
BALANCE = Balance(readability=exact("0.01"))


def celsius(text: str) -> Quantity:
    return parse_quantity(f"{text} °C", "temperature")


def step(id_: str, do: str, temperatures: Mapping[str, str] | None = None, **more: Any) -> Step:
    """A step; temperatures are bare figures in °C."""
    for key in ("below", "at", "stir_until"):
        if key in more:
            more[key] = celsius(more[key])
    degrees = {phase: celsius(text) for phase, text in (temperatures or {}).items()}
    return Step(id=id_, do=do, set=degrees or None, **more)


@dataclass(frozen=True)
class Recipe:
    """Percents by phase and name, q.s. included; changed by its methods into another recipe."""

    emulsion: str
    phases: Mapping[str, Mapping[str, str]]
    method: tuple[Step, ...] = ()
    pH: tuple[str | None, str | None] | None = None
    pH_of: str = "water phase"
    size: str = "100"
    roles: Mapping[str, str] = field(default_factory=dict)
    sheets: Mapping[str, Ingredient] = field(default_factory=lambda: SHEETS)
    balance: Balance | None = BALANCE
    rules: RuleBook = RULES

    def put(self, phase: str, name: str, percent: str) -> Recipe:
        """With this much of it in the phase."""
        own = {**self.phases.get(phase, {}), name: percent}
        return replace(self, phases={**self.phases, phase: own})

    def out(self, *names: str) -> Recipe:
        """Without these."""
        return replace(
            self,
            phases={
                phase: {name: percent for name, percent in own.items() if name not in names}
                for phase, own in self.phases.items()
            },
        )

    def instead(self, old: str, new: str, percent: str | None = None) -> Recipe:
        """One for another, at the same place."""
        phases = {
            phase: {(new if n == old else n): (percent or p if n == old else p)
                    for n, p in own.items()}
            for phase, own in self.phases.items()
        }  # fmt: skip
        return replace(self, phases=phases)

    def doing(self, *steps: Step) -> Recipe:
        """With other steps in place of those of the same ids, and new ones at the end."""
        given = {one.id: one for one in steps}
        kept = tuple(given.pop(one.id, one) for one in self.method)
        return replace(self, method=(*kept, *given.values()))

    def sheet(self, name: str, **values: Any) -> Recipe:
        """With other figures on a sheet."""
        changed = replace(self.sheets[name], **values)
        return replace(self, sheets={**self.sheets, name: changed})

    def without_sheet(self, *names: str) -> Recipe:
        """In a notebook that has no sheet of these."""
        left = {name: sheet for name, sheet in self.sheets.items() if name not in names}
        return replace(self, sheets=left)

    def but(self, **values: Any) -> Recipe:
        """With other fields."""
        return replace(self, **values)

    @property
    def formula(self) -> Formula:
        """The recipe as a formula."""
        targets: tuple[Target, ...] = ()
        if self.pH is not None:
            low, high = (None if end is None else Decimal(end) for end in self.pH)
            targets = (Target(of=self.pH_of, reading="pH", from_=low, to=high),)
        return Formula(
            code="SBC",
            title="Studio hand cream",
            id="f-2k3d4f",
            emulsion=self.emulsion,
            batch_size=grams(self.size),
            phases=tuple(
                Phase(phase=phase, lines=tuple(self._line(*one) for one in own.items()))
                for phase, own in self.phases.items()
            ),
            method=self.method,
            targets=targets,
        )

    def _line(self, name: str, percent: str) -> Line:
        adjust = "pH" if percent.startswith("~") else None
        amount = QS if percent == "qs" else Decimal(percent.removeprefix("~"))
        return Line(ingredient=name, percent=amount, adjust=adjust, role=self.roles.get(name))

    def case(self, **more: Any) -> Case:
        """What the checks look at."""
        sheets = Sheets(self.sheets)
        return Case(
            formula=self.formula,
            composition=resolve(self.formula, sheets),
            sheets=sheets,
            rules=self.rules,
            balance=self.balance,
            **more,
        )

    def made(self, done: Mapping[str, Done], *readings: Reading, **more: Any) -> Case:
        """A batch of it, with what was written down of its steps and what was read."""
        batch = Batch(
            id="SBC-260109-4M",
            state="closed",
            made=date(2026, 1, 9),
            formula=PIN,
            size=grams(self.size),
            steps=tuple(
                BatchStep(id=one.id, plan=one, done=done.get(one.id)) for one in self.method
            ),
            readings=readings,
        )
        return self.case(batch=batch, **more)


def done(temperatures: Mapping[str, str] | None = None, **more: Any) -> Done:
    """What was done in a step; temperatures are bare figures in °C."""
    degrees = {phase: celsius(text) for phase, text in (temperatures or {}).items()}
    if "stirred_until" in more:
        more["stirred_until"] = celsius(more["stirred_until"])
    return Done(temperatures=degrees or None, **more)


def pH_reading(value: str, of: str | None = "water phase", **more: Any) -> Reading:
    return Reading(id="r1", reading="pH", value=Decimal(value), of=of, **more)


@dataclass(frozen=True)
class Pair:
    """Two near cases: one that a rule speaks of, one of which it says nothing.

    `says` are words and figures of the finding's sentence.
    """

    flagged: Case
    near: Case
    says: tuple[str, ...]


def findings(case: Case, rule: str) -> list[Advice]:
    return [one for one in run(case) if one.rule == rule]


def unseen(case: Case) -> set[Unseen]:
    return set(look(case).unseen)


def proves(rule: str, pair: Pair) -> None:
    """The rule speaks of one and not of the other, with its figures, its reason and a remedy."""
    found = findings(pair.flagged, rule)
    assert found, f"{rule} says nothing of the formula that it should speak of"
    assert findings(pair.near, rule) == []
    said = found[0]
    for part in pair.says:
        assert part in said.what
    assert said.mend
    assert said.source
    assert said.what.rstrip().endswith(".")


# Sound recipes -----------------------------------------------------------------------------------

WATER_IN_OIL = Recipe(
    "water-in-oil",
    {
        "A": {
            "polyglyceryl-3-diisostearate": "4.5",
            "sunflower-oil": "12",
            "isopropyl-myristate": "6",
            "beeswax": "1.5",
        },
        "B": {
            "water": "qs",
            "glycerin": "3",
            "sodium-chloride": "0.8",
            "sodium-benzoate": "0.5",
            "citric-acid-20-percent": "~0.5",
        },
        "C": {"tocopherol": "0.4"},
    },
    method=(
        step("s1", "adjust", into="B"),
        step("s2", "heat", {"A": "72", "B": "72"}),
        step("s3", "combine", add="B", into="A", with_="stick-blender"),
        step("s4", "cool", stir_until="35"),
        step("s5", "add", add="C", into="the cream", below="35"),
    ),
    pH=("4.8", "5.0"),
)
OIL_IN_WATER = Recipe(
    "oil-in-water",
    {
        "A": {
            "water": "qs",
            "glycerin": "4",
            "xanthan-gum": "0.3",
            "sodium-benzoate": "0.5",
            "citric-acid-20-percent": "~0.5",
        },
        "B": {
            "cetearyl-glucoside": "1.8",
            "cetearyl-alcohol": "2.2",
            "rice-bran-oil": "7",
            "octyldodecanol": "4.5",
        },
        "C": {"benzyl-alcohol": "0.8"},
    },
    method=(
        step("s1", "adjust", into="A"),
        step("s2", "heat", {"A": "75", "B": "75"}),
        step("s3", "combine", add="B", into="A", with_="stick-blender"),
        step("s4", "cool", stir_until="38"),
        step("s5", "add", add="C", into="the cream", below="40"),
    ),
    pH=("4.8", "5.0"),
)
BALM = Recipe(
    "anhydrous",
    {
        "A": {"candelilla-wax": "10", "shea-butter": "30", "sunflower-oil": "qs"},
        "B": {"tocopherol": "0.5"},
    },
    method=(
        step("s1", "melt", {"A": "76"}),
        step("s2", "cool", stir_until="55"),
        step("s3", "add", add="B", into="A", below="60"),
    ),
)
GEL = Recipe(
    "gel",
    {
        "A": {"glycerin": "4", "sclerotium-gum": "0.8"},
        "B": {
            "water": "qs",
            "sodium-benzoate": "0.5",
            "potassium-sorbate": "0.3",
            "citric-acid-20-percent": "~0.6",
        },
    },
    method=(
        step("s1", "disperse", add="sclerotium-gum", into="glycerin"),
        step("s2", "combine", add="B", into="A"),
        step("s3", "hydrate"),
    ),
    pH=("4.8", "5.0"),
)
CARBOMER_GEL = Recipe(
    "gel",
    {
        "A": {
            "water": "qs",
            "carbomer": "0.4",
            "glycerin": "3",
            "phenoxyethanol": "0.8",
            "sodium-hydroxide-10-percent": "~1.2",
        }
    },
    method=(step("s1", "hydrate"), step("s2", "adjust", into="A")),
    pH=("5.8", "6.5"),
)
SOUND = {
    "water-in-oil": WATER_IN_OIL,
    "oil-in-water": OIL_IN_WATER,
    "balm": BALM,
    "gel": GEL,
    "carbomer gel": CARBOMER_GEL,
}
