"""What a person typed about a jar: grade, modes, how much of it, and the cautions it calls for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from labbook.evidence.failure import GROUPS
from labbook.model.errors import Unclear
from labbook.model.formula import FAILURE_MODES
from labbook.model.moments import Moment
from labbook.model.quantities import Quantity, QuantityError, in_digits, parse_quantity
from labbook.model.sheets import fold
from labbook.show.outcomes import how_words
from labbook.work.measured import drop_test, measured, plain

if TYPE_CHECKING:
    from labbook.notebook.photo import Taken

_LAYER = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*/\s*([0-9]+(?:[.,][0-9]+)?)(?:\s*mm)?")
_BY_NAME = {fold(mode): mode for mode in FAILURE_MODES} | {"mold": "mould", "color": "colour"}
TWO_TESTS = "Two tests tell more than one: a drop in water, and a drop in oil."
NUMBERED = tuple(mode for modes in GROUPS.values() for mode in modes)
WORST_GRADE = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One observation as typed; None and empty are not written down."""

    grade: int | None = None
    modes: tuple[str, ...] = ()
    extent: str = ""
    layer: Quantity | None = None
    rest: Quantity | None = None
    at: Quantity | None = None
    speed: Quantity | None = None
    radius: Quantity | None = None
    spun: Quantity | None = None
    reading: str = ""
    value: Decimal | None = None
    unit: str = ""
    by: str = ""
    cycle: int | None = None
    photos: tuple[Taken, ...] = ()
    who: str = ""
    time: Moment | None = None
    known_from: str = ""
    note: str = ""
    remarks: tuple[str, ...] = ()


def grade_of(text: str) -> int:
    """A grade from 0 to 4.

    Raises:
        Unclear: anything else.
    """
    typed = text.strip()
    grade = in_digits(typed)
    if grade is not None and grade <= WORST_GRADE:
        return grade
    raise Unclear(f"Grade {typed}?", mend="0 nothing seen, 1 a trace, 2 slight, 3 clear, 4 broken.")


def mode_of(text: str) -> str:
    """The mode that a word means, in any case, with spaces or hyphens.

    Raises:
        Unclear: no such mode; near ones are offered.
    """
    found = _mode(text)
    if found:
        return found
    raise Unclear(f"{text.strip()!r} is no way to fail that is known here.", mend=_offer(text))


def _mode(text: str) -> str:
    return _BY_NAME.get(fold(text.strip()), "")


def _offer(text: str) -> str:
    from difflib import get_close_matches

    near = get_close_matches(fold(text), list(_BY_NAME), n=3, cutoff=0.5)
    names = dict.fromkeys(_BY_NAME[name] for name in near)
    return f"Near it: {', '.join(names)}" if names else f"One of: {', '.join(FAILURE_MODES)}"


def modes_by_number(text: str) -> tuple[str, ...]:
    """Modes typed by their numbers or names: `4`, `2 4`, `water below`.

    Raises:
        Unclear: a number that no mode has, or an unknown name.
    """
    typed = text.strip()
    if _mode(typed):
        return (_mode(typed),)
    found = []
    for part in re.split(r"[,\s]+", typed):
        if part.isascii() and part.isdigit():
            number = in_digits(part)
            if number is None or not 1 <= number <= len(NUMBERED):
                raise Unclear(f"No mode has the number {part[:20]}.", mend="/ shows them.")
            found.append(NUMBERED[number - 1])
        else:
            found.append(mode_of(part))
    return tuple(dict.fromkeys(found))


def with_words(seen: Seen, words: Sequence[str]) -> Seen:
    """Adds what was typed behind the jar: the grade, then modes, `3/41`, `4 mm`, `pH 4.9`.

    Raises:
        Unclear: a word that is none of these.
    """
    if words and words[0].strip().isdigit():
        seen, words = replace(seen, grade=grade_of(words[0])), words[1:]
    for word in words:
        seen = _with_word(seen, word.strip())
    if not seen.grade and seen.modes and seen.grade is not None:
        raise Unclear(
            f"Grade 0 means that nothing was seen, and {', '.join(seen.modes)} was.",
            mend="A trace is grade 1.",
        )
    return seen


