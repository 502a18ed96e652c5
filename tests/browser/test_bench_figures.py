"""The arithmetic of the bench sheet's page against the program's, function by function."""

from __future__ import annotations

import json
import zlib
from decimal import Decimal
from random import Random
from typing import Any

import pytest

from tests.browser.chromium import NAMES
from tests.browser.fingers import Fingers
from tests.browser.sheets import batch_of, to_do
from tests.show import bench_vectors, figure_vectors
from tests.work.notebooks import Small

pytestmark = pytest.mark.needs_tool(*NAMES)


def answers(sheet: Fingers, function: str, cases: list[dict[str, Any]]) -> list[Any]:
    """What the page says to each, some at a time."""
    found: list[Any] = []
    for start in range(0, len(cases), 100):
        told = json.dumps(cases[start : start + 100])
        found += sheet.page.evaluate(f"{told}.map({function})")
    return found


def test_slips_are_reckoned_as_the_program_does(sheet: Fingers) -> None:
    """Both do the same exact arithmetic: fractions as fractions, masses digit by digit."""
    cases = bench_vectors.vectors(300)
    sheet.page.evaluate(bench_vectors.PAGE_SIDE.replace("const plain", "window.plain"))
    assert answers(sheet, "window.plain", cases) == [one["answer"] for one in cases]


def test_each_single_function_answers_as_the_program_does(sheet: Fingers) -> None:
    cases = list(figure_vectors.figure_vectors(120))
    sheet.page.evaluate(figure_vectors.PAGE_SIDE)
    found = answers(sheet, "window.answered", cases)
    wrong = [
        (case, answer)
        for case, answer in zip(cases, found, strict=True)
        if answer != case["answer"]
    ]
    assert wrong == []
    covered = {case["call"] for case in cases} | figure_vectors.ELSEWHERE
    assert covered == set(sheet.page.evaluate("Object.keys(Figures)"))


def test_a_vector_that_is_wrong_is_noticed(sheet: Fingers) -> None:
    case = bench_vectors.vectors(20)[3]
    sheet.page.evaluate(bench_vectors.PAGE_SIDE.replace("const plain", "window.plain"))
    case["mass"] = str(Decimal(case["mass"]) + Decimal(case["readability"]))
    assert sheet.page.evaluate(f"window.plain({json.dumps(case)})") != case["answer"]


def test_no_binary_fractions(sheet: Fingers) -> None:
    """0.1 + 0.2 is 0.3; halves of a step go to the even one, as in IEEE 754's decimal rounding."""
    for told, wanted in (
        ("Figures.text(Figures.add(Figures.parse('0.1'), Figures.parse('0,2')))", "0.3"),
        ("Figures.toPlaces(Figures.parse('0.125'), 2)", "0.12"),
        ("Figures.toPlaces(Figures.parse('0.375'), 2)", "0.38"),
    ):
        assert sheet.page.evaluate(told) == wanted, told


def test_the_sum_follows_each_weight_exactly(sheet: Fingers, notebook: Small) -> None:
    """What is shown is the sum of the digits typed, as decimals add up."""
    total, size, todo = Decimal(0), batch_of(notebook).size.value, to_do(batch_of(notebook))
    for number, line in enumerate(todo, 1):
        mass = f"0.{number}{number}"
        sheet.types(f"#w-{line}-0", mass)
        sheet.types(f"#w-{line}-0", mass)  # far from its target: said again
        total += Decimal(mass)
        assert sheet.sees("#total").startswith(f"{total} of {size:.2f} g"), sheet.sees("#total")
    assert sheet.sees("#total").endswith("; all weighed")


def test_the_checksum_is_that_of_zlib(sheet: Fingers) -> None:
    """CRC-32 of ISO 3309; "123456789" gives cbf43926, the check value of its catalogues."""
    assert sheet.page.evaluate("Telling.checksum('123456789')") == "cbf43926"
    chance = Random(5)
    for _ in range(50):
        text = "".join(chr(chance.choice((chance.randrange(32, 127), 0xB5, 0x20AC, 0x1F9EA)))
                       for _ in range(chance.randrange(60)))  # fmt: skip
        told = sheet.page.evaluate(f"Telling.checksum({json.dumps(text)})")
        assert told == f"{zlib.crc32(text.encode()):08x}"


def test_moments_have_the_offset_of_the_place(sheet: Fingers) -> None:
    """The moment of the first example of RFC 3339, 5.8, where clocks stand at other offsets."""
    moment = "Telling.moment(new Date('1985-04-12T23:20:50Z'))"
    for zone, wanted in (
        ("UTC", "1985-04-12T23:20:50+00:00"),
        ("Asia/Kolkata", "1985-04-13T04:50:50+05:30"),
        ("America/St_Johns", "1985-04-12T19:50:50-03:30"),
    ):
        sheet.ask("Emulation.setTimezoneOverride", timezoneId=zone)
        assert sheet.page.evaluate(moment) == wanted
    sheet.ask("Emulation.setTimezoneOverride", timezoneId="")
