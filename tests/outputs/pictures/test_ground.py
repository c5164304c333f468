"""Plans are to scale: distances, tanks of stated measures, north, bars; and say so where they are not."""

from __future__ import annotations

import math
import re

import pytest

from screening.outputs.pictures.ground import FOOT, Ground, Shape, along, surveyed
from screening.outputs.pictures.labels import Box
from screening.outputs.pictures.places import spots
from screening.outputs.pictures.plan import site_plan
from screening.outputs.pictures.sketch import sketched
from screening.outputs.pictures.view import view
from screening.site.site_file import SiteFile, parse_site
from tests.outputs.pictures import drawn
from tests.outputs.pictures.invented import contents_of, outcome, places

HEAD = '[site]\nid = "a"\nname = "a"\nplace = "us-oh"\n'


def site(text: str, head: str = "") -> SiteFile:
    return parse_site(HEAD + head + text, "site.toml")


def ground(text: str, head: str = "") -> Ground:
    found = surveyed(site(text, head))
    assert found is not None
    return found


def far(found: Ground, one: str, other: str) -> float:
    return math.dist(found.places[one], found.places[other])


def test_feet_and_metres() -> None:
    at = places(("A", 0, 0), ("B", 30, 40))
    assert far(ground(at), "A", "B") == pytest.approx(50)
    assert far(ground(at, 'grid_unit = "ft"\n'), "A", "B") == pytest.approx(50 * 0.3048)  # the international foot, exact
    assert "its unit is not stated and taken as metres" in " ".join(ground(at).notes)
    assert "not stated" not in " ".join(ground(at, 'grid_unit = "ft"\n').notes)


def test_longitude_and_latitude() -> None:
    """A minute of latitude is a nautical mile, 1,852 m, by which the mile was once defined; of longitude at 60 degrees half."""
    text = "".join(
        f'[[location]]\nid = "{name}"\nlongitude = {east}\nlatitude = {north}\n'
        for name, east, north in (("A", -80, 60), ("B", -80, 60 + 1 / 60), ("C", -80 + 1 / 60, 60))
    )
    found = ground(text)
    assert far(found, "A", "B") == pytest.approx(1852, rel=0.006)
    assert far(found, "A", "C") == pytest.approx(926, rel=0.006)


def test_systems_of_coordinates() -> None:
    """Units by the EPSG register, as pyproj holds it: 26917 in metres, 2234 in US survey feet of 1200/3937 m."""
    at = places(("A", 600000, 4000000), ("B", 600030, 4000040))
    assert far(ground(at, 'coordinates = "EPSG:26917"\n'), "A", "B") == pytest.approx(50)
    assert far(ground(at, 'coordinates = "EPSG:2234"\n'), "A", "B") == pytest.approx(50 * 1200 / 3937)
    assert "is not known" in " ".join(ground(at, 'coordinates = "EPSG:999999"\n').notes)


def test_a_tank_of_stated_measures_and_bearing() -> None:
    found = ground('[[tank]]\nid = "T"\nlength_ft = 20\ndiameter_ft = 8\nx = 10\ny = 5\nbearing_deg = 0\n').shapes[0]
    xs, ys = zip(*found.points, strict=True)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((8 * FOOT, 20 * FOOT))  # bearing 0: its length to the north
    assert found.middle == pytest.approx((10, 5)) and found.sure


def test_a_tank_of_which_only_the_capacity_is_known() -> None:
    """A gallon is 231 cubic inches: the drawn cylinder holds what is stated, and the plan says that its shape is assumed."""
    made = ground(
        '[[tank]]\nid = "T"\ncapacity_gal = 8000\n'
        + places(("A", 0, 0), ("B", 6, 0)).replace('id = "A"', 'id = "A"\ncomponent = "T"')
    )
    tank = next(shape for shape in made.shapes if shape.kind == "tank")
    sides = sorted(math.dist(one, other) for one, other in zip(tank.points, tank.points[1:], strict=False))
    gallons = math.pi * (sides[0] / 2) ** 2 * sides[-1] / (231 * 0.0254**3)
    assert gallons == pytest.approx(8000) and not tank.sure
    assert any("2.5 times as long as wide" in note for note in made.notes)


