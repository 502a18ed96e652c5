"""Live blocks over the public part of the sample: what the commands say, or a box that says why."""

import pytest

from labbook.evidence.difference import difference
from labbook.evidence.outcomes import outcomes_of
from labbook.journal.blocks import Blocks, BrokenBlock
from labbook.journal.markdown import Templates
from labbook.journal.publish import published
from labbook.journal.teller import Teller
from labbook.model.sheets import Sheets
from labbook.show.outcomes import headline
from labbook.show.wording import short_lines
from tests.journal.sample_book import BOOK
from tests.journal.site import MARKDOWN

JOURNAL = published(BOOK)
BLOCKS = Blocks(Teller(JOURNAL), Templates(MARKDOWN))


def filled(*lines: str) -> tuple[str, list[BrokenBlock]]:
    text, broken = BLOCKS.filled("\n".join(lines), "../")
    return str(text), broken


def block(command: str) -> str:
    text, broken = filled("before", "", "```labbook", command, "```", "", "after")
    assert broken == []
    assert text.startswith("before\n")
    assert text.endswith("\nafter")
    assert "```" not in text
    return text


def test_the_sample_publishes_two_formulas() -> None:
    assert [one.formula.code for one in JOURNAL.formulas] == ["SBC", "SHL"]
    shorts = {one.batch.short for one in JOURNAL.batches}
    assert shorts == {"4M", "9T", "C3", "R8", "K2", "N6", "H5", "7K", "D4", "P9"}


def test_a_version_is_shown_with_its_percents() -> None:
    text = block("show SBC@3")
    assert "**[SBC@3](../formulas/SBC-3.md)**" in text
    sheet = "../ingredients/polyglyceryl-3-diisostearate.md"
    assert f"| A | [Polyglyceryl-3 diisostearate]({sheet}), *emulsifier* | 4.50 |" in text
    assert "| B | [Water](../ingredients/water.md), *q.s.* | 70.4 |" in text


@pytest.mark.parametrize("command", ["diff SBC 2 3", "diff SBC@2 SBC@3", "labbook diff sbc@2 3"])
def test_a_difference_is_that_of_the_command(command: str) -> None:
    text = block(command)
    # The same rows as on the screen of interface and terminal: tests/show/test_differences.py.
    assert "| changed | polyglyceryl-3-diisostearate | A | 3.60 | 4.50 | +0.90 |" in text
    assert "| moved | tocopherol | A → C | 0.40 | 0.40 | 0 |" in text
    assert "| follows | water, q.s. | B | 71.70 | 70.40 | -1.30 |" in text


def test_a_log_tells_each_version_as_the_terminal_does() -> None:
    text = block("log SBC")
    two, three = (BOOK.versions["SBC"][number].formula for number in (1, 2))
    found = difference(two, three, Sheets(BOOK.ingredients), a_name="SBC@2", b_name="SBC@3")
    for line in short_lines(found):
        assert line in text
    assert text.index("SBC@5") < text.index("SBC@1")


def test_outcomes_and_batches_are_those_of_the_whole_notebook() -> None:
    text = block("outcomes SBC")
    assert (
        "| @2 | [9T](../batches/SBC-260122-9T.md) | failed\u00a01\u20117 | intact\u00a060 |" in text
    )
    for short in ("9T", "K2", "C3"):
        id_ = next(one for one in BOOK.batches if one.endswith(short))
        batch = BOOK.batches[id_]
        its = outcomes_of(batch, BOOK.jars[id_], BOOK.stability[id_], BOOK.formulas["SBC"])
        assert headline(its) in block(f"show {short.lower()}")


def test_two_batches_differ_as_on_the_terminal_without_lots() -> None:
    text = block("diff 4m 9t")
    assert "| changed | water phase when combined | 71 | 58 | °C |" in text
    assert "- deviation of 9T, The water phase had gone off the plate" in text
    assert "lot" not in text


def test_a_reading_is_followed_with_its_figures_beside_the_picture() -> None:
    text, broken = filled("```labbook", "trend SHL pH", "```")
    assert broken == []
    assert "pictures/trend-SHL-pH" in text
    assert "4.85" in text


@pytest.mark.parametrize(
    ("command", "why"),
    [
        ("show SBC@9", "there is no version SBC@9."),
        ("show KHB", "there is no public formula KHB."),
        ("show b6", "there is no public batch B6."),
        ("show zz", "there is no public batch ZZ."),
        ("outcomes KHB", "there is no public formula KHB."),
        ("diff 4m b6", "there is no public batch B6."),
        ("diff SBC", "diff takes two versions or two batches"),
        ("diff SBC 1 9", "there is no version SBC@9."),
        ("why", "why takes a failed batch"),
        ("why b6", "there is no public batch B6."),
        ("why SBC", "why takes batches"),
        ("why 4m 4m", "A batch can't be held against itself."),
        ("show 'SBC", "a quotation mark is open in it."),
        ("", "a block may say: show SBC@3"),
        ("show", "show takes one name"),
        ("show <b>|x|", "there is no public formula"),
        ("rm -rf /", "a block may say"),
        ("trend", "trend takes a code"),
        ("trend SBC", "no public jar of SBC has a reading."),
        ("trend SHL spread", "No jar of it has a reading 'spread'."),
        ("timeline", "timeline takes a batch or a code"),
        ("timeline b6", "there is no public batch B6."),
        ("timeline zz", "there is no public batch ZZ."),
        ("timeline SBC cellar", "nobody has looked at a jar of SBC cellar yet."),
        ("curve", "curve takes a code"),
        ("curve KHB", "there is no public formula KHB."),
        ("curve SHL", "public batches of SHL that were looked at in room: 2"),
        ("curve SBC freeze-thaw", "public batches of SBC that were looked at in freeze-thaw: 1"),
    ],
)
def test_a_broken_reference_is_a_box_and_a_finding(command: str, why: str) -> None:
    text, broken = filled("# One", "", "words", "", "```labbook", command, "```", "", "more")
    (found,) = broken
    assert (found.line, found.command) == (5, command)
    assert why in found.why
    assert "\n> **Can't be shown:**" in text
    assert text.endswith("\nmore")
    assert "<b>" not in text


def test_private_and_absent_look_the_same() -> None:
    private = filled("```labbook", "show b6", "```")[0].replace("b6", "zz").replace("B6", "ZZ")
    assert private == filled("```labbook", "show zz", "```")[0]


def test_other_code_stays_code_and_blocks_begin_at_the_margin() -> None:
    text, broken = filled("```python", "show SBC@3", "```", "", "    show SBC@3")
    assert broken == []
    assert text == "```python\nshow SBC@3\n```\n\n    show SBC@3"
    text, broken = filled("- a list", "", "  ```labbook", "  show SBC@3", "  ```")
    assert "begin it at the margin" in broken[0].why
    assert "Can't be shown" not in text


def test_several_blocks_each_in_its_place() -> None:
    text, broken = filled(
        "```labbook", "show SBC@9", "```", "", "~~~labbook", "show SBC@1", "~~~", "", "```labbook",
        "log SBC",
    )  # fmt: skip
    assert [one.line for one in broken] == [1]
    assert text.index("Can't be shown") < text.index("SBC-1.md") < text.index("SBC-5.md")
