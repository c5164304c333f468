"""Files spoiled with their structure in mind: bytes, cells, members of archives, attributes and elements of XML, lines of TOML."""

from __future__ import annotations

import io
import random
import re
import struct
import zipfile
from collections.abc import Callable

NUMBERS = (
    "0", "-1", "1", "255", "256", "16384", "16385", "20000", "65535", "65536", "1048576", "1048577", "2000000", "2147483647", "4294967295",
    "99999999999", "9" * 30, "9" * 5000, "1e5", "1.5", "", "x", "NaN", "inf", " 7", "0x10", "١٢",
)  # fmt: skip
CELLS = (
    "=1+1", "=HYPERLINK(\"http://example.invalid\",\"x\")", "+cmd|' /C calc'!A0", "-2+3", "@SUM(1)", "\t=1", "\r=1", "'; DROP TABLE result; --",
    '"); DELETE FROM run; --', "Robert'); DROP TABLE site_file;--", "$1", "?", "%s%n", "{0}", "{x.__class__}", "../../../etc/passwd",
    "..\\..\\x", "/dev/zero", "C:\\x", "file:///etc/passwd", "\x1b[2J\x1b]0;owned\x07", "\x9b31m", "\u202etxt.exe", "\ufeff", "\u0000", "\ud7ff",
    "\U0010ffff", "a\u0301" * 50, "\u200b", "e" * 5000, "9" * 5000, "1e999999999", "1E+99999", "-1e-99999", "1e9999999999999999999999",
    "<" * 300, "(" * 300, "0" * 400 + "1", "1" + "," * 300, "1,2,3,4.5.6", "ND" * 40, "< < <", "1 x 10^99999", "1 x 10^-999", "½", "²", "٣", "NaN", "Infinity",
    "sNaN", "0.5 U J B", "99/99/9999", "0000-00-00", "2025-02-30", "9999-12-31T23:59:59-23:59", "0001-01-01T00:00:00+23:59", "12:60",
    "71-43-3", "0-00-0", "9999999-99-9", "Benzene" * 100, "Sample ID", "Result", "mg/kg", "mg/kg/kg/kg", "ug/L (ppb) dry", "1/0", "\n", "a\nb", '"', "''",
    "<script>alert(1)</script>", "&lt;", "]]>", "<!--", "[bold]x[/bold]", "[/]", "[link=http://example.invalid]x", ":smile:",
)  # fmt: skip
TOKENS = (
    *(cell.encode("utf-8", "surrogatepass") for cell in CELLS), b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\xfe\xff", b"PK\x03\x04", bytes.fromhex("D0CF11E0A1B11AE1"), b"<?xml", b"<!DOCTYPE a>",
    b"<![CDATA[", b"\r\n", b'"', b"\x80", b"\xf4\x90\x80\x80", b"\x1a", b"\x0c",
)  # fmt: skip
Mutator = Callable[[bytes, random.Random], bytes]


def some_bytes(data: bytes, chance: random.Random) -> bytes:
    """Bits flipped, parts cut out, doubled, swapped, cut short, or hostile tokens put in."""
    made = bytearray(data)
    for _ in range(1 << chance.randrange(5)):
        at = chance.randrange(len(made) + 1)
        wide = min(len(made) - at, 1 << chance.randrange(10))
        match chance.randrange(7):
            case 0 if made:
                made[at % len(made)] ^= 1 << chance.randrange(8)
            case 1:
                del made[at : at + wide]
            case 2:
                made[at:at] = made[at : at + wide] * chance.choice((1, 2, 50))
            case 3:
                made[at:at] = chance.choice(TOKENS)
            case 4:
                made[at : at + wide] = bytes(chance.randrange(256) for _ in range(min(wide, 64)))
            case 5 if chance.random() < 0.2:
                del made[at:]
            case _:
                made[at : at + 4] = struct.pack(
                    chance.choice("<>") + "I", chance.choice((0, 1, 0xFFFF, 0x7FFFFFFF, 0xFFFFFFFE, 0xFFFFFFFF))
                )
        del made[4_000_000:]
    return bytes(made)