def _with_word(seen: Seen, word: str) -> Seen:
    mode = _mode(word)
    if mode:
        return replace(seen, modes=tuple(dict.fromkeys((*seen.modes, mode))))
    layer = _LAYER.fullmatch(word)
    if layer:
        return _with_layer(seen, layer[1].replace(",", "."), layer[2].replace(",", "."))
    try:
        length = parse_quantity(word.replace(",", "."), "length")
    except QuantityError:
        return _with_reading(seen, word)
    return replace(seen, layer=length)


def _with_layer(seen: Seen, layer: str, height: str) -> Seen:
    if not Decimal(height) or Decimal(layer) > Decimal(height):
        raise Unclear(
            f"{layer} of {height} mm?", mend="First the layer, then the whole height: 3/41."
        )
    share = round(Decimal(layer) / Decimal(height) * 100)
    remark = f"the layer is {layer} of {height} mm, {share} % of the height"
    return replace(seen, extent=f"{layer}/{height}", remarks=(*seen.remarks, remark))


def _with_reading(seen: Seen, word: str) -> Seen:
    if not re.match(r"[^\W\d_][^\d=]*=?\s*-?[0-9]", word):
        raise Unclear(
            f"{word!r} is no way to fail that is known here.",
            mend=f"{_offer(word)}\nOther words are a note: --note {word!r}",
        )
    return with_reading(seen, word)


def with_reading(seen: Seen, text: str) -> Seen:
    """Adds a reading such as `pH 4.9` or `spread 41 mm under 200 g for 60 s`.

    A drop test is kept in words, beside the look.

    Raises:
        Unclear: it has no name or no figure.
    """
    drop = drop_test(text)
    if drop is not None:
        told = f"{drop[1]}: {drop[0]}"
        note = f"{seen.note}; {told}" if seen.note else told
        return replace(seen, note=note, remarks=(*seen.remarks, TWO_TESTS))
    feel = text.strip().casefold().startswith("feel ")
    taken = measured(text) or (None if feel else plain(text))
    if taken is not None:
        return replace(
            seen, reading=taken.reading, value=taken.value, unit=taken.unit, by=taken.by,
            at=seen.at or taken.at, rest=seen.rest or taken.rest,
            remarks=(*seen.remarks, *taken.asks),
        )  # fmt: skip
    if feel:
        raise Unclear(
            f"{text!r} is no score.",
            mend='Word and a score from 0 to 5: --reading "feel drag 3 by a pea, 20 circles"',
        )
    raise Unclear(
        f"{text!r} is no reading.",
        mend='Name and figure: --reading "pH 4.9"; then at 20 C, after 24 h, by HOW.',
    )


def guard_something(seen: Seen) -> None:
    """Refuses a look that says nothing.

    Raises:
        Unclear: with what could be said.
    """
    said = (seen.grade, seen.value, seen.layer)
    if all(one is None for one in said) and not (seen.modes or seen.extent or seen.note):
        raise Unclear(
            "What was seen?", mend="A grade: 0 nothing, 1 a trace, 2 slight, 3 clear, 4 broken."
        )


def said_of(seen: Seen) -> str:
    """A look in words: `intact, grade 0`, `oil on top, grade 3, 3/41`."""
    parts = [how_words(seen.modes, seen.grade)]
    parts += [seen.extent, str(seen.layer) if seen.layer is not None else ""]
    if seen.value is not None:
        parts.append(f"{seen.reading} {seen.value:f} {seen.unit}".strip())
        parts += [f"by {seen.by}" if seen.by else ""]
        parts += [f"at {seen.at}" if seen.at else "", f"after {seen.rest}" if seen.rest else ""]
    return ", ".join(part for part in parts if part) or "a note"


def cautions(short: str, jar: str, modes: Iterable[str]) -> tuple[str, ...]:
    """What has to be said where a jar shows mould, gas, a spoiled smell or swelling."""
    seen = set(modes)
    said = []
    if seen & {"microbial", "mould", "gas", "spoiled smell"}:
        gone = f": labbook look {jar.lower()} --moved discarded" if "." in jar else ""
        said.append(
            "Don't open it and don't smell it. Photograph it through the jar, then discard it"
            f"{'.' if jar.endswith('.bulk') else gone}"
        )
        said.append(
            f"Look at all jars of that bulk: labbook show {short.lower()}. Looking is not a "
            "microbiological test: a jar that looks fine may be contaminated too."
        )
    if seen & {"gas", "swelling"}:
        said.append("A closed jar with gas in it can burst: keep it away from face and warmth.")
    return tuple(said)
