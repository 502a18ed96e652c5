"""`trust`: whether a notebook's own templates may run, and which templates the journal takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from labbook.model.errors import NotAllowed
from labbook.model.results.trusting import Trust, TrustedTemplate
from labbook.notebook import own_templates as own
from labbook.work.bench import Bench
from labbook.work.guarded import Pair, must_end

if TYPE_CHECKING:
    from labbook.journal.book import Book
    from labbook.notebook.own_templates import OwnTemplates


def templates_for(bench: Bench, book: Book, program: Pair) -> Pair:
    """The templates that write this journal: the program's, and over them the trusted ones.

    Args:
        bench: the notebook; is told where untrusted templates are passed over.
        book: its records; on what is public of them the notebook's own are tried first.
        program: those that come with the program.

    Raises:
        Unclear: trusted templates fail, take too long, or write too much.
    """
    from labbook.journal.publish import published

    found = own.own_templates(bench.root)
    if found is None:
        return program
    if not own.is_trusted(bench.root, found):
        bench.tell(
            f"{_count(found)} of this notebook's own, which nobody trusts here; the program's are"
            " used. To see them and let them run: labbook trust"
        )
        return program
    pair = merged(program, found)
    must_end(published(book), pair)
    return pair


def _count(found: OwnTemplates) -> str:
    count = len(found.names)
    return "templates/ holds 1 template" if count == 1 else f"templates/ holds {count} templates"


def merged(program: Pair, found: OwnTemplates) -> Pair:
    """The program's templates, those of the notebook in place of those of the same name."""
    markdown, html = program
    return ({**markdown, **found.texts["journal"]}, {**html, **found.texts["site"]})


def look(bench: Bench, program: Pair) -> Trust:
    """What there is to trust.

    Raises:
        NotAllowed: the notebook has no templates of its own.
    """
    found = _found(bench)
    shipped = dict(zip(own.FOLDERS, program, strict=True))
    templates = tuple(
        TrustedTemplate(
            path=f"templates/{folder}/{name}",
            lines=text.count("\n") + 1,
            replaces=name in shipped[folder],
        )
        for folder, held in found.texts.items()
        for name, text in held.items()
    )
    trusted = own.is_trusted(bench.root, found)
    return Trust(templates=templates, digest=found.digest, trusted=trusted)


def trust(bench: Bench, digest: str) -> None:
    """Lets templates run from now on.

    Args:
        bench: the notebook.
        digest: of the templates that the person was shown.

    Raises:
        NotAllowed: they changed since they were shown, or there are none.
    """
    found = _found(bench)
    if found.digest != digest:
        raise NotAllowed(
            "A template changed after it was shown; nothing was trusted.", mend="labbook trust"
        )
    own.trust(bench.root, found)


def forget(bench: Bench) -> bool:
    """Trusts no template of the notebook any more; gives whether any was trusted."""
    return own.forget(bench.root)


def _found(bench: Bench) -> OwnTemplates:
    found = own.own_templates(bench.root)
    if found is None:
        raise NotAllowed(
            "This notebook has no templates of its own; the journal is written by the program's.",
            mend="Own ones are files like templates/journal/home.md.j2.",
        )
    return found
