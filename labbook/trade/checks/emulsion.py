"""Water-in-oil: what holds the water, what stands in it, and what comes after combining.

The rules of oil-in-water don't hold here. What salt, wax and a high share of water do depends on
the emulsifier; where that is disputed, the finding says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from labbook.trade.advice import Advice
from labbook.trade.between import Between
from labbook.trade.checks.acidity import means_nothing, pH_readings
from labbook.trade.checks.case import Case, Check, Unseen
from labbook.trade.checks.contents import (
    Part,
    all_known,
    emulsifying,
    ends,
    names_of,
    number,
    of_kind,
    oils,
    parts,
    selected,
    total,
    water_phase,
)
from labbook.trade.checks.method import acts, added_later, combining, phases_named
from labbook.trade.checks.salts import salt_in_the_water
from labbook.trade.volume import internal_phase

_ACTING_IN_WATER = ("preservative", "acid", "base", "buffer", "electrolyte", "chelator", "water")

_SOAP_MAKERS = ("stearic-acid", "beeswax")


# What holds the water ----------------------------------------------------------------------------


def emulsifier_for_the_water(case: Case) -> Iterator[Advice | Unseen]:
    """Little or much emulsifier, with both denominators."""
    own, water = of_kind(emulsifying(case), "emulsifier"), water_phase(case)
    amount = total(own)
    if not own or amount is None or water is None:
        return
    yield from _little(case, own, amount, water[1])
    yield from _much(case, own, amount, water[1])


def _little(
    case: Case, own: tuple[Part, ...], amount: Fraction, water: Fraction
) -> Iterator[Advice]:
    rule = "little-emulsifier-in-water-in-oil"
    least = Fraction(case.figure(rule, "least in % of the formula"))
    asked = {part: _usual(part)[0] or least for part in own}
    reached = sum(((part.percent or 0) / (asked[part] or 1) for part in own), Fraction())
    if reached >= 1:
        return
    begins = " and ".join(f"{number(asked[part])} % of {part.ingredient}" for part in own)
    what = f"{_dose(own, amount, water)} Usual use begins at {begins}."
    yield case.advice(rule, what, line=own[0].line)


def _much(case: Case, own: tuple[Part, ...], amount: Fraction, water: Fraction) -> Iterator[Advice]:
    rule = "much-emulsifier-in-water-in-oil"
    most = Fraction(case.figure(rule, "most in % of the formula"))
    top = {part: _usual(part)[1] or most for part in own}
    reached = sum(((part.percent or 0) / top[part] for part in own), Fraction())
    if amount <= most or reached <= 1:
        return
    what = f"{_dose(own, amount, water)} More than {number(most)} % in all is rarely taken."
    yield case.advice(rule, what, line=own[0].line)


def _usual(part: Part) -> tuple[Fraction | None, Fraction | None]:
    return ends(part.sheet.usual_use if part.sheet else None, None, "%")


def _dose(own: tuple[Part, ...], amount: Fraction, water: Fraction) -> str:
    return (
        f"{number(amount)} % of the formula is emulsifier ({names_of(own)}): "
        f"{number(amount / water * 100)} g to 100 g of the water phase, which is "
        f"{number(water)} % of the formula."
    )


def no_emulsifier(case: Case) -> Iterator[Advice | Unseen]:
    """Oil and water, and nothing that emulsifies; or only what can't do it alone."""
    found, water = parts(case), case.composition.water()
    if emulsifying(case) or not all_known(case) or not oils(case) or not water.least:
        return
    helping = selected(case, case.rule("co-emulsifier-alone").of, found)
    if not helping:
        yield case.advice("no-emulsifier", "Nothing in this formula emulsifies.", key="phases")
        return
    if _makes_soap(case, found):
        return
    what = f"{names_of(helping)} alone makes no lasting emulsion, and nothing else here emulsifies."
    yield case.advice("co-emulsifier-alone", what, line=helping[0].line)


def _makes_soap(case: Case, found: tuple[Part, ...]) -> bool:
    """Whether a fatty acid or beeswax meets a base: their soap is an emulsifier."""
    wanted = {case.sheets.id_of(name) for name in _SOAP_MAKERS}
    fatty = [p for p in found if p.sheet is not None and p.sheet.id in wanted]
    return bool(fatty) and bool(of_kind(found, "base"))


