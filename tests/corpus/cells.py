"""How a figure, a non-detect and an estimate are written into a cell."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

Cell = str | Decimal | date
NUMBER_STYLES = ("plain", "thousands", "decimal comma", "scientific", "numbers as numbers")
NON_DETECT_STYLES = (
    "<0.5",
    "< 0.5",
    "ND with a limit column",
    "ND(0.5)",
    "0.5 U",
    "< 0.5 U",
    "ND @ 0.5",
    "U in a flag column",
)


def figure(number: Decimal, style: str, group: str = "") -> str:
    """The figure as text; `group` parts the thousands where the decimal sign is a comma."""
    if style == "scientific":
        sign, digits, exponent = number.normalize().as_tuple()
        assert isinstance(exponent, int) and not sign
        text = "".join(map(str, digits))
        power = exponent + len(text) - 1
        return f"{text[0]}.{text[1:] or '0'}E{'-' if power < 0 else '+'}{abs(power):02d}"
    plain = format(number.normalize(), ",f" if style in ("thousands", "decimal comma") else "f")
    return plain.translate({ord(","): group, ord("."): ","}) if style == "decimal comma" else plain


class Writer:
    """Writes readings in one non-detect and one number style, the same way throughout a file."""

    def __init__(self, non_detect: str, number: str, group: str, close: bool) -> None:
        self.non_detect, self.number, self.group = non_detect, number, group
        self.gap = "" if close else " "

    def number_cell(self, number: Decimal) -> Cell:
        """A figure that stands alone in its cell."""
        return number if self.number == "numbers as numbers" else figure(number, self.number, self.group)

    def text(self, number: Decimal) -> str:
        """A figure inside a longer text."""
        return figure(number, self.number, self.group)

    def detect(self, number: Decimal, estimated: bool, flagged: bool) -> tuple[Cell, str]:
        """Value cell and flag of a detection."""
        if estimated and not flagged:
            return f"{self.text(number)}{self.gap}J", ""
        return self.number_cell(number), "J" if estimated else ""

    def absent(self, limit: Decimal, flagged: bool) -> tuple[Cell, str]:
        """Value cell and flag of a non-detect."""
        text, flag = self.text(limit), "U" if flagged else ""
        match self.non_detect:
            case "U in a flag column":
                assert flagged
                return self.number_cell(limit), "U"
            case "0.5 U":
                return (self.number_cell(limit), "U") if flagged else (f"{text}{self.gap}U", "")
            case "< 0.5 U":
                return (f"<{self.gap}{text}", "U") if flagged else (f"<{self.gap}{text}{self.gap}U", "")
            case "ND with a limit column":
                return "ND", flag
            case "ND(0.5)":
                return f"ND{self.gap}({text})", flag
            case "ND @ 0.5":
                return f"ND @ {text}", flag
            case "< 0.5":
                return f"< {text}", flag
        return f"<{text}", flag
