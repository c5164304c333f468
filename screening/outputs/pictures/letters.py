"""How wide a text is, where it must be broken or cut: by the letters of the fonts that come with the pictures."""

from __future__ import annotations

from functools import cache, lru_cache
from importlib import resources

from screening.outputs.pictures.svg import shown

FONTS = resources.files("screening.outputs.pictures") / "fonts"
REGULAR, BOLD = "LiberationSans-Regular.ttf", "LiberationSans-Bold.ttf"
"""As wide, letter by letter, as the sans-serif fonts of the usual systems (SIL Open Font License 1.1, text beside the fonts)."""

GLUE = "\u00a0"


@cache
def _advances(name: str) -> tuple[dict[int, str], dict[str, tuple[int, int]], int]:
    from fontTools.ttLib import TTFont

    with resources.as_file(FONTS / name) as path:
        font = TTFont(path, lazy=True)
        return font.getBestCmap(), font["hmtx"].metrics, font["head"].unitsPerEm


@cache
def _advance(letter: str, bold: bool) -> float:
    named, metrics, em = _advances(BOLD if bold else REGULAR)
    glyph = named.get(ord(letter))
    # a letter that the fonts lack comes from another font, at most as wide as it is high in all that is usual
    return metrics[glyph][0] / em if glyph else 1.2


def width(text: str, size: float = 8, bold: bool = False) -> float:
    """The width of a line of text in points."""
    return size * _length(text, bold)


@lru_cache(maxsize=8192)
def _length(text: str, bold: bool) -> float:
    return sum(_advance(letter, bold) for letter in shown(text))


def cut(text: str, room: float, size: float = 8, bold: bool = False) -> str:
    """A text that fits a width, its end cut off behind an ellipsis where it must be."""
    if len(text) * size < 10 * room and width(text, size, bold) <= room:
        return text
    taken, used = [], _advance("…", bold) * size
    for letter in shown(text):
        used += _advance(letter, bold) * size
        if used > room:
            break
        taken.append(letter)
    return "".join(taken).rstrip() + "…"


def wrap(text: str, room: float, size: float = 8, bold: bool = False, most: int = 99) -> list[str]:
    """A text in lines that fit a width, at most ``most`` of them; the last is cut where more would be needed.

    A no-break space keeps its neighbours on one line and comes out as a space.
    """
    lines: list[str] = []
    parts = [part for part in text.split(" ") if part]
    while parts:
        if len(lines) == most - 1:
            lines.append(cut(" ".join(parts), room, size, bold))
            break
        line = parts.pop(0)
        if width(line[:2000], size, bold) > room:
            lines.append(cut(line, room, size, bold))
            continue
        while parts and width(f"{line} {parts[0][:2000]}", size, bold) <= room:
            line = f"{line} {parts.pop(0)}"
        lines.append(line)
    return [line.replace(GLUE, " ") for line in lines]
