"""Rule files are read strictly: what is wrong is refused with file, row and key."""

from __future__ import annotations

import pytest

from screening.closure.rules import parse_rules
from screening.errors import Refused

HEAD = 'title = "One"\nplace = "us"\n'
ROW = '[[row]]\nid = "a"\ncitation = "invented"\nstatus = "memory"\ncomponent = "tank"\nrule = "two"\n'
BAD = {
    "an unknown key": (ROW + "numbr = 2\n", "row 1 \\(a\\): numbr"),
    "an unknown component": (ROW.replace("tank", "roof"), "row 1 \\(a\\): component"),
    "a condition that is none": (ROW + "when = { colour = 1 }\n", "when.colour"),
    "a measure without its step": (ROW + 'measure = "length_ft"\n', "'each' and 'measure' belong together"),
    "read without a source": (ROW.replace("memory", "read"), "names its source"),
    "a status that is none": (ROW.replace("memory", "heard"), "row 1 \\(a\\): status"),
    "an id twice": (ROW + ROW, "the id 'a' is there twice"),
    "no citation": (ROW.replace('citation = "invented"\n', ""), "citation"),
    "no TOML": ("[[row]\n", "mend the line"),
}


@pytest.mark.parametrize(("rows", "told"), BAD.values(), ids=BAD)
def test_a_broken_rule_file(rows: str, told: str) -> None:
    with pytest.raises(Refused, match=told) as error:
        parse_rules("sampling", "xx/one", HEAD + rows)
    assert "sampling/xx/one.toml" in str(error.value)


def test_a_head_without_title() -> None:
    with pytest.raises(Refused, match="title"):
        parse_rules("sampling", "xx/one", 'place = "us"\n' + ROW)


def test_a_span_without_its_event() -> None:
    row = '[[row]]\nid = "a"\ncitation = "invented"\nstatus = "memory"\nwhat = "report"\nspan = 3\nunit = "days"\n'
    with pytest.raises(Refused, match="'counted_from' belong together"):
        parse_rules("deadlines", "xx/one", HEAD + row)
