"""The feed: Atom as RFC 4287 has it, written only where the notebook says where its site stands.

Ids are tags (RFC 4151) of the site's host and the thing's own day and name: they stay when a title
is changed or a page moves. `updated` is a day of the records, never the day of a build.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from labbook.journal.markdown import visible
from labbook.journal.redact import scrubbed

FILE = "feed.xml"
LATEST = 30
_URL = re.compile(r"https?://([A-Za-z0-9.-]+)(?::[0-9]+)?(?:/[A-Za-z0-9._~%/-]*)?", re.ASCII)


@dataclass(frozen=True)
class Item:
    """One entry of the feed: `name` makes its id, `born` and `updated` are days of the records."""

    name: str
    path: str
    title: str
    summary: str
    born: date
    updated: date


def address_of(site_url: str | None) -> str:
    """Where the site stands, with a slash at its end; empty where nothing usable is said."""
    typed = (site_url or "").strip()
    if not _URL.fullmatch(typed):
        return ""
    return typed if typed.endswith("/") else f"{typed}/"


def feed(title: str, author: str, address: str, items: Iterable[Item]) -> str:
    """The feed as XML; the latest thirty, newest first.

    Args:
        title: of the site.
        author: who keeps it; where nobody is named, the site's title stands for it, since RFC 4287
            4.1.1 asks for one.
        address: from `address_of`.
        items: in any order.
    """
    chosen = sorted(items, key=lambda one: (one.updated, one.born, one.name), reverse=True)[:LATEST]
    host = _host(address)
    updated = max((one.updated for one in chosen), default=date(1970, 1, 1))
    lines = [
        '<?xml version="1.0" encoding="utf-8"?>',
        '<feed xmlns="http://www.w3.org/2005/Atom" xml:lang="en">',
        f"  <id>{_text(f'{address}{FILE}')}</id>",
        f"  <title>{_text(title)}</title>",
        f"  <updated>{_moment(updated)}</updated>",
        f"  <author><name>{_text(author or title)}</name></author>",
        f'  <link rel="self" type="application/atom+xml" href={_value(f"{address}{FILE}")}/>',
        f'  <link rel="alternate" type="text/html" href={_value(address)}/>',
        *(line for one in chosen for line in _entry(one, host, address)),
        "</feed>",
    ]
    return "\n".join(lines) + "\n"


def _entry(one: Item, host: str, address: str) -> Sequence[str]:
    return (
        "  <entry>",
        f"    <id>{_text(f'tag:{host},{one.born.isoformat()}:{one.name}')}</id>",
        f"    <title>{_text(one.title)}</title>",
        f"    <published>{_moment(one.born)}</published>",
        f"    <updated>{_moment(one.updated)}</updated>",
        f'    <link rel="alternate" type="text/html" href={_value(f"{address}{one.path}.html")}/>',
        f"    <summary>{_text(one.summary)}</summary>",
        "  </entry>",
    )


def _host(address: str) -> str:
    found = _URL.fullmatch(address)
    return found[1].casefold() if found else ""


def _moment(day: date) -> str:
    return f"{day.isoformat()}T00:00:00Z"


def _text(text: str) -> str:
    from xml.sax.saxutils import escape  # brings along all that reads from the web

    return escape(_plain(text))


def _value(text: str) -> str:
    from xml.sax.saxutils import quoteattr

    return quoteattr(_plain(text))


def _plain(text: str) -> str:
    return visible(scrubbed(" ".join(text.split()))) or "untitled"
