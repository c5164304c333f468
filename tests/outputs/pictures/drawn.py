"""A picture as another eye sees it: its texts measured by another library, its marks and lines as boxes."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

from PIL import ImageFont

SVG = "{http://www.w3.org/2000/svg}"
FONTS = Path(__file__).resolve().parents[3] / "screening" / "outputs" / "pictures" / "fonts"
Node = ET.Element


@dataclass(frozen=True)
class Area:
    """A rectangle on the sheet, and what it belongs to."""

    left: float
    top: float
    right: float
    bottom: float
    of: str

    def overlaps(self, other: Area, slack: float = 0.05) -> bool:
        """Whether two have more than a hair in common."""
        across = min(self.right, other.right) - max(self.left, other.left)
        return across > slack and min(self.bottom, other.bottom) - max(self.top, other.top) > slack


@cache
def font(bold: bool) -> ImageFont.FreeTypeFont:
    """The font of the pictures at 100 units to the em, as Pillow measures it."""
    return ImageFont.truetype(str(FONTS / f"LiberationSans-{'Bold' if bold else 'Regular'}.ttf"), 100)


def read(svg: str) -> Node:
    """The picture, parsed."""
    return ET.fromstring(svg)


def layer(picture: Node, name: str) -> Node:
    """One layer of a plan."""
    return next(node for node in picture.iter(f"{SVG}g") if node.get("data-layer") == name)


def size(picture: Node) -> tuple[float, float]:
    """Width and height."""
    _, _, wide, high = map(float, picture.attrib["viewBox"].split())
    return wide, high


def text_area(node: Node, of: str = "") -> Area:
    """Where a text stands: from the height of its capitals to the depth of its tails (0.73 and 0.21 of its size)."""
    tall = float(node.attrib["font-size"])
    wide = font(node.get("font-weight") == "bold").getlength(node.text or "") * tall / 100
    x, y = float(node.attrib["x"]), float(node.attrib["y"])
    left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[node.get("text-anchor", "start")]
    return Area(left, y - 0.73 * tall, left + wide, y + 0.21 * tall, of)


def texts(node: Node) -> Iterator[Node]:
    """Texts that are not turned."""
    return (one for one in node.iter(f"{SVG}text") if (one.text or "").strip() and not one.get("transform"))


def shape_area(node: Node, of: str = "") -> Area:
    """What the shapes of a mark cover, strokes left out."""
    xs: list[float] = []
    ys: list[float] = []
    for one in node.iter():
        get = {key: float(value) for key, value in one.attrib.items() if re.fullmatch(r"-?[0-9.]+", value)}
        if one.tag == f"{SVG}circle":
            xs += [get["cx"] - get["r"], get["cx"] + get["r"]]
            ys += [get["cy"] - get["r"], get["cy"] + get["r"]]
        elif one.tag == f"{SVG}rect":
            xs += [get["x"], get["x"] + get["width"]]
            ys += [get["y"], get["y"] + get["height"]]
        elif one.tag == f"{SVG}line":
            xs += [get["x1"], get["x2"]]
            ys += [get["y1"], get["y2"]]
        elif one.tag == f"{SVG}path" and "q" not in one.attrib["d"]:
            numbers = [float(text) for text in re.findall(r"-?[0-9.]+", one.attrib["d"])]
            xs += numbers[0::2]
            ys += numbers[1::2]
    return Area(min(xs), min(ys), max(xs), max(ys), of)


def labels(picture: Node) -> list[Area]:
    """Every text of the labels of a plan, with the label that it belongs to."""
    found = []
    for at, label in enumerate(layer(picture, "labels")):
        found += [text_area(one, f"{at} {label.get('data-label') or label.get('data-name')}") for one in texts(label)]
    return found


def marks(picture: Node) -> list[tuple[str, Area]]:
    """Every mark of a plan: the place it stands for, and where it is."""
    return [
        (place.get("data-place") or place.get("data-component") or "", shape_area(one, place.get("data-place") or ""))
        for place in layer(picture, "marks")
        for one in place
        if one.get("data-sign")
    ]


def lines(node: Node) -> list[tuple[float, float, float, float]]:
    """The straight lines below a node."""
    return [tuple(float(one.attrib[key]) for key in ("x1", "y1", "x2", "y2")) for one in node.iter(f"{SVG}line")]  # type: ignore[misc]


def crossing(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    """Whether two lines cross within their lengths, by the point that solves both."""
    (a, b, c, d), (e, f, g, h) = one, other
    turn = (c - a) * (h - f) - (d - b) * (g - e)
    if math.isclose(turn, 0, abs_tol=1e-9):
        return False
    along = ((e - a) * (h - f) - (f - b) * (g - e)) / turn
    across = ((e - a) * (d - b) - (f - b) * (c - a)) / turn
    return 0.02 < along < 0.98 and 0.02 < across < 0.98


def through(line: tuple[float, float, float, float], area: Area) -> bool:
    """Whether a line runs through an area, by points along it."""
    x1, y1, x2, y2 = line
    if max(x1, x2) < area.left or min(x1, x2) > area.right or max(y1, y2) < area.top or min(y1, y2) > area.bottom:
        return False
    steps = 200
    return any(
        area.left + 0.6 < x1 + (x2 - x1) * at / steps < area.right - 0.6
        and area.top + 0.6 < y1 + (y2 - y1) * at / steps < area.bottom - 0.6
        for at in range(steps + 1)
    )
