"""Logs of thermometers in the spellings that come up, and what is no log."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from labbook.model.errors import Unreadable
from labbook.notebook.temperature_log import read_temperatures

WHEN = datetime(2026, 7, 14, 15, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    "text",
    [
        "2026-07-14 15:00,26.5\n2026-07-14 16:00,27\n",
        "2026-07-14T15:00:00+00:00;26,5\n2026-07-14T16:00:00+00:00;27\n",
        "Logger 4;\nTime;°C;Humidity\n14.07.2026 15:00;26,5 °C;41\n14.07.2026 16:00;27;40",
        "No\tDate\tTime\tC\n1\t2026-07-14\t15:00\t26.5\n2\t2026-07-14\t16:00\t27.0\n",
        "time,°F\n2026-07-14 15:00,79.7\n2026-07-14 16:00,80.6\n\n",
        '"2026-07-14 15:00","79.7 F"\n"2026-07-14 16:00","27 C"\n',
        "\ufeff2026-07-14 15:00, 26.5\n2026-07-14 16:00, 27\n",
    ],
)
def test_spellings(tmp_path: Path, text: str) -> None:
    path = tmp_path / "oven.csv"
    path.write_text(text, encoding="utf-8")
    first, second = read_temperatures(path, UTC)
    assert (first.time, second.time) == (WHEN, WHEN.replace(hour=16))
    assert (first.celsius, second.celsius) == pytest.approx((26.5, 27))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "line 1"),
        ("07/14/2026 15:00, 26.5\n", "line 1"),
        ("2026-07-14 15:00, 26.5\n2026-07-14 16:00, warm\n", "line 2"),
        ("2026-07-14 15:00, 26.5\n2026-07-14 16:00, 2650\n", "line 2"),
        ("2026-07-14 15:00, 26.5\n2026-07-14 14:00, 27\n", "comes after"),
        ("2026-07-14 15:00, 26.5\n2026-13-14 16:00, 27\n", "line 2"),
        ("2026-07-14 15:00, 26.5\n" + "x" * 200_000 + "\n", "line 2"),  # no reader of CSV takes it
        ("2026-07-14 15:00, 26.5\n2026-07-14T14:00Z, 27\n", "comes after"),
    ],
)
def test_what_is_no_log(tmp_path: Path, text: str, why: str) -> None:
    path = tmp_path / "oven.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(Unreadable, match=why):
        read_temperatures(path, UTC)
    with pytest.raises(Unreadable, match="can't be read"):
        read_temperatures(tmp_path / "no.csv", UTC)


def test_times_with_and_without_a_zone_are_compared(tmp_path: Path) -> None:
    path = tmp_path / "oven.csv"
    path.write_text("2026-07-14T15:00Z, 26.5\n2026-07-14 16:00, 27\n", encoding="utf-8")
    assert len(read_temperatures(path, None)) == 2
