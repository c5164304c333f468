"""Files that cannot be read as a deliverable."""

from __future__ import annotations

import io
import random
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

COMPOUND = bytes.fromhex("D0CF11E0A1B11AE1")
RUBBISH = bytes([0x93, 0x00]) + random.Random(7).randbytes(4000)
HEADER = b"sample_id,medium,analyte,result,unit\n"


def _archive(members: dict[str, bytes]) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return made.getvalue()


def _workbook() -> bytes:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.append(["sample_id", "medium", "analyte", "result", "unit"])
    page.append(["S1", "soil", "Benzene", "0.1", "mg/kg"])
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


BAD: dict[str, tuple[str, bytes, str]] = {
    "empty": ("empty.csv", b"", "is empty"),
    "only blanks": ("blank.csv", b" , ,\n,,\n", "no text in any cell"),
    "binary rubbish named csv": ("rubbish.csv", RUBBISH, "neither text nor a spreadsheet"),
    "binary rubbish named xlsx": ("rubbish.xlsx", RUBBISH, "neither text nor a spreadsheet"),
    "rubbish behind the mark of an archive": ("half.xlsx", b"PK\x03\x04" + RUBBISH, "damaged"),
    "half a workbook": ("cut.xlsx", _workbook()[:2000], "damaged"),
    "an archive that is no spreadsheet": ("files.xlsx", _archive({"readme.txt": b"hello"}), "not a spreadsheet"),
    "a workbook without sheets": ("hollow.xlsx", _archive({"xl/workbook.xml": b"<workbook/>"}), "cannot be read"),
    "rubbish behind the mark of an old workbook": ("old.xls", COMPOUND + RUBBISH, "damaged"),
    "protected by a password": (
        "secret.xlsx", COMPOUND + bytes(504) + "EncryptedPackage".encode("utf-16-le") + bytes(1000), "protected by a password",
    ),
    "a picture": ("photo.png", b"\x89PNG\r\n\x1a\n" + bytes(64) + RUBBISH, "neither text nor a spreadsheet"),
    "prose": ("letter.txt", b"Dear Sir,\nplease find our report enclosed.\nYours\n", "no header row was recognised"),
    "no recognisable header": ("codes.csv", b"a,b,c,d\n1,2,3,4\n5,6,7,8\n", "no header row was recognised"),
    "a header and nothing below": ("bare.csv", HEADER, "no results below it"),
    "no unit": ("unit.csv", b"sample_id,medium,analyte,result\nS1,soil,Benzene,0.1\n", "unit is nowhere stated"),
    "no medium": ("medium.csv", b"sample_id,analyte,result,unit\nS1,Benzene,0.1,mg/kg\n", "medium is nowhere stated"),
    "no sample": ("sample.csv", b"medium,analyte,result,unit\nsoil,Benzene,0.1,mg/kg\n", "no column names the sample"),
    "no analyte": ("analyte.csv", b"sample_id,medium,result,unit\nS1,soil,0.1,mg/kg\n", "no header row was recognised"),
    "two columns for one field": (
        "two.csv", b"Sample,Matrix,Compound,Parameter,Result,Units\nS1,soil,Benzene,Toluene,0.1,mg/kg\n", "may both be the analyte",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("name", "data", "told"), BAD.values(), ids=BAD)
def test_a_file_that_cannot_be_read(filled: Any, refused: Callable[..., str], name: str, data: bytes, told: str) -> None:
    path = filled.folder / name
    path.write_bytes(data)
    line = refused("import", path, "--site", "one")
    assert name in line
    assert told in line
    assert path.read_bytes() == data


def test_a_missing_file(filled: Any, refused: Callable[..., str]) -> None:
    line = refused("import", filled.folder / "none.csv", "--site", "one")
    assert "none.csv" in line and "no such file" in line


def test_a_folder(filled: Any, refused: Callable[..., str]) -> None:
    (filled.folder / "reports").mkdir()
    assert "is a folder" in refused("import", filled.folder / "reports", "--site", "one")


def test_a_file_open_in_a_spreadsheet_program(filled: Any, refused: Callable[..., str]) -> None:
    (filled.folder / "lab.xlsx").write_bytes(_workbook())
    (filled.folder / "~$lab.xlsx").write_bytes(b"owner")
    assert "is open in a spreadsheet program" in refused("import", filled.folder / "lab.xlsx", "--site", "one")
    assert "is open in a spreadsheet program" in refused("import", filled.folder / "~$lab.xlsx", "--site", "one")


def test_a_file_that_grows_while_it_is_read(filled: Any, refused: Callable[..., str], monkeypatch: pytest.MonkeyPatch) -> None:
    path = filled.folder / "growing.csv"
    path.write_bytes(HEADER + b"S1,soil,Benzene,0.1,mg/kg\n")
    read = Path.read_bytes

    def read_while_written(self: Path) -> bytes:
        data = read(self)
        if self == path:
            with self.open("ab") as more:
                more.write(b"S2,soil,Benzene,0.2,mg/kg\n")
        return data

    monkeypatch.setattr(Path, "read_bytes", read_while_written)
    assert "is being written by someone else" in refused("import", path, "--site", "one")


def test_a_file_that_may_not_be_read(filled: Any, refused: Callable[..., str], monkeypatch: pytest.MonkeyPatch) -> None:
    path = filled.folder / "closed.csv"
    path.write_bytes(HEADER + b"S1,soil,Benzene,0.1,mg/kg\n")

    def denied(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", denied)
    assert "may not be read" in refused("import", path, "--site", "one")


@pytest.mark.parametrize("limit", ["LARGEST_FILE", "LARGEST_UNPACKED"])
def test_a_file_that_is_too_large(filled: Any, refused: Callable[..., str], monkeypatch: pytest.MonkeyPatch, limit: str) -> None:
    monkeypatch.setattr(f"screening.deliverable.cells.{limit}", 100)
    (filled.folder / "large.xlsx").write_bytes(_workbook())
    assert "more than" in (line := refused("import", filled.folder / "large.xlsx", "--site", "one")) or "larger than" in line


def test_the_good_file_before_a_bad_one_stays(filled: Any) -> None:
    """One transaction a file: what was told as imported is imported, the bad file leaves nothing."""
    good = filled.deliverable(
        "second.csv",
        [{"sample_id": "S2", "medium": "soil", "analyte": "Benzene", "result": "0.1", "unit": "mg/kg", "basis": "dry"}],
    )
    bad = filled.folder / "bad.csv"
    bad.write_bytes(RUBBISH)
    said = filled.run("import", good, bad, "--site", "one")
    assert said.status == 1
    assert "bad.csv" in said.error and "Traceback" not in said.error
    samples = {item["sample_id"] for item in filled.run("results", "--site", "one").document["results"]}
    assert samples == {"S1", "S2"}


def test_of_several_files_the_refused_one_leaves_the_others_in(filled: Any) -> None:
    row = {"sample_id": "S2", "medium": "soil", "analyte": "Benzene", "result": "0.2", "unit": "mg/kg", "basis": "dry"}
    said = filled.run("import", filled.folder / "absent.csv", filled.deliverable("more.csv", [row]), "--site", "one")
    assert said.status == 1
    assert [document["status"] for document in said.document["deliverables"]] == ["refused", "imported"]
    assert "screening: " in said.error
    assert "absent.csv: there is no such file" in said.error
    assert len(filled.run("results", "--site", "one").document["results"]) == 2
