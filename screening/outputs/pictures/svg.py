"""Elements of a drawing as text: escaped, with numbers of two decimals, the same bytes for the same drawing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

from screening.outputs.texts import readable

INK, FAINT, PAPER = "#1B1F24", "#5B6470", "#FFFFFF"
ORANGE, BLUE = "#B34700", "#1F4E8C"
FAMILY = "Liberation Sans, Arial, Helvetica, sans-serif"


def shown(text: str) -> str:
    """A text on one line, with what would hide, turn or break it written out."""
    if text.isascii() and text.isprintable():
        return text
    return readable(text).replace("\u00a0", " ").replace("\t", " ").replace("\n", " ")


def number(value: float) -> str:
    """A coordinate with at most two decimals."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@dataclass(frozen=True)
class Element:
    """One element: name, attributes (underscores stand for hyphens), children or one text."""

    name: str
    attributes: dict[str, str | float] = field(default_factory=dict)
    children: Sequence[Element] = ()
    text: str = ""

    def write(self) -> str:
        """The element as XML."""
        told = "".join(f" {_key(key)}={_value(value)}" for key, value in self.attributes.items())
        inside = escape(shown(self.text)) + "".join(child.write() for child in self.children)
        return f"<{self.name}{told}>{inside}</{self.name}>" if inside else f"<{self.name}{told}/>"


def _key(key: str) -> str:
    return key.rstrip("_").replace("_", "-") if key not in ("viewBox", "preserveAspectRatio") else key


def _value(value: str | float) -> str:
    return quoteattr(shown(value)) if isinstance(value, str) else f'"{number(value)}"'


def group(children: Iterable[Element], title: str = "", **attributes: str | float) -> Element:
    """Elements that belong together; ``title`` is what a pointer and a screen reader are told."""
    told = [Element("title", {}, (), title)] if title else []
    return Element("g", dict(attributes), (*told, *children))


def line(x1: float, y1: float, x2: float, y2: float, **attributes: str | float) -> Element:
    """A straight line, in ink unless another stroke is named."""
    return Element("line", {"x1": x1, "y1": y1, "x2": x2, "y2": y2, "stroke": INK, "stroke_width": 0.75, **attributes})


def box(x: float, y: float, width: float, height: float, **attributes: str | float) -> Element:
    """A rectangle without fill or stroke unless they are named."""
    return Element("rect", {"x": x, "y": y, "width": width, "height": height, "fill": "none", **attributes})


def path(points: Sequence[tuple[float, float]], closed: bool = False, **attributes: str | float) -> Element:
    """A line through points, in ink, without fill unless one is named."""
    way = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if closed else "")
    return Element("path", {"d": way, "fill": "none", "stroke": INK, "stroke_width": 0.75, **attributes})


def circle(x: float, y: float, radius: float, **attributes: str | float) -> Element:
    """A circle without fill or stroke unless they are named."""
    return Element("circle", {"cx": x, "cy": y, "r": radius, "fill": "none", **attributes})


def words(x: float, y: float, text: str, size: float = 8, bold: bool = False, **attributes: str | float) -> Element:
    """One line of text whose baseline begins at a point (or ends or is centred there: text_anchor)."""
    weight: dict[str, str | float] = {"font_weight": "bold"} if bold else {}
    return Element("text", {"x": x, "y": y, "font_size": size, "fill": INK, **weight, **attributes}, (), text)


def slug(name: str) -> str:
    """A name fit for an id: what is no letter or digit of ASCII becomes its number, so that no two names become one."""
    return "".join(one if one.isascii() and one.isalnum() else f"-{ord(one):x}-" for one in name)[:200]


def sheet(name: str, width: float, height: float, title: str, description: str, children: Iterable[Element]) -> str:
    """A whole picture, in points of 1/72 inch; ``name`` keeps its ids apart from those of others on one page."""
    ids = f"{name}-title {name}-description"
    whole = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg", "width": f"{number(width)}pt", "height": f"{number(height)}pt",
            "viewBox": f"0 0 {number(width)} {number(height)}", "role": "img", "aria_labelledby": ids, "font_family": FAMILY,
        },
        (
            Element("title", {"id": f"{name}-title"}, (), title),
            Element("desc", {"id": f"{name}-description"}, (), description),
            box(0, 0, width, height, fill=PAPER),
            *children,
        ),
    )  # fmt: skip
    return whole.write() + "\n"
