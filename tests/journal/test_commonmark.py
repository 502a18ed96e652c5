"""The shortcut for words alone changes nothing of what CommonMark says."""

from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from labbook.journal.commonmark import parser
from tests.journal.hostile import CORPUS

PLAIN = MarkdownIt("commonmark", {"html": False}).enable(["table", "strikethrough"])
SIGNS = st.text(
    st.sampled_from(list("ab1 .,;:%()/+°→“’–'-_*`~&<>[]!|\\\n\té\u00a0\u2028#")), max_size=40
)


def test_it_gives_what_the_parser_gives_without_it() -> None:
    for text in (*CORPUS, "a_b_c", "~~a~~", "a  \nb", "1. x", "- a", "| a |\n| - |\n| b c |"):
        assert parser().render(text) == PLAIN.render(text), text


@given(SIGNS)
def test_it_gives_so_for_any_signs(text: str) -> None:
    assert parser().render(text) == PLAIN.render(text)


@given(st.text(max_size=40))
def test_it_gives_so_for_any_text(text: str) -> None:
    assert parser().render(text) == PLAIN.render(text)
