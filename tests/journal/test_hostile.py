"""Hostile words in every text field: shown as words, in Markdown and in HTML, and nothing else."""

import re
import unicodedata
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from labbook.journal.book import Book
from labbook.journal.html import POLICY, Shell
from labbook.journal.markdown import Templates, free, md, visible
from labbook.journal.names import plain_name
from tests.journal.filled import book, with_photos
from tests.journal.hostile import CORPUS
from tests.journal.site import HTML, site_of

ALLOWED = {
    "html", "head", "meta", "title", "link", "body", "main", "footer", "h1", "h2", "h3", "h4", "h5",
    "h6", "p", "a", "em", "strong", "s", "ul", "ol", "li", "div", "table", "thead", "tbody", "tr",
    "th", "td", "blockquote", "pre", "code", "hr", "br", "figure", "figcaption", "img",
}  # fmt: skip
ATTRIBUTES = {
    "href", "id", "class", "rel", "lang", "charset", "content", "name", "http-equiv", "role",
    "aria-label", "tabindex", "start", "src", "alt", "loading", "type",
}  # fmt: skip
PHOTO = r"\.\./photos/(small/)?[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9a-f]{16}\.jpg"
DRAWN = {"svg", "title", "desc", "line", "circle", "rect", "path", "text"}
"""What a picture is made of; nothing that acts, refers elsewhere, or has a style of its own."""

DRAWN_WITH = {
    "xmlns", "class", "role", "viewbox", "width", "height", "font-family", "font-size", "fill",
    "fill-opacity", "stroke", "stroke-width", "stroke-opacity", "stroke-dasharray", "text-anchor",
    "x", "y", "x1", "x2", "y1", "y2", "cx", "cy", "r", "d",
}  # fmt: skip


