from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from labbook.model.errors import Unclear, UnknownName
from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.trade.composition import Composition, resolve
from labbook.trade.scaling import FIXED, Target, adds_up, largest_batch, targets
from tests.trade.making import composed, formula, grams, line, sheets, value

D = Decimal


def masses(found: tuple[Target, ...]) -> dict[str, str]:
    return {target.line.ingredient: str(target.mass) for target in found}


def test_targets_show_what_the_balance_shows() -> None:
    cream = composed(oil="23.5", beeswax="1.5", water="qs")
    found = targets(cream, grams("250 g"), D("0.1"))
    assert masses(found) == {"oil": "58.8", "beeswax": "3.8", "water": "187.4"}
    assert [str(target.rest) for target in found] == ["0.0", "0.0", "-0.1"]
    assert found[0].exact == Fraction("58.75")
    assert adds_up(found, grams("250 g"), D("0.1"))


def test_the_rest_goes_to_the_largest_line_without_a_qs_line() -> None:
    thirds = composed(a="33.3", b="33.4", c="33.3")
    found = targets(thirds, grams("10 g"), D("1"))
    assert masses(found) == {"a": "3", "b": "4", "c": "3"}
    assert [str(target.rest) for target in found] == ["0", "1", "0"]


def test_equally_large_lines_settle_the_rest_by_name_not_by_order() -> None:
    one = targets(composed(a="50", b="50"), grams("3"), D("1"))
    other = targets(composed(b="50", a="50"), grams("3"), D("1"))
    assert masses(one) == masses(other) == {"a": "1", "b": "2"}


def test_the_rest_never_goes_to_a_line_with_a_limit() -> None:
    known = sheets(fragrant=Ingredient(id="fragrant", highest_use=value("40")))
    lines = [line("fragrant", "40"), line("b", "33.5"), line("c", "26.5")]
    found = targets(resolve(formula(A=lines), known), grams("9"), D("1"))
    assert masses(found) == {"fragrant": "4", "b": "3", "c": "2"}
    assert [str(target.rest) for target in found] == ["0", "0", "0"]
    found = targets(resolve(formula(A=lines), known), grams("11"), D("1"))
    assert masses(found) == {"fragrant": "4", "b": "4", "c": "3"}
    found = targets(resolve(formula(A=lines), known), grams("13"), D("1"))
    assert masses(found) == {"fragrant": "5", "b": "5", "c": "3"}
    assert [str(target.rest) for target in found] == ["0", "1", "0"]


@pytest.mark.parametrize("mark", [*sorted(FIXED), "adjust"])
def test_a_rest_that_no_line_may_take_is_left_and_seen(mark: str) -> None:
    more = {"adjust": "pH to 5"} if mark == "adjust" else {"role": mark}
    lines = [line(name, "25", **more) for name in ("a", "b", "c", "d")]
    found = targets(resolve(formula(A=lines), Sheets()), grams("5"), D("1"))
    assert masses(found) == {"a": "1", "b": "1", "c": "1", "d": "1"}
    assert not adds_up(found, grams("5"), D("1"))


def test_a_function_of_the_sheet_fixes_a_line_like_a_role() -> None:
    known = sheets(p=Ingredient(id="p", functions=("preservative",)))
    lines = [line("p", "50.4"), line("b", "49.6")]
    found = targets(resolve(formula(A=lines), known), grams("1.5"), D("1"))
    assert masses(found) == {"p": "1", "b": "1"}  # the size itself rounds to 2
    found = targets(resolve(formula(A=lines), known), grams("5"), D("1"))
    assert masses(found) == {"p": "3", "b": "2"}


def test_a_qs_line_too_small_for_the_rest_is_passed_over() -> None:
    cream = composed(a="53.8", b="46.1", water="qs")
    found = targets(cream, grams("10"), D("1"))
    assert masses(found) == {"a": "5", "b": "5", "water": "0"}
    crowded = composed(a="15.6", b="15.6", c="15.6", d="15.6", e="15.6", f="21.9", water="qs")
    found = targets(crowded, grams("10"), D("1"))
    # Five times 1.56 and 2.19 round to 12: the two too much can't come out of 0.1 g of water.
    assert masses(found) == {
        "a": "2",
        "b": "2",
        "c": "2",
        "d": "2",
        "e": "2",
        "f": "0",
        "water": "0",
    }
    assert adds_up(found, grams("10"), D("1"))
    assert found[6].lost


def test_a_draft_is_scaled_as_it_stands() -> None:
    draft = composed(a="60", b="39")
    found = targets(draft, grams("100"), D("0.1"))
    assert masses(found) == {"a": "60.0", "b": "39.0"}
    assert not adds_up(found, grams("100"), D("0.1"))
    assert [finding.rule for finding in draft.problems] == ["total-not-100"]