def cells(data: bytes, chance: random.Random) -> bytes:
    """Delimited text with cells replaced, columns and rows doubled or dropped, quotes opened."""
    mark = max((b",", b"\t", b";", b"|"), key=data.count)
    rows = [line.split(mark) for line in data.split(b"\n")]
    for _ in range(1 + chance.randrange(6)):
        row = chance.choice(rows)
        at = chance.randrange(len(row))
        match chance.randrange(8):
            case 0 | 1 | 2:
                row[at] = chance.choice(TOKENS)
            case 3:
                row[at] = b'"' + row[at].replace(b'"', b"") + chance.choice((b'"', b"", b'""'))
            case 4:
                row[at:at] = [row[at]] * chance.choice((1, 3, 300))
            case 5:
                rows.insert(chance.randrange(len(rows)), list(chance.choice(rows)))
            case 6:
                del row[at]
                row.append(b"")
            case _:
                for one in rows:
                    if at < len(one):
                        one[at] = chance.choice((b"", one[at] * 2, chance.choice(TOKENS)))
    return b"\n".join(mark.join(row) for row in rows)


def xml(data: bytes, chance: random.Random) -> bytes:
    """XML with attributes and texts replaced, elements doubled, dropped, nested deep, or declarations put in front."""
    text = data.decode("utf-8", "surrogateescape")
    for _ in range(1 + chance.randrange(4)):
        values = list(re.finditer(r'="([^"]*)"', text))
        texts = list(re.finditer(r">([^<>]+)<", text))
        elements = list(re.finditer(r"<([\w:]+)[^<>]*?(/>|>[^<]*</\1>)", text))
        match chance.randrange(9):
            case 0 | 1 | 2 if values:
                one = chance.choice(values)
                word = chance.choice(
                    (*NUMBERS, *NUMBERS, "XFD1048576", "A0", "AAAA1", "ZZZ9999999", "A1:XFD1048576", *CELLS[:12])
                )
                text = text[: one.start(1)] + word.replace('"', "").replace("<", "") + text[one.end(1) :]
            case 3 if texts:
                one = chance.choice(texts)
                word = (
                    chance.choice((*CELLS, *NUMBERS))
                    .replace("<", "&lt;")
                    .replace("\x00", "&#0;")
                    .replace("&lt;script", "&script;")
                )
                text = text[: one.start(1)] + word + text[one.end(1) :]
            case 4 if elements:
                one = chance.choice(elements)
                text = text[: one.end()] + one[0] * chance.choice((1, 5, 400)) + text[one.end() :]
            case 5 if elements:
                one = chance.choice(elements)
                text = text[: one.start()] + text[one.end() :]
            case 6 if elements:
                one = chance.choice(elements)
                name, deep = chance.choice(("a", one[1], "table:table-row-group", "Row")), chance.choice((3, 200, 20_000))
                text = text[: one.start()] + f"<{name}>" * deep + one[0] + f"</{name}>" * deep + text[one.end() :]
            case 7:
                at = text.find(">") + 1 if text.startswith("<?xml") else 0
                told = '<!DOCTYPE a [<!ENTITY b "b"><!ENTITY c "&b;&b;&b;&b;"><!ENTITY x SYSTEM "file:///etc/passwd">]>'
                text = text[:at] + chance.choice((told, "<!DOCTYPE a>", "<!-- -->", "<?x y?>")) + text[at:]
            case _:
                text = text.replace(
                    chance.choice(("&", "/>", "xmlns", "ss:", 'r="', "office:")), chance.choice(("", "&c;", "\x0b")), 1
                )
    return text.encode("utf-8", "surrogateescape")[:6_000_000]


