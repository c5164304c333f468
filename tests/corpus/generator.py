"""The corpus: one set of known results, written as several hundred deliverables in the manners laboratories have.

Deterministic: the same seed writes the same files. `cases(folder)` writes them and returns what each one says.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from pathlib import Path

from cells import NON_DETECT_STYLES, NUMBER_STYLES, Writer
from containers import BOOKS, CONTAINERS, Sheet
from facts import Case
from plan import Block, Plan
from shapes import Merges, Rows, analytes_down, long, one_sample, samples_down
from words import DIALECTS

SHAPES = (
    "long",
    "analytes down",
    "analytes down with flags",
    "analytes down with flags and limits",
    "samples down",
    "samples down with flags",
    "one sheet per sample",
    "two blocks on a sheet",
)
PER_SHAPE = 54
_FLAGGED = {
    "long",
    "analytes down with flags",
    "analytes down with flags and limits",
    "samples down with flags",
    "one sheet per sample",
}
_LIMITED = {"long", "analytes down", "analytes down with flags and limits", "one sheet per sample"}
_UNIT_PLACES = {
    "long": ("own column", "own column", "heading brackets", "title line", "legend"),
    "samples down": ("heading brackets", "units row", "title line", "legend"),
    "samples down with flags": ("heading brackets", "units row", "title line", "legend"),
    "one sheet per sample": ("own column", "heading brackets", "key line", "legend"),
    "two blocks on a sheet": ("section title", "heading brackets", "units row"),
}
_ANALYTES_DOWN = ("own column", "heading brackets", "units row", "title line", "legend")
_NOISE = (
    "title rows",
    "blank rows",
    "notes and legend",
    "levels",
    "statistics",
    "repeated header",
    "section titles",
    "sample details",
    "gaps",
    "cover sheet",
    "wrapped headings",
    "cas column",
    "basis column",
)


@dataclass(frozen=True)
class _Drawn:
    shape: str
    inner: str
    dialect: str
    container: str
    unit_place: str
    non_detect: str
    number: str
    noise: frozenset[str]


def _noise(rng: random.Random, number: int, shape: str, book: bool, unit_place: str) -> frozenset[str]:
    first = (*_NOISE, "none", "several")[number % (len(_NOISE) + 2)]
    if first == "several":
        chosen = set(rng.sample(_NOISE[:9], 5))
    else:
        chosen = {first, *rng.sample(_NOISE[:9], rng.choice((0, 0, 1, 2)))} if first != "none" else set()
    if shape == "long":
        chosen |= {one for one in ("cas column", "basis column") if rng.random() < 0.25}
    if unit_place == "title line":
        chosen.add("title rows")
    if unit_place == "legend":
        chosen.add("notes and legend")
    chosen -= set() if book else {"cover sheet", "wrapped headings"}
    chosen -= set() if shape == "long" else {"cas column", "basis column"}
    chosen -= {"statistics"} if shape in ("long", "one sheet per sample") else set()
    chosen -= {"repeated header"} if shape == "one sheet per sample" else set()
    return frozenset(chosen - {"none"})


def _draw(rng: random.Random, shape: str, number: int) -> _Drawn:
    inner = shape
    if shape == "two blocks on a sheet":
        inner = ("analytes down", "analytes down with flags", "samples down")[number % 3]
    dialect = tuple(DIALECTS)[number % len(DIALECTS)]
    figures = NUMBER_STYLES[(number // len(DIALECTS)) % len(NUMBER_STYLES)]
    if figures == "decimal comma":
        dialect = rng.choice(("Spanish", "Canadian laboratory"))
        container = rng.choice(("csv semicolon", "csv semicolon", "csv semicolon", "xlsx"))
    elif figures == "numbers as numbers":
        container = rng.choice(BOOKS)
    else:
        container = rng.choice(tuple(CONTAINERS))
    possible = [style for style in NON_DETECT_STYLES if style != "U in a flag column" or inner in _FLAGGED]
    possible = [style for style in possible if style != "ND with a limit column" or (inner in _LIMITED and shape == inner)]
    if dialect == "UK and Australian laboratory":
        possible = [style for style in possible if " U" not in style and not style.startswith("U")]
    places = _UNIT_PLACES.get(shape, _ANALYTES_DOWN)
    place = places[(number + number // 7) % len(places)]
    if shape == "two blocks on a sheet" and inner.startswith("analytes down") and place == "heading brackets":
        place = "own column"
    noise = _noise(rng, number + 4 * SHAPES.index(shape), inner, container in BOOKS, place)
    return _Drawn(shape, inner, dialect, container, place, rng.choice(possible), figures, noise)


def _plan(rng: random.Random, drawn: _Drawn) -> Plan:
    dialect = DIALECTS[drawn.dialect]
    book = drawn.container in BOOKS
    group = rng.choice(("", ".", " ")) if drawn.number == "decimal comma" else ""
    wide = drawn.inner == drawn.shape and drawn.inner in _LIMITED and "flags" not in drawn.inner and rng.random() < 0.4
    wide = wide or (drawn.non_detect == "ND with a limit column" and "flags" not in drawn.inner)
    limited = wide or "limits" in drawn.inner
    plan = Plan(
        rng=rng,
        dialect=dialect,
        spanish=drawn.dialect == "Spanish",
        shape=drawn.inner,
        unit_place=drawn.unit_place,
        noise=drawn.noise,
        writer=Writer(drawn.non_detect, drawn.number, group, rng.random() < 0.4),
        book=book,
        latin=drawn.container in ("csv cp1252", "txt with tabs"),
        real_dates=drawn.number == "numbers as numbers" and drawn.container.startswith("xlsx"),
        uniform=drawn.inner == "analytes down" and wide,
        one_row=drawn.container != "xlsx merged" and rng.random() < 0.5,
        shout=rng.random() < 0.2,
        well_only=drawn.inner.startswith("samples down") and rng.random() < 0.2,
        mixed_units=drawn.unit_place in ("own column", "heading brackets", "units row")
        and (
            drawn.inner.startswith("samples down") or (drawn.inner != "one sheet per sample" and drawn.unit_place == "own column")
        )
        and rng.random() < 0.25,
        wide_limit="shared" if wide else None,
        lower=False,
        matrix_row=rng.random() < 0.4,
        # a file of one sample in ug/kg has no figure that settles whether 1.900 is a thousand or a fraction
        decimals_needed=drawn.shape == "one sheet per sample" and drawn.number in ("thousands", "decimal comma"),
        dry_in_file=rng.random() < 0.4,
        estimates=drawn.dialect != "UK and Australian laboratory"
        and not (drawn.dialect == "Canadian laboratory" and rng.random() < 0.5),
    )
    if limited and plan.limit_field == "detection_limit":
        plan.estimates = False
    elif limited and not plan.uniform and drawn.non_detect != "ND with a limit column":
        plan.lower = rng.random() < 0.3
    return plan


def _body(block: Block) -> tuple[Rows, Merges]:
    shape = block.plan.shape
    if shape == "long":
        return long(block), []
    if shape.startswith("samples down"):
        return samples_down(block, shape.endswith("flags"))
    return analytes_down(block, "flags" in shape, "limits" in shape)


def _above(plan: Plan, medium: str) -> Rows:
    if "title rows" not in plan.noise:
        return []
    title = plan.title(medium)
    lines = [plan.once("owner", ("Former Service Station, 12 Alder Street", "Project 24-117", "Alder Street UST closure")), title]
    if plan.unit_place == "title line":
        if plan.once("title manner", (True, False)):
            lines[1] = f"{title} ({plan.unit(medium)[0]})"
        else:
            lines.append(plan.statement(medium))
    return [[line] for line in lines] + [[] for _ in range(plan.rng.choice((0, 1, 1)))]


def _below(plan: Plan, media: tuple[str, ...]) -> Rows:
    lines: list[str] = []
    if "notes and legend" in plan.noise:
        lines += plan.dialect.legend
        if plan.unit_place not in ("title line", "legend") and not plan.spanish:
            lines += ["mg/kg = milligrams per kilogram; ug/L = micrograms per liter"] * (plan.rng.random() < 0.5)
    if plan.unit_place == "legend":
        lines.insert(plan.rng.choice((0, len(lines))), plan.statement(media[0]))
    if _says_dry_below(plan, media):
        lines.append(plan.dialect.dry)
    return [[], *([line] for line in lines)] if lines else []


def _says_dry_below(plan: Plan, media: tuple[str, ...]) -> bool:
    return plan.dry_in_file and "soil" in media and plan.unit_place != "own column" and "basis column" not in plan.noise


def _blanks(plan: Plan, sheet: Sheet) -> Sheet:
    if "blank rows" not in plan.noise:
        return sheet
    rows = [*sheet.rows]
    at = len(rows) - plan.rng.choice((1, 2, 3))
    rows.insert(at, [])
    shift = int(plan.book and plan.rng.random() < 0.5)
    rows = [[], *([""] * shift + row if row else [] for row in rows), [], []]
    return Sheet(sheet.name, rows, [(row + 1 + (row >= at), column + shift, width) for row, column, width in sheet.merges])


def _tables(plan: Plan, drawn: _Drawn, media: tuple[str, ...]) -> list[Sheet]:
    if drawn.shape == "one sheet per sample":
        block = Block(plan, media[0])
        sheets = []
        for place in block.places:
            rows = _above(plan, media[0]) + one_sample(block, place) + _below(plan, media)
            sheets.append(_blanks(plan, Sheet(f"Sample {place + 1}", rows)))
        return sheets
    rows: Rows = [] if drawn.shape == "two blocks on a sheet" else _above(plan, media[0])
    merges: Merges = []
    for medium in media:
        if drawn.shape == "two blocks on a sheet":
            title = plan.title(medium)
            rows += [[]] if rows else []
            rows += [[f"{title} ({plan.unit(medium)[0]})" if drawn.unit_place == "section title" else title]]
        body, runs = _body(Block(plan, medium, (0, 1, 2, 3) if len(media) == 2 else (0, 1, 2, 3, 4, 5)))
        merges += [(row + len(rows), column, width) for row, column, width in runs]
        rows = rows + body
    return [_blanks(plan, Sheet(plan.once("sheet", ("Results", "Sheet1", "Data")), rows + _below(plan, media), merges))]


def case(folder: Path, shape: str, number: int, seed: int = 3) -> Case:
    """Write one deliverable into the folder."""
    rng = random.Random(f"{seed}-{shape}-{number}")
    drawn = _draw(rng, shape, number)
    plan = _plan(rng, drawn)
    media = ("soil", "groundwater") if shape == "two blocks on a sheet" else (rng.choice(("soil", "groundwater")),)
    sheets = _tables(plan, drawn, media)
    if "cover sheet" in plan.noise:
        cover = [
            ["Analytical report"],
            ["Client", "Alder Street Trust"],
            ["Report date", "2024-05-28"],
            ["Approved by the laboratory manager"],
        ]
        sheets.insert(0, Sheet("Cover", [list(row) for row in cover]))
    name = f"{shape.replace(' ', '_')}_{number:02d}"
    ending, write = CONTAINERS[drawn.container]
    groups = [sheets] if plan.book else [[sheet] for sheet in sheets]
    files = tuple(f"{name}{'' if len(groups) == 1 else f'_{count}'}{ending}" for count, _ in enumerate(groups, 1))
    for file, group in zip(files, groups, strict=True):
        write(group, folder / file)
    settings = list(plan.settings)
    if len(media) == 1 and not plan.matrix_row:
        settings.append(f"medium={media[0]}")
    stated_dry = "basis column" in plan.noise or plan.dry_in_file
    settings += ["basis=dry"] if "soil" in media and not stated_dry else []
    made = [("shape", shape), ("headings", drawn.dialect), ("unit", drawn.unit_place), ("container", drawn.container)]
    made += [("non-detect", drawn.non_detect), ("number", drawn.number), ("medium", " and ".join(media))]
    made += [("noise", one) for one in sorted(plan.noise)] or [("noise", "none")]
    return Case(name, files, tuple(settings), tuple(made), tuple(plan.truth))


def cases(folder: Path, every: int = 1) -> list[Case]:
    """Write the corpus, or every so many-th deliverable of each shape."""
    chosen = [
        (shape, number) for number in range(PER_SHAPE) for place, shape in enumerate(SHAPES) if (number + place) % every == 0
    ]
    return [case(folder, shape, number) for shape, number in chosen]
