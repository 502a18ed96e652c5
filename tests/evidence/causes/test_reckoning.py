"""What is listed and refused, what may be said, and which batch is proposed."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.evidence.causes import (
    CleanPair,
    Counts,
    Row,
    Suspect,
    after,
    best_settings,
    clean_pairs,
    cleared,
    counts,
    exact_tests,
    figure,
    gains,
    held,
    not_told_apart,
    one_sided_exact,
    reckon,
    speaking_sessions,
    word,
)
from tests.evidence.causes.brute import likelihood
from tests.evidence.causes.notebooks import rows, suspects


def many(k: int, *texts: str) -> tuple[Row, ...]:
    """Rows whose first sides are spelled out; the others are on the good side."""
    found = []
    for row in rows(", ".join(texts)):
        found.append(Row(row.name, row.failed, row.sides + (False,) * (k - len(row.sides))))
    return tuple(found)


def test_all_sets_up_to_fourteen_suspects() -> None:
    found = reckon(suspects(*[0.02] * 14), many(14, "11 failed", "00 intact"))
    assert found.listed == "all sets"
    assert len(found.weights.masks) == 2**14
    more = reckon(suspects(*[0.02] * 15), many(15, "11 failed", "00 intact"))
    assert more.listed == "up to four of 15"
    assert len(more.weights.masks) == 1 + 15 + 105 + 455 + 1365


def test_sets_of_up_to_four_of_fifteen_added_up_one_by_one() -> None:
    who = suspects(0.5, 0.25, *[0.05] * 13)
    batches = many(15, "1110 failed", "0?01 intact", "0111 failed")
    found = reckon(who, batches, outside=0)
    weights: dict[tuple[int, ...], Fraction] = {}
    known: dict[tuple[object, ...], Fraction] = {}
    for n in range(5):
        for chosen in combinations(range(15), n):
            prior = Fraction(1)
            for i, s in enumerate(who):
                prior *= Fraction(s.prior) if i in chosen else 1 - Fraction(s.prior)
            acting = tuple(i for i in chosen if i < 4)
            if acting not in known:
                known[acting] = likelihood(batches, (acting, None), "mixed", outside=False)
            weights[chosen] = prior * known[acting]
    whole = sum(weights.values())
    expected = [float(sum(w for s, w in weights.items() if i in s) / whole) for i in range(15)]
    assert found.marginals == pytest.approx(expected, abs=1e-9)
    pair = float(sum(w for s, w in weights.items() if {0, 1} <= set(s)) / whole)
    assert found.both(0, 1) == pytest.approx(pair, abs=1e-9)


def test_more_than_forty_suspects_are_cut_to_the_likeliest() -> None:
    who = [Suspect(str(i), 0.01 if i == 3 else 0.02) for i in range(41)]
    found = reckon(who, [Row("b", True, (False,) * 41)])
    assert found.listed == "up to four of 40, the likeliest of 41"
    assert found.left_out == (3,)
    assert found.marginals[3] == 0
    assert found.marginals[4] == pytest.approx(0.02, abs=1e-3)
    setting = gains(found)[0].setting
    assert len(setting) == 41


def test_pairs_have_a_tenth_before_the_rows() -> None:
    found = reckon(suspects(0.25, 0.25, 0.05), [], pairs=True)
    assert found.pair_acts == pytest.approx(0.1)
    assert [round(p, 6) for _, _, p in found.pairs] == sorted(
        (round(p, 6) for _, _, p in found.pairs), reverse=True
    )
    assert "one pair" in found.listed


def test_two_that_fail_only_together_are_a_pair() -> None:
    batches = rows(", ".join(["11 failed"] * 4 + ["10 intact"] * 4 + ["01 intact"] * 4))
    who = suspects(0.1, 0.1)
    assert reckon(who, batches, pairs=True).pairs[0][2] > 0.8
    assert reckon(who, batches).pair_acts == 0


def test_what_cannot_be_reckoned_is_refused() -> None:
    with pytest.raises(ValueError, match=r"a: the chance 1\.0"):
        reckon(suspects(1.0), [])
    with pytest.raises(ValueError, match="b0: 2 sides for 1 suspects"):
        reckon(suspects(0.5), rows("11 failed"))
    with pytest.raises(ValueError, match="at most 1000"):
        reckon(suspects(0.5), rows("1 failed") * 1001)
    with pytest.raises(ValueError, match="something not recorded"):
        reckon(suspects(0.5), [], outside=1)


def test_a_thousand_batches_stay_within_floats() -> None:
    found = reckon(suspects(0.25, 0.05), rows("1? failed, 0? intact, ?0 failed, 11 intact") * 250)
    assert 0 <= found.marginals[0] <= 1
    assert sum(found.weights.plain) + found.outside == pytest.approx(1)


def test_again_is_the_same_as_anew() -> None:
    who, batches = suspects(0.5, 0.25), rows("11 failed, 0? intact, 10 intact")
    first = reckon(who, batches)
    other = suspects(0.05, 0.05)
    anew = reckon(other, batches, rate="sometimes", outside=0.5)
    assert first.again(suspects=other, rate="sometimes", outside=0.5).marginals == anew.marginals
    assert first.again().marginals == first.marginals
    with pytest.raises(ValueError, match="sides"):
        first.again(suspects=suspects(0.5))


def test_told_apart_at_ten_to_one() -> None:
    alike = reckon(suspects(0.25, 0.25), rows("11 failed, 00 intact"))
    assert not_told_apart(alike) == ((0, 1),)
    assert not alike.told_apart(0, 1)
    apart = reckon(suspects(0.25, 0.25), rows("11 failed, 10 failed, 01 intact, 01 intact"))
    assert apart.told_apart(0, 1)
    assert apart.only(0, 1) >= 10 * apart.only(1, 0)
    assert not_told_apart(apart) == ()


def test_cleared_needs_two_intact_batches_and_both_rates() -> None:
    who = suspects(0.05, 0.5)
    one = rows("11 failed, 00 intact, 10 intact")
    assert cleared(reckon(who, one)) == (False, False)
    two = [*one, *rows("10 intact")]
    assert cleared(reckon(who, two)) == (True, False)
    # Held twice, but half the batches with a cause hold too: not cleared of "sometimes".
    known = suspects(0.5, 0.05)
    found = reckon(known, two)
    assert found.again(rate="always").marginals[0] < found.again(rate="sometimes").marginals[0]
    assert cleared(found) == (False, False)


@pytest.mark.parametrize(
    ("chance", "name", "text"),
    [
        (1, "very likely", "over 99 in 100"),
        (0.9, "very likely", "9 in 10"),
        (0.899, "likely", "7 in 8"),
        (0.76, "likely", "3 in 4"),
        (0.6, "likely", "3 in 5"),
        (0.599, "possible", "1 in 2"),
        (0.41, "possible", "2 in 5"),
        (0.34, "possible", "1 in 3"),
        (0.2, "possible", "1 in 5"),
        (0.199, "unlikely", "1 in 6"),
        (1 / 15, "unlikely", "1 in 15"),
        (0.05, "nearly cleared", "1 in 20"),
        (0.001, "nearly cleared", "under 1 in 100"),
        (0.0, "nearly cleared", "under 1 in 100"),
    ],
)
def test_words_and_round_figures(chance: float, name: str, text: str) -> None:
    assert word(chance) == name
    assert figure(chance) == text


@given(st.floats(0, 1))
def test_a_figure_never_calls_for_another_word(chance: float) -> None:
    text = figure(chance)
    if text[0] in "123456789":
        a, b = text.split(" in ")
        assert word(int(a) / int(b)) == word(chance)


@given(st.floats(0, 1), st.floats(0, 1), st.integers(0, 3))
def test_what_is_said_rises_with_what_is_reckoned(one: float, other: float, n: int) -> None:
    low, high = sorted((one, other))
    for outside in (0.01, 0.2):
        assert held(low, outside, n) <= held(high, outside, n)
        assert held(high, outside, n) <= held(high, outside, n + 1)
        assert held(high, outside, n) <= high + 1e-12
    assert held(high, 0.2, n) <= held(high, 0.01, n)


def test_very_likely_is_not_said_without_two_sessions() -> None:
    assert word(held(1.0, 0.01)) == word(held(1.0, 0.01, 1)) == "likely"
    assert word(held(0.98, 0.01, 2)) == "very likely"
    assert word(held(0.97, 0.01, 2)) == "likely"
    assert word(held(0.04, 0.01)) == "nearly cleared"


def test_nothing_is_likely_while_something_outside_is_not_excluded() -> None:
    assert word(held(1.0, 0.06, 5)) == "possible"
    assert word(held(0.9, 0.05)) == "likely"


def test_no_chance_outside_nought_to_one() -> None:
    for say in (word, figure):
        with pytest.raises(ValueError, match="between 0 and 1"):
            say(1.2)
    for chances in ((1.2, 0.1), (0.1, -0.2)):
        with pytest.raises(ValueError, match="between 0 and 1"):
            held(*chances)


def test_counts_by_side() -> None:
    batches = rows("1 failed, 1 intact, 0 intact, ? failed, ? intact, 0 failed")
    assert counts(batches, 0) == Counts(1, 2, 1, 2, 1, 2)
    assert counts(batches, 0, left_out={"b0", "b2"}) == Counts(0, 1, 1, 1, 1, 2)


def test_clean_pairs_differ_in_one_decided_suspect() -> None:
    batches = rows("11 failed, 01 intact, 00 intact, 1? failed, 10 intact")
    assert clean_pairs(batches, 0) == (
        CleanPair("b0", "b1", True, False),
        CleanPair("b4", "b2", False, False),
    )
    assert [p.speaks_for for p in clean_pairs(batches, 0)] == [True, None]
    assert [p.speaks_for for p in clean_pairs(batches, 1)] == [True, None]


def test_sessions_speak_where_the_control_of_the_same_day_held() -> None:
    batches = rows("11 failed, 01 intact, 10 failed, 00 intact, 10 failed, 00 failed, 10 failed")
    days = {"b0": "mon", "b1": "mon", "b2": "tue", "b3": "tue", "b4": "wed", "b5": "wed"}
    assert speaking_sessions(batches, days, 0) == 2
    assert speaking_sessions(batches, days, 1) == 0
    assert speaking_sessions(batches, {"b2": "tue", "b3": "wed"}, 0) == 0


def test_exact_tests_leave_the_chosen_batches_out() -> None:
    batches = rows("11 failed, 00 intact, 10 failed, 10 failed, 01 intact, 01 intact")
    first, second = exact_tests(batches, 2, left_out={"b0", "b1"})
    assert first.suspect == 0
    assert first.p == pytest.approx(1 / 6)
    assert second.p == 1
    with pytest.raises(ValueError, match="no more can fail"):
        one_sided_exact(3, 2, 0, 1)


def test_next_prefers_the_fewest_changes_among_the_near_best() -> None:
    found = reckon(suspects(0.5, 0.5, 0.05), rows("111 failed, 000 intact"))
    every = gains(found)
    first, *instead = best_settings(found)
    assert first.bits >= 0.95 * every[0].bits
    assert first.changes == min(g.changes for g in every if g.bits >= 0.95 * every[0].bits)
    assert first.setting not in [x.setting for x in instead]
    # Two are equal: the order given decides.
    tied = best_settings(found, order=lambda setting: setting.index(True))
    assert tied[0].setting == (True, False, False)
    last = best_settings(found, order=lambda setting: -setting.index(True))
    assert last[0].setting == (False, True, False)
    assert last[0].bits == pytest.approx(tied[0].bits)


def test_next_offers_only_what_is_allowed() -> None:
    found = reckon(suspects(0.5, 0.5, 0.05), rows("111 failed, 000 intact"))
    kept = best_settings(found, allowed=lambda setting: not setting[0])
    assert kept[0].setting == (False, True, False)
    assert all(not x.setting[0] for x in kept)
    assert best_settings(found, allowed=lambda setting: False) == ()


def test_next_varies_the_fourteen_likeliest_of_many() -> None:
    who = suspects(0.25, 0.25, *[0.01] * 13)
    batches = many(15, "111 failed", "000 intact")
    found = reckon(who, batches, pairs=True)
    every = gains(found)
    assert len(every) == 2**14 - 1
    for gain in (*every[:3], *every[-3:]):
        seen = after(found, gain.setting)
        assert (gain.bits, gain.failure) == pytest.approx((seen.bits, seen.failure), abs=1e-7)
