"""Layouts found by reading: nothing read wrongly, at least 98 in a hundred read exactly right without help.

Every sixth of the corpus's 432 deliverables is imported here (72); `python tests/corpus/score.py` imports them all.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from generator import PER_SHAPE, SHAPES, cases
from score import meets_goal, score_all, table

EVERY = 6


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
