"""Published words that claim to treat or prevent disease, and private words that slipped through.

Pointed out, never changed: the maker decides.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from typing import Any

from labbook.journal.publish import PublicJournal

_SENTENCE = re.compile(r"[^.!?\n]+(?:\n(?!\n)[^.!?\n]+)*[.!?]?")


@dataclass(frozen=True, slots=True)
class Said:
    """A public text: where it stands, of what it speaks, and the words."""

    path: str
    about: str
    text: str


@dataclass(frozen=True, slots=True)
class Claim:
    """A sentence that claims something, with the words that do."""

    said: Said
    sentence: str
    words: tuple[str, ...]


def texts(journal: PublicJournal) -> Iterator[Said]:
    """Every public text in words, with the file that it comes from."""
    yield Said("labbook.yaml", "labbook.yaml", _titled(journal.settings.title))
    for entry in journal.entries:
        yield Said(entry.path, entry.name, _titled(entry.title))
        yield Said(entry.path, entry.name, entry.text)
    for name, sheet in journal.sheets.by_file.items():
        for text in (_titled(sheet.title), *sheet.also, *sheet.cautions):
            yield Said(f"ingredients/{name}.yaml", name, text)
    yield from texts_of_formulas(journal)


def texts_of_formulas(journal: PublicJournal) -> Iterator[Said]:
    """Those of formulas, their versions and batches."""
    for formula in journal.formulas:
        code = formula.formula.code
        path = f"formulas/{code}.yaml"
        yield Said(path, code, _titled(formula.formula.title))
        for text in _strings(formula.formula):
            yield Said(path, code, text)
        for version in formula.versions:
            for text in (version.subject, *_strings(version.formula)):
                yield Said(path, version.name, text)
    for made in journal.batches:
        for photo in made.photos:
            yield Said("", made.batch.id, _titled(photo.caption))
        for record in (made.batch, made.jars, made.stability):
            for text in _strings(record):
                yield Said("", made.batch.id, text)


def _titled(text: str | None) -> str:
    """A title or a caption as a sentence: it counts also where it is one word."""
    return f"{text}." if text else ""


def _strings(value: Any) -> list[str]:
    found: list[str] = []
    _gather(value, found)
    return found


def _gather(value: Any, found: list[str]) -> None:
    """Adds every text of more than one word that a record holds."""
    if isinstance(value, str):
        if " " in value.strip():
            found.append(value)
    elif isinstance(value, tuple):
        for one in value:
            _gather(one, found)
    elif isinstance(value, Mapping):
        found += (str(key) for key in value if " " in str(key))
        for one in value.values():
            _gather(one, found)
    else:
        kind = type(value)
        if kind not in _NAMES:
            _NAMES[kind] = tuple(f.name for f in fields(kind)) if is_dataclass(kind) else ()
        for name in _NAMES[kind]:
            one = getattr(value, name)
            if one is not None and one != ():
                _gather(one, found)


_NAMES: dict[type, tuple[str, ...]] = {}
"""The fields of each kind of record, asked for once."""


def claims(said: Iterable[Said], words: Mapping[str, Sequence[str]]) -> list[Claim]:
    """Sentences that claim to treat or prevent disease.

    Args:
        said: public texts.
        words: `alone` speak for themselves; `doing` (heals, prevents) count in one sentence with
            `illness` (eczema, infection). A `*` stands for any ending.
    """
    alone, doing, illness = (_pattern(words.get(key, ())) for key in ("alone", "doing", "illness"))

    @cache
    def claimed(text: str) -> list[tuple[str, tuple[str, ...]]]:
        """A text says the same in each version; what it claims is looked for once."""
        found = []
        for match in _SENTENCE.finditer(text):
            sentence = " ".join(match[0].split())
            hits = alone.findall(sentence)
            acts, ills = doing.findall(sentence), illness.findall(sentence)
            if acts and ills:
                hits += [*acts, *ills]
            if hits:
                found.append((sentence, tuple(dict.fromkeys(hit.casefold() for hit in hits))))
        return found

    found: dict[tuple[str, str, str], Claim] = {}
    for one in said:
        for sentence, told in claimed(one.text):
            key = (one.path, one.about.partition("@")[0], sentence)
            found.setdefault(key, Claim(one, sentence, told))
    return list(found.values())


def _pattern(words: Sequence[str]) -> re.Pattern[str]:
    parts = [_escaped(word).replace(r"\*", r"\w*") for word in words]
    return _any_of(parts)


def _escaped(word: str) -> str:
    return re.escape(word).replace(r"\ ", r"\s+")


def _any_of(parts: Sequence[str]) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{'|'.join(parts)})\b" if parts else r"(?!)", re.IGNORECASE)


def slipped(journal: PublicJournal, private: Collection[str]) -> list[tuple[Said, str]]:
    """Public texts that hold a word from a private field: a person, a supplier, a lot."""
    wanted = looked_for(private, journal.settings.author or "", journal.settings.title)
    pattern = _any_of([_escaped(word) for word in sorted(wanted, key=len, reverse=True)])
    found: dict[tuple[str, str, str], tuple[Said, str]] = {}
    for said in texts(journal):
        for hit in pattern.findall(said.text):
            found.setdefault((said.path, said.about, hit.casefold()), (said, hit))
    return list(found.values())


def looked_for(private: Iterable[str], author: str, title: str) -> set[str]:
    """The private words that are looked for in public texts: not short ones, nor public names."""
    own = {author.casefold(), title.casefold()}
    return {
        word
        for word in private
        if len(word) >= 4 and word.casefold() not in own and _TOKEN.search(word)
    }


_TOKEN = re.compile(r"\w+")
_ALIKE = str.maketrans({"ı": "i", "\u0307": None})
"""Letters that a search without regard to case takes for one another, and folding doesn't."""


def vocabulary(said: Iterable[str]) -> set[str]:
    """The words of some texts, once each, in small letters."""
    return {word for text in set(said) for word in _TOKEN.findall(_small(text))}


def may_hold(words: Collection[str], private: str) -> bool:
    """Whether texts of these words may hold a private word, which `slipped` finds out."""
    return all(word in words for word in _TOKEN.findall(_small(private)))


def _small(text: str) -> str:
    return text.casefold().translate(_ALIKE)
