"""Which rule files a site takes: those it names, else those of its place, else the federal ones, else general practice."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property
from pathlib import Path

from screening.closure.rules import KINDS, RuleFile, parse_rules
from screening.errors import Refused
from screening.site.site_file import SiteFile

GENERAL = "general/practice"
ADDITIVE = ("signs", "deadlines", "papers", "safety")
"""Kinds of which the country's rules hold beside those of its part."""


@dataclass(frozen=True)
class Taken:
    """The rule files of one kind that a site takes, and why."""

    files: tuple[RuleFile, ...]
    because: str
    named: bool = False


class Library:
    """All rule files of a standards folder, or those given as text."""

    def __init__(self, folder: Path | None, texts: Sequence[tuple[str, str, str]] = ()) -> None:
        self._folder = folder
        self._texts = {(kind, name): text for kind, name, text in texts}

    @cached_property
    def _files(self) -> dict[tuple[str, str], str]:
        found = {}
        if self._folder is not None:
            for kind in KINDS:
                for path in sorted((self._folder / kind).glob("*/*.toml")):
                    found[kind, f"{path.parent.name}/{path.stem}"] = path.read_text(encoding="utf-8")
        return {**found, **self._texts}

    def names(self, kind: str) -> list[str]:
        """The names of one kind, sorted."""
        return sorted(name for of, name in self._files if of == kind)

    def file(self, kind: str, name: str) -> RuleFile:
        """One file. Raises `Refused` for an unknown name, with the nearest ones."""
        if (kind, name) not in self._files:
            near = get_close_matches(name, self.names(kind), n=3, cutoff=0.4) or self.names(kind)
            raise Refused(f"rule file '{name}' of {kind} is unknown; known are {', '.join(near)}")
        return parse_rules(kind, name, self._files[kind, name])

    def everything(self, kind: str) -> list[RuleFile]:
        """Every file of a kind."""
        return [self.file(kind, name) for name in self.names(kind)]

    def _naming(self, kind: str, places: Collection[str]) -> list[RuleFile]:
        """The files of a kind whose text names one of the places; the others are not worth reading."""
        quoted = [f"{mark}{place}{mark}" for place in places for mark in "\"'"]
        return [self.file(kind, name) for name in self.names(kind) if any(one in self._files[kind, name] for one in quoted)]

    def taken(self, kind: str, site: SiteFile, named: Sequence[str] | None = None) -> Taken:
        """The files of one kind for a site: named on the command line, in its site file, or by its place."""
        chosen = named or getattr(site.closure, kind)
        if chosen is not None:
            files = tuple(self.file(kind, name) for name in dict.fromkeys(chosen))
            said = "as named" if named else "as the site file names" if files else "none, as the site file says"
            return Taken(files, said, named=True)
        place = site.site.place
        if kind in ADDITIVE:
            return self._together(kind, place)
        for one in dict.fromkeys((place, place.partition("-")[0])):
            files = tuple(file for file in self._naming(kind, {one}) if one in file.default_for)
            if files:
                own = "" if one == place else f"; none of '{place}' itself is stored, which does not mean that it has none"
                return Taken(files, f"of the place '{one}'{own}")
        general = (self.file(kind, GENERAL),) if (kind, GENERAL) in self._files else ()
        return Taken(
            general, f"none of the place '{place}' is stored, which does not mean that it has none; general practice is offered"
        )

    def _together(self, kind: str, place: str) -> Taken:
        """The country's files with those of its part, where both hold side by side; else general practice."""
        wanted = {place, place.partition("-")[0]}
        files = tuple(file for file in self._naming(kind, wanted) if wanted & set(file.default_for))
        own = any(place in file.default_for for file in files)
        if not files and (kind, GENERAL) in self._files:
            files = (self.file(kind, GENERAL),)
        told = f"of '{place}'" if own else f"none of '{place}' itself is stored, which does not mean that it has none"
        return Taken(files, told)

    def general(self, kind: str) -> RuleFile:
        """General practice of one kind."""
        return self.file(kind, GENERAL)