def test_halfway_along_a_course() -> None:
    assert along(((0, 0), (4, 0), (4, 8))) == pytest.approx((4, 2))


@pytest.mark.parametrize("reach", [0.5, 7, 30, 90, 400, 5000])
def test_the_scale_is_round_and_shows_everything(reach: float) -> None:
    window = Box(26, 70, 542, 480)
    found = Ground({"A": (0.0, 0.0), "B": (reach, reach / 3)}, (Shape("tank", "T", "T", ((0, 0), (1, 0), (1, 1))),), True, ())
    seen = view(found, window)
    assert all(Box(*seen.at(point), 0, 0).within(window) for point in found.places.values())
    assert seen.scale is not None and f"{seen.scale:.6g}".strip("0").replace(".", "") in (
        "1", "125", "15", "175", "2", "25", "3", "35", "4", "5", "6", "7", "8"
    )  # fmt: skip
    a, b = (seen.at(point) for point in found.places.values())
    inches = math.dist(a, b) / 72
    assert inches * 0.0254 * seen.scale == pytest.approx(math.dist((0, 0), (reach, reach / 3)))


def test_bars_measure_what_they_say() -> None:
    """The bar's drawn length is that of its last number at the scale that stands below it."""
    picture = drawn.read(site_plan(contents_of(places(("A", 0, 0), ("B", 20, 12)), [outcome("A"), outcome("B")])))
    told = [node.text or "" for node in drawn.texts(picture)]
    scale = float(next(text for text in told if text.startswith("1:")).split()[0].removeprefix("1:"))
    bars = list(drawn.layer(picture, "scale").iter(f"{drawn.SVG}rect"))
    numbers = [node.text or "" for node in drawn.texts(drawn.layer(picture, "scale"))]
    for four, unit, size in ((bars[:4], "ft", FOOT), (bars[4:], "m", 1.0)):
        length = sum(float(bar.attrib["width"]) for bar in four) / 72 * 0.0254 * scale
        number = next(text for text in numbers if re.fullmatch(rf"[0-9.]+ {unit}", text))
        assert length == pytest.approx(float(number.split()[0]) * size, rel=0.002)
    assert "N" in told


def test_without_coordinates_it_is_a_sketch_and_says_so() -> None:
    contents = contents_of(
        '[[tank]]\nid = "T1"\n[[location]]\nid = "A"\ncomponent = "T1"\n', [outcome("A"), outcome("B", amount="3")]
    )
    picture = drawn.read(site_plan(contents))
    told = [node.text or "" for node in drawn.texts(picture)]
    assert "SKETCH, NOT TO SCALE" in told and not any(text.startswith("1:") for text in told) and "N" not in told
    found = sketched(contents.site, spots(contents))
    tank = next(shape for shape in found.shapes if shape.id == "T1")
    (left, top), (right, bottom), (x, y) = tank.points[0], tank.points[2], found.places["A"]
    assert left < x < right and bottom < y < top


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[[tank]]\nid = "T"\nx = 3\n', "x and y of its middle go together"),
        ('[[piping]]\nid = "P"\nroute = [[1, 2]]\n', "line 7: key 'piping.1.route': must be two points [x, y] or more"),
        (
            '[[pit]]\nid = "P"\noutline = [[1, 2], [3, nan], [3, 4]]\n',
            "line 7: nan is no number",
        ),
        ('[[feature]]\nkind = "castle"\nway = [[1, 2], [3, 4]]\n', "key 'feature.1.kind'"),
        ('[[feature]]\nkind = "road"\nway = [[1, 2], [3, 4]]\ncolour = "red"\n', "key 'feature.1.colour' is unknown"),
    ],
)
def test_wrong_keys_are_refused_with_their_line(text: str, told: str) -> None:
    with pytest.raises(Exception, match=re.escape(told)):
        site(text)


def test_a_wrong_unit_is_refused() -> None:
    with pytest.raises(Exception, match=r"key 'site\.grid_unit'"):
        site("", 'grid_unit = "yards"\n')
