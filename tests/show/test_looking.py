"""The screens of looking on the sample: what is due, and what became of its batches."""

from labbook.evidence.due import in_a_row
from labbook.evidence.outcomes import noticed_in, outcomes_of
from labbook.model.results.common import Next
from labbook.model.results.looking import BatchOutcome, Due, Looked, Noticed
from labbook.show.layout import Screen
from labbook.show.looking import MODES, due_screen, looked_screen, modes_table
from labbook.show.outcomes import became_words, cell_words, headline, leading, point_words
from tests.evidence.test_due import SAMPLE
from tests.sample import TODAY, batches, last, versions


def outcomes(short: str) -> tuple[BatchOutcome, ...]:
    batch = batches()[short]
    folder = f"batches/2026/{batch.id}"
    formula = versions()[batch.formula.code, batch.formula.version]
    files = [last().get(f"{folder}/{name}.yaml") for name in ("jars", "stability")]
    assert noticed_in(batch, files[0], files[1], formula) == ()
    return outcomes_of(batch, files[0], files[1], formula)


OUTCOMES = {short: outcomes(short) for short in batches()}
DUE = Due(
    day=TODAY,
    overdue=in_a_row(look for look in SAMPLE if look.state == "overdue"),
    today=in_a_row(look for look in SAMPLE if look.state == "today"),
    coming=in_a_row(look for look in SAMPLE if look.state == "coming"),
    then=(
        Next("labbook look", "these seven, one after the other"),
        Next("labbook due --ics due.ics", "into the telephone's calendar"),
    ),
)

SCREEN = """\
Jars to look at                                            Thursday 2026-04-16

overdue
  R8.1      room        day 60   since Mon 2026-04-13   SBC@3
  R8.2      fridge      day 60   since Mon 2026-04-13
  B6.1      room        day 28   since Wed 2026-04-15   KHB@2  feel for grains
today
  7K.1      room        day 7                           SBC@5
  7K.2      fridge      day 7
  7K.3      40 °C       day 7
  W3.1      room        day 14                          SHL@3  and the pH
coming
            Mon 04-20   K2.1 K2.2           day 60
            Wed 04-22   9T.2                day 90      its room jar failed
            Thu 04-23   7K.1 7K.2 7K.3      day 14
                        H5.1 H5.2 H5.3      day 28

then        labbook look              these seven, one after the other
            labbook due --ics due.ics into the telephone's calendar
"""


def test_what_is_due_on_the_day_at_which_the_samples_clock_stands() -> None:
    assert due_screen(DUE, Screen()) == SCREEN


def test_nothing_due_is_a_sentence_and_a_missing_protocol_is_named() -> None:
    text = due_screen(Due(day=TODAY, without_protocol=("7K",)), Screen())
    assert "Nothing is due today or in the coming week." in text
    assert "no protocol, so nothing falls due by itself: 7K" in text


def test_the_headlines_of_the_sample() -> None:
    """As the log and the first screen of the interface word them."""
    told = {short: headline(its) for short, its in OUTCOMES.items()}
    assert told == {
        "4M": "intact on day 90",
        "9T": "failed between day 1 and day 7: water below, grade 3",
        "C3": "intact on day 60",
        "R8": "intact on day 28",
        "K2": "intact on day 28; freeze-thaw failed by cycle 2: oil beads, grade 3",
        "N6": "intact on day 28",
        "H5": "intact on day 14",
        "7K": "intact on day 1",
        "D4": "failed between day 14 and day 28: cream layer, grade 3",
        "P9": "intact on day 28",
        "W3": "intact on day 7",
        "7F": "not looked at yet",
        "M8": "intact on day 60",
        "G2": "intact on day 28",
        "B6": "intact on day 14; fridge failed between day 7 and day 14: grains, grade 3",
    }


def test_no_headline_ever_promises_more_than_was_seen() -> None:
    for its in OUTCOMES.values():
        assert not {"safe", "stable", "pass"} & set(headline(its).split())


def test_what_became_of_two_versions() -> None:
    def became(*shorts: str) -> str:
        return became_words([(short, OUTCOMES[short]) for short in shorts])

    assert became("9T") == "9T failed between day 1 and day 7"
    told = "C3, R8 and K2 intact on day 28; K2 failed in freeze-thaw"
    assert became("C3", "R8", "K2") == told
    assert became("7F") == "7F not looked at yet"


def test_intervals_in_a_table() -> None:
    assert [cell_words(leading(OUTCOMES[s])) for s in ("4M", "9T", "7F")] == [
        "intact 90", "failed 1-7", "",
    ]  # fmt: skip


def test_within_the_first_day_hours_are_told() -> None:
    assert point_words(4 / 24, "days") == "hour 4"
    assert [point_words(n, u) for n, u in ((0, "days"), (7, "days"), (2, "cycles"))] == [
        "day 0", "day 7", "cycle 2",
    ]  # fmt: skip


def test_what_no_limit_judges_stands_beside_intact() -> None:
    one = Noticed(jar="1", condition="fridge", point=14, unit="days", modes=("grains",), grade=3)
    told = headline(OUTCOMES["4M"], [one])
    assert told == "intact on day 90; grains, grade 3 on day 14 (fridge), no limit set"


def test_every_mode_has_its_number() -> None:
    text = " ".join(modes_table(Screen()).split())
    assert all(f"{number} {mode}" in text for number, mode in enumerate(MODES, 1))


def test_a_look_with_its_caution() -> None:
    look = Looked(
        id="SBC-260409-7K", short="7K", jar="7K.2", entry="o5",
        said="fridge, day 7: mould, grade 2",
        cautions=("Don't open it and don't smell it.",),
    )  # fmt: skip
    assert looked_screen(look, Screen()).splitlines() == [
        "7K.2  fridge, day 7: mould, grade 2                                         o5",
        "caution     Don't open it and don't smell it.",
    ]


def test_a_long_look_goes_on_below_its_place() -> None:
    said = "room, day 60: grade 0, spread 44 mm, by 200 g, 60 s, at 20 °C, after 24 h"
    look = Looked(id="SBC-260205-K2", short="K2", jar="K2.1", entry="o15", said=said)
    assert looked_screen(look, Screen()).splitlines() == [
        f"{'K2.1  room, day 60':<75}o15",
        "            grade 0, spread 44 mm, by 200 g, 60 s, at 20 °C, after 24 h",
    ]
