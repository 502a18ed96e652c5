"""Ingredient sheets, lots and equipment as they stand in their files."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from labbook.model.fields import (
    CLOSED,
    AnyQuantity,
    EntryId,
    Mass,
    Moment,
    Name,
    Number,
    SignedNumber,
    Span,
    Temperature,
    Text,
    Whole,
    YesNo,
    one_of,
)

FUNCTIONS = (
    "oil", "butter", "wax", "emulsifier", "co-emulsifier", "thickener", "gellant", "humectant",
    "electrolyte", "preservative", "chelator", "antioxidant", "acid", "base", "buffer", "active",
    "surfactant", "solvent", "powder", "pigment", "fragrance", "extract", "film former",
    "silicone", "water", "premix", "blend", "other",
)  # fmt: skip
SOLUBLE_IN = ("oil", "water", "both", "neither")
PHYSICAL = ("liquid", "solid", "paste", "powder")
CHARGES = ("nonionic", "anionic", "cationic", "amphoteric")
EQUIPMENT_KINDS = (
    "balance", "mixer", "heater", "thermometer", "pH meter", "pH strips", "viscometer",
    "centrifuge", "oven", "fridge", "freezer", "cupboard", "microscope", "vessel", "other",
)  # fmt: skip
SHEAR_CLASSES = ("by hand", "low", "medium", "high")


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """A figure of a sheet with where it comes from: one value, or a range `from` – `to`."""

    __pydantic_config__ = CLOSED

    value: SignedNumber | None = None
    from_: SignedNumber | None = None
    to: SignedNumber | None = None
    unit: Text | None = None
    at: AnyQuantity | None = None
    source: Text | None = None
    note: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A component of a blend, in percent by weight of the blend."""

    __pydantic_config__ = CLOSED

    ingredient: Name
    percent: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ingredient:
    """An ingredient sheet. `id` is the name it was born with and never changes; the file may.

    `ions` are the ions that one unit gives in water, with their number: `{Mg2+: 1, Cl-: 2}`.
    `oil_water_ratio` is the concentration in oil over that in water for the form that moves;
    `expansion` how much volume grows per °C. `allergens` are parts that a label may have to name;
    unless `allergens_complete` says yes, others may be in it. `label_names` are names for the
    ingredient list by region where they differ from `inci`.
    """

    __pydantic_config__ = CLOSED

    id: Name
    title: Text | None = None
    inci: Text | None = None
    also: tuple[Text, ...] = ()
    functions: tuple[Annotated[str, one_of(*FUNCTIONS)], ...] = ()
    soluble_in: Annotated[str, one_of(*SOLUBLE_IN)] | None = None
    physical: Annotated[str, one_of(*PHYSICAL)] | None = None
    charge: Annotated[str, one_of(*CHARGES)] | None = None
    grade: Text | None = None
    density: Value | None = None
    melting_point: Value | None = None
    molar_mass: Value | None = None
    HLB: Value | None = None
    required_HLB: Value | None = None
    active_content: Value | None = None
    water_content: Value | None = None
    volatile_content: Value | None = None
    pKa: Value | None = None
    pH_window: Value | None = None
    usual_use: Value | None = None
    highest_use: Value | None = None
    least_use: Value | None = None
    highest_temperature: Value | None = None
    least_free_acid: Value | None = None
    chemical_formula: Text | None = None
    ions: dict[str, Whole] | None = None
    water_solubility: Value | None = None
    oil_water_ratio: Value | None = None
    expansion: Value | None = None
    allergens: tuple[Part, ...] = ()
    allergens_complete: YesNo | None = None
    label_names: dict[str, Text] | None = None
    contains: tuple[Part, ...] = ()
    cautions: tuple[Text, ...] = ()
    notes: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """One purchased pack of an ingredient. Supplier and price are private."""

    __pydantic_config__ = CLOSED

    id: EntryId
    ingredient: Name
    lot: Text | None = None
    supplier: Text | None = None
    grade: Text | None = None
    size: Mass | None = None
    price: Text | None = None
    bought: Moment | None = None
    opened: Moment | None = None
    expires: Moment | None = None
    used_up: Moment | None = None
    notes: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BufferPoint:
    """A buffer by its pH at that temperature, and what the meter showed before it was set.

    `reading` is its pH, `millivolts` the electrode's voltage; the slope is reckoned from those.
    """

    __pydantic_config__ = CLOSED

    buffer: Number
    reading: SignedNumber | None = None
    millivolts: SignedNumber | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """One check or calibration of a piece of equipment.

    Of a balance: one `mass` weighed again and again, as `shown` in g, with the `standard_deviation`
    of one weighing and the `spread` from the smallest to the largest. Of a pH meter: its `points`
    with the temperature `at` which they were, and the `slope` in percent as the meter tells it.
    """

    __pydantic_config__ = CLOSED

    id: EntryId
    date: Moment
    what: Text
    result: Text | None = None
    buffers: tuple[Text, ...] = ()
    spread: AnyQuantity | None = None
    by: Text | None = None
    mass: Mass | None = None
    shown: tuple[SignedNumber, ...] = ()
    standard_deviation: Mass | None = None
    points: tuple[BufferPoint, ...] = ()
    at: Temperature | None = None
    slope: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Equipment:
    """A balance, mixer, meter, oven … with what it can tell apart and when it was checked.

    `check_every` is how long a check or calibration holds, as its owner decides.
    """

    __pydantic_config__ = CLOSED

    id: EntryId
    kind: Annotated[str, one_of(*EQUIPMENT_KINDS)]
    title: Text | None = None
    readability: AnyQuantity | None = None
    resolution: AnyQuantity | None = None
    repeatability: AnyQuantity | None = None
    linearity: AnyQuantity | None = None
    capacity: AnyQuantity | None = None
    accuracy: Text | None = None
    shear: Annotated[str, one_of(*SHEAR_CLASSES)] | None = None
    speeds: Text | None = None
    radius: AnyQuantity | None = None
    set_at: AnyQuantity | None = None
    check_every: Span | None = None
    retired: YesNo | None = None
    calibrations: tuple[Calibration, ...] = ()
    notes: Text | None = None
