"""The shapes of tables: each writes one block as rows, with the runs of cells a workbook would merge."""

from __future__ import annotations

from decimal import Decimal

from cells import Cell
from facts import ANALYTES, CAS
from plan import Block

Rows = list[list[Cell]]
Merges = list[tuple[int, int, int]]


def sections(block: Block) -> list[tuple[str, tuple[str, ...]]]:
    """The analyte groups, titled where the file has section titles."""
    if "section titles" not in block.plan.noise:
        return [("", ANALYTES)]
    return list(zip(block.plan.dialect.sections, (ANALYTES[:6], ANALYTES[6:7], ANALYTES[7:]), strict=True))


def _details(block: Block) -> list[str]:
    """The facts about a sample that the table carries beside its number."""
    plan = block.plan
    kinds = ["lab", "date"] if "sample details" in plan.noise else []
    if kinds and block.medium == "soil":
        kinds.append("depth")
    return [*kinds, "matrix"] if plan.matrix_row else kinds


def _detail(block: Block, kind: str, place: int) -> Cell:
    plan = block.plan
    match kind:
        case "lab":
            return f"24E{117 + (block.medium == 'soil')}-{place + 1:02d}"
        case "date":
            return plan.day()
        case "depth":
            return plan.dialect.depths[place]
    return plan.matrix(block.medium)


def long(block: Block) -> Rows:
    """One row a result."""
    plan, medium = block.plan, block.medium
    details = _details(block)
    flagged = plan.writer.non_detect in ("U in a flag column", "0.5 U", "< 0.5 U") or plan.dialect.legend[0].startswith("U")
    limited = plan.writer.non_detect == "ND with a limit column" or plan.wide_limit is not None
    cas = "cas column" in plan.noise
    unit = plan.unit_place == "own column"
    result = plan.heading("result")
    if plan.unit_place == "heading brackets":
        result += f" ({plan.unit(medium)[0]})"
    header: list[Cell] = [plan.sample_heading(medium), *(plan.heading(kind) for kind in details), plan.heading("analyte")]
    header += ["CAS"] * cas + [result] + [plan.heading("flag")] * flagged
    header += ([plan.heading("limit")] + [plan.heading("lower")] * plan.lower) * limited + [plan.heading("unit")] * unit
    header += [plan.manner(plan.dialect.basis[0])] * ("basis column" in plan.noise) + [plan.heading("level")] * (
        "levels" in plan.noise
    )
    rows: Rows = [header]
    for group, analytes in sections(block):
        if group:
            rows += [[group]] if len(rows) == 1 or "repeated header" not in plan.noise else [[group], list(header)]
        for place in block.places:
            for analyte in analytes:
                if (place, analyte) in block.gaps:
                    continue
                value, flag, limits = block.write(place, analyte, flagged, limited)
                row: list[Cell] = [block.sample(place), *(_detail(block, kind, place) for kind in details), plan.name(analyte)]
                row += [CAS[analyte]] * cas + [value] + [flag] * flagged + limits + [plan.unit(medium, analyte)[0]] * unit
                row += [plan.dialect.basis[1] if medium == "soil" else ""] * ("basis column" in plan.noise)
                row += [plan.level(medium, analyte)] * ("levels" in plan.noise)
                rows.append(row)
            if "repeated header" in plan.noise and not group and place in block.places[1:-1:2]:
                rows.append(list(header))
    return rows


