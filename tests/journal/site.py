"""The shipped templates, read once, and a site made with them."""

from labbook.journal.book import Book
from labbook.journal.pages import Site, site
from labbook.journal.publish import published
from labbook.shipped import shipped

MARKDOWN, HTML = (
    {
        path.name: path.read_text(encoding="utf-8")
        for path in sorted((shipped("templates") / name).iterdir())
    }
    for name in ("journal", "site")
)


def site_of(book: Book) -> Site:
    """The site of a notebook."""
    return site(published(book), MARKDOWN, HTML)


def all_bytes(found: Site) -> bytes:
    """Every byte of every file, and every path."""
    return b"\0".join(path.encode() + b"\0" + raw for path, raw in found.files.items())
