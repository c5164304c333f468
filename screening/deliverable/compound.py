"""One stream out of a compound file, the container of old binary workbooks ([MS-CFB], recalled)."""

from __future__ import annotations

import struct

END, FREE = 0xFFFFFFFE, 0xFFFFFFFF
LARGEST_REGULAR = 0xFFFFFFFA


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
