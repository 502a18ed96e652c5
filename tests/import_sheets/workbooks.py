"""The workbooks of this folder, made when a test wants them: bytes of XLSX by their name."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable
from datetime import date
from typing import Any


def packed(book: Any) -> bytes:
    """The bytes of a workbook."""
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def changed(raw: bytes, change: Callable[[str, bytes], bytes | None], **more: bytes) -> bytes:
    """The same with some parts otherwise: None leaves a part out, `more` adds some."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(raw)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in old.namelist():
            content = change(name, old.read(name))
            if content is not None:
                new.writestr(name, content)
        for name, content in more.items():
            new.writestr(name, content)
    return out.getvalue()


def simple(*rows: tuple[Any, ...]) -> bytes:
    """A workbook of one sheet."""
    from openpyxl import Workbook

    book = Workbook()
    sheet: Any = book.active
    for row in rows:
        sheet.append(row)
    return packed(book)


def merged() -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    sheet: Any = book.active
    sheet.title = "Cream"
    sheet.append(["Kiln-side cream"])
    sheet.append(["Phase", "Ingredient", "%"])
    rows = [("A", "Water", 0.704), (None, "Glycerin", 0.046), ("B", "Sunflower oil", 0.2)]
    for row in (*rows, (None, "Beeswax", 0.05)):
        sheet.append(row)
    sheet.merge_cells("A3:A4")
    sheet.merge_cells("A5:A6")
    for number in range(3, 7):
        sheet.cell(number, 3).number_format = "0.0%"
    book.create_sheet("Shopping").append(["jars", 12])
    hidden = book.create_sheet("Notes")
    hidden.append(["Ingredient", "%"])
    hidden.sheet_state = "hidden"
    return packed(book)


def of_one() -> bytes:
    # 0.1 + 0.2 is not 0.3 in binary: a spreadsheet shows 15 digits and so does the reading.
    head = ("Ingredient", "amount")
    return simple(head, ("Water", 0.7), ("Sunflower oil", 0.1 + 0.15), ("Beeswax", 0.05))


def unit_in_format() -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    sheet: Any = book.active
    sheet.append(["Ingredient", "Amount"])
    sheet.append(["Sunflower oil", 12.5])
    sheet.append(["Shea butter", 7.5])
    for number in (2, 3):
        sheet.cell(number, 2).number_format = '0.0 "oz"'
    return packed(book)


def unworked() -> bytes:
    head = ("Ingredient", "%")
    return simple(head, ("Water", 30), ("Glycerin", "=B2*2"), ("Beeswax", date(2026, 2, 1)))


def worked() -> bytes:
    """As a spreadsheet program saves it: formulas with the results they had."""
    head = ("Ingredient", "%")
    raw = simple(head, ("Water", "=4*20"), ("Sunflower oil", 20), ("Total", "=SUM(B2:B3)"))
    results = {b"B2": b"80", b"B4": b"100"}

    def change(name: str, content: bytes) -> bytes:
        if not name.startswith("xl/worksheets/"):
            return content
        pattern = rb'(<c r="(B[24])"[^>]*><f>[^<]*</f>)<v\s*/?>(?:</v>)?'
        return re.sub(pattern, lambda m: m[1] + b"<v>" + results[m[2]] + b"</v>", content)

    return changed(raw, change)


WORKBOOKS: dict[str, Callable[[], bytes]] = {
    "merged": merged,
    "of-one": of_one,
    "unit-in-format": unit_in_format,
    "unworked": unworked,
    "worked": worked,
}
