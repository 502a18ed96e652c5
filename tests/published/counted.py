"""What is compared with values from outside, by what is reckoned: the lists the tests go through.

Values that only a test's body holds are not counted, so there are more than these.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from tests.published import (
    test_densities,
    test_electrolytes,
    test_hlb,
    test_labels,
    test_limits,
    test_preservation,
    test_starter_values,
    test_weighing,
    test_worked_bench,
    test_worked_composition,
    test_worked_hydrates,
    test_worked_salts,
)
from tests.published.outside import Outside, short

MOLMASS = "molmass 2026.1.8"
LAW = "legislation.gov.uk/eur/2009/1223"


def of(
    source: str, printed: Iterable[str], *, what: str = "", memory: bool = False
) -> list[Outside]:
    """Values of one source that tests of their own compare."""
    return [Outside(what, None, one, source, memory=memory) for one in printed]


def _densities() -> list[Outside]:
    water = of("iapws 1.5.5", [iapws for _, iapws, _ in test_densities.WATER])
    water += of("iapws 1.5.5", [figure for _, figure in test_densities.HOT_WATER])
    cipm = of("Tanaka", [cipm for *_, cipm in test_densities.WATER], memory=True)
    codex = [
        one
        for name, low, high, _ in test_starter_values.CODEX
        for one in of(
            "Codex CXS 210" if name == "cottonseed-oil" else "Codex, scribd.com and 21food.com",
            (low, high),
            memory=name == "cottonseed-oil",
        )
    ]
    return [*water, *cipm, *codex]


def _hydrates() -> list[Outside]:
    return of(MOLMASS, [share for *_, share in test_electrolytes.SHARES])


def _required() -> list[Outside]:
    tables = (
        (test_hlb.TEXTBOOK, test_starter_values.TEXTBOOK),
        (test_hlb.OCL, test_starter_values.OCL),
        (test_hlb.WORKED, test_starter_values.WORKED),
    )
    listed = [
        one
        for name, table in tables
        for oil, ends in table.items()
        for one in of(name, sorted({*ends}), what=oil)
    ]
    creams = of(test_hlb.OCL, [printed for _, printed in test_hlb.CREAMS])
    return [*creams, *of(test_hlb.WORKED, ["12.027"]), *listed]


def _solved() -> list[Outside]:
    table = [share for *_, first, second in test_hlb.PAIRS for share in (first, second)]
    worked = of(test_hlb.WORKED, ["72.2", "27.8", "3.6", "1.4", "71.96"])
    textbook = of(test_hlb.TEXTBOOK, ["0.5794", "2.9", "2.1"])
    return [*of(test_hlb.TABLE, table), *worked, *textbook]


def _one_emulsifier() -> list[Outside]:
    griffin = [one for *_, listed, source in test_hlb.ETHOXYLATES for one in of(source, [listed])]
    reckoned = of(MOLMASS, [computed for *_, computed, _, _ in test_hlb.ETHOXYLATES])
    return [*griffin, *reckoned, *of(test_hlb.DAVIES, test_hlb.GROUPS.values())]


def _acids() -> list[Outside]:
    found = []
    for name, figure, _, source in test_preservation.PKA:
        found += of(source, [figure], what=name)
    return found


def _limits() -> list[Outside]:
    rows = test_limits.AS_SUPPLIED + test_limits.AS_ACID
    return [
        one for _, name, use, most, source in rows for one in of(source, [most], what=name + use)
    ]


def _labels() -> list[Outside]:
    source = {"EU": LAW, "UK": LAW, "US": "21 CFR 701.3(f), by arrsys.com/?p=28566"}
    order = [
        one for r, percent, _ in test_labels.BOUNDARY for one in of(source[r], [percent], what=r)
    ]
    rule = "2023/1545, oxfordbiosciences.com"
    named = [one for u, percent, _ in test_labels.ALLERGENS for one in of(rule, [percent], what=u)]
    return [*order, *named]


def _melting() -> list[Outside]:
    return [
        one
        for name, figure, source in test_worked_bench.MELTED
        for one in of(source, [figure], what=name)
    ]


def _minimum() -> list[Outside]:
    return [
        one for d, _, least, source in test_weighing.MINIMUM for one in of(source, [least], what=d)
    ]


COUNTED: Mapping[str, Sequence[Outside]] = {
    "filling up (q.s.)": test_worked_composition.FILLING,
    "active and supplied percent": test_worked_composition.ACTIVE,
    "blends and premixes taken apart": test_worked_composition.BLENDS,
    "hydrates both ways": [*test_worked_hydrates.HYDRATES, *_hydrates()],
    "water brought in": test_worked_hydrates.WATER,
    "phase totals by mass": test_worked_composition.BY_MASS,
    "phases by volume": test_worked_composition.BY_VOLUME,
    "density at a temperature": _densities(),
    "additions on top": test_worked_composition.ON_TOP,
    "molar masses": of(MOLMASS, [mass for _, mass in test_electrolytes.MASSES])
    + of("bcchemstore.com", ["144.11"])
    + of("m.chemicalbook.com", ["112.13"]),
    "molality": test_worked_salts.MOLALITY,
    "ionic strength": test_worked_salts.STRENGTH,
    "osmolality": test_worked_salts.OSMOLALITY,
    "HLB that an oil phase asks for": _required(),
    "HLB of a blend": [
        *test_worked_bench.HLB_OF_PAIRS,
        *of(test_hlb.BLENDS, ["13.93", "11.79"]),
    ],
    "HLB of one emulsifier": _one_emulsifier(),
    "a pair for a wanted HLB": _solved(),
    "heat: when it has melted": _melting(),
    "free acid": test_worked_bench.FREE,
    "pKa of the sheets": _acids(),
    "limits of law": _limits(),
    "limits as acid": [
        *of(test_preservation.ANNEX_V, [row[-1] for row in test_preservation.LIMITS]),
        *test_worked_bench.AS_ACID,
    ],
    "weighing: the bench rule": test_worked_bench.BENCH_RULE,
    "weighing: minimum weight": _minimum(),
    "weighing: uncertainty": test_weighing.UNCERTAIN,
    "weighing: a premix": test_worked_bench.PREMIXES,
    "label": _labels(),
    "cost": test_worked_bench.COSTS,
    "import of makers' tables": test_worked_bench.TABLES,
}
"""Every list by what it tests."""


def known(rows: Sequence[Outside]) -> list[Outside]:
    """Those that somebody has looked up."""
    return [row for row in rows if not row.memory]


def apart(rows: Sequence[Outside]) -> int:
    """How many different values they are: what several sources print alike is one."""
    return len({(row.what, Fraction(row.printed)) for row in rows})


def sources(rows: Sequence[Outside]) -> list[str]:
    """The sources of what was looked up, in the order of the rows, each once."""
    return list(dict.fromkeys(short(row.source) for row in known(rows)))


def table() -> str:
    """The count as text: values looked up, values from memory, and the sources of the first."""
    lines = []
    for name, rows in COUNTED.items():
        memory = apart([row for row in rows if row.memory])
        besides = f", {memory} from memory" if memory else ""
        lines.append(f"{name}: {apart(known(rows))}{besides}")
        lines += textwrap.wrap(
            "; ".join(sources(rows)), 96, initial_indent="    ", subsequent_indent="    ",
            break_on_hyphens=False,
        )  # fmt: skip
    together = sum(apart(known(rows)) for rows in COUNTED.values())
    names = {name for rows in COUNTED.values() for name in sources(rows)}
    lines.append(f"together: {together} from {len(names)} sources")
    return "\n".join(lines)
