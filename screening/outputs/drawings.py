"""The pictures of a run by kind, for those outputs that hold them beside their tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.etree.ElementTree import fromstring

from screening.outputs import pictures
from screening.outputs.texts import readable

if TYPE_CHECKING:
    from screening.decision.contents import Contents

KINDS: Mapping[str, str] = {
    "plan": "Sampling plan", "levels": "Results against levels", "profiles": "Depth profiles", "series": "Time series of wells",
    "statistics": "Statistics", "deadlines": "Strip of deadlines", "checks": "Grid of quality checks",
}  # fmt: skip
"""The kinds in the order in which they are read, with the title of each."""
_SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Picture:
    """A picture as it is drawn, with its title and its description for who cannot see it."""

    name: str
    svg: str
    title: str
    description: str

    @property
    def png(self) -> bytes:
        """The picture at the resolution of print."""
        return pictures.as_png(self.name, self.svg)


def sheets_of_kind(contents: Contents, kind: str) -> Sequence[Picture]:
    """The sheets of one kind; none where the run has nothing for it."""
    stems = (kind, f"{kind}-", f"pictures/{kind}")
    found = []
    for name, svg in pictures.drawn(contents):
        if name == stems[0] or name.startswith(stems[1:]):
            root = fromstring(svg)
            title, description = (root.findtext(f"{_SVG}{tag}") or "" for tag in ("title", "desc"))
            found.append(Picture(name, svg, readable(title or KINDS[kind], 200), readable(description, 4000)))
    return found


def pictures_of(contents: Contents, kind: str) -> tuple[str, ...]:
    """The sheets of one kind as svg."""
    return tuple(one.svg for one in sheets_of_kind(contents, kind))
