"""`help words`: the words of the trade as this program uses them."""

from __future__ import annotations

from labbook.show.layout import Screen

WORDS = (
    ("notebook", "the folder, kept in git; plain text for any editor"),
    ("formula", "a recipe in percent by weight; its code, 2 to 6 letters, goes on the jar"),
    ("version", "a numbered content of a formula: HC@3"),
    ("phase", "lines that are handled together: A, B, C"),
    ("line", "one ingredient at one percent in one phase"),
    ("q.s.", "the line that fills up to 100 %; water as a rule"),
    ("ingredient", "a sheet with what is known of a material, each figure with its source"),
    ("lot", "one purchased pack"),
    ("batch", "one making of one version: 7K"),
    ("bulk", "what is in the pot"),
    ("jar", "one filled container: 7K.1"),
    ("bench sheet", "what to weigh and do for one batch"),
    ("reading", "a measured value with unit, instrument, and what it was measured in"),
    ("deviation", "where the making departed from the method"),
    ("correction", "a later change to a closed batch: it stands beside, never over"),
    ("protocol", "conditions and times at which jars are looked at"),
    ("look", "one observation of one jar at one time"),
    ("outcome", 'intact so far, or failed between two times, and how; never "safe"'),
    ("session", "what was made on one day in one go"),
)


def words_screen(screen: Screen) -> str:
    """The table of words."""
    screen.title("Words of the notebook")
    screen.blank()
    for word, meaning in WORDS:
        screen.row(word, meaning)
    return screen.text()


def outside_screen(screen: Screen) -> str:
    """`labbook` alone, where there is no notebook."""
    screen.title("labbook, a formula notebook for emulsion makers")
    screen.blank()
    screen.row("", "There is no notebook here or in a folder above.")
    screen.blank()
    screen.then(
        [
            ("labbook demo", "a sample notebook, to look at"),
            ("labbook init my-notebook", "a notebook of your own"),
            ("labbook --help", "all commands"),
        ]
    )
    return screen.text()
