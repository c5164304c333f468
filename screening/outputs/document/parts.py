"""Parts of the closure assessment that no other output has: components, methods in words, appendices, the plan for print."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screening.outputs.lists import LONG, NUMBER, TEXT, Amount, Column, Listing, Value, words
from screening.outputs.tables import MEDIA
from screening.outputs.texts import natural
from screening.screen.duplicates import DUPLICATE_RULES

if TYPE_CHECKING:
    from decimal import Decimal

    from screening.decision.contents import Contents


def components(contents: Contents) -> Listing:
    """Tanks, piping and dispensers of the site file."""
    site = contents.site
    columns = (
        Column("Component", TEXT, 11), Column("Kind", TEXT, 11), Column("Capacity, gal", NUMBER, 10), Column("Length, ft", NUMBER, 9),
        Column("Product", TEXT, 22), Column("Closure", TEXT, 12), Column("Sampled at", LONG, 40),
    )  # fmt: skip
    places: dict[str, list[str]] = {}
    for place in site.location:
        places.setdefault(place.component, []).append(place.id)
    rows: list[tuple[Value, ...]] = [
        (
            tank.id, "tank", _amount(tank.capacity_gal), _amount(tank.length_ft),
            words(tank.product) + (f" (before: {', '.join(map(words, tank.previous_products))})" if tank.previous_products else ""),
            words(tank.closure), ", ".join(places.get(tank.id, ())),
        )
        for tank in site.tank
    ]  # fmt: skip
    rows += [
        (
            run.id,
            "piping",
            None,
            _amount(run.length_ft),
            words(run.product),
            words(run.closure),
            ", ".join(places.get(run.id, ())),
        )
        for run in site.piping
    ]
    rows += [
        (one.id, "dispenser", None, None, words(one.product), "", ", ".join(places.get(one.id, ()))) for one in site.dispenser
    ]
    others = [name for name in places if name not in {row[0] for row in rows}]
    rows += [(name or "not stated", "", None, None, "", "", ", ".join(places[name])) for name in others]
    return Listing("Components", "Tanks, piping, dispensers and their places of sampling", (), columns, tuple(rows))


def _amount(number: Decimal | None) -> Amount | None:
    return None if number is None else Amount(f"{number:f}", number)


def methods(contents: Contents) -> list[str]:
    """How samples were analysed, which results count, and how they were compared, a sentence each."""
    said = []
    chosen = [one for one in contents.results if one["class"] == "result" and one["chosen"]]
    for medium in (*MEDIA, *sorted({one["medium"] for one in chosen} - set(MEDIA))):
        of_medium = [one for one in chosen if one["medium"] == medium]
        if of_medium:
            samples = len({(one["sample_id"], one["sample_kind"]) for one in of_medium})
            named = (
                ", ".join(sorted({one["method"] for one in of_medium if one["method"]}, key=natural))
                or "methods that are not stated"
            )
            duplicates = len({one["sample_id"] for one in of_medium if one["sample_kind"] == "field_duplicate"})
            said.append(
                f"{words(medium).capitalize()}: {samples} samples{f', {duplicates} of them field duplicates,' if duplicates else ''} "
                f"were analysed by {named}."
            )
    answer = contents.answer
    for one in answer["levels"]:
        sign = {"above": "exceeds it when it lies above it", "at_or_above": "exceeds it when it equals it or lies above it"}
        said.append(
            f"Results were held against {one['title']} ({one['table']}, version {one['version']}, {one['citation']}); "
            f"a result {sign.get(one['comparison'], 'is compared as the table says')}."
        )
    if not answer["levels"]:
        said.append("Results were held against no level.")
    said.append("A non-detect is compared by its limit. Where that lies above the level, the comparison is open and not clean.")
    rule = DUPLICATE_RULES[answer["settings"].get("duplicate_rule", "higher")]
    said.append(f"Of a sample and its field duplicate {rule}.")
    closure = answer["recommendation"].get("closure_methods", {})
    said += [f"{tank}: {method}." for tank, method in closure.items() if method != "removed"]
    return said


def appendices(contents: Contents) -> list[str]:
    """What belongs behind the section: what is here, and the papers that are held or missing."""
    said = [f"Laboratory deliverable {one['file']} (SHA-256 {one['sha256'][:16]}...)" for one in contents.deliverables]
    said += [
        "Workbook of results, levels, findings and sources (workbook.xlsx)",
        "Sampling plan (plan.svg, plan.png)",
        "Data files (folder data)",
    ]
    wanted = [one for one in contents.papers["papers"] if one["applies"] is not False]
    said += [f"{one['item'][:1].upper()}{one['item'][1:]}: {'; '.join(one['papers']) or 'held'}" for one in wanted if one["held"]]
    for told, applies in (("MISSING", True), ("To be decided", None)):
        lacking = [one["item"] for one in wanted if not one["held"] and one["applies"] is applies]
        said += [f"{told}: {'; '.join(dict.fromkeys(lacking))}"] if lacking else []
    return list(dict.fromkeys(said))
