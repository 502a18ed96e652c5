"""Judges of a site's files, from outside: an HTML5 parser that forgives nothing, and a crawler."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping
from typing import Any
from urllib.parse import unquote

import html5lib
from markdown_it import MarkdownIt

_ATTRIBUTES = ("href", "src")


def tree_of(page: bytes) -> Any:
    """A page as html5lib reads it by the HTML standard; any parse error is raised."""
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    return parser.parse(page, transport_encoding="utf-8")


def ids_of(tree: Any) -> list[str]:
    return [one.get("id") for one in tree.iter() if isinstance(one.tag, str) and one.get("id")]


def links_of(tree: Any) -> list[str]:
    return [
        one.get(name)
        for one in tree.iter()
        for name in _ATTRIBUTES
        if isinstance(one.tag, str) and one.get(name) is not None
    ]


def markdown_links(text: str) -> list[str]:
    """Links and pictures of a Markdown text, by CommonMark with tables."""
    parser = MarkdownIt("commonmark").enable("table")
    inline = [one for token in parser.parse(text) for one in token.children or ()]
    found = [one.attrGet("href") or one.attrGet("src") for one in inline]
    return [str(link) for link in found if link is not None]


def broken_links(files: Mapping[str, bytes], beside: frozenset[str] = frozenset()) -> list[str]:
    """Links of pages, and of Markdown files, that lead to no file or to no part of one.

    Args:
        files: the site.
        beside: paths of further files that are there.
    """
    pages = {path: tree_of(raw) for path, raw in files.items() if path.endswith(".html")}
    anchors = {path: set(ids_of(tree)) for path, tree in pages.items()}
    links = [(path, link) for path, tree in pages.items() for link in links_of(tree)]
    for path, raw in files.items():
        if path.endswith(".md"):
            links += [(path, link) for link in markdown_links(raw.decode("utf-8"))]
    broken = []
    for path, link in links:
        if re.match(r"https?://", link):
            continue
        target, _, anchor = link.partition("#")
        whole = posixpath.normpath(posixpath.join(posixpath.dirname(path), unquote(target)))
        there = path if not target else whole
        if there not in files and there not in beside:
            broken.append(f"{path}: {link}")
        elif anchor and there in anchors and unquote(anchor) not in anchors[there]:
            broken.append(f"{path}: {link}, no such part")
    return broken


def unreached(files: Mapping[str, bytes]) -> set[str]:
    """Pages to which no way leads from home."""
    pages = {path: tree_of(raw) for path, raw in files.items() if path.endswith(".html")}
    waiting, found = ["index.html"], {"index.html"}
    while waiting:
        path = waiting.pop()
        for link in links_of(pages[path]):
            target = link.partition("#")[0]
            whole = posixpath.normpath(posixpath.join(posixpath.dirname(path), target))
            if target and whole in pages and whole not in found:
                found.add(whole)
                waiting.append(whole)
    return pages.keys() - found
