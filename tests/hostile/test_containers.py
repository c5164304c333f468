"""Named attacks by the container of a file: each is read or refused, in little time and memory, and touches nothing else.

The attacks are common knowledge of the trade of security (no one source); all cells are invented.
"""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
import seeds
from guard import bounded

from screening.deliverable.cells import Book, read_book
from screening.deliverable.compound import stream_of, wrapped
from screening.errors import Refused

XML = '<?xml version="1.0" encoding="UTF-8"?>'
MANY_ENTITIES = '<!DOCTYPE a [<!ENTITY a0 "ha">' + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12)) + "]>"
SECRET = "the text of a file that nobody named"
SHEET, TEXTS, STYLES, BOOK = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/styles.xml", "xl/workbook.xml"


def members(data: bytes) -> dict[str, bytes]:
    """The members of an archive."""
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def changed(data: bytes, name: str, change: Callable[[str], str]) -> bytes:
    """An archive with one member changed."""
    held = members(data)
    return seeds.archive({**held, name: change(held[name].decode()).encode()})


def declared(text: str, doctype: str, word: str) -> str:
    """An XML text with a declaration in front, and a word in place of the first text that is used as one."""
    body = text.partition("?>")[2] if text.startswith("<?xml") else text
    for used in ("Benzene", "Sheet 1", "Calibri"):
        body = body.replace(used, word, 1)
    return XML + doctype + body


def tried(folder: Path, name: str, data: bytes) -> Book | str:
    """What reading the file gives: the book, or the words of the refusal."""
    path = folder / name
    path.write_bytes(data)
    with bounded(folder):
        try:
            return read_book(path)
        except Refused as error:
            return str(error)


def texts(book: Book) -> set[str]:
    return {cell for sheet in book.sheets for row in sheet.rows for cell in row}


@pytest.mark.parametrize("name", ["../../evil.txt", "/evil.txt", "xl/../../evil.txt", "..\\..\\evil.txt", "C:\\evil.txt"])
@pytest.mark.parametrize("ending", [".xlsx", ".ods"])
def test_members_that_name_other_folders_are_not_unpacked(tmp_path: Path, name: str, ending: str) -> None:
    inner = tmp_path / "a" / "b"
    inner.mkdir(parents=True)
    data = seeds.xlsx(seeds.LONG) if ending == ".xlsx" else seeds.ods(seeds.LONG)
    book = tried(inner, f"lab{ending}", seeds.archive({**members(data), name: b"evil"}))
    assert isinstance(book, Book) and "Benzene" in texts(book)
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [inner / f"lab{ending}"]


def _entities(where: str, doctype: str, word: str) -> tuple[str, bytes]:
    if where == "ods":
        return "lab.ods", changed(seeds.ods(seeds.LONG), "content.xml", lambda text: declared(text, doctype, word))
    if where == "xml":
        return "lab.xls", declared(seeds.xml_xls(seeds.LONG).decode(), doctype, word).encode()
    return "lab.xlsx", changed(seeds.xlsx_by_another(seeds.LONG), where, lambda text: declared(text, doctype, word))


@pytest.mark.parametrize("where", [SHEET, TEXTS, STYLES, BOOK, "ods", "xml"])
def test_entities_are_not_expanded(tmp_path: Path, where: str) -> None:
    found = tried(tmp_path, *_entities(where, MANY_ENTITIES, "&a11;"))
    assert isinstance(found, str) or (where == STYLES and "ha" not in "".join(texts(found)))


@pytest.mark.parametrize("where", [SHEET, TEXTS, "ods", "xml"])
def test_entities_that_name_a_file_are_not_followed(tmp_path: Path, where: str) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text(SECRET)
    found = tried(tmp_path, *_entities(where, f'<!DOCTYPE a [<!ENTITY x SYSTEM "{secret.as_uri()}">]>', "&x;"))
    assert SECRET not in (found if isinstance(found, str) else " ".join(texts(found)))
    assert isinstance(found, str)


def test_links_of_a_workbook_are_not_followed(tmp_path: Path) -> None:
    """To another workbook, to a page of the network, and by an old way of exchanging data."""
    data = seeds.xlsx([*seeds.LONG, ("x", "", "=[1]Sheet1!A1", "", "=cmd|' /C calc'!A0", '=WEBSERVICE("http://192.0.2.1/")')])
    held = members(data)
    relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    held["xl/externalLinks/externalLink1.xml"] = (
        f'{XML}<externalLink xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><externalBook xmlns:r="{relations}" r:id="rId1"/></externalLink>'
    ).encode()
    held["xl/externalLinks/_rels/externalLink1.xml.rels"] = (
        f'{XML}<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" '
        f'Type="{relations}/externalLinkPath" Target="http://192.0.2.1/other.xlsx" TargetMode="External"/></Relationships>'
    ).encode()
    held[BOOK] = held[BOOK].replace(b"</workbook>", b'<externalReferences><externalReference r:id="rId99" xmlns:r="%s"/></externalReferences></workbook>' % relations.encode())  # fmt: skip
    rels = "xl/_rels/workbook.xml.rels"
    held[rels] = held[rels].replace(b"</Relationships>", f'<Relationship Id="rId99" Type="{relations}/externalLink" Target="externalLinks/externalLink1.xml"/></Relationships>'.encode())  # fmt: skip
    found = tried(tmp_path, "lab.xlsx", seeds.archive(held))
    assert isinstance(found, Book) and "Benzene" in texts(found)


