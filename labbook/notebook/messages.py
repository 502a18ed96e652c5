"""Commit messages of recording commands: a subject, a body, and who recorded as a trailer."""

from __future__ import annotations

from collections.abc import Sequence

TRAILER = "Recorded-by: "
SUBJECT_LENGTH = 72


def with_trailer(message: str, command: str) -> str:
    """A message whose last line names the command; NUL, which git refuses, becomes a space."""
    lines = (
        message.replace("\0", " ").encode("utf-8", "replace").decode("utf-8").strip().split("\n")
    )
    if lines[-1].startswith(TRAILER):
        lines.pop()
    text = "\n".join(lines).strip() or "record"
    return f"{text}\n\n{TRAILER}labbook {command}\n"


def joined(entries: Sequence[tuple[str, str]]) -> str:
    """One message for entries that can only be committed together; each a message and a command.

    The first one's subject stays the subject; the others stand below with theirs.
    """
    if len(entries) == 1:
        return with_trailer(*entries[0])
    texts, trailers = [], []
    for message, command in entries:
        text, _, trailer = with_trailer(message, command).rstrip("\n").rpartition("\n\n")
        texts.append(text)
        trailers.append(trailer)
    return "\n\n".join([*texts, "\n".join(dict.fromkeys(trailers))]) + "\n"
