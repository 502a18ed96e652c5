"""Files from anywhere, given to `formula import`: read within limits, or refused in a sentence."""

from __future__ import annotations

import io
import os
import sys
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labbook.model.errors import LabbookError, Unclear, Unreadable
from labbook.model.grid import Grid
from labbook.notebook import spreadsheet
from labbook.notebook.spreadsheet import MOST_BYTES, MOST_COLUMNS, MOST_ROWS, read_grid
from labbook.notebook.workbook import MOST_UNPACKED
from tests.import_sheets.workbooks import changed, simple

ROWS = (("Ingredient", "%"), ("Water", 80), ("Sunflower oil", 20))
WHOLE = simple(*ROWS)


def put(folder: Path, raw: bytes, name: str = "cream") -> Path:
    path = folder / name
    path.write_bytes(raw)
    return path


def texts(grid: Grid) -> list[list[str]]:
    return [[cell.text for cell in row] for row in grid.rows]


def refusal(path: Path, sheet: str = "") -> LabbookError:
    with pytest.raises(LabbookError) as caught:
        read_grid(path, sheet=sheet)
    assert caught.value.mend
    return caught.value


# Text ---------------------------------------------------------------------------------------------

PLAIN = "Zutat;%\r\nSonnenblumenöl;20,5\r\n"
MEANT = [["Zutat", "%"], ["Sonnenblumenöl", "20,5"]]


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (PLAIN.encode(), ""),
        (PLAIN.encode("utf-8-sig"), ""),
        (PLAIN.encode("utf-16"), "in UTF-16"),
        (b"\xfe\xff" + PLAIN.encode("utf-16-be"), "in UTF-16"),
        (PLAIN.encode("latin-1"), "not in UTF-8"),
        (PLAIN.encode("cp1252"), "not in UTF-8"),
        (PLAIN.replace("\r\n", "\r").encode(), ""),
        (PLAIN.replace("\r\n", "\n").encode(), ""),
        (PLAIN.replace(";", "\t").encode(), "tabs"),
        (PLAIN.replace(";", "|").encode(), "upright strokes"),
    ],
)
def test_every_usual_spelling_is_the_same_table(tmp_path: Path, raw: bytes, said: str) -> None:
    grid = read_grid(put(tmp_path, raw))
    assert texts(grid) == MEANT
    assert said in " ".join(grid.said)


def test_a_line_that_names_the_delimiter_keeps_the_row_numbers(tmp_path: Path) -> None:
    grid = read_grid(put(tmp_path, b"sep=,\na;b,1\n"))
    assert texts(grid) == [[], ["a;b", "1"]]


def test_a_comma_in_quotes_parts_nothing(tmp_path: Path) -> None:
    grid = read_grid(put(tmp_path, b'name,%\n"butter, raw",1\n"a ""b""\nc",2\n'))
    assert texts(grid)[1:] == [["butter, raw", "1"], ['a "b"\nc', "2"]]


def test_a_figure_torn_apart_by_its_comma_is_seen(tmp_path: Path) -> None:
    found = refusal(put(tmp_path, b"name,%\nwater,70,4\noil,29,6\n"))
    assert "70,4 may be one figure with a decimal comma" in found.what


def test_formulas_and_commands_in_text_stay_text(tmp_path: Path) -> None:
    grid = read_grid(put(tmp_path, b"name,%\n=cmd|' /C calc'!A0,=1+1\n@SUM(A1),+2\n"))
    assert texts(grid)[1:] == [["=cmd|' /C calc'!A0", "=1+1"], ["@SUM(A1)", "+2"]]
    assert all(cell.kind == "text" for row in grid.rows for cell in row)


@pytest.mark.parametrize(
    ("raw", "what"),
    [
        (b"name,%\nwa\0ter,1\n", "NUL bytes"),
        ("name,%\n".encode("utf-16-le"), "NUL bytes"),
        (b"a,b\n" * 1_000_000, f"more than {MOST_ROWS} rows"),
        (b"a,b\n" * 2_000_000, "more than 5 MB"),
        (b"," * (MOST_COLUMNS + 1) + b"x\n", f"over {MOST_COLUMNS} columns"),
        (b"a," + b"x" * 3000 + b"\n", "characters"),
        (b'a,"' + b"x" * 200_000, "quotation mark"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "old binary kind"),
    ],
    ids=["nul", "utf-16 without mark", "rows", "bytes", "columns", "cell", "open quote", "binary"],
)
def test_what_is_no_makers_table_is_refused(tmp_path: Path, raw: bytes, what: str) -> None:
    found = refusal(put(tmp_path, raw))
    assert isinstance(found, Unreadable)
    assert what in found.what + found.mend


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    assert "is a folder" in refusal(tmp_path).what
    assert "is no file here" in refusal(tmp_path / "nothing.csv").what
    assert "has no sheets" in refusal(put(tmp_path, b"a,b\n"), "Cream").what


