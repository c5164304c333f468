"""The known results every generated deliverable is written from. All invented; truth in mg/kg and ug/L."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

ANALYTES = (
    "Benzene",
    "Toluene",
    "Ethylbenzene",
    "Total xylenes",
    "Methyl tert-butyl ether",
    "Naphthalene",
    "Gasoline range organics",
    "Lead",
)
CAS = dict(zip(ANALYTES, ("71-43-2", "108-88-3", "100-41-4", "1330-20-7", "1634-04-4", "91-20-3", "", "7439-92-1"), strict=True))
UNIT = {"soil": "mg/kg", "groundwater": "ug/L"}
LEVEL = {
    "soil": ("0.15", "49", "45", "15.7", "0.28", "1.2", "1000", "400"),
    "groundwater": ("5", "1000", "700", "10000", "40", "1.4", "1240", "15"),
}
REPORTING = {
    "soil": ("0.005", "0.005", "0.005", "0.015", "0.005", "0.01", "5", "2"),
    "groundwater": ("0.5", "0.5", "0.5", "1.5", "0.02", "0.5", "50", "1.5"),
}
DILUTED = {"soil": (10, 1, 1, 100, 1, 50), "groundwater": (1, 20, 1, 1, 1000, 1)}
# one line per analyte, one column per sample; ND takes the sample's reporting limit, J marks an estimate below it
_TABLE = {
    "soil": """
        0.246    ND         0.0031 J   1.67    ND        ND
        1.9      ND         ND         12.4    0.0012 J  ND
        0.87     ND         0.017      45.5    ND        3.3
        4.25     ND         0.0083 J   210     ND        18.6
        ND       0.00047 J  ND         ND      0.031     ND
        0.66     ND         0.0074 J   8.05    ND        1.15
        325      ND         12.5       14500   3.8 J     1240
        18.6     9.3        22.1       1380    ND        41""",
    "groundwater": """
        ND       146        ND         0.33 J  12400     ND
        0.71     ND         ND         ND      8650      1.2
        ND       64.5       ND         0.5     1930      ND
        1.55     118        ND         ND      9720      0.94 J
        0.0136 J 8.4        0.37       ND      52.5      0.28
        ND       23.5       ND         0.21 J  612       ND
        50.5     2150       ND         31 J    86400     ND
        ND       4.8        12.2       2.05    27        1.9""",
}


@dataclass(frozen=True)
class Reading:
    """One known result: `value` is None for a non-detect, both limits always known, in the normal unit."""

    sample: int
    analyte: str
    medium: str
    value: Decimal | None
    estimated: bool
    reporting: Decimal
    detection: Decimal


def _read(medium: str, uniform: bool) -> tuple[Reading, ...]:
    words = iter(_TABLE[medium].replace(" J", "J").split())
    found = []
    for place, analyte in enumerate(ANALYTES):
        for sample in range(6):
            word = next(words)
            times = 1 if uniform or analyte == "Lead" else DILUTED[medium][sample]
            limit = Decimal(REPORTING[medium][place]) * times
            estimated, text = word.endswith("J"), word.removesuffix("J")
            value = None if text == "ND" else Decimal(text)
            found.append(Reading(sample, analyte, medium, value, estimated, limit, limit / 20))
    return tuple(found)


def readings(medium: str, uniform: bool) -> tuple[Reading, ...]:
    """All 48 readings of a medium; `uniform` gives every sample the undiluted limit (one limit column for all)."""
    return _read(medium, uniform)


@dataclass(frozen=True)
class Truth:
    """What a file states of one result: exactly these figures, in the normal unit."""

    sample: str
    analyte: str
    medium: str
    detected: bool
    number: Decimal
    estimated: bool
    limits: tuple[tuple[str, Decimal], ...]


@dataclass(frozen=True)
class Case:
    """One generated deliverable: its files, what is given beside them, what it is made of and what it says."""

    name: str
    files: tuple[str, ...]
    settings: tuple[str, ...]
    made_of: tuple[tuple[str, str], ...]
    truth: tuple[Truth, ...]
