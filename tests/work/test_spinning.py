"""How a run in a centrifuge is typed."""

import pytest

from labbook.model.errors import Unclear
from labbook.model.materials import Equipment
from labbook.model.quantities import parse_quantity as q
from labbook.work.seeing import Seen
from labbook.work.spinning import with_spin

OURS = Equipment(id="small-spinner", kind="centrifuge", radius=q("9.5 cm"))


@pytest.mark.parametrize(
    "typed",
    [
        "3000 rpm, 10 cm, 30 min, 25 C",
        "30min 3000rpm 10cm 25 °C",
        "3000 rpm 10 cm for 30 min at 25 C",
    ],
)
def test_in_any_order(typed: str) -> None:
    seen = with_spin(Seen(grade=0), typed, {})
    assert (seen.speed, seen.radius) == (q("3000 rpm"), q("10 cm"))
    assert (seen.spun, seen.at) == (q("30 min"), q("25 °C"))


def test_a_decimal_comma_is_taken_at_the_prompt() -> None:
    assert with_spin(Seen(), "3000 rpm, 10,5 cm, 30 min", {}).radius == q("10.5 cm")


def test_the_notebooks_only_centrifuge_has_its_radius() -> None:
    other = Equipment(id="big-spinner", kind="centrifuge", radius=q("12 cm"))
    assert with_spin(Seen(), "3000 rpm 30 min", {"a": OURS}).radius == q("9.5 cm")
    with pytest.raises(Unclear, match="without a radius"):
        with_spin(Seen(), "3000 rpm 30 min", {"a": OURS, "b": other})


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("3000 rpm, 30 min", "without a radius"),
        ("10 cm, 30 min", "a speed and a time"),
        ("3000 rpm, 10 cm", "a speed and a time"),
        ("0 rpm, 10 cm, 30 min", "0 rpm"),
        ("3000 rpm, 10 cm, 30 min, 5 ml", "5 ml"),
        ("3000 rpm, 10 cm, 30 min, 20 min", "20 min"),
        ("3000 rpm, 10 cm, 30 min hard", "hard"),
        ("3000 rpm, 10 parsec, 30 min", "parsec"),
        ("9" * 100_000, "and so on is no run"),  # every figure of it would be tried as the first
    ],
)
def test_what_cannot_be_a_run(typed: str, why: str) -> None:
    with pytest.raises(Unclear, match=why):
        with_spin(Seen(), typed, {})
