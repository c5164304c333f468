"""Lists of what stands behind and beside the outcomes: quality, coverage, deadlines, papers, levels, sources, settings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from screening.decision.words import cut, depth_text
from screening.outputs.lists import LONG, NUMBER, TEXT, Amount, Column, Listing, Value, amount, analyte_text, words
from screening.outputs.tables import decimal_of
from screening.outputs.texts import natural, source_text

if TYPE_CHECKING:
    from screening.decision.contents import Contents

APPLIES = {True: "yes", False: "no", None: "open"}
_CITED = (Column("Citation", LONG, 30), Column("How it was read", TEXT, 14, False))


def _cited(one: Mapping[str, Any]) -> tuple[str, str]:
    return one["citation"], one["transcription"]


def quality(contents: Contents) -> Listing:
    """Every finding of the quality review, the worst first."""
    columns = (
        Column("What it does", TEXT, 15), Column("Check", TEXT, 18), Column("Sample", TEXT, 13), Column("Analyte", TEXT, 25),
        Column("Criterion", LONG, 36), Column("Observed", LONG, 32), Column("Action", LONG, 28), *_CITED, Column("Source", LONG, 40, False),
    )  # fmt: skip
    rows = tuple(
        (
            words(one["state"]), words(one["check"]), one["sample_id"], one["analyte"], one["criterion"], one["observed"], one["action"],
            *_cited(one), "; ".join(source_text(source) for source in one["sources"]),
        )
        for one in contents.review["findings"]
    )  # fmt: skip
    return Listing("Quality", f"Quality review: {len(rows)} findings", (contents.review["summary"],), columns, rows)


def checks(contents: Contents) -> Listing:
    """What the review looked at, and what it could not check for want of data."""
    rows = [(words(one["check"]), "checked", one["text"]) for one in contents.review["checked"]]
    rows += [(words(one["check"]), "not checkable", one["text"]) for one in contents.review["not_checkable"]]
    columns = (
        Column("Check", TEXT, 22),
        Column("State", TEXT, 14),
        Column("What was looked at, or why it could not be", LONG, 90),
    )
    return Listing("Quality checks", "Quality review: what was checked and what could not be", (), columns, tuple(rows))


def coverage(contents: Contents) -> Listing:
    """Samples required, taken and missing; then analytes missing, those of one sample and product together."""
    found = contents.answer.get("coverage")
    columns = (
        Column("Component", TEXT, 12), Column("What", TEXT, 26), Column("Required", NUMBER, 9), Column("Taken", NUMBER, 8),
        Column("Missing", NUMBER, 9), Column("Standing", TEXT, 16), Column("Samples", LONG, 22), Column("Rule", LONG, 44), *_CITED,
    )  # fmt: skip
    if found is None:
        return Listing("Coverage", "Coverage: this run was made before rules of sampling were read", (), columns, ())
    rows: list[tuple[Value, ...]] = []
    for one in found["requirements"]:
        known = one["required"] is not None
        rows.append(
            (
                one["component"], one["what"], one["required"] if known else "unknown", one["taken"],
                one["missing"] if known else "unknown", _standing(one), ", ".join(one["samples"]),
                "; ".join(part for part in (one["rule"], one["note"], *one["faults"]) if part), *_cited(one),
            )
        )  # fmt: skip
    missing: dict[tuple[str, ...], list[str]] = {}
    for one in found["analytes_missing"]:
        key = (one["component"], one["sample"], one["medium"], one["product"], one["because"], _standing(one), *_cited(one))
        missing.setdefault(key, []).append(one["analyte"])
    for (component, sample, medium, product, because, standing, *cited), analytes in missing.items():
        what = f"analytes in {words(medium)} ({words(product)})"
        rows.append((component, what, "", "", len(analytes), standing, sample, f"{', '.join(analytes)}: {because}", *cited))
    complete = "complete by the rules taken" if found["complete"] else "not complete"
    notes = (*(gap["text"] for gap in found["gaps"]), *found["assumptions"], *found["notes"])
    return Listing("Coverage", f"Coverage: {complete}", notes, columns, tuple(rows))


def _standing(one: Mapping[str, Any]) -> str:
    if one["waived"]:
        return f"waived: {one['waived']}"
    return "asked for" if one["decides"] else "offered, not asked"


def deadlines(contents: Contents) -> Listing:
    """Every clock with its start and rule, those that do not apply last."""
    found = contents.deadlines
    columns = (
        Column("Due", TEXT, 12), Column("Status", TEXT, 11), Column("Applies", TEXT, 9), Column("What", LONG, 36), Column("To", TEXT, 18),
        Column("Counted from", LONG, 26), *_CITED, Column("Note", LONG, 46, False),
    )  # fmt: skip
    rows = tuple(
        (
            one["due"] or "no date", words(one["status"]) if one["applies"] is not False else f"does not apply ({words(one['status'])})",
            APPLIES[one["applies"]], one["what"], one["to"], f"{one['span']} {one['counted_from']}".strip(), *_cited(one),
            "; ".join(part for part in (one["because"] if one["because"] != "always" else "", one["note"]) if part),
        )
        for one in found["deadlines"]
    )  # fmt: skip
    return Listing("Deadlines", f"Deadlines, seen from {found['today']}", tuple(found["notes"]), columns, rows)


def papers(contents: Contents) -> Listing:
    """What the closure report must hold, held or missing; then checks and quantities."""
    found = contents.papers
    columns = (
        Column("Standing", TEXT, 11),
        Column("Document", TEXT, 22),
        Column("Item", LONG, 44),
        Column("Papers", LONG, 34),
        *_CITED,
    )
    rows: list[tuple[Value, ...]] = [
        (
            "held" if one["held"] else "missing" if one["applies"] else "open", one["document"], one["item"], "; ".join(one["papers"]),
            *_cited(one),
        )
        for one in found["papers"]
        if one["applies"] is not False
    ]  # fmt: skip
    passes = {True: "yes", False: "NO", None: "not shown"}
    rows += [(passes[one["passes"]], "check", one["text"], "", "", "") for one in found["checks"]]
    rows += [(words(one["status"]), "quantities", one["text"], "", "", "") for one in found["balances"]]
    complete = "every paper asked for is held" if found["complete"] else f"{len(found['missing'])} missing"
    return Listing("Papers", f"Papers of the closure report: {complete}", tuple(found["notes"]), columns, tuple(rows))


def levels(contents: Contents) -> Listing:
    """Every row of law that was used or lay beside the one used, with its citation."""
    used = {(level["table"], level["version"]): level for level in contents.answer["levels"]}
    columns = (
        Column("Level table", TEXT, 17), Column("Version in force from", TEXT, 12), Column("to", TEXT, 11), Column("Medium", TEXT, 12),
        Column("Analyte", TEXT, 25), Column("CAS number", TEXT, 12), Column("Level as printed", NUMBER, 12), Column("Unit", TEXT, 8),
        Column("Level in the unit of the results", NUMBER, 13), Column("Unit of the results", TEXT, 8), Column("Exceeded when", TEXT, 12),
        Column("Conditions", LONG, 26), Column("Decided", TEXT, 14), Column("Results", NUMBER, 9), *_CITED,
    )  # fmt: skip
    found: dict[tuple[Any, ...], list[Any]] = {}
    for item in contents.answer["outcomes"]:
        if item["level"] is None:
            continue
        where = (item["table"], item["version"], item["medium"], item["analyte"], item["cas"])
        own = (*where, item["level"], item["level_unit"], _conditions(item["conditions"]))
        entry = found.setdefault(
            own, [0, item["level_normal"], item["unit"], item["comparison"], item["citation"], item["transcription"]]
        )
        entry[0] += 1
        for beside in item["beside"]:
            if not beside["governs"]:
                key = (*where, beside["level"], beside["level_unit"], _conditions(beside["conditions"]))
                found.setdefault(key, [0, None, "", beside["comparison"], item["citation"], item["transcription"]])
    rows = tuple(
        (
            key[0], key[1], used.get(key[:2], {}).get("until") or "", words(key[2]), key[3], key[4], _printed(key[5]), key[6] or "",
            amount(entry[1]), entry[2] if entry[1] else "", words(entry[3]), key[7], "used" if entry[0] else "lay beside it", entry[0],
            *entry[4:],
        )
        for key, entry in sorted(found.items(), key=lambda pair: (pair[0][:3], natural(pair[0][3]), not pair[1][0], pair[0][5:]))
    )  # fmt: skip
    notes = tuple(
        f"{level['table']}, version {level['version']}: {level['title']}; {level['citation']}" for level in used.values()
    )
    return Listing("Levels", f"Levels used: {sum(bool(row[13]) for row in rows)} rows of law", notes, columns, rows)


def levels_used(contents: Contents) -> Listing:
    """The rows of law that decided, without those that lay beside them."""
    every = levels(contents)
    return replace(every, rows=tuple(row for row in every.rows if row[13]))


def _conditions(conditions: Mapping[str, str]) -> str:
    return ", ".join(f"{words(key)} {value}" for key, value in conditions.items())


def _printed(text: str) -> Amount:
    bare = text.replace(",", "")
    number = decimal_of(bare)
    return Amount(bare if number is not None else text, number)


def sources(contents: Contents) -> Listing:
    """Every number of the deliverables with the cell it came from, as received and in the normal unit."""
    columns = (
        Column("Sample", TEXT, 15), Column("Laboratory sample", TEXT, 15, False), Column("Kind", TEXT, 18, False), Column("Location", TEXT, 12),
        Column("Depth", TEXT, 8), Column("Medium", TEXT, 12, False), Column("Analyte", TEXT, 25), Column("CAS number", TEXT, 12, False), Column("Result", NUMBER, 11),
        Column("Unit", TEXT, 8), Column("Basis", TEXT, 11, False), Column("Lab flag", TEXT, 7, False), Column("Review", TEXT, 14, False), Column("Dilution", NUMBER, 8, False),
        Column("Method", TEXT, 18, False), Column("Chosen", TEXT, 16), Column("As received", TEXT, 14), Column("File", TEXT, 26), Column("Sheet", TEXT, 12),
        Column("Row", NUMBER, 7), Column("Column", TEXT, 8), Column("Deliverable", TEXT, 13, False),
    )  # fmt: skip
    rows = tuple(
        (
            one["sample_id"], one["lab_sample_id"], words(one["sample_kind"]), one["location"], depth_text(one), words(one["medium"]), analyte_text(one),
            one["cas"], _reported(one), one["unit"], words(one["basis"]), one["lab_qualifiers"], words(one["review_qualifiers"]),
            amount(one["dilution"]), one["method"], "chosen" if one["chosen"] else one["because"] or "quality control", one["source"]["text"],
            one["source"]["file"], one["source"]["sheet"], one["source"]["row"], one["source"]["column"], one["source"]["deliverable"],
        )
        for one in contents.results
    )  # fmt: skip
    notes = (
        "Results in the normal unit (mg/kg for solids, ug/L for waters) with the digits as reported; recoveries in percent.",
    )
    return Listing("Sources", f"Sources: {len(rows)} numbers of {len(contents.deliverables)} deliverables", notes, columns, rows)


def _reported(one: Mapping[str, Any]) -> Amount | None:
    if one["recovery"]:
        return amount(one["recovery"])
    if one["detected"]:
        return amount(one["value"]) or Amount("detected", None)
    return Amount(f"<{cut(one['limit'], None)}" if one["limit"] else "not detected, no limit", None)


def files_read(contents: Contents) -> Listing:
    """The deliverables with the account of their rows and their fingerprints."""
    columns = (
        Column("Deliverable", TEXT, 13), Column("File", TEXT, 28), Column("Received", TEXT, 11), Column("Layout", TEXT, 18), Column("Rows read", NUMBER, 9),
        Column("Results", NUMBER, 9), Column("Quality control", NUMBER, 9), Column("Held back", NUMBER, 9), Column("Ignored", NUMBER, 9),
        Column("Fingerprint (SHA-256)", LONG, 66, False), Column("What was assumed", LONG, 60, False),
    )  # fmt: skip
    rows = tuple(
        (
            one["id"], one["file"], one["received"], one["layout"], one["rows_read"], one["results"], one["quality_control"],
            one["held_back"], one["ignored"], one["sha256"], "; ".join(one["assumptions"]),
        )
        for one in contents.deliverables
    )  # fmt: skip
    return Listing("Files", f"Deliverables read: {len(rows)}", (), columns, rows)


def settings(contents: Contents) -> Listing:
    """What the run answers to: tables, conditions, settings, warnings and assumptions."""
    answer = contents.answer
    rows = [("run", answer["run"]), ("data state", answer["data"]), ("site", f"{answer['site']}: {answer['site_name']}")]
    rows += [("levels", f"{one['table']}, version {one['version']}; {one['citation']}") for one in answer["levels"]]
    rows += [("condition", f"{words(key)}: {value}") for key, value in answer["conditions"].items()]
    rows += [("setting", f"{words(key)}: {words(value)}") for key, value in answer["settings"].items()]
    edition = contents.review["edition"]
    rows += (
        [("review edition", f"{edition['title']}, version {edition['version']}; {edition['citation']}")]
        if edition.get("title")
        else []
    )
    rows += [("warning", text) for text in answer["warnings"]]
    rows += [("assumption", text) for text in answer["assumptions"]]
    columns = (Column("Kind", TEXT, 16), Column("What", LONG, 110))
    return Listing("Settings", "Settings, warnings and assumptions", (), columns, tuple(rows))


def evidence_lists(contents: Contents) -> Sequence[Listing]:
    """The lists behind the outcomes in the order in which they are read."""
    return [make(contents) for make in (quality, checks, coverage, deadlines, papers, levels, files_read, settings, sources)]
