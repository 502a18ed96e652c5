"""Which fields of a record may leave the notebook, record by record.

What isn't named here is private: a field added later stays inside until somebody decides. Private
are prices, suppliers, lots, people, places, names of photographs as the camera gave them, remarks
on jars and weighings, how a type was read (`by` may name a person), times of day, and all that only
the program needs. What a blend is made of is reckoned with where `journal/blends.py` allows it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from labbook.model.batch import (
    Batch,
    BatchLine,
    BatchStep,
    Correction,
    Deviation,
    Done,
    Parent,
    Pin,
    Reading,
    Remark,
    Room,
    Tools,
    Weighing,
)
from labbook.model.entry import Entry
from labbook.model.formula import Formula, Limit, Line, Phase, Step, Target
from labbook.model.jars import Jar, Jars, Look, Stability, Stay
from labbook.model.materials import Equipment, Ingredient, Part, Value
from labbook.model.photos import Photo
from labbook.model.settings import Settings
from labbook.model.versions import Version


def _names(words: str) -> frozenset[str]:
    return frozenset(words.split())


PUBLIC: Mapping[type[Any], frozenset[str]] = {
    Settings: _names("title author site_url"),
    Entry: _names("path name title date text"),
    Version: _names("code number formula digest when subject same_as"),
    Formula: _names(
        "code title id version emulsion use batch_size phases method targets acceptance notes"
    ),
    Phase: _names("phase name lines"),
    Line: _names("ingredient percent active_percent adjust role"),
    Step: _names(
        "id do set hold add into rate over with_ speed for_ then_mix stir_until at below note"
    ),
    Target: _names("of reading from_ to unit"),
    Limit: _names("condition until cycles modes worst_grade reading from_ to"),
    Batch: _names(
        "id state made known_from aim changes asks formula size from_ room tools lines steps"
        " weighings readings deviations remarks yield_ corrections notes"
    ),
    Pin: _names("code id version digest trial_of"),
    BatchLine: _names("id phase ingredient sheet percent qs adjust role target"),
    BatchStep: _names("id plan done"),
    Done: _names(
        "temperatures started ended took hold mixed speed rate with_ stirred_until seen skipped"
        " known_from"
    ),
    Weighing: _names("id line ingredient phase mass batch balance as_target known_from"),
    Reading: _names("id reading value seen unit uncertainty of step with_ at known_from"),
    Deviation: _names("id text step line known_from"),
    Remark: _names("id text step known_from"),
    Correction: _names("id of key was now why time known_from"),
    Parent: _names("batch mass how"),
    Room: _names("temperature humidity"),
    Tools: _names("balance mixer meter thermometer vessel"),
    Jars: _names("batch jars stays"),
    Jar: _names("id jar container mass filled fill_level"),
    Stay: _names("id jar condition since"),
    Stability: _names("batch looks corrections"),
    Look: _names(
        "id jar time planned cycle condition grade modes extent layer rest at reading value unit"
        " known_from note speed radius spun"
    ),
    Photo: _names("id file caption jar look step time"),
    Ingredient: _names(
        "id title inci also functions soluble_in physical charge density melting_point molar_mass"
        " HLB required_HLB active_content water_content volatile_content pKa pH_window usual_use"
        " highest_use least_use highest_temperature least_free_acid cautions contains allergens"
        " allergens_complete label_names"
    ),
    Part: _names("ingredient percent"),
    Value: _names("value from_ to unit at source"),
    Equipment: _names("id kind title readability resolution repeatability linearity shear"),
}

FIGURES = _names("mass value unit grade modes layer condition planned cycle jar percent line")
"""Keys whose correction is told, first and later figure; of other words only the last stand."""

DONE = frozenset(
    ["took", "hold", "mixed", "speed", "stirred until", "temperature", "humidity", "yield"]
)
"""What was done in a step, the room, the yield: a correction is told, first and later figure."""

DONE_WORDS = _names("rate with seen skipped") | _names("balance mixer meter thermometer vessel")
"""The same in words or names; told only where nothing had been written down before."""

WORDS = _names("text note seen extent")
"""Keys in words: what was corrected away is not published."""