def test_a_qs_line_below_zero_has_no_target() -> None:
    found = targets(composed(a="70", b="31", water="qs"), grams("100"), D("0.1"))
    assert masses(found) == {"a": "70.0", "b": "31.0", "water": "None"}
    assert not adds_up(found, grams("100"), D("0.1"))


def test_ounces_are_converted_exactly_and_rounded_once() -> None:
    found = targets(composed(oil="50", water="qs"), grams("4 oz"), D("0.01"))
    assert masses(found) == {"oil": "56.70", "water": "56.70"}  # 113.398… g shows as 113.40


@pytest.mark.parametrize(
    ("size", "readability", "said"),
    [("100", "0", "shows nothing"), ("0", "0.1", "too little"), ("0.04", "0.1", "too little")],
)
def test_a_balance_that_cannot_show_the_batch_is_refused(
    size: str, readability: str, said: str
) -> None:
    with pytest.raises(Unclear, match=said):
        targets(composed(a="100"), grams(size), D(readability))


SALT = sheets(
    salt=Ingredient(id="salt", functions=("electrolyte",)),
    oil=Ingredient(id="oil", functions=("oil",)),
    water=Ingredient(id="water", functions=("water",)),
    perfume=Ingredient(id="perfume", functions=("fragrance",), highest_use=value("1")),
)


def test_lines_too_small_for_the_balance_say_from_which_batch_they_are_fine() -> None:
    lines = [
        line("salt", "0.8"),
        line("oil", "0.8"),
        line("perfume", "1"),
        line("acid", "0.6", adjust="pH to 5"),
        line("powder", "0.4"),
        line("water", "qs"),
    ]
    cream = resolve(formula(A=lines), SALT)
    salt, oil, perfume, acid, powder, water = targets(cream, grams("100"), D("0.1"))
    assert (salt.error, salt.wanted) == (Fraction(1, 16), Fraction(1, 20))
    assert salt.least == 1
    assert salt.too_small
    assert salt.enough_from == 125
    assert (oil.wanted, oil.too_small, oil.enough_from, oil.unjudged) == (None, False, None, False)
    assert (perfume.wanted, perfume.too_small) == (Fraction(1, 20), False)
    assert perfume.enough_from == 100
    assert (acid.wanted, acid.too_small) == (Fraction(1, 20), True)
    assert (powder.wanted, powder.unjudged) == (None, True)
    assert (water.wanted, water.unjudged) == (None, False)
    assert not targets(cream, grams("125"), D("0.1"))[0].too_small
    assert targets(cream, grams("124.9"), D("0.1"))[0].too_small


def test_the_pharmacopoeia_rule_is_harder_and_only_asked_for() -> None:
    cream = resolve(formula(A=[line("salt", "10"), line("water", "qs")]), SALT)
    salt, water = targets(cream, grams("100"), D("0.01"), strict=True)
    assert (salt.least, salt.too_small, water.too_small) == (Fraction("8.2"), False, False)
    salt, _ = targets(cream, grams("81.9"), D("0.01"), strict=True)
    assert salt.too_small
    assert salt.enough_from == 82
    worse = targets(cream, grams("100"), D("0.01"), repeatability=D("0.006"), strict=True)
    assert worse[0].least == 12


# Laws --------------------------------------------------------------------------------------------

READABILITIES = st.sampled_from([D("0.001"), D("0.01"), D("0.1"), D("1")])
ROLES = st.sampled_from([None, None, None, "preservative", "active", "restricted", "emulsifier"])


