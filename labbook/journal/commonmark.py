"""The parser of Markdown: CommonMark with tables and strikethrough, and no HTML of its own."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.rules_core import StateCore


@cache
def parser() -> MarkdownIt:
    """CommonMark with tables and strikethrough, without HTML."""
    from markdown_it import MarkdownIt

    found = MarkdownIt("commonmark", {"html": False}).enable(["table", "strikethrough"])
    found.core.ruler.at("inline", _inline_rule)
    return found


_WORDS = re.compile(r"(?:[^\W_]|[ .,;:%()/+°→“”’–'-])*")
"""Text without a character that CommonMark's inline rules, or that of strikethrough, look at."""


def _inline_rule(state: StateCore) -> None:
    """The parser's own rule; words alone, as most cells are, needn't be walked through."""
    from markdown_it.token import Token

    for token in state.tokens:
        if token.type != "inline":
            continue
        if token.content and _WORDS.fullmatch(token.content):
            token.children = [Token("text", "", 0, content=token.content)]
        else:
            token.children = token.children or []
            state.md.inline.parse(token.content, state.md, state.env, token.children)