def members(data: bytes, chance: random.Random) -> bytes:
    """An archive with a member spoiled, renamed, doubled, dropped, grown, or with a false length."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            held = {one.filename: archive.read(one) for one in archive.infolist()}
    except Exception:  # what is no archive any more is spoiled as bytes
        return some_bytes(data, chance)
    if not held:
        return some_bytes(data, chance)
    pages = [one for one in held if "sheet" in one or "content" in one] if chance.random() < 0.6 else []
    name = chance.choice(pages or list(held))
    twice = None
    match chance.randrange(10):
        case 0 | 1 | 2 | 3 | 4:
            held[name] = xml(held[name], chance)
        case 5:
            held[name] = some_bytes(held[name], chance)
        case 6:
            held[chance.choice(("../../evil", "/etc/evil", "xl/../../evil", "a" * 300, "xl\\evil", name + "\x00"))] = held[name]
        case 7:
            del held[name]
        case 8:
            twice = name
        case _:
            held[name] = held[name].replace(b"</sheetData>", b"<row><c/></row>" * 20_000 + b"</sheetData>")
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", chance.choice((zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED))) as archive:
        for one, content in held.items():
            archive.writestr(one, content)
        if twice:
            archive.writestr(twice + " ", held[twice])
    packed = made.getvalue()
    if chance.random() < 0.1:  # lengths in the directory that are not those of the members
        at = packed.rfind(b"PK\x01\x02")
        packed = (
            packed[: at + 20]
            + struct.pack("<II", chance.choice((0, 5, 0x7FFFFFFF)), chance.choice((0, 5, 0x7FFFFFFF)))
            + packed[at + 28 :]
        )
    return packed


def records(data: bytes, chance: random.Random) -> bytes:
    """An old binary workbook with lengths and numbers of its sectors and records changed."""
    made = bytearray(data)
    for _ in range(1 + chance.randrange(8)):
        at = chance.choice((chance.randrange(512), chance.randrange(len(made) - 4), 2 * chance.randrange((len(made) - 4) // 2)))
        match chance.randrange(4):
            case 0:
                struct.pack_into(
                    "<H",
                    made,
                    at,
                    chance.choice((0, 1, 0x0809, 0x000A, 0x0203, 0x00FD, 0x0208, 0x7FFF, 0xFFFF, chance.randrange(65536))),
                )
            case 1:
                struct.pack_into(
                    "<I",
                    made,
                    at,
                    chance.choice((0, 1, 0xFFFFFFFE, 0xFFFFFFFF, 0xFFFFFFFA, chance.randrange(1 << 32), chance.randrange(64))),
                )
            case 2:
                made[at] ^= 1 << chance.randrange(8)
            case _:
                other = chance.randrange(len(made) - 64)
                made[at : at + 64] = made[other : other + 64]
    return bytes(made[: chance.choice((len(made), len(made), len(made) // 2))])


def lines(data: bytes, chance: random.Random) -> bytes:
    """TOML with values replaced, lines doubled, dropped and moved, tables repeated, arrays nested deep."""
    rows = data.decode("utf-8", "surrogateescape").split("\n")
    for _ in range(1 + chance.randrange(5)):
        at = chance.randrange(len(rows))
        key, equals, _ = rows[at].lstrip("# ").partition("=")
        match chance.randrange(9):
            case 0 | 1 | 2 | 3 if equals:
                cell = chance.choice(CELLS).replace("\\", "\\\\").replace('"', '\\"')
                deep = chance.choice((3, 400, 30_000))
                value = chance.choice(
                    (f'"{cell}"', chance.choice(NUMBERS), f"[{chance.choice(NUMBERS)}]", "[" * deep + "]" * deep, "{a = 1}", "true", "1e400000000",
                     "-1.5", "2025-05-06", "0001-01-01T00:00:00+23:59", "9999-12-31T23:59:59-23:59", "25:61:00", "'''" + cell + "'''", "nan", "inf", "[]", "[[]]", '["a", 1]')
                )  # fmt: skip
                rows[at] = f"{key}= {value}"
            case 4:
                rows.insert(chance.randrange(len(rows)), rows[at])
            case 5:
                del rows[at]
                rows.append("")
            case 6:
                rows.insert(
                    at,
                    chance.choice(
                        (
                            "[site]",
                            "[[tank]]",
                            "[a" + ".a" * 3000 + "]",
                            "[[location]]",
                            "[columns]",
                            '["\\u0000"]',
                            "[versions.x]",
                            "x" * 100_000,
                        )
                    ),
                )
            case 7:
                rows[at] = rows[at].replace(chance.choice(('"', "=", "[", "]", ".")), chance.choice(("", '""', "\\", "\x00")), 1)
            case _:
                rows[at] = rows[at].lstrip("# ")
    return "\n".join(rows).encode("utf-8", "surrogateescape")


def mutators(data: bytes, ending: str) -> tuple[Mutator, ...]:
    """The ways that fit a file."""
    if data.startswith(b"PK"):
        return (members, members, members, some_bytes)
    if data.startswith(bytes.fromhex("D0CF11E0A1B11AE1")):
        return (records, records, some_bytes)
    if data.startswith(b"<?xml"):
        return (xml, xml, some_bytes)
    if ending == ".toml":
        return (lines, lines, lines, some_bytes)
    return (cells, cells, some_bytes)


def spoiled(data: bytes, ending: str, chance: random.Random) -> bytes:
    """One hostile file made of a good one, by one way or two after each other."""
    for _ in range(chance.choice((1, 1, 2))):
        way = chance.choice(mutators(data, ending))
        try:
            data = way(data, chance) or b"\x00"
        except (IndexError, ValueError, struct.error):  # too little is left for this way
            data = some_bytes(data, chance) or b"\x00"
    return data
