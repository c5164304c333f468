"""All level tables at hand and the version of each that was in force on a day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from difflib import get_close_matches
from importlib import resources
from pathlib import Path

from screening.errors import Misuse, Refused
from screening.levels.shape import day
from screening.levels.table import LevelTable, Version, parse_facts, parse_version

Texts = Mapping[str, tuple[str, Mapping[str, str]]]
"""Tables given as text: name -> (table.toml, {effective day: csv})."""


def standards_folder() -> Path:
    """The folder of level tables: beside the package in a checkout, inside it once installed."""
    package = Path(str(resources.files("screening")))
    beside = package.parent / "standards"
    return beside if beside.is_dir() else package / "_standards"


def parse_reference(text: str) -> tuple[str, str | None]:
    """Split 'us-oh/closure@2017-01-01' into the table and the version's day; no '@' gives None for the day."""
    table, mark, version = text.partition("@")
    if not table.strip() or (mark and not version.strip()):
        raise Refused(f"'{text}' names no table; write PLACE/TABLE or PLACE/TABLE@YYYY-MM-DD")
    return table.strip(), version.strip() or None


class Standards:
    """Level tables from folders and texts; a version given as text wins over one in a folder."""

    def __init__(self, folders: Sequence[Path], texts: Texts | None = None) -> None:
        self._files: dict[str, Path] = {}
        self._texts = dict(texts or {})
        self._tables: dict[str, LevelTable] = {}
        self._versions: dict[tuple[str, str], Version] = {}
        for folder in folders:
            for facts in sorted(folder.glob("*/*/table.toml")):
                self._files[f"{facts.parent.parent.name}/{facts.parent.name}"] = facts

    def names(self) -> list[str]:
        """The names of all tables, sorted."""
        return sorted({*self._files, *self._texts})

    def table(self, name: str) -> LevelTable:
        """The facts of a table. Raises `Refused` for an unknown one, with the nearest names."""
        if name not in self._tables:
            self._tables[name] = parse_facts(name, self.facts_text(name), self._where(name, "table.toml"))
        return self._tables[name]

    def facts_text(self, name: str) -> str:
        """The text of the table's table.toml."""
        if name in self._texts and (self._texts[name][0] or name not in self._files):
            return self._texts[name][0]
        if name in self._files:
            return _text_of(self._files[name])
        near = get_close_matches(name, self.names(), n=3, cutoff=0.4)
        hint = f"nearest are {', '.join(near)}" if near else "'screening levels list' shows all"
        raise Refused(f"level table '{name}' is unknown; {hint}")

    def days(self, name: str) -> list[str]:
        """The effective days of a table's versions, oldest first."""
        self.facts_text(name)
        found = set(self._texts[name][1]) if name in self._texts else set()
        if name in self._files:
            found |= {path.stem for path in self._files[name].parent.glob("*.csv")}
        return sorted(found)

    def version(self, name: str, effective: str) -> Version:
        """The version that came into force on a day. Raises `Refused` with the days there are."""
        if (name, effective) not in self._versions:
            days = self.days(name)
            if effective not in days:
                raise Refused(f"level table '{name}' has no version '{effective}'; it has {', '.join(days)}")
            file = self._where(name, f"{effective}.csv")
            if effective in self._texts.get(name, ("", {}))[1]:
                text = self._texts[name][1][effective]
            else:
                text = _text_of(self._files[name].parent / f"{effective}.csv")
            self._versions[name, effective] = parse_version(self.table(name), effective, text, file)
        return self._versions[name, effective]

    def in_force(self, name: str, on: date) -> Version:
        """The version in force on a day. Raises `Refused` where there is none, naming the versions there are."""
        days = self.days(name)
        begun = [text for text in days if day(text, name, "a version's day") <= on]
        spans = self.table(name).spans
        if begun:
            until = spans.get(begun[-1], ("", None))[1]
            if until is None or on <= until:
                return self.version(name, begun[-1])
        told = ", ".join(f"{text} to {spans.get(text, ('', None))[1] or 'now'}" for text in days)
        raise Refused(
            f"level table '{name}' has no version in force on {on}; it has {told}. Name one as {name}@{days[-1]}, "
            "or say --levels-on DATE"
        )

    def _where(self, name: str, file: str) -> str:
        return f"{name}/{file}"


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise Refused(f"{path}: is no UTF-8 text; save it as UTF-8") from error


def named_version(standards: Standards, reference: str) -> Version:
    """The version named as TABLE@DAY. Raises `Misuse` where no day is named."""
    name, effective = parse_reference(reference)
    if effective is None:
        raise Misuse(f"{reference}: name the version too, as {name}@{standards.days(name)[-1]}")
    return standards.version(name, effective)
