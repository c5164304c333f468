"""No label of a plan covers another, a mark or a leader, whatever the site; everything stays on the sheet."""

from __future__ import annotations

import random
from collections.abc import Mapping
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.decision.contents import Contents
from screening.outputs.pictures.plan import sheets
from tests.outputs.pictures import drawn
from tests.outputs.pictures.invented import contents_of, outcome, places


def check(pictures: list[str]) -> None:
    """Every demand on the sheets of a plan."""
    first = drawn.read(pictures[0])
    labels, marks = drawn.labels(first), drawn.marks(first)
    for one, other in combinations(labels, 2):
        assert one.of == other.of or not one.overlaps(other), f"{one} covers {other}"
    for label in labels:
        assert not [mark for _, mark in marks if label.overlaps(mark)], f"{label} covers a mark"
    for (place, one), (other_place, other) in combinations(marks, 2):
        assert place == other_place or not one.overlaps(other), f"{one} covers {other}"
    leaders = drawn.lines(drawn.layer(first, "leaders"))
    assert not [pair for pair in combinations(leaders, 2) if drawn.crossing(*pair)]
    assert not [(line, label) for line in leaders for label in labels if drawn.through(line, label)]
    for picture in map(drawn.read, pictures):
        wide, high = drawn.size(picture)
        for node in drawn.texts(picture):
            area = drawn.text_area(node, node.text or "")
            assert area.left >= 0 and area.top >= 0 and area.right <= wide and area.bottom <= high, f"{area} leaves the sheet"


def test_the_demo(demo_pictures: Mapping[str, str]) -> None:
    check([svg for name, svg in demo_pictures.items() if name.startswith("plan")])


@pytest.fixture(scope="module")
def crowd() -> Contents:
    """120 places in two clusters, of one to three depths: a third exceeds, some are open."""
    chance = random.Random(11)
    spread = [(f"BH-{at:03d}", chance.gauss(20 + 40 * (at % 2), 9), chance.gauss(15, 7)) for at in range(120)]
    found = [
        outcome(
            name, analyte, chance.choice(("<0.02", "0.12", "0.5", "<0.6", "3.1")), depth_top=depth, sample_id=f"{name}-{depth}"
        )
        for at, (name, _, _) in enumerate(spread)
        for depth in ("4", "8", "12")[: 1 + at % 3]
        for analyte in ("Benzene", "Naphthalene", "n-Hexane")
    ]
    return contents_of(places(*spread), found)


def test_a_site_of_120_places(crowd: Contents) -> None:
    pictures = sheets(crowd)
    check(pictures)
    told = " ".join(node.text or "" for picture in pictures for node in drawn.texts(drawn.read(picture)))
    assert [name for name in (f"BH-{at:03d}" for at in range(120)) if name not in told] == []


names = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), min_size=1, max_size=40).filter(str.strip)
spots = st.lists(
    st.tuples(
        st.integers(-3, 3), st.integers(-3, 3), st.lists(st.sampled_from(("<0.02", "0.1", "<0.9", "7")), max_size=3),
        st.sampled_from(("soil", "groundwater")),
    ),
    min_size=1, max_size=14,
)  # fmt: skip


@settings(max_examples=8, deadline=None)
@given(spots, st.lists(names, min_size=14, max_size=14, unique=True), st.sampled_from(("located", "sketched", "half")))
def test_any_small_site(found: list[tuple[Any, ...]], called: list[str], how: str) -> None:
    """Places may lie on one spot, have no result at all, or no coordinates."""
    site, outcomes = [], []
    for at, (x, y, amounts, medium) in enumerate(found):
        name = f"L{at}" if at % 2 else called[at].replace("\\", "/").replace('"', "'")
        located = how == "located" or (how == "half" and at % 2 == 0)
        site.append(f'[[location]]\nid = "{name}"\n' + (f"x = {x}\ny = {y}\n" if located else ""))
        outcomes += [
            outcome(name, "Benzene", amount, depth_top=str(row), sample_id=f"{name}-{row}", medium=medium)
            for row, amount in enumerate(amounts)
        ]
    check(sheets(contents_of('[[tank]]\nid = "T1"\ncapacity_gal = 4000\nx = 0\ny = 0\n' + "".join(site), outcomes)))
