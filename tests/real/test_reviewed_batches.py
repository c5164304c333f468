"""Two laboratory files with all their quality control, reviewed, and every finding derived again straight from the csv.

The oracle shares no code with the tool: csv, datetime and Decimal only. Its figures are those of the shipped edition,
typed in by hand: PAH in solids 14 d to extraction and 40 d on, metals 180 d, mercury in solids 28 d; floors of 10 %
(organics) and 30 % (metals) and 75 to 125 % for spikes of metals; relative difference of duplicates 30 %, two limits
below; blanks times 5; solids 30 and 10 %.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

Lines = dict[int, dict[str, str]]
Found = set[tuple[str, int, str]]
"""(check, line of the file, qualifier)"""

HARBOR = "o05_harbor_sediment_long_recast"
WATERS = "o08_lab_batch_long_recast"


@pytest.fixture(scope="module")
def harbor(reference: Path, lines: Callable[[Path], Lines]) -> Lines:
    return {
        number: {name: cell.strip() for name, cell in line.items()}
        for number, line in lines(reference / "real" / HARBOR / "harbor_sediment_metals_pah_long.csv").items()
    }


@pytest.fixture(scope="module")
def waters(reference: Path, lines: Callable[[Path], Lines]) -> Lines:
    return lines(reference / "real" / WATERS / "batch_2018_waters.csv")


@pytest.fixture(scope="module")
def reviewed(desk: Any, reference: Path, layout: Callable[[str], Path]) -> Callable[[str], dict[str, Any]]:
    made: dict[str, dict[str, Any]] = {}

    def one(folder: str, layout_name: str) -> dict[str, Any]:
        if folder not in made:
            desk.plain_site(layout_name, place="us-me", levels="us/drinking-water")
            (file,) = (reference / "real" / folder).glob("*.csv")
            assert desk.run("import", file, "--site", layout_name, "--layout", layout(layout_name)).status == 0
            made[folder] = desk.run("review", "--site", layout_name).document
        return made[folder]

    return lambda folder: one(folder, "harbor_sediment" if folder == HARBOR else "waters_batch")


def told(document: dict[str, Any]) -> Found:
    """Every mark of the tool, by the line it stands on."""
    return {(item["check"], source["row"], item["qualifier"]) for item in document["findings"] for source in item["sources"]}


def moment(day: str, clock: str) -> dt.datetime | None:
    return dt.datetime.strptime(f"{day} {clock}", "%m/%d/%Y %H:%M") if day else None


def is_result(line: dict[str, str]) -> bool:
    return line["Row role"] == "target" and not line["QC"] and line["Field sample"] != "QC"


def is_metal(line: dict[str, str]) -> bool:
    return line["Method"] in ("SW6020A", "7474")


def detected(line: dict[str, str]) -> bool:
    return bool(line["Found"]) and line["Flag"] != "U"


def chosen(rows: Lines) -> Lines:
    """Of each sample and analyte the run in range, then the least diluted."""
    best: dict[tuple[str, str], int] = {}
    for number, line in rows.items():
        key = (line["Field sample"], line["Analyte"])
        rank = (line["Flag"] == "E", Decimal(line["Dilution"]), number)
        if key not in best or rank < (rows[best[key]]["Flag"] == "E", Decimal(rows[best[key]]["Dilution"]), best[key]):
            best[key] = number
    return {number: rows[number] for number in best.values()}


def late_lines(results: Lines) -> Iterator[tuple[str, int, str]]:
    for number, line in results.items():
        if line["Method"] == "2540G":
            continue  # percent solids have no holding time in the edition
        taken, begun, run = (
            moment(line["Collected"], line["Time"]), moment(line["Prepared"], line["Prepared at"]), moment(line["Analysed"], line["Analysed at"]),
        )  # fmt: skip
        assert taken and run
        if is_metal(line):
            spans = [(run - taken, 28 if line["Method"] == "7474" else 180)]
        else:
            assert begun
            spans = [(begun - taken, 14), (run - begun, 40)]
        late = any(span > dt.timedelta(days=days) for span, days in spans)
        gross = any(span > dt.timedelta(days=2 * days) for span, days in spans)
        if late:
            yield "holding_time", number, "biased_low" if detected(line) else "rejected" if gross else "estimated"


def spike_lines(rows: Lines, results: Lines) -> Iterator[tuple[str, int, str]]:
    for line in rows.values():
        if line["Row role"] != "spiked compound" or line["QC"] not in ("matrix spike", "matrix spike duplicate"):
            continue
        percent, metal = Decimal(line["Recovery %"]), is_metal(line)
        state = (
            "floor"
            if percent < (30 if metal else 10)
            else "low"
            if metal and percent < 75
            else "high"
            if metal and percent > 125
            else ""
        )
        same = {n: one for n, one in results.items() if one["Analyte"] == line["Analyte"] and one["Method"] == line["Method"]}
        parents = {n: one for n, one in same.items() if one["Field sample"] == line["Field sample"]}
        unsure = any(detected(one) for one in parents.values())  # no amount added is delivered
        reached = {n: one for n, one in same.items() if one["Batch"] == line["Batch"]} if metal else parents
        for number, one in reached.items():
            if state in ("floor", "low"):
                empty = "rejected" if state == "floor" and not unsure else "estimated"
                yield "matrix_spike", number, "biased_low" if detected(one) else empty
            elif state == "high" and detected(one):
                yield "matrix_spike", number, "biased_high"


def pair_lines(rows: Lines, results: Lines) -> Iterator[tuple[str, int, str]]:
    kinds = {
        "matrix_spike_duplicate": ("matrix spike", "matrix spike duplicate"),
        "lab_control_duplicate": ("laboratory control sample", "laboratory control sample duplicate"),
    }
    for check, (first, second) in kinds.items():
        spiked = [line for line in rows.values() if line["Row role"] == "spiked compound"]
        for line in spiked:
            if line["QC"] != second:
                continue
            key = ("Analyte", "Batch", "Method", "Dilution", "Field sample")
            partners = [one for one in spiked if one["QC"] == first and all(one[name] == line[name] for name in key)]
            if len(partners) != 1:
                continue
            a, b = Decimal(partners[0]["Recovery %"]), Decimal(line["Recovery %"])
            if a + b and abs(a - b) * 200 > 30 * (a + b):
                for number, one in results.items():
                    same = one["Analyte"] == line["Analyte"] and one["Method"] == line["Method"]
                    near = (
                        one["Field sample"] == line["Field sample"]
                        if check.startswith("matrix")
                        else one["Batch"] == line["Batch"]
                    )
                    if same and near:
                        yield check, number, "estimated"


def duplicate_lines(rows: Lines, picked: Lines) -> Iterator[tuple[str, int, str]]:
    again = {n: line for n, line in rows.items() if line["QC"] == "laboratory duplicate" and line["Row role"] == "target"}
    for line in chosen(again).values():
        for number, parent in picked.items():
            if (parent["Field sample"], parent["Analyte"]) != (line["Field sample"], line["Analyte"]):
                continue
            sides = [(Decimal(one["Found"] or one["RL"]), Decimal(one["RL"]), detected(one)) for one in (parent, line)]
            (a, a_limit, a_found), (b, b_limit, b_found) = sides
            if not a_found and not b_found:
                continue
            if a_found and b_found and a > 5 * a_limit and b > 5 * b_limit:
                apart = abs(a - b) * 200 > 30 * (a + b)
            else:
                apart = abs(a - b) > 2 * max(a_limit, b_limit)
            if apart:
                yield "lab_duplicate", number, "estimated"


def test_harbor_sediment_every_mark_is_derived_again(harbor: Lines, reviewed: Callable[[str], dict[str, Any]]) -> None:
    results = {n: line for n, line in harbor.items() if is_result(line)}
    picked = chosen(results)
    wanted = {*late_lines(results), *spike_lines(harbor, results), *pair_lines(harbor, results), *duplicate_lines(harbor, picked)}
    for number, line in picked.items():
        if detected(line) and line["Method"] != "2540G" and Decimal(line["Found"]) < Decimal(line["RL"]):
            wanted.add(("limits", number, "estimated"))
    solids = {line["Field sample"]: Decimal(line["Found"]) for line in results.values() if line["Method"] == "2540G"}
    for number, line in results.items():
        if line["Method"] != "2540G" and solids[line["Field sample"]] < 30:
            worst = solids[line["Field sample"]] < 10 and not detected(line)
            wanted.add(("percent_solids", number, "rejected" if worst else "estimated"))
    for blank in (
        line for line in harbor.values() if line["QC"] == "laboratory blank" and line["Row role"] == "target" and detected(line)
    ):
        for line in results.values():
            if (line["Batch"], line["Analyte"]) == (blank["Batch"], blank["Analyte"]) and detected(line):
                assert Decimal(line["Found"]) > 5 * Decimal(blank["Found"]), "no blank of this file comes near a result"
    assert told(reviewed(HARBOR)) == wanted
    assert {check for check, _, _ in wanted} == {
        "holding_time",
        "matrix_spike",
        "matrix_spike_duplicate",
        "lab_duplicate",
        "limits",
    }


def test_harbor_sediment_counts_are_those_of_the_source(
    harbor: Lines, reviewed: Callable[[str], dict[str, Any]], reference: Path
) -> None:
    expected = json.loads((reference / "real" / HARBOR / "expected.json").read_text(encoding="utf-8"))
    document = reviewed(HARBOR)
    checked = {item["check"]: item["text"] for item in document["checked"]}
    assert document["counts"]["results"] == expected["summary"]["sample_analyte_pairs"]
    assert checked["surrogate"].startswith(f"{expected['summary']['surrogate_rows']} recoveries")
    targets = [line for line in harbor.values() if line["Row role"] == "target" and line["QC"] == "laboratory blank"]
    assert checked["method_blank"].startswith(f"{len(targets)} values")
    spikes = sum(line["Row role"] == "spiked compound" and line["QC"].startswith("matrix spike") for line in harbor.values())
    assert checked["matrix_spike"].startswith(f"{spikes} recoveries")
    assert not [item for item in document["findings"] if item["check"] == "over_range"], (
        "a diluted run in range stands for every one"
    )
    replaced = {line["Field sample"] for line in harbor.values() if is_result(line) and line["Flag"] == "E"}
    assert f"({len(replaced)} samples with runs over range" in checked["over_range"]


def test_waters_hold_one_blank_hit_and_nothing_out_of_limits(
    waters: Lines, reviewed: Callable[[str], dict[str, Any]], reference: Path
) -> None:
    summary = json.loads((reference / "real" / WATERS / "expected.json").read_text(encoding="utf-8"))["summary"]
    document = reviewed(WATERS)
    assert told(document) == set() and document["counts"]["results"] == summary["primary_sample_target_rows"]
    assert summary["recovery_out_of_limits"] == summary["rpd_out_of_limits"] == summary["trip_blank_detections"] == 0
    hits = [item for item in document["findings"] if item["check"] == "method_blank"]
    assert len(hits) == summary["method_blank_detections"] == 1
    (blank,) = [line for line in waters.values() if line["Kind"] == "MB" and line["N/S"] == "N" and line["Mark"] != "U"]
    assert (hits[0]["sample_id"], hits[0]["analyte"]) == (" ".join(blank["Field ID"].split()), blank["Compound"])
    assert Decimal(hits[0]["observed"].split()[0]) == Decimal(blank["Result"])
    for line in waters.values():
        if (
            line["Kind"] == "PS"
            and (line["Run batch"], line["Compound"]) == (blank["Run batch"], blank["Compound"])
            and line["Mark"] != "U"
        ):
            assert Decimal(line["Result"]) > 5 * Decimal(blank["Result"]), "so no result is marked"
    checked = {item["check"]: item["text"] for item in document["checked"]}
    assert checked["surrogate"].startswith(f"{summary['surrogate_rows']} recoveries")


def test_waters_recoveries_are_all_within_the_laboratorys_limits(
    waters: Lines, reviewed: Callable[[str], dict[str, Any]]
) -> None:
    held = [
        line
        for line in waters.values()
        if line["Recovery %"] and line["Recovery low"] and line["Kind"] in ("LCS", "LCSD", "MS", "MSD")
    ]
    assert len(held) > 40
    for line in held:
        assert Decimal(line["Recovery low"]) <= Decimal(line["Recovery %"]) <= Decimal(line["Recovery high"])
    findings = {item["check"] for item in reviewed(WATERS)["findings"]}
    assert not findings & {"lab_control", "matrix_spike", "surrogate", "matrix_spike_duplicate", "lab_control_duplicate"}


def test_waters_pairs_are_held_against_the_laboratorys_own_limits(
    waters: Lines, reviewed: Callable[[str], dict[str, Any]]
) -> None:
    """The relative differences worked out again from the amounts, against the limit that each row states."""
    pairs = {"LCSD": "LCS", "MSD": "MS"}
    firsts: dict[tuple[str, ...], list[dict[str, str]]] = {}
    key = ("Run batch", "Compound", "CAS", "Method", "Dilution")
    for line in waters.values():
        if line["Kind"] in pairs.values() and line["N/S"] == "N":
            firsts.setdefault((line["Kind"], *(line[name] for name in key)), []).append(line)
    held = dict.fromkeys(pairs, 0)
    for line in waters.values():
        ones = firsts.get((pairs.get(line["Kind"], ""), *(line[name] for name in key)), []) if line["N/S"] == "N" else []
        if len(ones) == 1:
            a, b = Decimal(ones[0]["Result"]), Decimal(line["Result"])
            assert abs(a - b) * 200 <= Decimal(line["RPD max"]) * (a + b)
            held[line["Kind"]] += 1
    checked = {item["check"]: item["text"] for item in reviewed(WATERS)["checked"]}
    for check, kind in (("matrix_spike_duplicate", "MSD"), ("lab_control_duplicate", "LCSD")):
        assert held[kind] > 2 and f"{held[kind]} against the laboratory's own limit" in checked[check]


def test_waters_limits_follow_amounts_and_dilutions(waters: Lines, reviewed: Callable[[str], dict[str, Any]]) -> None:
    """Limit x amount taken / (dilution x final volume) is one number for each compound by one method."""
    bases: dict[tuple[str, str], set[Decimal]] = {}
    for line in waters.values():
        if is_result_of_waters(line):
            amount, volume = Decimal(line["Amount taken"]), Decimal(line["Final volume"])
            base = Decimal(line["LOD"]) * amount / (Decimal(line["Dilution"]) * volume)
            bases.setdefault((line["Method"], line["Compound"]), set()).add(base)
    assert len(bases) > 10 and all(len(found) == 1 for found in bases.values())
    states = {row["checks"]["adjusted_limits"] for row in reviewed(WATERS)["grid"]}
    assert states == {"ok"}


def is_result_of_waters(line: dict[str, str]) -> bool:
    return line["Kind"] == "PS" and line["N/S"] == "N"
