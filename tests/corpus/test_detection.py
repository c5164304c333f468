"""Layouts found by reading: nothing read wrongly, at least 98 in a hundred read exactly right without help.

Every eighteenth of the corpus's 432 deliverables is imported here (24); `python tests/corpus/score.py` imports them all.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from generator import PER_SHAPE, SHAPES, cases
from score import meets_goal, office_in, score_all, table

EVERY = 18


def test_the_sample_of_the_corpus_meets_the_goal(tmp_path: Path) -> None:
    scored = score_all(tmp_path, EVERY)
    assert len(scored) == len(SHAPES) * PER_SHAPE // EVERY
    assert meets_goal(scored), table(scored)


def test_the_same_corpus_is_written_every_time(tmp_path: Path) -> None:
    folders = [tmp_path / "first", tmp_path / "second"]
    for folder in folders:
        folder.mkdir()
    first, second = (cases(folder, EVERY) for folder in folders)
    assert first == second
    for case in first:
        for file in case.files:
            if not file.endswith(".xlsx"):  # a workbook carries the moment it was saved
                assert (folders[0] / file).read_bytes() == (folders[1] / file).read_bytes()


def test_every_value_of_every_dimension_is_in_the_corpus_and_every_truth_is_whole(tmp_path: Path) -> None:
    corpus = cases(tmp_path)
    assert len(corpus) == len({case.name for case in corpus}) >= 300
    counts = Counter(made for case in corpus for made in case.made_of)
    assert min(counts.values()) >= 8, counts
    for case in corpus:
        keys = {(one.sample, one.analyte) for one in case.truth}
        assert len(keys) == len(case.truth)
        whole = 64 if case.name.startswith("two") else 48
        gaps = (4 if case.name.startswith("two") else 2) if ("noise", "gaps") in case.made_of else 0
        assert len(keys) == whole - gaps, case.name


def test_m09_a_mark_that_may_part_thousands_or_decimals_is_asked_about(tmp_path: Path) -> None:
    """Nothing in this file settles whether 325.000 is 325 or 325 thousand."""
    office = office_in(tmp_path)
    assert office.plain_site().status == 0
    path = tmp_path / "one_sample.csv"
    rows = ["Sample ID;Matrix;Analyte;Result;Units;Basis"]
    rows += [
        f"SB-1;Soil;{name};{text};ug/kg;dry" for name, text in (("Toluene", "1.900"), ("Lead", "325.000"), ("Benzene", "246"))
    ]
    path.write_text("\n".join(rows), encoding="utf-8")
    office.run("import", path, "--site", "one")
    taken = office.run("results", "--site", "one", "--all").document["results"]
    assert not [one for one in taken if one["source"]["text"] in ("1.900", "325.000")]