def analytes_down(block: Block, flagged: bool, limited: bool) -> tuple[Rows, Merges]:
    """Analytes down and samples across, each sample one to four columns wide."""
    plan, medium, merges = block.plan, block.medium, []
    shared = plan.wide_limit is not None and not limited
    words = [plan.heading("result")] + [plan.heading("flag")] * flagged
    words += ([plan.heading("limit")] + [plan.heading("lower")] * plan.lower) * limited
    corner = plan.heading("analyte")
    bracket = f" ({plan.unit(medium)[0]})" if plan.unit_place == "heading brackets" else ""
    if len(words) == 1 or plan.one_row:
        corner += bracket
    elif bracket:
        words[0] += bracket
    lead: list[Cell] = [corner] + [plan.heading("unit")] * (plan.unit_place == "own column")
    first = len(lead)
    lead += [plan.heading("limit")] * shared
    early = "levels" in plan.noise and plan.once("level place", ("early", "late")) == "early"
    late = "levels" in plan.noise and not early
    lead += [plan.heading("level")] * early
    tail: list[Cell] = [plan.heading("level")] * late
    tail += [plan.manner(word) for word in plan.dialect.statistics] if "statistics" in plan.noise else []
    width = len(words)
    header: list[Cell] = list(lead)
    for place in block.places:
        names: list[Cell] = [block.sample(place)]
        if plan.one_row and width > 1:
            spelled = plan.once("pair heading", ("repeat", "bare"))
            names += [f"{block.sample(place)} {word}" if spelled == "repeat" else word for word in words[1:]]
        else:
            names += [""] * (width - 1)
            merges += [(0, len(header), width)] if width > 1 else []
        header += names
    header += tail
    rows: Rows = [header]
    if "sample details" in plan.noise or plan.matrix_row:
        header[0] = plan.sample_heading(medium) if plan.once("corner", (True, False)) and width == 1 and not bracket else corner
        for kind in _details(block):
            row: list[Cell] = [plan.heading(kind)] + [""] * (len(lead) - 1)
            for place in block.places:
                row += [_detail(block, kind, place)] + [""] * (width - 1)
            rows.append(row)
    if width > 1 and not plan.one_row:
        rows.append([""] * len(lead) + [word for _ in block.places for word in words])
    if plan.unit_place == "units row":
        unit = plan.unit(medium)[0]
        per = [unit] + ["" if word == plan.heading("flag") else unit for word in words[1:]]
        beside: list[Cell] = [unit if number >= first else "" for number in range(1, len(lead))]
        rows.append([plan.heading("unit"), *beside, *(per * len(block.places))])
    top = [list(row) for row in rows]
    groups = sections(block)
    if "repeated header" in plan.noise and len(groups) == 1:
        groups = [("", ANALYTES[:4]), ("", ANALYTES[4:])]
    for count, (group, analytes) in enumerate(groups):
        if count and "repeated header" in plan.noise:
            rows += [list(row) for row in top]
        rows += [[group]] if group else []
        for analyte in analytes:
            rows.append(_across(block, analyte, flagged, limited, shared, early, late))
    return rows, merges


def _across(block: Block, analyte: str, flagged: bool, limited: bool, shared: bool, early: bool, late: bool) -> list[Cell]:
    plan, medium = block.plan, block.medium
    unit, times = plan.unit(medium, analyte)
    row: list[Cell] = [plan.name(analyte)] + [unit] * (plan.unit_place == "own column")
    if shared:
        row.append(plan.writer.number_cell(block.readings[block.places[0], analyte].reporting * times))
    row += [plan.level(medium, analyte)] * early
    found: list[Decimal] = []
    for place in block.places:
        value, flag, limits = block.write(place, analyte, flagged, limited or shared)
        row += [value] + [flag] * flagged + (limits if limited else [])
        number = block.readings[place, analyte].value
        found += [number] if number is not None and (place, analyte) not in block.gaps else []
    row += [plan.level(medium, analyte)] * late
    if "statistics" in plan.noise:
        count = Decimal(len(found)) if plan.writer.number == "numbers as numbers" else str(len(found))
        row += [plan.writer.number_cell(max(found) * times) if found else "ND", count]
    return row


