"""The index of the search: words to pages, in a script that a page loads from its own folder.

Made of what the pages say, so of filtered records alone. Words are folded: without accents, small.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence

from labbook.journal.markdown import visible
from labbook.journal.page import Found
from labbook.journal.redact import scrubbed

FILE = "search-index.js"
_WORD = re.compile(r"[^\W_]+")
_LONGEST = 40
"""Letters of a word that are kept; who types more finds it by its beginning."""


def folded(text: str) -> str:
    """Text as it is compared: `Crème brûlée` is `creme brulee`, `Maß` is `mass`."""
    bare = unicodedata.normalize("NFKD", text)
    if not bare.isascii():
        bare = "".join(char for char in bare if not unicodedata.category(char).startswith("M"))
    return bare.lower().replace("ß", "ss")


def words_of(text: str) -> set[str]:
    """The words of a text, each once."""
    return {word[:_LONGEST] for word in _WORD.findall(folded(text))}


def words_of_page(page: Found) -> tuple[list[str], set[str]]:
    """How the index lists a page (path, title, a word on it), and the words it is found by."""
    told = [_plain(page.title), _plain(page.note)]
    return [page.path, *told], words_of(f"{told[0]} {told[1]} {_plain(page.text)}")


Part = tuple[Sequence[Sequence[str]], Mapping[str, Sequence[int]]]
"""Pages as the index lists them, and each of their words with the numbers of those that hold it."""


def index_script(parts: Iterable[Part]) -> str:
    """The index as a script: pages in the order given, words in order, pages of each as steps.

    Steps are differences of page numbers, so `[2, 3]` means pages 2 and 5: they stay short.
    """
    listed: list[Sequence[str]] = []
    table: dict[str, list[int]] = {}
    for some, words in parts:
        first = len(listed)
        listed += some
        for word, pages in words.items():
            table.setdefault(word, []).extend([first + page for page in pages])
    # Scripts compare strings by UTF-16 units.
    ordered = sorted(table, key=lambda word: word.encode("utf-16-be"))
    data = {"found": listed, "words": ordered, "pages": [_steps(table[word]) for word in ordered]}
    text = json.dumps(data, ensure_ascii=True, separators=(",", ":"))
    return f'"use strict";\nwindow.journalIndex = {_inert(text)};\n'


def part_of(pages: Iterable[Found]) -> Part:
    """Some pages as a part of the index."""
    listed: list[list[str]] = []
    table: dict[str, list[int]] = {}
    for number, page in enumerate(pages):
        line, words = words_of_page(page)
        listed.append(line)
        for word in sorted(words):
            table.setdefault(word, []).append(number)
    return listed, table


def _steps(pages: Sequence[int]) -> list[int]:
    return [page - before for before, page in zip((0, *pages), pages, strict=False)]


def _plain(text: str) -> str:
    return visible(scrubbed(" ".join(text.split())))


def _inert(text: str) -> str:
    """JSON that ends no script, wherever somebody copies it to."""
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