class Elements(HTMLParser):
    """Every element of a page with its attributes, and the page's visible text."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.drawn: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.title = ""
        self._in: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._in.append(tag)
        (self.drawn if "svg" in self._in else self.found).append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if tag in self._in:
            del self._in[len(self._in) - 1 - self._in[::-1].index(tag) :]

    def handle_data(self, data: str) -> None:
        if "title" in self._in and "svg" not in self._in:
            self.title += data
        self.text += data

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")


def without_own_scripts(page: bytes) -> bytes:
    """A page without the scripts that come with the program, each at its place: the very end."""
    text = page.decode("utf-8")
    for name, script in HTML.items():
        if name.endswith(".js"):
            text = text.replace(f"<script>{script.strip()}</script>\n</body>", "</body>")
    return text.replace('<script src="search-index.js"></script>\n</body>', "</body>").encode()


def parsed(page: bytes) -> Elements:
    found = Elements()
    found.feed(page.decode("utf-8"))
    found.close()
    return found


def evil_book(evil: str) -> Book:
    """A notebook that says it in every field."""

    def text(record: str, name: str) -> str:
        return f"{evil}{record}"

    return with_photos(book(text), text)


@pytest.mark.parametrize("evil", CORPUS, ids=range(len(CORPUS)))
def test_hostile_words_in_every_field_make_no_element(evil: str) -> None:
    site = site_of(evil_book(evil))
    assert len(site.files) > 10
    for path, raw in site.files.items():
        if not path.endswith(".html"):
            continue
        elements = parsed(without_own_scripts(raw))
        for tag, attributes in elements.found:
            assert tag in ALLOWED, (path, tag)
            source = attributes.get("src") or ""
            assert not source or re.fullmatch(PHOTO, source), (path, source)
            assert set(attributes) <= ATTRIBUTES, (path, tag, attributes)
            href = attributes.get("href") or ""
            local = re.fullmatch(
                r"(\.\./)?([a-z]+/)?[A-Za-z0-9_-]+\.(html|css)(#.*)?|#.*|(\.\./)?(feed\.xml|icon\.svg)",
                href,
            )
            web = re.fullmatch(r"https?://[^\s/\\@]+(/\S*)?", href)
            photo = re.fullmatch(PHOTO, href)
            assert not href or local or web or photo, (path, href)
        for tag, attributes in elements.drawn:
            assert tag in DRAWN, (path, tag)
            assert set(attributes) <= DRAWN_WITH, (path, tag, attributes)
            assert "url(" not in "".join(value or "" for value in attributes.values())
        drawn = any(tag == "svg" for tag, _ in elements.drawn)
        assert drawn == path.startswith(("batches/", "formulas/SBC.")), path
        once = ("html", "head", "body", "main", "footer", "title", "h1")
        counts = {tag: sum(1 for found, _ in elements.found if found == tag) for tag in once}
        assert set(counts.values()) == {1}, (path, counts)
        links = [(a["rel"], (a["href"] or "").split("/")[-1]) for tag, a in elements.found
                 if tag == "link"]  # fmt: skip
        assert links == [("stylesheet", "journal.css"), ("icon", "icon.svg")]
        (policy,) = [a["content"] or "" for tag, a in elements.found if "http-equiv" in a]
        assert re.fullmatch(rf"{re.escape(POLICY)}(; script-src ('self' )?'sha256-[^']+')?", policy)
        assert ("'self' 'sha256" in policy) == (path == "search.html")


@pytest.mark.parametrize("evil", CORPUS, ids=range(len(CORPUS)))
def test_nothing_invisible_is_sent(evil: str) -> None:
    site = site_of(evil_book(evil))
    for path, raw in site.files.items():
        for char in set(raw.decode("utf-8")) - {"\n", "\u200d", "\u200c"}:
            hidden = unicodedata.category(char) in ("Cc", "Cf", "Cs", "Zl", "Zp")
            assert not hidden, (path, hex(ord(char)))


@pytest.mark.parametrize("evil", CORPUS, ids=range(len(CORPUS)))
def test_a_value_is_shown_as_it_was_typed(evil: str) -> None:
    shell = Shell("a site", HTML["page.html.j2"], ())
    for before in ("", "words ", "| cell | ", "- ", "1. "):
        shown = parsed(shell.fragment("index", before + md(evil)).encode())
        inner = {tag for tag, _ in shown.found}
        assert inner <= {"p", "ul", "ol", "li"}, (before, inner)
        from labbook.journal.redact import scrubbed
        from labbook.show.layout import clean

        wanted = scrubbed(clean(" ".join(evil.split())))
        assert wanted in " ".join(shown.text.split()), before


@pytest.mark.parametrize("text", ["2026. A year", "12) no list", "1. x", "1234567890. y", "-- a"])
def test_a_value_at_the_start_of_a_line_is_no_list(text: str) -> None:
    shell = Shell("a site", HTML["page.html.j2"], ())
    shown = parsed(shell.fragment("index", md(text)).encode())
    assert [tag for tag, _ in shown.found] == ["p"]
    assert shown.text.strip() == text


@pytest.mark.parametrize(
    "note",
    ["```\nopen", "~~~~ x\n```\nopen", "```", "- a\n\n  ```\n  in a list", "    code", "<!--"],
)
def test_a_note_ends_where_it_ends(note: str) -> None:
    templates = Templates({"page": "{{ note }}\n\n## After\n\n| a |\n| --- |\n| b |\n"})
    text = templates.render("page", note=free(note))
    shown = parsed(Shell("s", HTML["page.html.j2"], ()).fragment("index", text).encode())
    tags = [tag for tag, _ in shown.found]
    assert "h2" in tags
    assert "table" in tags


def test_every_expression_of_a_template_is_escaped() -> None:
    templates = Templates({"page": "{{ a }} {% if a %}{{ a ~ a }}{% endif %} {{ [a][0] }}"})
    text = templates.render("page", a="**x** [y](z) <b>")
    assert "**x**" not in text
    assert re.search(r"(?<!\\)\](?=\()", text) is None
    assert "<b>" not in text


def test_a_template_cannot_reach_outside() -> None:
    from jinja2.exceptions import SecurityError, TemplateNotFound, UndefinedError

    for evil in ("{{ a.__class__.__mro__ }}", "{{ cycler.__init__.__globals__ }}"):
        with pytest.raises((SecurityError, UndefinedError)):
            Templates({"page": evil}).render("page", a="x")
    with pytest.raises(TemplateNotFound):
        Templates({"page": "{% include '/etc/passwd' %}"}).render("page")


@pytest.mark.parametrize(
    ("link", "kept"),
    [
        ("https://example.org/a", True),
        ("#part", True),
        ("2026-02-03-one.md", True),
        ("../formulas/SBC.md", True),
        ("javascript:alert(1)", False),
        ("JaVaScRiPt:alert(1)", False),
        ("java&#10;script:alert(1)", False),
        ("&#106;avascript:alert(1)", False),
        ("vbscript:x", False),
        ("data:text/html,<script>alert(1)</script>", False),
        ("file:///etc/passwd", False),
        ("//example.org/a", False),
        (r"\\example.org\a", False),
        ("/etc/passwd", False),
        ("../../lots/water-2601.yaml", False),
        ("2026-02-04-private.md", False),
        ("mailto:a@example.org", False),
        ("https://a:b@example.org/", False),
    ],
)
def test_a_link_leads_to_the_web_or_to_a_page_of_the_site(link: str, kept: bool) -> None:
    base = book(lambda record, name: "words")
    entry = replace(base.entries[0], text=f"[here]({link}) and <{link}>")
    page = site_of(replace(base, entries=(entry,))).files["entries/2026-02-03-one.html"]
    main = page.decode("utf-8").split("<main>")[1].split("Before:")[0].split("</main>")[0]
    links = [attributes["href"] for tag, attributes in parsed(main.encode()).found if tag == "a"]
    assert bool(links) is kept, links


def test_headings_of_an_entry_stand_below_its_own() -> None:
    base = book(lambda record, name: "words")
    entry = replace(base.entries[0], text="# One\n\n## Two\n\n# One\n")
    page = site_of(replace(base, entries=(entry,))).files["entries/2026-02-03-one.html"]
    heads = [(t, a.get("id")) for t, a in parsed(page).found if re.fullmatch("h[1-6]", t)]
    assert heads == [("h1", "words"), ("h2", "one"), ("h2", "two"), ("h2", "one-2")]


def test_names_of_files_are_plain_and_apart() -> None:
    names = ["SBC", "../../etc/passwd", "a b", "a-b", "ü", "ö", "CON", "x" * 300, "", "A\x00B"]
    plain = [plain_name(name) for name in names]
    assert all(re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,80}", name) for name in plain)
    assert len(set(plain)) == len(names)
    assert plain_name("SBC-260109-4M") == "SBC-260109-4M"


def test_scripts_and_signs_that_need_joiners_keep_them() -> None:
    family = "\U0001f469\u200d\U0001f52c"
    assert visible(family) == family
    assert visible("a\u202eb\x00\u2028") == "a\\u202eb\\x00\\u2028"
