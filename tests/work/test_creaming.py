"""Stokes' speed as it is asked for at the terminal; the speeds themselves are checked elsewhere."""

import pytest

from labbook.model.errors import Unclear
from labbook.model.results.creaming import Creamed
from labbook.work.creaming import creaming

OIL = {"inner": "0.91 g/ml", "outer": "1.00 g/ml", "viscosity": "1 mPa s", "share": "1"}


def asked(droplet: str = "2 µm", /, *, thin: bool = True, **more: str) -> Creamed:
    told = OIL | more
    return creaming(
        droplet, inner=told["inner"], outer=told["outer"], viscosity=told["viscosity"],
        share=told["share"], thin=thin,
    )  # fmt: skip


def test_a_diameter_of_two_micrometres() -> None:
    """McClements, Food Emulsions, 7.9: oil of 910 kg/m³, radius 1 µm, in water: 17 mm a day."""
    assert asked().mm_per_day == pytest.approx(16.95, abs=0.02)
    assert asked(inner="1.1 g/ml").mm_per_day == pytest.approx(-18.8, abs=0.05)


def test_a_radius_taken_for_a_diameter_would_be_four_times_slower() -> None:
    assert (asked("1 um").mm_per_day or 0) * 4 == pytest.approx(asked("2 um").mm_per_day or 0)


@pytest.mark.parametrize(
    ("droplet", "share", "why"),
    [("2 µm", "20", "20 % droplets by volume: Stokes' law is for less than 2 %"),
     ("2 mm", "1", "too fast")],
)  # fmt: skip
def test_where_stokes_does_not_hold(droplet: str, share: str, why: str) -> None:
    found = asked(droplet, share=share)
    assert found.mm_per_day is None
    assert why in found.why


def test_a_phase_that_nobody_calls_thin_gets_no_speed() -> None:
    assert "isn't known to be Newtonian" in asked(thin=False).why


def test_slips() -> None:
    with pytest.raises(Unclear, match="0 is nothing"):
        asked(share="0")
    with pytest.raises(Unclear, match="no unit"):
        asked(inner="0.91")
    with pytest.raises(Unclear, match="can't be given in"):
        asked(viscosity="1 h")