def _blank_sheet(size: int) -> bytes:
    held = members(seeds.xlsx(seeds.LONG))
    end = b"</sheetData>"
    held[SHEET] = held[SHEET].replace(end, b"<row/>" * (size // 6) + end)
    return seeds.archive(held)


def test_a_workbook_that_unpacks_to_many_times_its_size(tmp_path: Path) -> None:
    data = _blank_sheet(52 * 1024**2)
    assert len(data) < 300_000
    found = tried(tmp_path, "lab.xlsx", data)
    assert isinstance(found, str) and "times its size" in found


def test_a_member_that_holds_more_than_the_directory_says(tmp_path: Path) -> None:
    data = bytearray(_blank_sheet(52 * 1024**2))
    at = data.find(SHEET.encode(), data.rfind(b"PK\x01\x02") - 4000) - 46
    while data[at : at + 4] != b"PK\x01\x02" or data[at + 46 : at + 46 + len(SHEET)] != SHEET.encode():
        at = data.find(b"PK\x01\x02", at + 1)
    struct.pack_into("<I", data, at + 24, 1000)
    assert isinstance(tried(tmp_path, "lab.xlsx", bytes(data)), str)


def test_archives_within_archives_are_not_opened(tmp_path: Path) -> None:
    data = bytes(1000)
    for _ in range(20):
        data = seeds.archive({f"{n}.zip": data for n in range(5)})
    found = tried(tmp_path, "lab.xlsx", data)
    assert isinstance(found, str) and "not a spreadsheet" in found


def test_deep_nesting(tmp_path: Path) -> None:
    deep = 20_000
    around = f"<{{0}}>{'<a>' * deep}{'</a>' * deep}</{{0}}>"
    for name, data in (
        ("a.xlsx", changed(seeds.xlsx(seeds.LONG), SHEET, lambda text: text.replace("</sheetData>", f"{around.format('row')}</sheetData>"))),
        ("b.xlsx", changed(seeds.xlsx(seeds.LONG), STYLES, lambda text: text.replace("</fonts>", f"{around.format('font')}</fonts>"))),
        ("c.ods", changed(seeds.ods(seeds.LONG), "content.xml", lambda text: text.replace("</table:table>", f"{around.format('table:table-row')}</table:table>"))),
        ("d.xls", seeds.xml_xls(seeds.LONG).replace(b"</Table>", f"{around.format('Row')}</Table>".encode())),
    ):  # fmt: skip
        tried(tmp_path, name, data)


@pytest.mark.parametrize("element", ["Row", "Cell", "Worksheet"])
def test_rows_within_rows_of_an_xml_workbook_are_refused(tmp_path: Path, element: str) -> None:
    """Each would be sought again at every level: the time grew with the square of the depth."""
    deep = 60_000
    data = seeds.xml_xls(seeds.LONG).replace(b"</Table>", f"{f'<{element}>' * deep}{f'</{element}>' * deep}</Table>".encode())
    found = tried(tmp_path, "a.xls", data)
    assert isinstance(found, str) and f"an element {element} lies within another" in found


def test_what_a_library_prints_stands_in_no_answer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """openpyxl prints that a style is missing: it would stand before the JSON of a command. A row that stands twice sends it there."""
    data = changed(seeds.xlsx(seeds.LONG), STYLES, lambda text: text.replace('xfId="0" builtinId', 'xfId="99" builtinId'))
    twice = changed(data, SHEET, lambda text: text.replace("</sheetData>", '<row r="1"><c r="A1"><v>1</v></c></row></sheetData>'))
    tried(tmp_path, "a.xlsx", twice)
    assert capsys.readouterr().out == ""


WIDE, TOO_WIDE = 1_000_000, 20_100


def _wide_xlsx() -> bytes:
    row = "<row>" + "<c><v>1</v></c>" * TOO_WIDE + "</row>"
    return changed(seeds.xlsx(seeds.LONG), SHEET, lambda text: text.replace("</sheetData>", f"{row}</sheetData>"))


def _far_xlsx() -> bytes:
    """A cell far to the right and far down."""
    return changed(
        seeds.xlsx(seeds.LONG),
        SHEET,
        lambda text: text.replace("</sheetData>", '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'),
    )


def _ods_with(cell: str) -> bytes:
    return changed(
        seeds.ods(seeds.LONG),
        "content.xml",
        lambda text: text.replace("<table:table-row>", f"<table:table-row>{cell}</table:table-row><table:table-row>", 1),
    )


FILLED = 'office:value-type="string"><text:p>x</text:p></table:table-cell>'
MILLION = {
    "one row.csv": seeds.text(seeds.LONG) + b"x," * WIDE + b"\n",
    "heading.csv": b"x," * WIDE + b"\n" + seeds.text(seeds.LONG),
    "one row among many.csv": seeds.text(seeds.LONG) * 500 + b"x," * 19_000 + b"\n" + seeds.text(seeds.LONG) * 500,
    "large and even.csv": b"a" + b",a" * 150_000 + b"\n" + b"1" + b",1" * 150_000 + b"\n",
    "tabs.tsv": b"x\t" * WIDE,
    "wide.xlsx": _wide_xlsx,
    "far.xlsx": _far_xlsx,
    "repeated.ods": lambda: _ods_with(f'<table:table-cell table:number-columns-repeated="{WIDE}" {FILLED}'),
    "index.xls": seeds.xml_xls(seeds.LONG).replace(b'ss:Index="2"><Data', b'ss:Index="1000000"><Data'),
    "merged.xls": seeds.xml_xls(seeds.LONG).replace(b'ss:MergeAcross="2"', b'ss:MergeAcross="1000000"'),
    "merged often.xls": seeds.xml_xls(seeds.LONG).replace(b"<Cell ", b'<Cell ss:MergeAcross="19999" '),
    "rows.xls": seeds.xml_xls(seeds.LONG).replace(b'<Row ss:Index="4"', b'<Row ss:Index="1048576"'),
}


@pytest.mark.parametrize("name", MILLION)
def test_a_million_columns(tmp_path: Path, name: str) -> None:
    made = MILLION[name]
    found = tried(tmp_path, name, made() if callable(made) else made)
    assert isinstance(found, str), "such a sheet is refused"


def test_columns_that_are_many_but_filled_are_read(tmp_path: Path) -> None:
    found = tried(tmp_path, "lab.csv", b"\n".join(b"x," * 10_000 for _ in range(3)))
    assert isinstance(found, Book) and len(found.sheets[0].rows[0]) == 10_001


OLD = (seeds.ROOT / "tests/layouts/files/marked.xls").read_bytes()
_FIRST_LINK = 76


def _sector(data: bytes, number: int) -> int:
    return (number + 1) * 512


def _in_circles(data: bytes) -> bytes:
    made = bytearray(data)
    table = _sector(data, struct.unpack_from("<I", data, _FIRST_LINK)[0])
    for at in range(len(data) // 512):
        if struct.unpack_from("<I", made, table + 4 * at)[0] == 0xFFFFFFFE:
            struct.pack_into("<I", made, table + 4 * at, at)
    return bytes(made)


def _with_record(kind: int, place: int, form: str, *numbers: int) -> bytes:
    """The old workbook with numbers changed in the first record of a kind."""
    stream = stream_of(OLD, ("Workbook",))
    assert stream is not None
    made, at = bytearray(stream), 0
    while struct.unpack_from("<H", made, at)[0] != kind:
        at += 4 + struct.unpack_from("<H", made, at + 2)[0]
    struct.pack_into(form, made, at + 4 + place, *numbers)
    return wrapped(bytes(made), "Workbook")


def test_an_old_workbook_in_a_new_container_reads_alike(tmp_path: Path) -> None:
    stream = stream_of(OLD, ("Workbook",))
    assert stream is not None
    before, after = tried(tmp_path, "a.xls", OLD), tried(tmp_path, "b.xls", wrapped(stream, "Workbook"))
    assert isinstance(before, Book) and isinstance(after, Book) and before.sheets == after.sheets
    again = stream_of(wrapped(stream * 3000, "Workbook"), ("Workbook",))
    assert again is not None and again[: 3000 * len(stream)] == stream * 3000, "more than one sector of links"


LIES = {
    "more texts than bytes": _with_record(0x00FC, 4, "<I", 0x7FFFFFFF),
    "a cell in the last corner": _with_record(0x00FD, 0, "<HH", 0xFFFF, 0xFFFF),
}


@pytest.mark.parametrize("name", LIES)
def test_old_workbooks_that_lie_about_their_size_are_refused(tmp_path: Path, name: str) -> None:
    assert isinstance(tried(tmp_path, "lab.xls", LIES[name]), str)


def test_sectors_that_follow_themselves_come_to_an_end(tmp_path: Path) -> None:
    tried(tmp_path, "lab.xls", _in_circles(OLD))


def test_an_extent_that_no_cell_bears_out_is_not_believed(tmp_path: Path) -> None:
    found = tried(tmp_path, "lab.xls", _with_record(0x0200, 0, "<2I2H", 0, 0xFFFFFFFF, 0, 0xFFFF))
    plain = tried(tmp_path, "lab.xls", OLD)
    assert isinstance(found, Book) and isinstance(plain, Book) and found.sheets == plain.sheets
