"""What counts, comparisons and curves say: nobody is told more than the numbers can say."""

from labbook.evidence.counting import Unit, count
from labbook.evidence.statistics.comparison import compare
from labbook.evidence.statistics.intervals import Interval
from labbook.evidence.statistics.weibull import Weibull, weibull
from labbook.model.results.looking import DAYS, RUN, Count
from labbook.show.outcome_table import count_words
from labbook.show.outcome_words import chance_words, comparison_words, weibull_words


def _count(*fates: Interval, unit: str = DAYS, least: float = 0) -> Count:
    units = [Unit(f"A{n}", fate, 100) for n, fate in enumerate(fates, 1)]
    found = count(units, what="jars", condition="room", group="separation", unit=unit, least=least)
    assert found is not None
    return found


def test_three_jars_say_up_to_63_percent() -> None:
    """Clopper and Pearson (Biometrika 26:404, 1934): 1 - 0.05^(1/3)."""
    told = count_words(_count(*[Interval(28, None)] * 3))
    assert told == "0 of 3 jars failed by day 28: the true share may be up to 63 %"


def test_three_jars_of_four_say_less() -> None:
    told = count_words(_count(*[Interval(28, None)] * 3, Interval(14, None), least=28))
    assert told == (
        "0 of 3 jars failed by day 28: the true share may be up to 76 %, whatever became of those"
        " not watched; not watched until then: A4"
    )


def test_a_run_is_counted_without_days() -> None:
    told = count_words(_count(Interval(1, None), Interval(0, 1), Interval(1, None), unit=RUN))
    assert told == "1 of 3 jars failed in the run: the true share may be 0 to 91 %"


def test_too_few_for_a_test_hear_what_so_few_could_show_at_best() -> None:
    found = compare([Interval(1, 7)] * 2, [Interval(90, None)] * 2, names=("@1", "@2"))
    told = comparison_words(found, "separation", "batches")
    assert "2 and 2 batches carry no test, which takes 4 and 4" in told
    assert "even the clearest result of so few could be chance 1 time in 3" in told


def test_a_test_names_the_smallest_chance_that_it_could_give() -> None:
    found = compare([Interval(1, 7)] * 4, [Interval(90, None)] * 4, names=("@1", "@2"))
    told = comparison_words(found, "separation", "batches")
    # 2 of the 70 ways to deal 8 to two groups of 4 are as uneven.
    assert "@1 failed sooner; chance alone does as much 1 time in 35" in told
    assert told.endswith("and as few as these could show 1 time in 35 at best")


def test_chances_in_words() -> None:
    assert [chance_words(p) for p in (1, 0.5, 0.004, 0.0001)] == [
        "nearly always", "1 time in 2", "1 time in 250", "less than 1 time in 1000",
    ]  # fmt: skip


def test_how_failures_come_with_age_no_further_than_the_last_look() -> None:
    late = [Interval(low, high) for low, high in ((28, 60), (60, 90), (60, 90), (60, 90), (28, 60))]
    found = weibull([*late, *[Interval(90, 120)] * 4, Interval(120, None), Interval(0, 0)])
    assert isinstance(found, Weibull)
    told = weibull_words(found, DAYS)
    assert told.startswith("9 of 10 failed, more and more often with age (Weibull shape ")
    assert "by day 120, the last look; 1 more failed while making" in told
    mixed = [(0, 1), (0, 1), (1, 7), (7, 14), (28, 60), (60, 90)]
    early = weibull([*(Interval(a, b) for a, b in mixed), *[Interval(90, None)] * 2])
    assert isinstance(early, Weibull)
    assert "6 of 8 failed, less and less often with age (" in weibull_words(early, DAYS)
    five = [(1, 7), (7, 14), (7, 14), (14, 28), (28, 60)]
    few = weibull([Interval(a, b) for a, b in five])
    assert isinstance(few, Weibull)
    assert "more or less often with age, that can't be told yet (" in weibull_words(few, DAYS)
