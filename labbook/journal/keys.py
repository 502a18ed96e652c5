"""The key of a page: a digest of all that it is made of, so that an unchanged one isn't written.

A page declares its parts (`Planned.parts`). Each part stands for its whole public record; the base
stands for what every page has: the program, the templates, the head of the notebook, the line of
names at the foot. Two plans that give a page one key give it the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from hashlib import sha256

from labbook.journal.page import PATHS, Planned
from labbook.journal.publish import PublicJournal
from labbook.model.materials import Ingredient
from labbook.model.settings import Settings

_SEPARATOR = "\x1f"


def digest(*parts: str) -> str:
    """A digest of several texts; where one ends and the next begins counts."""
    found = sha256()
    for part in parts:
        raw = part.encode("utf-8", "surrogatepass")
        found.update(b"%d\n%b" % (len(raw), raw))
    return found.hexdigest()


def parts_of(journal: PublicJournal, paths: str) -> dict[str, str]:
    """Every part of some formulas by its name, with the digest of its whole public record.

    The text of a record (`repr`) names each field with its value.

    Args:
        journal: what is told of the formulas.
        paths: the digest of the paths of all pages, by `paths_key`.
    """
    found = {PATHS: paths}
    for one in journal.formulas:
        code = one.formula.code
        found[f"formula {code}"] = digest(repr(one.formula), repr(sorted(one.hidden.items())))
        found |= {f"version {v.name}": digest(repr(v)) for v in one.versions}
        for made in one.batches:
            own = (made.batch, made.jars, made.stability, made.trial, made.photos)
            found[f"batch {made.batch.id}"] = digest(*map(repr, own))
    for name, sheet in journal.known.by_file.items():
        found[f"ingredient {name}"] = sheet_digest(sheet, whole=sheet.id in journal.beyond.whole)
    return found


def sheet_digest(sheet: Ingredient, *, whole: bool) -> str:
    """The digest of a sheet as it is told; `whole` says that parts of it are left out."""
    return digest(repr(sheet), str(whole))


def paths_key(paths: Iterable[str]) -> str:
    """The digest of the paths of all pages."""
    return digest(*sorted(paths))


def base_of(
    settings: Settings, templates: Iterable[Mapping[str, str]], program: str, *, errata: bool
) -> str:
    """The digest of what stands on every page.

    Args:
        settings: the head of the notebook, which is on every page.
        templates: all templates, by file name.
        program: names the program that writes.
        errata: whether the foot names the page of corrections.
    """
    texts = [repr(sorted(some.items())) for some in templates]
    return digest(program, repr(settings), str(errata), *texts)


def key_of(planned: Planned, parts: Mapping[str, str], base: str) -> str:
    """The key of a page.

    A part that isn't there is a part too: the page says so, or leaves it out.
    """
    made = [f"{name}{_SEPARATOR}{parts.get(name, '')}" for name in sorted(planned.parts)]
    return digest(base, planned.path, planned.besides, *made)
