"""Texts made worse: cut, doubled, spliced, flipped, filled with what parsers stumble over."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from random import Random

NASTY = tuple(
    text.encode("utf-8", "surrogatepass")
    for text in (
        "", " ", "\t", "\n", "\r", "\r\n", "\0", "\ufeff", "\u2028", "\u202e", "\x1b[2J", "\x85",
        "\ud800", "\U0001f9f4", "é", "e\u0301", "ﬀ", "ſ", "K", "İ", "ß",
        "0", "-0", "00", "1e999999", "1E9", "-1", ".5", "5.", "1,5", "1.000,5", "9" * 21,
        "9" * 5000, "1_000", "0x1F", "0o17", "１２", "٣", "½", "²", "NaN", "nan", "inf", "-inf",
        "null", "~", "yes", "no", "true", "qs", "q.s.", "%", "±", "–", "−",
        "[", "]", "{", "}", "[" * 200, "{" * 200, "- " * 200, "&a", "*a", "!!python/name:os.system",
        "!!int", "<<: *a", "%YAML 1.2", "---", "...", "|", ">", "|2", "'", '"', '"\\ud800"',
        '"\\0"', "#", " #", ":", ": ", "?", "? ", ",", ";", "=", "+=", ":=", "*", "/", "@", "@#",
        "HC@", "HC@99999999999", "HC@#", "HC@2026-99-99", "2026-02-30", "0000-00-00",
        "9999-12-31T23:59:59+14:00", "0001-01-01T00:00Z", "2026-01-01T24:00Z", "12:61", "25:00",
        "=cmd|' /C calc'!A0", "+1", "@SUM(1)", "<!ENTITY a 'b'>", "<script>", "</script>",
        "{{ 7*7 }}", "{% raw %}", "../../etc/passwd", "CON", "NUL.yaml", "a" * 3000,
        "<<<<<<< ours", "=======", ">>>>>>> theirs", "°", "μ", "µ", "g", "°C", "min", "drops",
    )
)  # fmt: skip

Change = Callable[[Random, bytes, Sequence[bytes]], bytes]


def _span(chance: Random, raw: bytes) -> tuple[int, int]:
    start = chance.randint(0, len(raw))
    return start, min(len(raw), start + chance.choice((1, 2, 8, 40, 400)))


def _cut(chance: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    start, end = _span(chance, raw)
    return raw[:start] + raw[end:]


def _end(chance: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    return raw[: chance.randint(0, len(raw))]


def _double(chance: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    start, end = _span(chance, raw)
    return raw[:end] + raw[start:end] * chance.choice((1, 2, 30)) + raw[end:]


def _nasty(chance: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    start, end = _span(chance, raw)
    return raw[:start] + chance.choice(NASTY) + raw[chance.choice((start, end)) :]


def _token(chance: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """One word gives way to something nasty."""
    words = raw.split(b" ")
    words[chance.randrange(len(words))] = chance.choice(NASTY)
    return b" ".join(words)


def _flip(chance: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    if not raw:
        return raw
    at = chance.randrange(len(raw))
    return raw[:at] + bytes([chance.randrange(256)]) + raw[at + 1 :]


def _splice(chance: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    other = chance.choice(others)
    start, end = _span(chance, other)
    at = chance.randint(0, len(raw))
    return raw[:at] + other[start:end] + raw[at:]


def _lines(chance: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    lines = raw.splitlines(keepends=True)
    if len(lines) > 1:
        one, two = chance.randrange(len(lines)), chance.randrange(len(lines))
        lines[one], lines[two] = lines[two], lines[one]
    return b"".join(lines)


CHANGES: tuple[Change, ...] = (_cut, _end, _double, _nasty, _token, _nasty, _flip, _splice, _lines)


def mutated(chance: Random, seeds: Sequence[bytes]) -> bytes:
    """A seed after one to six changes, 200 kB at most."""
    raw = chance.choice(seeds)
    for _ in range(chance.choice((1, 1, 2, 3, 6))):
        raw = chance.choice(CHANGES)(chance, raw, seeds)
    return raw[:200_000]
