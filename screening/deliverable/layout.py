"""How one laboratory writes its files: a layout says which column is which field. Saved and reused as TOML."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from screening.errors import Refused
from screening.files import parse_toml, read_text
from screening.vocabulary.headings import FIELDS
from screening.vocabulary.sample_names import DEPTH_IN_NAME

PARTS = {
    "title": str,
    "file": dict,
    "columns": dict,
    "fixed": dict,
    "values": dict,
    "patterns": dict,
    "qualifiers": dict,
    "numbers": dict,
    "dates": dict,
    "limits": dict,
    "blank": dict,
    "ignore": dict,
    "across": dict,
}
BESIDE = ("qualifiers", "reporting_limit", "quantitation_limit", "detection_limit", "comment")


@dataclass(frozen=True)
class Layout:
    """Which column feeds which field, what is fixed, and how numbers and dates are written.

    ``columns`` maps a field to one or more headings whose texts are joined by a blank. ``values`` maps delivered
    texts of a field to our words. ``patterns`` maps a field to a regular expression whose named groups are fields.
    ``qualifiers`` is the deliverable's own key (letter to effect). ``ignore`` maps a heading to texts whose rows
    are no results, each with the reason. ``across`` maps the heading of a column of results to what it alone holds:
    fields with their texts and, for those of BESIDE, with the heading beside it.
    """

    name: str
    title: str = ""
    sheet: str | None = None
    header_row: int | None = None
    columns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    fixed: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    patterns: Mapping[str, str] = field(default_factory=dict)
    qualifiers: Mapping[str, str] = field(default_factory=dict)
    decimal: str = "."
    date_order: str | None = None
    dilution_included: bool = True
    blank: tuple[str, ...] = ()
    ignore: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    across: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def with_fixed(self, settings: Mapping[str, str]) -> Layout:
        """The same layout with values given on the command line (``--set unit=mg/kg``)."""
        fixed, others = dict(self.fixed), {}
        dilution_included, depth = "yes" if self.dilution_included else "no", ""
        for key, value in settings.items():
            if key in ("decimal", "date_order"):
                others[key] = value
            elif key == "dilution_included":
                dilution_included = value
            elif key == "depth":
                depth = value
            elif key in FIELDS:
                fixed[key] = value
            else:
                raise Refused(
                    f"--set {key}: is no field; the fields are {', '.join(FIELDS)}, decimal, date_order, dilution_included, depth"
                )
        if others.get("decimal", ".") not in (".", ","):
            raise Refused(f"--set decimal={others['decimal']}: write decimal=. or decimal=,")
        if others.get("date_order", "mdy") not in ("ymd", "mdy", "dmy"):
            raise Refused(f"--set date_order={others['date_order']}: write ymd, mdy or dmy")
        if dilution_included not in ("yes", "no"):
            raise Refused(
                f"--set dilution_included={dilution_included}: write yes (limits hold the dilution) or no (multiply them)"
            )
        if depth not in ("", "in_sample_name"):
            raise Refused(f"--set depth={depth}: write depth=in_sample_name, or depth_top=NUMBER and depth_unit=ft or m")
        patterns = {**self.patterns, "sample_id": DEPTH_IN_NAME} if depth else self.patterns
        return replace(self, fixed=fixed, dilution_included=dilution_included == "yes", patterns=patterns, **others)  # type: ignore[arg-type]

    def with_words(self, words: Mapping[str, str]) -> Layout:
        """The same layout with delivered texts explained on the command line (``--set medium:Water=groundwater``)."""
        values = {key: dict(pairs) for key, pairs in self.values.items()}
        for place, value in words.items():
            key, _, text = place.partition(":")
            if key not in FIELDS:
                raise Refused(f"--set {place}: '{key}' is no field; the fields are {', '.join(FIELDS)}")
            values.setdefault(key, {})[text] = value
        return replace(self, values=values)


def parse_layout(text: str, name: str, where: str) -> Layout:
    """A layout from TOML text; an unknown key or field is `Refused` with its place."""
    try:
        data = parse_toml(text)
    except tomllib.TOMLDecodeError as error:
        raise Refused(f"{where}: is not a layout ({error}); see README, 'A layout of your own'") from error
    for key, value in data.items():
        if key not in PARTS or not isinstance(value, PARTS[key]):
            raise Refused(f"{where}: key '{key}' is unknown or of the wrong kind; known are {', '.join(PARTS)}")
    for part in ("columns", "fixed", "values", "patterns"):
        for key in data.get(part, {}):
            if key not in FIELDS:
                raise Refused(f"{where}: [{part}] {key} is no field; the fields are {', '.join(FIELDS)}")
    _check_kinds(where, data)
    _check_across(where, data)
    file, numbers, dates = data.get("file", {}), data.get("numbers", {}), data.get("dates", {})
    return Layout(
        name=name,
        title=data.get("title", ""),
        sheet=file.get("sheet"),
        header_row=file.get("header_row"),
        columns={key: (value,) if isinstance(value, str) else tuple(value) for key, value in data.get("columns", {}).items()},
        fixed={key: str(value) for key, value in data.get("fixed", {}).items()},
        values=data.get("values", {}),
        patterns=data.get("patterns", {}),
        qualifiers=data.get("qualifiers", {}),
        decimal=numbers.get("decimal", "."),
        date_order=dates.get("order"),
        dilution_included=data.get("limits", {}).get("dilution_included", True),
        blank=tuple(data.get("blank", {}).get("texts", ())),
        ignore=data.get("ignore", {}),
        across=data.get("across", {}),
    )


def _text(value: object) -> bool:
    return isinstance(value, str)


def _texts(value: object) -> bool:
    return isinstance(value, dict) and all(map(_text, value.values()))


KINDS: Mapping[str, tuple[Callable[[Any], bool], str]] = {
    "columns": (
        lambda one: _text(one) or (isinstance(one, list) and one != [] and all(map(_text, one))),
        "a heading or a list of headings",
    ),
    "fixed": (lambda one: isinstance(one, str | int | Decimal), "a text or number"),
    "values": (_texts, "texts and what each means"),
    "patterns": (_text, "a regular expression"),
    "qualifiers": (_text, "an effect"),
    "ignore": (_texts, "texts and the reason for each"),
    "across": (_texts, "fields and their texts"),
}
CHOICES: Mapping[str, Mapping[str, tuple[Callable[[Any], bool], str]]] = {
    "file": {"sheet": (_text, "a name"), "header_row": (lambda one: type(one) is int and one > 0, "a row number")},
    "numbers": {"decimal": (lambda one: one in (".", ","), "'.' or ','")},
    "dates": {"order": (lambda one: one in ("ymd", "mdy", "dmy"), "ymd, mdy or dmy")},
    "limits": {"dilution_included": (lambda one: isinstance(one, bool), "true or false")},
    "blank": {"texts": (lambda one: isinstance(one, list) and all(map(_text, one)), "a list of texts")},
}


def _check_kinds(where: str, data: Mapping[str, Any]) -> None:
    for part, (fits, wanted) in KINDS.items():
        for key, value in data.get(part, {}).items():
            if not fits(value):
                raise Refused(f"{where}: [{part}] {_key(key)} must be {wanted}")
    for part, known in CHOICES.items():
        for key, value in data.get(part, {}).items():
            if key not in known:
                raise Refused(f"{where}: [{part}] {_key(key)} is unknown; known are {', '.join(sorted(known))}")
            if not known[key][0](value):
                raise Refused(f"{where}: [{part}] {key} must be {known[key][1]}")
    for field_, pattern in data.get("patterns", {}).items():
        import regex  # imported here: few layouts have patterns

        try:
            groups = regex.compile(pattern).groupindex
        except (regex.error, RecursionError, OverflowError) as error:
            raise Refused(f"{where}: [patterns] {field_} is no regular expression ({error}); mend it") from error
        for group in groups:
            if group not in FIELDS:
                raise Refused(
                    f"{where}: [patterns] {field_} names the part '{group}', which is no field; the fields are {', '.join(FIELDS)}"
                )


def _check_across(where: str, data: Mapping[str, Any]) -> None:
    """One column of results an analyte: each names its analyte, and no other column holds results."""
    for heading, told in data.get("across", {}).items():
        place = f"{where}: [across.{_key(heading)}]"
        if not isinstance(told, dict) or not {"analyte", "cas"} & told.keys():
            raise Refused(f'{place} names no analyte; write analyte = "..." below it')
        for key, value in told.items():
            if key not in FIELDS or key == "result" or not isinstance(value, str):
                raise Refused(f"{place} {key} is no field with a text; the fields are {', '.join(FIELDS)}")
        if "result" in data.get("columns", {}) or not data.get("columns"):
            raise Refused(f"{place} holds the results: [columns] names the sample and the like, but no result")


def write_layout(layout: Layout) -> str:
    """The layout as TOML text that `parse_layout` reads back to an equal layout."""
    lines = [f"title = {_quoted(layout.title)}"] if layout.title else []

    def table(name: str, pairs: Mapping[str, Any]) -> None:
        if pairs:
            lines.extend(["", f"[{name}]", *(f"{_key(key)} = {_value(value)}" for key, value in pairs.items())])

    place = {"sheet": layout.sheet, "header_row": layout.header_row}
    table("file", {key: value for key, value in place.items() if value is not None})
    table("columns", {key: value[0] if len(value) == 1 else list(value) for key, value in layout.columns.items()})
    table("fixed", layout.fixed)
    for key, pairs in layout.values.items():
        table(f"values.{_key(key)}", pairs)
    table("patterns", layout.patterns)
    table("qualifiers", layout.qualifiers)
    table("numbers", {} if layout.decimal == "." else {"decimal": layout.decimal})
    table("dates", {"order": layout.date_order} if layout.date_order else {})
    table("limits", {} if layout.dilution_included else {"dilution_included": False})
    table("blank", {"texts": list(layout.blank)} if layout.blank else {})
    for key, pairs in layout.ignore.items():
        table(f"ignore.{_key(key)}", pairs)
    for key, pairs in layout.across.items():
        table(f"across.{_key(key)}", pairs)
    return "\n".join(lines).lstrip("\n") + "\n"


def _key(text: str) -> str:
    return text if text.isidentifier() and text.isascii() else _quoted(text)


def _quoted(text: str) -> str:
    escaped = "".join(
        f"\\u{ord(c):04x}" if ord(c) < 32 or ord(c) == 127 else c for c in text.replace("\\", "\\\\").replace('"', '\\"')
    )
    return f'"{escaped}"'


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, list):
        return f"[{', '.join(_quoted(item) for item in value)}]"
    return _quoted(value)


def layouts_folder() -> Path:
    """The user's own folder of layouts: SCREENING_LAYOUTS, or screening/layouts below the user's configuration."""
    named = os.environ.get("SCREENING_LAYOUTS")
    if named:
        return Path(named)
    return Path(os.environ.get("XDG_CONFIG_HOME") or Path.home() / ".config") / "screening" / "layouts"


def find_layout(name: str, folders: list[Path]) -> Layout:
    """A layout by file path, by name in one of the user's folders, or one that comes with the tool."""
    path = Path(name)
    for candidate in [path, *(folder / f"{name}.toml" for folder in folders)]:
        if candidate.is_file():
            return parse_layout(read_text(candidate), candidate.stem, str(candidate))
    built_in = resources.files("screening.deliverable") / "layouts"
    names = sorted(item.name.removesuffix(".toml") for item in built_in.iterdir() if item.name.endswith(".toml"))
    if name in names:
        return parse_layout((built_in / f"{name}.toml").read_text(encoding="utf-8"), name, f"layout {name}")
    raise Refused(f"--layout {name}: is neither a file nor a known layout; known are {', '.join(names)}")


@cache
def built_in_layouts() -> tuple[Layout, ...]:
    """The layouts of open standards that come with the tool."""
    folder = resources.files("screening.deliverable") / "layouts"
    found = sorted((item for item in folder.iterdir() if item.name.endswith(".toml")), key=lambda item: item.name)
    return tuple(parse_layout(item.read_text(encoding="utf-8"), item.name.removesuffix(".toml"), item.name) for item in found)
