"""HTML from the very same Markdown: raw HTML stays text, links that could act are inert.

No inline style, no request to elsewhere: the page policy forbids what the page doesn't need. A page
that carries a script names its hash; only the search may load one file more, its own index, which
opened as a file can't be hashed: a browser checks no hash of what it reads from a disk.
"""

from __future__ import annotations

import posixpath
import re
import unicodedata
from base64 import b64encode
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import sha256
from html import escape
from typing import TYPE_CHECKING, Any

from labbook.journal.commonmark import parser
from labbook.journal.names import photo_path, small_photo_path
from labbook.journal.page import Page
from labbook.journal.redact import scrubbed
from labbook.journal.search import FILE as INDEX
from labbook.show.layout import clean

if TYPE_CHECKING:
    from jinja2 import Template
    from markdown_it.token import Token

POLICY = "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'"
SELF = "'self' "
INDEXED = "search.js"
"""The script that reads the index beside it."""

BROKEN = "Can't be shown:"
"""The first words of the box that stands for a block whose reference is broken."""

_WEB = re.compile(r"https?://[^\s/\\@]+(?:[/?#][^\s\\]*)?", re.IGNORECASE)
_LOCAL = re.compile(r"[^\s:\\/#?][^\s:\\?]*")
_PHOTO = re.compile(r"(?:\.\./)+photos/([0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9a-f]{16}\.jpg)")
_ANCHOR = re.compile(r"#[^\s\\]*")

_NONE: Mapping[str, str] = {}

_SHORT = re.compile(r"[^\s-]{1,12}")
"""A cell of one short word, which stays on one line."""

_TOGETHER = re.compile(
    r"(?<=[0-9]) (?=(?:°C|%|[km]?g|[mc]?m|ml|min|h|d|rpm)(?!\w))"
    r"|(?:(?<=\bday)|(?<=\bgrade)|(?<=\bcycle)) (?=[0-9])"
)
"""The space within `58 °C` and `day 7`, where no line should end."""


def policy_of(script: str, *, indexed: bool = False) -> str:
    """The policy of a page that carries a script, by its hash; without one, no script runs."""
    if not script:
        return POLICY
    digest = b64encode(sha256(script.encode("utf-8")).digest()).decode("ascii")
    return f"{POLICY}; script-src {SELF if indexed else ''}'sha256-{digest}'"


@dataclass(frozen=True)
class Shell:
    """What stands around each page: the site's name, its template, the paths of all pages.

    `pages` are paths without an ending, like `formulas/SBC`; `scripts` what pages may carry, by
    file name; `feed` is the file of the feed, if there is one.
    """

    site: str
    template: str
    pages: Collection[str]
    scripts: Mapping[str, str] = field(default_factory=dict)
    feed: str = ""

    @cached_property
    def _template(self) -> Template:
        from jinja2 import DictLoader, StrictUndefined
        from jinja2.sandbox import ImmutableSandboxedEnvironment

        environment = ImmutableSandboxedEnvironment(
            loader=DictLoader({"page": self.template}),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
        )
        return environment.get_template("page")

    @cached_property
    def _feet(self) -> dict[tuple[str, str], str]:
        return {}

    def page(self, page: Page) -> str:
        """One whole page."""
        from markupsafe import Markup

        up = "../" * page.path.count("/")
        script = self.scripts[page.script].strip() if page.script else ""
        indexed = page.script == INDEXED
        if (up, page.foot) not in self._feet:
            self._feet[up, page.foot] = self.fragment(page.path, page.foot)
        return self._template.render(
            policy=policy_of(script, indexed=indexed),
            site=self.site,
            title=clean(page.title),
            home=page.path == "index",
            up=up,
            feed=self.feed,
            index=INDEX if indexed else "",
            script=Markup(script),
            body=Markup(self.fragment(page.path, page.body, page.pictures)),
            foot=Markup(self._feet[up, page.foot]),
        )

    def fragment(self, path: str, text: str, pictures: Mapping[str, str] = _NONE) -> str:
        """Markdown of a page as HTML, with its pictures in place of images of them."""
        tokens = parser().parse(text)
        _headings(tokens)
        _cells(tokens)
        _boxes(tokens)
        for token in tokens:
            if token.children is None:
                token.content = _clean(token.content)
                token.info = "" if token.type == "fence" else token.info
            elif not (_picture(token, path, pictures) or _photos(token)):
                token.children = _inline(token.children, path, self.pages)
        _draw(tokens, path, pictures)
        labels = iter(_labels(tokens))
        rendered: str = parser().renderer.render(tokens, parser().options, {})
        shown = re.sub("<table>", lambda found: f"{_scrolling(next(labels))}<table>", rendered)
        return shown.replace("</table>", "</table></div>")


def _clean(text: str) -> str:
    from labbook.journal.markdown import visible

    return visible(scrubbed(text)) if text else text


# Blocks -------------------------------------------------------------------------------------------


def _headings(tokens: Sequence[Token]) -> None:
    """An id for each heading; only the first may be the page's own."""
    used: set[str] = set()
    first = True
    for number, token in enumerate(tokens):
        if token.type != "heading_open":
            continue
        if token.tag == "h1" and not first:
            token.tag = tokens[number + 2].tag = "h2"
        first = first and token.tag != "h1"
        stem = _slug(tokens[number + 1].content) or "part"
        name, count = stem, 1
        while name in used:
            count += 1
            name = f"{stem}-{count}"
        used.add(name)
        token.attrSet("id", name)