@pytest.mark.skipif(sys.platform == "win32", reason="pipes with a name are a matter of POSIX")
def test_a_pipe_is_never_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "is no file here" in refusal(tmp_path / "pipe").what


# Workbooks ----------------------------------------------------------------------------------------


def test_a_workbook_is_told_by_its_content(tmp_path: Path) -> None:
    grid = read_grid(put(tmp_path, simple(*ROWS), "cream.csv"))
    assert texts(grid) == [["Ingredient", "%"], ["Water", "80"], ["Sunflower oil", "20"]]
    assert grid.sheet == "Sheet"


# As spreadsheet programs write it (ECMA-376, part 1, 18.4): texts in a table of their own, some in
# pieces with a look of their own; a cell that was worked out as text; an error; a truth value.
SHARED = (
    '<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><si><t>Ingredient</t>'
    '</si><si><r><t>Shea </t></r><r><rPr><b/></rPr><t xml:space="preserve">butter</t></r></si>'
    "</sst>"
)
CELLS = (
    '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="C1" t="str"><f>"%"</f><v>%</v></c></row>'
    '<row r="3"><c r="A3" t="s"><v>1</v></c><c r="C3"><v>0.30000000000000004</v></c></row>'
    '<row r="4"><c r="A4" t="b"><v>1</v></c><c r="C4" t="e"><f>1/0</f><v>#DIV/0!</v></c></row>'
)


def test_a_workbook_as_a_spreadsheet_program_writes_it(tmp_path: Path) -> None:
    kind = b'<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats'
    kind += b'-officedocument.spreadsheetml.sharedStrings+xml"/></Types>'

    def change(name: str, content: bytes) -> bytes:
        return content.replace(b"</Types>", kind) if name == "[Content_Types].xml" else content

    raw = changed(_sheet(CELLS), change, **{"xl/sharedStrings.xml": SHARED.encode()})
    grid = read_grid(put(tmp_path, raw))
    assert texts(grid) == [
        ["Ingredient", "", "%"], [], ["Shea butter", "", "0.3"], ["TRUE", "", "#DIV/0!"],
    ]  # fmt: skip
    assert [grid.rows[3][2].kind, grid.rows[2][2].kind] == ["error", "number"]


def test_a_sheet_is_chosen_by_name(tmp_path: Path) -> None:
    from tests.import_sheets.workbooks import merged

    path = put(tmp_path, merged())
    assert texts(read_grid(path, sheet="Shopping")) == [["jars", "12"]]
    assert read_grid(path, sheet="Notes").sheet == "Notes"  # hidden, but asked for
    with pytest.raises(Unclear, match="has no sheet Oils") as caught:
        read_grid(path, sheet="Oils")
    assert caught.value.mend == "--sheet with one of: Cream, Shopping, Notes"


def test_the_size_that_a_sheet_claims_is_not_believed(tmp_path: Path) -> None:
    def change(name: str, content: bytes) -> bytes:
        return content.replace(b'<dimension ref="A1:B3"', b'<dimension ref="A1:A1"')

    assert len(texts(read_grid(put(tmp_path, changed(simple(*ROWS), change))))) == 3


def _sheet(rows: str) -> bytes:
    def change(name: str, content: bytes) -> bytes:
        if name != "xl/worksheets/sheet1.xml":
            return content
        head, _, rest = content.partition(b"<sheetData>")
        tail = rest.split(b"</sheetData>")[1]
        return head + b"<sheetData>" + rows.encode() + b"</sheetData>" + tail

    return changed(simple(*ROWS), change)


def test_a_million_rows_are_not_read(tmp_path: Path) -> None:
    row = '<row r="{0}"><c r="A{0}" t="inlineStr"><is><t>oil {0}</t></is></c></row>'
    many = _sheet("".join(row.format(n) for n in range(1, 200_001)))
    assert f"more than {MOST_ROWS} rows" in refusal(put(tmp_path, many)).what
    million = _sheet("".join(f'<row r="{n}"/>' for n in range(1, 1_000_001)))
    assert read_or_refused(put(tmp_path, million)) in ("nothing in it", "would unpack")
    far = _sheet('<row r="1048576"><c r="A1048576"><v>1</v></c></row>')
    assert read_or_refused(put(tmp_path, far)) in ("nothing in it", "rows")


def read_or_refused(path: Path) -> str:
    """The words of the refusal that matter here."""
    what = refusal(path).what
    return next(word for word in ("nothing in it", "would unpack", "rows") if word in what)


