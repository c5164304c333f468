"""One stream out of a compound file, and one into a new one: the container of old binary workbooks ([MS-CFB], recalled)."""

from __future__ import annotations

import struct

END, FREE = 0xFFFFFFFE, 0xFFFFFFFF
LARGEST_REGULAR = 0xFFFFFFFA
_TABLE = 0xFFFFFFFD
_SECTOR, _LINKS, _IN_HEADER, _SMALL = 4096, 1024, 109, 4096
LARGEST_WRAPPED = (_IN_HEADER * _LINKS - _IN_HEADER - 2) * _SECTOR
"""Bytes of a stream that a new file can hold without further tables."""


def stream_of(data: bytes, names: tuple[str, ...]) -> bytes | None:
    """The content of the first stream with one of these names; None where the file has none or is damaged."""
    try:
        return _stream(data, names)
    except (struct.error, IndexError, UnicodeDecodeError):
        return None


def _stream(data: bytes, names: tuple[str, ...]) -> bytes | None:
    shifts = struct.unpack_from("<HH", data, 30)
    if shifts[0] not in (9, 12) or shifts[1] != 6:
        return None
    size, mini_size = 1 << shifts[0], 1 << shifts[1]
    first_directory, = struct.unpack_from("<I", data, 48)  # fmt: skip
    cutoff, first_mini = struct.unpack_from("<II", data, 56)
    next_fat, = struct.unpack_from("<I", data, 68)  # fmt: skip
    fat_sectors = list(struct.unpack_from("<109I", data, 76))

    def sector(number: int) -> bytes:
        return data[(number + 1) * size : (number + 2) * size]

    while next_fat <= LARGEST_REGULAR and len(fat_sectors) * size < len(data) + 110 * size:
        more = struct.unpack(f"<{size // 4}I", sector(next_fat))
        fat_sectors += more[:-1]
        next_fat = more[-1]
    table: list[int] = []
    for number in fat_sectors:
        if number <= LARGEST_REGULAR:
            table += struct.unpack(f"<{size // 4}I", sector(number))

    def chain(first: int, links: list[int]) -> list[int]:
        found: list[int] = []
        while first <= LARGEST_REGULAR and len(found) <= len(links):
            found.append(first)
            first = links[first]
        return found

    def whole(first: int) -> bytes:
        return b"".join(sector(number) for number in chain(first, table))

    directory = whole(first_directory)
    entries = [directory[at : at + 128] for at in range(0, len(directory), 128)]
    root = entries[0]
    wanted = {name.casefold() for name in names}
    for entry in entries[1:]:
        length = struct.unpack_from("<H", entry, 64)[0]
        if entry[66] != 2 or entry[: max(0, length - 2)].decode("utf-16-le").casefold() not in wanted:
            continue
        first, bytes_used = struct.unpack_from("<IQ", entry, 116)
        bytes_used &= 0xFFFFFFFF
        if bytes_used >= cutoff:
            return whole(first)[:bytes_used]
        minis = whole(struct.unpack_from("<I", root, 116)[0])
        links_text = whole(first_mini)
        links = list(struct.unpack(f"<{len(links_text) // 4}I", links_text))
        return b"".join(minis[at * mini_size : (at + 1) * mini_size] for at in chain(first, links))[:bytes_used]
    return None


def wrapped(stream: bytes, name: str) -> bytes:
    """A new file with this one stream (at most `LARGEST_WRAPPED` bytes), whose parts follow each other: nothing in it goes in circles."""
    stream = stream.ljust(_SMALL, b"\0")  # what is smaller lies in a part of its own
    count = -(-len(stream) // _SECTOR)
    tables = -(-(count + 2) // (_LINKS - 1))
    first = tables + 2
    links = [_TABLE] * tables + [END, END, *range(first + 1, first + count), END]
    table = struct.pack(f"<{tables * _LINKS}I", *links, *[FREE] * (tables * _LINKS - len(links)))
    header = struct.pack(
        "<8s16s5H6xIIIIIIIII", bytes.fromhex("D0CF11E0A1B11AE1"), b"", 0x3E, 4, 0xFFFE, 12, 6, 1, tables, tables, 0, _SMALL,
        END, 0, END, 0,
    ) + struct.pack(f"<{_IN_HEADER}I", *range(tables), *[FREE] * (_IN_HEADER - tables))  # fmt: skip
    directory = _entry("Root Entry", 5, 1, tables + 1, _SECTOR) + _entry(name, 2, FREE, first, len(stream))
    directory += _entry("", 0, FREE, 0, 0) * (_SECTOR // 128 - 2)
    no_small_parts = bytes(_SECTOR)
    return header.ljust(_SECTOR, b"\0") + table + directory + no_small_parts + stream.ljust(count * _SECTOR, b"\0")


def _entry(name: str, kind: int, child: int, first: int, length: int) -> bytes:
    told = name.encode("utf-16-le") + b"\0\0" if name else b""
    return struct.pack("<64sHBBIII36xIQ", told, len(told), kind, 1, FREE, FREE, child, first, length)
