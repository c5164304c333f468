"""What the check of level tables finds, and that the tables that come with the tool are clean."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from screening.errors import Refused
from screening.levels.check import check
from screening.levels.versions import standards_folder

Folder = Callable[..., Path]

HEAD = "analyte,cas,medium,level,unit,citation,transcription,source\n"
CLASSES = '[conditions.soil_class]\nfrom = "site"\nvalues = ["1", "2"]\ntitle = "soil class"\n'
IN_CLASS = "analyte,cas,medium,level,unit,soil_class,citation,transcription,source\n"
TWO = '[versions."2020-01-01"]\neffective = "x"\n{}[versions."2021-01-01"]\neffective = "x"\n'


def _row(analyte: str, level: str, more: str = "", cas: str = "", medium: str = "soil") -> str:
    return f'{analyte},{cas},{medium},"{level}",mg/kg,{more}section 1,read,the rule\n'


def test_the_tables_that_come_with_the_tool_are_clean() -> None:
    assert check(standards_folder()) == []


def test_a_clean_table_of_ones_own_is_clean(folder: Folder) -> None:
    assert check(folder(HEAD + _row("Benzene", "1") + _row("Toluene", "2"))) == []


@pytest.mark.parametrize(
    ("rows", "more", "words"),
    [
        (HEAD + _row("Benzene", "1", cas="71-43-3"), "", "check digit"),
        (HEAD + _row("Benzene", "1").replace("section 1", ""), "", "has no citation; name the section"),
        (HEAD + _row("Benzene", "1").replace("the rule", ""), "", "is said to be read, but names no source"),
        (HEAD + _row("Benzene", "1") + _row("benzol", "2"), "", "already in row 2 under the same conditions"),
        (
            IN_CLASS + _row("Benzene", "1", "1,") + _row("Benzene", "2", ","), CLASSES,
            "may apply together with row 2: one of them lacks the condition soil_class",
        ),
        (IN_CLASS + _row("Benzene", "0.1", "1,") + _row("Benzene", "31", "2,"), CLASSES, "310 times apart from row 2"),
        (IN_CLASS + _row("Benzene", "19", "1,") + _row("Benzene", "191", "2,"), CLASSES, "one more digit; is a note's number"),
        (HEAD + _row("Benzene", "1"), CLASSES, "condition soil_class picks no row"),
        (
            IN_CLASS + _row("Benzene", "1", "1,"), CLASSES + 'when_unknown = "open"\n',
            "Benzene in soil has no row for soil_class 2",
        ),
        (
            HEAD.replace("citation", "criteria,citation") + _row("Arsenic", "191", "carcinogenic=0.43; background=19,"), "",
            "lies above every criterion it is made from",
        ),
        (HEAD, "", "holds no level"),
        (HEAD + _row("Benzene", "1"), 'stag = "x"\n', "unknown key 'stag'"),
        (HEAD + _row("Benzene", "1 or 2"), "", "row 2, column level"),
    ],
)  # fmt: skip
def test_a_fault_is_found_and_placed(folder: Folder, rows: str, more: str, words: str) -> None:
    problems = check(folder(rows, more))
    assert any(words in problem.text for problem in problems), problems
    assert all(problem.file.startswith("xx/made-up") for problem in problems)


def test_a_figure_read_again_is_left_in_peace(folder: Folder) -> None:
    rows = IN_CLASS + _row("Benzene", "0.1", "1,") + _row("Benzene", "31", "2,")
    assert check(folder(rows, '[[confirmed]]\nanalyte = "Benzene"\ntext = "both read again"\n' + CLASSES)) == []


def test_levels_of_two_pathways_may_lie_far_apart(folder: Folder) -> None:
    facts = '[conditions.pathway]\nfrom = "site"\nvalues = ["contact", "leaching"]\ntitle = "pathway"\n'
    rows = IN_CLASS.replace("soil_class", "pathway") + _row("Benzene", "0.0026", "leaching,") + _row("Benzene", "1.2", "contact,")
    assert check(folder(rows, facts)) == []


@pytest.mark.parametrize("until", ["", "until = 2021-01-01\n"])
def test_a_superseded_version_must_end_before_the_next_begins(folder: Folder, until: str) -> None:
    texts = {"2020-01-01": HEAD + _row("Benzene", "1"), "2021-01-01": HEAD + _row("Benzene", "2")}
    (problem,) = check(folder(texts, versions=TWO.format(until)))
    assert "must end on 2020-12-31" in problem.text


def test_a_version_without_rows_or_without_a_description(folder: Folder) -> None:
    texts = {"2020-01-01": HEAD + _row("Benzene", "1"), "2019-01-01": HEAD + _row("Benzene", "2")}
    problems = check(folder(texts, versions=TWO.format("until = 2020-12-31\n")))
    assert {problem.text for problem in problems} >= {
        "version 2021-01-01 has no csv", "version 2019-01-01 is not described in [versions]",
    }  # fmt: skip


def test_a_leap_between_versions_is_looked_at(folder: Folder) -> None:
    texts = {"2020-01-01": HEAD + _row("Benzene", "1"), "2021-01-01": HEAD + _row("Benzene", "1000")}
    (problem,) = check(folder(texts, versions=TWO.format("until = 2020-12-31\n")))
    assert "1000 times apart from row 2 of version 2020-01-01" in problem.text


def test_rows_without_facts_are_found(tmp_path: Path) -> None:
    (tmp_path / "xx" / "lone").mkdir(parents=True)
    (tmp_path / "xx" / "lone" / "2020-01-01.csv").write_text(HEAD, encoding="utf-8")
    assert [problem.text for problem in check(tmp_path)] == ["table.toml is missing beside it"]


def test_a_folder_that_is_none_is_refused(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="is no folder of level tables"):
        check(tmp_path / "nowhere")
