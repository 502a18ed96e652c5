"""The bench sheet as a page: written to a file, served to the phone, and taken in again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from labbook.cli.place import written_to
from labbook.model.batch import KNOWN_FROM

if TYPE_CHECKING:
    from labbook.work.bench import Bench
    from labbook.work.sheet_text import SheetRead

PASTED = "-"


def is_sheet(typed: str) -> bool:
    """Whether what stands behind `note --from` names a file, and not how a note is known."""
    return typed not in KNOWN_FROM and (
        typed == PASTED or any(sign in typed for sign in "./\\") or Path(typed).exists()
    )


def take_sheet(bench: Bench, batch: str | None, typed: str, *, alone: bool) -> None:
    """Takes in the file of a bench sheet, or its text from standard input.

    Raises:
        Unclear: words stand beside it.
    """
    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.show.sheet_in import taken_screen
    from labbook.work.sheet_in import read_file, take_in

    if not alone:
        raise Unclear("A bench sheet is taken in as it is.", mend="Note the rest by itself.")
    sheet = _pasted() if typed == PASTED else read_file(Path(typed))
    say.show(take_in(bench, batch, sheet), taken_screen)


def _pasted() -> SheetRead:
    import sys

    from labbook.work.sheet_text import MOST_BYTES, read_sheet

    stream = getattr(sys.stdin, "buffer", None)
    if stream is None:
        return read_sheet(sys.stdin.read(MOST_BYTES + 1).encode("utf-8", "replace"))
    return read_sheet(stream.read(MOST_BYTES + 1))


def write_page(
    bench: Bench, batch: str | None, file: Path | None, *, page: bool, address: str
) -> None:
    """Writes the page of a batch into a file; `sheet-7K.html` where none is named.

    Raises:
        Unclear: an option that belongs to another one.
    """
    from labbook.cli import say
    from labbook.model.errors import Unclear
    from labbook.model.results.sheet_page import PageWritten
    from labbook.show.sheet_in import page_screen
    from labbook.work.sheet_page import page_of

    if not page or address:
        raise Unclear(
            "Where should the sheet go?",
            mend="A page into a file: --page FILE. To the phone: --phone --address 192.168.1.20",
        )
    if file is None and batch and batch.lower().endswith((".html", ".htm")):
        file, batch = Path(batch), None
    chosen = bench.the_open_batch(batch)
    target = file or Path(f"sheet-{chosen.short}.html")
    written_to(target, page_of(bench, chosen))
    say.show(PageWritten(id=chosen.id, short=chosen.short, file=str(target)), page_screen)


def serve(bench: Bench, batch: str | None, *, page: bool, file: Path | None, address: str) -> None:
    """Serves the page of a batch until an hour has passed, or Ctrl-C.

    Raises:
        Unclear: an option that belongs to another one.
        NotAllowed: this computer is in no home network, or the address can't be had.
    """
    from labbook.cli.phone import serve_to_phone
    from labbook.model.errors import Unclear

    if page or file:
        raise Unclear("--phone writes no file.", mend="Leave --phone out, or the file.")
    serve_to_phone(bench, bench.the_open_batch(batch), address)
