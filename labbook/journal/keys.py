"""The key of a page: a digest of all that it is made of, so that an unchanged one isn't written.

A page declares its parts (`Planned.parts`). Each part stands for its whole public record; the base
stands for what every page has: the program, the templates, the head of the notebook, the line of
names at the foot. Two plans that give a page one key give it the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from hashlib import sha256

from labbook.journal.errata import Erratum
from labbook.journal.page import EVERYTHING, Planned
from labbook.journal.publish import PublicJournal

_SEPARATOR = "\x1f"


def digest(*parts: str) -> str:
    """A digest of several texts; where one ends and the next begins counts."""
    found = sha256()
    for part in parts:
        raw = part.encode("utf-8", "surrogatepass")
        found.update(b"%d\n%b" % (len(raw), raw))
    return found.hexdigest()


def parts_of(journal: PublicJournal) -> dict[str, str]:
    """Every part of a journal by its name, with the digest of its whole public record.

    The text of a record (`repr`) names each field with its value.
    """
    found: dict[str, str] = {}
    for one in journal.formulas:
        code = one.formula.code
        found[f"formula {code}"] = digest(repr(one.formula), repr(sorted(one.hidden.items())))
        found |= {f"version {v.name}": digest(repr(v)) for v in one.versions}
        found |= {f"batch {made.batch.id}": digest(repr(made)) for made in one.batches}
    for entry in journal.entries:
        found[f"entry {entry.name}"] = digest(repr(entry))
    for name, sheet in journal.sheets.by_file.items():
        found[f"ingredient {name}"] = digest(repr(sheet))
    return found


def everything(
    journal: PublicJournal,
    parts: Mapping[str, str],
    pages: Iterable[str],
    errata: Sequence[Erratum],
) -> str:
    """The digest of all that is public, the paths of all pages and all errata included.

    Parts count in the order in which the journal has them: lists are told in that order.
    """
    rules = journal.rules
    held = (rules.limits, rules.pairs, rules.checks, rules.causes, sorted(rules.own))
    return digest(
        *(f"{name}{_SEPARATOR}{value}" for name, value in parts.items()),
        *pages,
        repr(tuple(errata)),
        repr(sorted(journal.equipment.items())),
        *(repr(one) for one in held),
    )


def base_of(
    journal: PublicJournal, templates: Iterable[Mapping[str, str]], program: str, *, errata: bool
) -> str:
    """The digest of what stands on every page.

    Args:
        journal: what is public; its head is on every page.
        templates: all templates, by file name.
        program: names the program that writes.
        errata: whether the foot names the page of corrections.
    """
    texts = [repr(sorted(some.items())) for some in templates]
    return digest(program, repr(journal.settings), str(errata), *texts)


def key_of(planned: Planned, parts: Mapping[str, str], every: str, base: str) -> str:
    """The key of a page.

    A part that isn't there is a part too: the page says so, or leaves it out.
    """
    named = sorted(planned.parts - {EVERYTHING})
    made = [f"{name}{_SEPARATOR}{parts.get(name, '')}" for name in named]
    whole = every if EVERYTHING in planned.parts else ""
    return digest(base, planned.path, whole, planned.besides, *made)