def samples_down(block: Block, flagged: bool) -> tuple[Rows, Merges]:
    """Samples down and analytes across, with or without a flag column beside each."""
    plan, medium, merges = block.plan, block.medium, []
    details = _details(block)
    lead: list[Cell] = [plan.sample_heading(medium), *(plan.heading(kind) for kind in details)]
    above: list[Cell] = [""] * len(lead)
    for group, analytes in sections(block):
        width = len(analytes) * (1 + flagged)
        merges += [(0, len(above), width)] if group else []
        above += [group] + [""] * (width - 1)
    header: list[Cell] = list(lead)
    units: list[Cell] = [plan.heading("unit")] + [""] * (len(lead) - 1)
    paired = plan.once("pair heading", ("repeat", "bare"))
    for analyte in ANALYTES:
        unit = plan.unit(medium, analyte)[0]
        name = plan.name(analyte) + (f" ({unit})" if plan.unit_place == "heading brackets" else "")
        header += [name] + [
            f"{plan.name(analyte)} {plan.heading('flag')}" if paired == "repeat" else plan.heading("flag")
        ] * flagged
        units += [unit] + [""] * flagged
    titled = any(group for group, _ in sections(block))
    rows: Rows = ([above] if titled else []) + [header] + ([units] if plan.unit_place == "units row" else [])
    level: list[Cell] = [plan.heading("level"), *([""] * len(details))]
    for analyte in ANALYTES:
        level += [plan.level(medium, analyte)] + [""] * flagged
    early = plan.once("level place", ("early", "late")) == "early"
    rows += [level] if "levels" in plan.noise and early else []
    for count, place in enumerate(block.places):
        if count == 3 and "repeated header" in plan.noise:
            rows.append(list(header))
        row: list[Cell] = [block.sample(place), *(_detail(block, kind, place) for kind in details)]
        for analyte in ANALYTES:
            value, flag, _ = block.write(place, analyte, flagged, False)
            row += [value] + [flag] * flagged
        rows.append(row)
    rows += [level] if "levels" in plan.noise and not early else []
    return rows + _statistics(block, len(details), flagged), merges if titled else []


def _statistics(block: Block, details: int, flagged: bool) -> Rows:
    plan = block.plan
    if "statistics" not in plan.noise:
        return []
    highest: list[Cell] = [plan.manner(plan.dialect.statistics[0]), *([""] * details)]
    counts: list[Cell] = [plan.manner(plan.dialect.statistics[1]), *([""] * details)]
    for analyte in ANALYTES:
        numbers = (block.readings[place, analyte].value for place in block.places if (place, analyte) not in block.gaps)
        found = [number for number in numbers if number is not None]
        times = plan.unit(block.medium, analyte)[1]
        highest += [plan.writer.number_cell(max(found) * times) if found else "ND"] + [""] * flagged
        counts += [Decimal(len(found)) if plan.writer.number == "numbers as numbers" else str(len(found))] + [""] * flagged
    return [highest, counts]


def one_sample(block: Block, place: int) -> Rows:
    """A key: value block about one sample, and its table below."""
    plan, medium = block.plan, block.medium
    facts: Rows = [[plan.heading("sample"), block.sample(place)]]
    facts += [[plan.heading(kind), _detail(block, kind, place)] for kind in _details(block)]
    if plan.unit_place == "key line":
        facts.append([plan.heading("unit"), plan.unit(medium)[0]])
    joined = plan.once("key manner", ("bare", "colon", "one cell"))
    if joined != "bare":
        facts = [[f"{key}:", value] for key, value in facts]
    if joined == "one cell":
        facts = [[f"{key} {value}"] for key, value in facts]
    flagged = plan.writer.non_detect in ("U in a flag column", "0.5 U", "< 0.5 U")
    limited = plan.writer.non_detect == "ND with a limit column" or plan.wide_limit is not None
    unit = plan.unit_place == "own column"
    bracket = f" ({plan.unit(medium)[0]})" if plan.unit_place == "heading brackets" else ""
    header: list[Cell] = [plan.heading("analyte"), plan.heading("result") + bracket] + [plan.heading("flag")] * flagged
    header += ([plan.heading("limit")] + [plan.heading("lower")] * plan.lower) * limited + [plan.heading("unit")] * unit
    header += [plan.heading("level")] * ("levels" in plan.noise)
    rows: Rows = [*facts, [], header]
    for group, analytes in sections(block):
        rows += [[group]] if group else []
        for analyte in analytes:
            value, flag, limits = block.write(place, analyte, flagged, limited)
            row: list[Cell] = [plan.name(analyte), value] + [flag] * flagged + limits + [plan.unit(medium, analyte)[0]] * unit
            rows.append(row + [plan.level(medium, analyte)] * ("levels" in plan.noise))
    return rows