def _slug(text: str) -> str:
    words = "".join(c if c.isalnum() else " " for c in unicodedata.normalize("NFC", text))
    return "-".join(words.casefold().split())[:60].strip("-")


def _cells(tokens: Sequence[Token]) -> None:
    """Alignment as a class: the policy allows no style in the page. A short word isn't broken."""
    for number, token in enumerate(tokens):
        if token.type in ("th_open", "td_open"):
            style = str(token.attrs.pop("style", ""))
            if style.endswith("right"):
                token.attrSet("class", "figure")
            elif _SHORT.fullmatch(tokens[number + 1].content):
                token.attrSet("class", "short")


def _labels(tokens: Sequence[Token]) -> list[str]:
    """What each table is called: by the heading over it, numbered where there are several."""
    found: list[str] = []
    counts: Counter[str] = Counter()
    heading = "table"
    for number, token in enumerate(tokens):
        if token.type == "heading_open":
            heading = _clean(" ".join(_text(tokens[number + 1]).split()))[:80]
        elif token.type == "table_open":
            counts[heading] += 1
            count = counts[heading]
            found.append(f"{heading}, table {count}" if count > 1 else heading)
    return found


def _text(token: Token) -> str:
    return "".join(child.content for child in token.children or ())


def _scrolling(label: str) -> str:
    return f'<div class="wide" role="region" aria-label="{escape(label)}" tabindex="0">'


def _boxes(tokens: Sequence[Token]) -> None:
    for number, token in enumerate(tokens):
        inside = tokens[number + 2].content if number + 2 < len(tokens) else ""
        if token.type == "blockquote_open" and inside.startswith(f"**{BROKEN}**"):
            token.attrSet("class", "broken")


def _picture(token: Token, path: str, pictures: Mapping[str, str]) -> str:
    """The picture of this site that a line is, if it is nothing else; empty for none."""
    children = token.children or []
    if len(children) != 1 or children[0].type != "image":
        return ""
    source = str(children[0].attrs.get("src", ""))
    whole = posixpath.normpath(posixpath.join(posixpath.dirname(path), source))
    return pictures.get(whole, "") if _LOCAL.fullmatch(source) else ""


def _photos(token: Token) -> str:
    """The row of photos of this site that a paragraph is, if it is nothing else; else empty."""
    children = [one for one in token.children or () if one.type != "softbreak"]
    rows: list[str] = []
    for one in children:
        found = _PHOTO.fullmatch(str(one.attrs.get("src", ""))) if one.type == "image" else None
        if found is None:
            return ""
        rows.append(_photo(one, found[1]))
    return f'<div class="photos">\n{"".join(rows)}</div>\n' if rows else ""


def _photo(token: Token, file: str) -> str:
    """A small picture that leads to the large one, with what is said of it.

    Pages with photos stand one folder deep.
    """
    alternative = escape(_clean(token.content))
    told = escape(_clean(str(token.attrs.get("title", ""))))
    image = f'<img src="../{small_photo_path(file)}" alt="{alternative}" loading="lazy">'
    linked = f'<a href="../{photo_path(file)}">{image}</a>'
    return f"<figure>{linked}<figcaption>{told}</figcaption></figure>\n"


def _draw(tokens: Sequence[Token], path: str, pictures: Mapping[str, str]) -> None:
    """Pictures of this site in place of the paragraph that refers to them."""
    for number, token in enumerate(tokens):
        if token.type != "inline":
            continue
        svg = _picture(token, path, pictures)
        drawn = f"<figure>\n{svg}</figure>\n" if svg else _photos(token)
        if drawn:
            token.type, token.children = "html_block", None
            token.content = drawn
            for beside in (tokens[number - 1], tokens[number + 1]):
                beside.hidden = True


# Within a line ------------------------------------------------------------------------------------


def _inline(tokens: Sequence[Token], path: str, pages: Collection[str]) -> list[Token]:
    found: list[Token] = []
    closing: list[bool] = []
    for token in tokens:
        if token.type == "link_open":
            address = _address(str(token.attrs.get("href", "")), path, pages)
            closing.append(bool(address))
            if not address:
                continue
            attributes: Mapping[str, Any] = {"href": address}
            if _WEB.fullmatch(address):
                attributes = {**attributes, "rel": "noreferrer"}
            token.attrs = dict(attributes)
        elif token.type == "link_close" and not closing.pop():
            continue
        elif token.type == "image":
            token.type, token.tag, token.attrs = "text", "", {}
            token.content = f"(photo: {_clean(token.content)})" if token.content else "(photo)"
            token.children = None
        elif token.content:
            token.content = _clean(token.content)
            if token.type == "text":
                token.content = _TOGETHER.sub("\u00a0", token.content)
        found.append(token)
    return found


def _address(href: str, path: str, pages: Collection[str]) -> str:
    """Where a link leads from a page; empty makes it inert."""
    if _WEB.fullmatch(href):
        return "" if scrubbed(href) != href else href
    if _ANCHOR.fullmatch(href):
        return href
    if not _LOCAL.fullmatch(href):
        return ""
    target, mark, anchor = href.partition("#")
    whole = posixpath.normpath(posixpath.join(posixpath.dirname(path), target))
    if not whole.endswith(".md") or whole[:-3] not in pages:
        return ""
    return f"{target[:-3]}.html{mark}{anchor}"
