from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.materials import Equipment
from labbook.model.quantities import QuantityError, parse_quantity
from labbook.trade.balance import (
    Balance,
    Way,
    balance_of,
    covariance,
    least_mass,
    line_uncertainty,
    minimum_weight,
    percent_uncertainties,
    relative_error,
    root_sum,
    total_uncertainty,
    wanted_error,
)

TENTH = Balance(readability=Fraction("0.1"))


def near(value: Decimal, expected: str) -> bool:
    """Whether a value rounds to the digits expected."""
    digits = Decimal(expected)
    return value.quantize(digits) == digits


def test_the_largest_of_what_is_known_counts_for_a_reading() -> None:
    d = Fraction("0.1")
    assert near(TENTH.reading, "0.0289")
    assert near(Balance(readability=d, repeatability=Fraction("0.05")).reading, "0.0500")
    assert near(Balance(readability=d, repeatability=Fraction("0.01")).reading, "0.0289")
    assert near(Balance(readability=d, linearity=Fraction("0.2")).reading, "0.1155")
    assert near(Balance(readability=d, linearity=Fraction("0.02")).reading, "0.0289")


def test_a_balance_comes_from_its_file_in_grams() -> None:
    file = Equipment(
        id="e-1",
        kind="balance",
        readability=parse_quantity("10 mg"),
        repeatability=parse_quantity("0.01 g"),
        linearity=parse_quantity("20 mg"),
    )
    assert balance_of(file) == Balance(
        readability=Fraction("0.01"),
        repeatability=Fraction("0.01"),
        linearity=Fraction("0.02"),
    )
    assert balance_of(Equipment(id="e-1", kind="balance")) is None
    zero = Equipment(id="e-1", kind="balance", readability=parse_quantity("0 g"))
    assert balance_of(zero) is None
    with pytest.raises(QuantityError, match="can't be given in g"):
        balance_of(Equipment(id="e-1", kind="balance", readability=parse_quantity("1 ml")))


def test_twelve_lines_are_better_known_when_the_display_runs_up() -> None:
    assert near(total_uncertainty(12, TENTH, "tare"), "0.14")
    assert near(total_uncertainty(12, TENTH, "cumulative"), "0.04")


@given(st.integers(1, 30), st.sampled_from(["0.001", "0.01", "0.1", "1"]))
def test_the_total_follows_from_the_single_lines_or_from_the_two_ends(n: int, d: str) -> None:
    balance = Balance(readability=Fraction(d))
    single = line_uncertainty(balance)
    tared = total_uncertainty(n, balance, "tare")
    assert abs(tared - root_sum([single] * n)) < Decimal("1e-30")
    ends = total_uncertainty(n, balance, "cumulative")
    assert abs(ends - single) < Decimal("1e-30")


@given(st.integers(1, 12), st.sampled_from(["tare", "cumulative"]))
def test_covariances_are_symmetric_and_their_diagonal_is_the_lines_own(n: int, way: Way) -> None:
    matrix = covariance(n, TENTH, way)
    own = Fraction(TENTH.reading) ** 2 * 2
    assert all(matrix[i][i] == own for i in range(n))
    assert all(matrix[i][j] == matrix[j][i] for i in range(n) for j in range(n))


def test_more_goes_at_a_line_make_it_less_certain() -> None:
    assert near(line_uncertainty(TENTH), "0.0408")
    assert near(line_uncertainty(TENTH, 4), "0.0816")


def test_one_line_is_all_of_the_batch_whatever_it_weighs() -> None:
    (own,) = percent_uncertainties([Fraction(10)], TENTH, "tare")
    assert own == 0


def test_percents_of_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="add up to nothing"):
        percent_uncertainties([Fraction(), Fraction()], TENTH, "tare")


@given(st.lists(st.integers(1, 1000), min_size=2, max_size=6))
def test_percents_of_two_batches_ten_times_apart_differ_ten_times_in_uncertainty(
    masses: list[int],
) -> None:
    small = percent_uncertainties([Fraction(m) for m in masses], TENTH, "tare")
    large = percent_uncertainties([Fraction(10 * m) for m in masses], TENTH, "tare")
    for one, other in zip(small, large, strict=True):
        assert abs(one - 10 * other) < Decimal("1e-25")


@pytest.mark.parametrize(
    ("kinds", "wanted"),
    [
        (["preservative"], "1/20"),
        (["oil", "active"], "1/20"),
        (["electrolyte"], "1/20"),
        (["oil"], None),
        (["humectant", ""], None),
        ([], None),
    ],
)
def test_only_what_a_little_decides_wants_a_small_error(
    kinds: list[str], wanted: str | None
) -> None:
    assert wanted_error(kinds) == (None if wanted is None else Fraction(wanted))
    assert wanted_error(kinds, qs=True) is None


def test_the_least_mass_is_half_a_division_in_twenty() -> None:
    assert least_mass(TENTH, Fraction(1, 20)) == 1
    assert relative_error(Fraction(1), TENTH.half_division) == Fraction(1, 20)
    assert relative_error(Fraction(), TENTH.half_division) is None
    assert least_mass(TENTH, None) == least_mass(TENTH, None, strict=True) == 0


def test_strict_is_never_softer_than_the_bench_rule() -> None:
    assert least_mass(TENTH, Fraction(1, 20), strict=True) == minimum_weight(TENTH) == 82
    assert least_mass(TENTH, Fraction(1, 10_000), strict=True) == 500