def test_a_bomb_is_not_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr(zipfile.ZipFile, "read", lambda self, name, pwd=None: opened.append(name))
    bombs = {
        "steep": changed(simple(*ROWS), lambda _, c: c, **{"xl/x.xml": b" " * 30_000_000}),
        "big": changed(simple(*ROWS), lambda _, c: c, **{"x": os.urandom(1000) * 45_000}),
        "many": changed(simple(*ROWS), lambda _, c: c, **{f"x{n}": b"" for n in range(3000)}),
    }
    opened.clear()
    for name, raw in bombs.items():
        found = refusal(put(tmp_path, raw, name))
        assert "would unpack to" in found.what
        assert "was not unpacked" in found.what
    assert not opened
    assert MOST_UNPACKED > MOST_BYTES


def test_a_size_that_lies_gives_no_more_than_it_says(tmp_path: Path) -> None:
    raw = changed(simple(*ROWS), lambda _, c: c, **{"xl/x.xml": b" " * 90_000})
    true, small = (90_000).to_bytes(4, "little"), (10).to_bytes(4, "little")
    assert raw.count(true) >= 2
    assert "damaged" in refusal(put(tmp_path, raw.replace(true, small))).what


@pytest.mark.parametrize("code", ["utf-8", "utf-16"])
def test_entities_are_refused_before_a_parser_sees_them(tmp_path: Path, code: str) -> None:
    laughs = (
        f'<?xml version="1.0" encoding="{code}"?><!DOCTYPE a [<!ENTITY b "ha">'
        + "".join(f'<!ENTITY b{n} "{f"&b{n - 1 or str()};" * 10}">' for n in range(1, 9))
        + "]><a>&b8;</a>"
    )

    def change(name: str, content: bytes) -> bytes:
        return laughs.encode(code) if name == "xl/worksheets/sheet1.xml" else content

    assert "declares entities" in refusal(put(tmp_path, changed(simple(*ROWS), change))).what


def test_links_and_macros_are_left_alone_and_said(tmp_path: Path) -> None:
    link = (
        b'<?xml version="1.0"?><externalLink xmlns='
        b'"http://schemas.openxmlformats.org/spreadsheetml/2006/main"/>'
    )
    more = {"xl/externalLinks/externalLink1.xml": link, "xl/vbaProject.bin": b"macro"}
    grid = read_grid(put(tmp_path, changed(simple(*ROWS), lambda _, c: c, **more)))
    assert "its links to other files were not followed; figures are those it keeps" in grid.said
    assert "its macros were not run" in grid.said


@pytest.mark.parametrize("cut", [10, 200, 1000, -10])
def test_a_damaged_workbook_is_a_sentence(tmp_path: Path, cut: int) -> None:
    assert "damaged" in refusal(put(tmp_path, simple(*ROWS)[:cut])).what


@given(st.data())
def test_damage_anywhere_in_a_workbook_is_a_sentence(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Bytes cut out, put in twice or changed: also the table of contents at the file's end."""
    raw = WHOLE
    start = data.draw(st.integers(0, len(raw)))
    end = data.draw(st.integers(start, min(len(raw), start + 400)))
    instead = data.draw(st.sampled_from([b"", raw[start:end] * 2]) | st.binary(max_size=40))
    path = put(tmp_path_factory.getbasetemp(), raw[:start] + instead + raw[end:])
    try:
        read_grid(path)
    except LabbookError as found:
        assert found.mend


@pytest.mark.parametrize("packed_by", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_another_way_of_packing_is_refused(tmp_path: Path, packed_by: int) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(WHOLE)) as old, zipfile.ZipFile(out, "w", packed_by) as new:
        for part in old.infolist():
            new.writestr(part.filename, old.read(part), packed_by)
    assert "packed in a way" in refusal(put(tmp_path, out.getvalue())).what


@pytest.mark.parametrize(
    "part", ["xl/workbook.xml", "xl/worksheets/sheet1.xml", "[Content_Types].xml", "xl/styles.xml"]
)
@pytest.mark.parametrize("content", [None, b"", b"<a/>", b"<a><b></a>", b"\xff\xfe\x00"])
def test_any_part_may_be_broken(tmp_path: Path, part: str, content: bytes | None) -> None:
    raw = changed(simple(*ROWS), lambda name, old: content if name == part else old)
    try:
        read_grid(put(tmp_path, raw))
    except LabbookError as found:
        assert found.mend


def test_another_kind_of_packed_file_is_refused(tmp_path: Path) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("content.xml", "<office/>")
    found = refusal(put(tmp_path, out.getvalue()))
    assert "is no XLSX workbook" in found.what
    assert found.mend == "Save the table as XLSX or CSV."


def test_text_needs_no_library_for_workbooks(tmp_path: Path) -> None:
    import subprocess

    path = put(tmp_path, PLAIN.encode())
    code = (
        "import sys; from pathlib import Path\n"
        "from labbook.notebook.spreadsheet import read_grid\n"
        f"read_grid(Path({str(path)!r}))\n"
        "assert 'openpyxl' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
    assert spreadsheet.__doc__