def emulsifier_of_the_other_kind(case: Case) -> Iterator[Advice | Unseen]:
    """Every emulsifier is made for the other type, by the HLB of its sheet."""
    rule = "emulsifier-of-the-other-kind"
    own = emulsifying(case)
    known = [(part, ends(part.sheet.HLB if part.sheet else None)) for part in own]
    if not own or any(None in each or _charged(part) for part, each in known):
        return
    meant = case.emulsion()
    low = Fraction(case.figure(rule, "water-in-oil up to HLB"))
    high = Fraction(case.figure(rule, "oil-in-water from HLB"))
    if meant == "water-in-oil":
        wrong = all(each[0] is not None and each[0] >= high for _, each in known)
    else:
        wrong = all(each[1] is not None and each[1] <= low for _, each in known)
    if not wrong:
        return
    told = " and ".join(f"{part.ingredient} (HLB {_span(each)})" for part, each in known)
    other = "oil-in-water" if meant == "water-in-oil" else "water-in-oil"
    one, is_ = ("emulsifiers", "are") if len(own) > 1 else ("emulsifier", "is")
    what = f"The only {one}, {told}, {is_} made for {other}; this is meant to be {meant}."
    if case.observed:
        what = f"The only {one}, {told}, {is_} made for {other}; {meant} is what was observed."
    yield case.advice(rule, what, line=own[0].line)


def _charged(part: Part) -> bool:
    return part.sheet is None or part.sheet.charge not in (None, "nonionic")


def _span(each: tuple[Fraction | None, Fraction | None]) -> str:
    low, high = (number(end or 0) for end in each)
    return low if low == high else f"{low} to {high}"


def full_of_water(case: Case) -> Iterator[Advice | Unseen]:
    """More water than most water-in-oil creams carry."""
    rule, water = "high-internal-phase", water_phase(case)
    if water is None or water[1] <= Fraction(case.figure(rule, "over water phase in %")):
        return
    inner = internal_phase("water-in-oil", case.composition, case.sheets)
    volume = ""
    if inner is not None and inner.by_volume is not None and _told_well(inner.by_volume):
        volume = f", {inner.by_volume.text(0)} % by volume"
    what = f"The water phase is {number(water[1])} % of the formula{volume}."
    yield case.advice(rule, what, key="phases")


def _told_well(volume: Between) -> bool:
    """Whether the densities are known well enough to print a share by volume."""
    return volume.most - volume.least <= 5


def gellant_in_the_droplets(case: Case) -> Iterator[Advice | Unseen]:
    """A gum or polymer that thickens the water: here it sits inside the droplets."""
    water = water_phase(case)
    gums = [p for p in of_kind(parts(case), "gellant") if p.dissolves_in == "water"]
    if water is None or not gums:
        return
    amount = total(gums)
    told = "" if amount is None else f"{number(amount)} % "
    what = f"{told}{names_of(gums)} thickens the water, which here is inside the droplets."
    yield case.advice("gellant-in-droplets", what, line=gums[0].line)


# Making ------------------------------------------------------------------------------------------


def after_combining(case: Case) -> Iterator[Advice | Unseen]:
    """What acts or dissolves in water and goes in when the water is closed in droplets already."""
    by_line = {line.index: line for line in case.composition.lines}
    for added in added_later(case):
        if added.again:
            continue
        indexes = {line.index for line in added.lines}
        late = [p for p in parts(case) if p.line in indexes and p.dissolves_in == "water"]
        acting = of_kind(late, *_ACTING_IN_WATER)
        for part in late:
            rule = "water-soluble-after-combining"
            verb = "dissolves in water"
            if part in acting and "preservative" in part.kinds:
                rule, verb = "preservative-after-combining", "preserves the water"
            where = f"in phase {by_line[part.line].phase}"
            what = (
                f"{part.ingredient} ({where}) {verb}, and goes in when the water is closed in "
                "droplets already; nothing emulsifies after it."
            )
            yield case.advice(rule, what, line=part.line)


def oil_into_water(case: Case) -> Iterator[Advice | Unseen]:
    """The method adds the oil to the water."""
    index, water = combining(case), water_phase(case)
    if index is None or water is None:
        return
    step = acts(case)[index].plan
    into, add = phases_named(case, step.into), phases_named(case, step.add)
    if into == (water[0],) and water[0] not in add:
        what = f"Step {step.id} adds {step.add} to the water phase {water[0]}."
        yield case.advice("oil-into-water", what, step=step.id)


def pH_of_the_cream(case: Case) -> Iterator[Advice | Unseen]:
    """A pH of the finished cream, as a target or as a reading."""
    rule = "ph-of-water-in-oil"
    for index, target in enumerate(case.formula.targets):
        if case.batch is None and means_nothing(target.reading, target.of):
            what = (
                f"The target is a pH of {target.of}: in a water-in-oil cream that says nothing, "
                "the electrode meets oil."
            )
            yield case.advice(rule, what, target=index)
    for reading in pH_readings(case):
        if means_nothing("pH", reading.of):
            value = "" if reading.value is None else f" {reading.value:f}"
            what = (
                f"pH{value} of the finished cream says nothing in a water-in-oil cream: the "
                "electrode meets oil. The figure stays as written and is not compared with others."
            )
            yield case.advice(rule, what, key=f"readings.{reading.id}")


CHECKS: tuple[Check, ...] = (
    no_emulsifier,
    emulsifier_of_the_other_kind,
    emulsifier_for_the_water,
    full_of_water,
    salt_in_the_water,
    gellant_in_the_droplets,
    after_combining,
    oil_into_water,
    pH_of_the_cream,
)
