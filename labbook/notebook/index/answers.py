"""Whole answers, kept for as long as no file changes: what is due, asked again on the same day."""

from __future__ import annotations

import json
import sqlite3
from typing import Any

from labbook.notebook.index.files import Files
from labbook.notebook.index.store import Lost


def kept_answer(files: Files, about: str, asked: str) -> Any:
    """The data of an answer about something, None where files changed since or it was another.

    Args:
        files: the notebook as it stands, read already.
        about: what it is an answer about; one is kept of each.
        asked: all that was asked, the day too.
    """
    sql = (
        "select answer.data from answer join book on book.id = answer.book"
        " where book = ? and about = ? and asked = ? and answer.files = book.files"
    )
    try:
        found = files.store.rows(sql, (files.store.book, about, asked))
    except Lost:
        return None
    return json.loads(found[0][0]) if found else None


def keep_answer(files: Files, about: str, asked: str, data: Any) -> None:
    """Keeps an answer in place of the last one about the same."""
    text = json.dumps(data)

    def change(db: sqlite3.Connection) -> None:
        db.execute(
            "insert or replace into answer select id, ?, ?, files, ? from book where id = ?",
            (about, asked, text, files.store.book),
        )

    try:
        files.store.write(change)
    except Lost:
        return  # it is reckoned again the next time