@st.composite
def compositions(draw: st.DrawFn) -> Composition:
    """Any composition that adds up to 100: with or without a q.s. line, some lines fixed."""
    parts = draw(st.lists(st.integers(0, 10_000), min_size=1, max_size=15))
    if draw(st.booleans()):
        total = sum(parts)
        scale = max(1, -(-total // 10_000))
        lines = [
            line(f"i{n}", str(D(part // scale) / 100), role=draw(ROLES))
            for n, part in enumerate(parts)
        ]
        lines.append(line("water", "qs"))
    else:
        cuts = sorted(part % 10_001 for part in parts)
        widths = [b - a for a, b in zip([0, *cuts], [*cuts, 10_000], strict=True)]
        lines = [line(f"i{n}", str(D(w) / 100), role=draw(ROLES)) for n, w in enumerate(widths)]
    return resolve(formula(A=draw(st.permutations(lines))), Sheets())


@given(compositions(), st.integers(1, 50_000), READABILITIES)
def test_targets_add_up_exactly_or_no_line_may_take_the_rest(
    cream: Composition, units: int, readability: Decimal
) -> None:
    size = grams(f"{units * readability:f}")
    found = targets(cream, size, readability)
    assert cream.complete
    moved = [target for target in found if target.rest]
    assert len(moved) <= 1
    for target in found:
        assert target.mass is not None and target.rest is not None and target.exact is not None
        assert target.mass >= 0
        own = Fraction(target.mass) - Fraction(target.rest)
        assert abs(own - target.exact) <= Fraction(readability) / 2
        if target.line.role in FIXED:
            assert target.rest == 0
    if not adds_up(found, size, readability):
        assert not moved
        total = sum(Fraction(t.mass or 0) for t in found)
        rest = size.exact("g") - total
        free = [t for t in found if t.line.role not in FIXED]
        assert all(Fraction(t.mass or 0) + rest < 0 for t in free)


@given(compositions(), st.integers(1, 50_000), READABILITIES, st.randoms(use_true_random=False))
def test_the_order_of_lines_changes_no_target(
    cream: Composition, units: int, readability: Decimal, chance: Random
) -> None:
    size = grams(f"{units * readability:f}")
    lines = list(cream.lines)
    chance.shuffle(lines)
    shuffled = Composition(tuple(lines), cream.total, cream.qs_percent, (), ())
    one, other = (targets(x, size, readability) for x in (cream, shuffled))
    assert masses(one) == masses(other)


@given(compositions(), st.integers(1, 5000), READABILITIES)
@example(composed(a="50", b="50"), 1, D("1"))
def test_percents_read_back_from_targets_are_within_the_rounding(
    cream: Composition, units: int, readability: Decimal
) -> None:
    size = grams(f"{units * readability:f}")
    found = targets(cream, size, readability)
    for target in found:
        assert target.mass is not None and target.line.percent is not None
        back = Fraction(target.mass) / size.exact("g") * 100
        allowed = (Fraction(readability) / 2 + abs(Fraction(target.rest or 0))) / size.exact("g")
        assert abs(back - target.line.percent) <= allowed * 100


@given(compositions(), st.integers(1, 500), READABILITIES)
def test_a_batch_ten_times_as_large_needs_ten_times_the_exact_masses(
    cream: Composition, units: int, readability: Decimal
) -> None:
    small = targets(cream, grams(f"{units * readability:f}"), readability)
    large = targets(cream, grams(f"{10 * units * readability:f}"), readability)
    assert [10 * (t.exact or 0) for t in small] == [t.exact for t in large]
    for one, other in zip(small, large, strict=True):
        assert one.too_small or not other.too_small


# From what is there ------------------------------------------------------------------------------


def test_what_is_there_sets_the_largest_batch() -> None:
    cream = composed(oil="14", beeswax="1.5", water="qs")
    found = largest_batch(cream, {"oil": grams("180"), "beeswax": grams("20")}, D("0.1"))
    assert (str(found.size), found.limiting.ingredient) == ("1285.7", "oil")
    assert found.have == 180


def test_an_ingredient_in_two_phases_counts_once_and_goes_by_any_name() -> None:
    known = sheets(sunflower_oil=Ingredient(id="sunflower-oil", also=("helianthus",)))
    lines = [line("sunflower-oil", "10"), line("wax", "80"), line("helianthus", "10")]
    balm = resolve(formula(A=lines), known)
    found = largest_batch(balm, {"Helianthus": grams("50")}, D("0.1"), known)
    assert str(found.size) == "250.0"


@pytest.mark.parametrize(
    ("have", "error", "said"),
    [
        ({"clay": "3"}, UnknownName, "the formula has no clay"),
        ({}, Unclear, "nothing that you have limits the batch"),
        ({"nothing": "3"}, Unclear, "nothing that you have limits the batch"),
        ({"oil": "0"}, Unclear, "too little for any batch"),
        ({"oil": "0.04"}, Unclear, "too little for any batch"),
        ({"wax": "4"}, Unclear, "how much wax the formula takes"),
    ],
)
def test_what_cannot_be_reckoned_is_refused_with_a_way_on(
    have: dict[str, str], error: type[Unclear], said: str
) -> None:
    lines = [line("oil", "40"), line("nothing", "0"), line("wax")]
    draft = resolve(formula(A=lines), Sheets())
    with pytest.raises(error, match=said) as caught:
        largest_batch(draft, {name: grams(mass) for name, mass in have.items()}, D("0.1"))
    assert caught.value.mend


@given(compositions(), st.integers(1, 3000), READABILITIES)
def test_the_largest_batch_uses_no_more_than_is_there(
    cream: Composition, units: int, readability: Decimal
) -> None:
    name = next(x.ingredient for x in cream.lines if x.percent)
    have = grams(f"{units * readability:f}")
    try:
        found = largest_batch(cream, {name: have}, readability)
    except Unclear:
        return
    percent = next(x.percent for x in cream.lines if x.ingredient == name)
    assert percent
    again = targets(cream, grams(f"{found.size:f}"), readability)
    used = next(t.mass for t in again if t.line.ingredient == name)
    assert used is not None and used <= have.value
    assert Fraction(found.size) * percent / 100 <= have.exact("g")
    # More than a step of the limiting line below it would waste what is there.
    spare = have.exact("g") - Fraction(found.size) * percent / 100
    assert spare <= Fraction(readability) * (len(cream.lines) + 1)
