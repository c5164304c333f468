"""What makes the page safe to open: its own styles and scripts named by their hashes, and data that cannot end their block."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Sequence
from importlib import resources

from markupsafe import Markup

STYLES = ("ground.css", "parts.css", "table.css", "pictures.css", "print.css")
SCRIPTS = ("data.js", "listing.js", "derivation.js", "results.js", "plan.js", "start.js")
_PLAIN = re.compile(r"[A-Za-z0-9 ,.:-]*")
_UNSAFE = {ord(letter): f"\\u{ord(letter):04x}" for letter in "<>&\u2028\u2029"}


def style(sheet_foot: str) -> Markup:
    """The page's styles, as they stand between the tags; ``sheet_foot`` stands at the foot of every printed sheet."""
    if not _PLAIN.fullmatch(sheet_foot):
        raise ValueError(f"{sheet_foot!r} cannot stand in a style sheet")
    foot = f'@page {{ @bottom-left {{ content: "{sheet_foot}"; }} }}\n'
    return Markup("\n" + "".join(_read("style", name) for name in STYLES) + foot)


def script() -> Markup:
    """The page's scripts in one closed scope, as they stand between the tags."""
    parts = "".join(_read("script", name) for name in SCRIPTS)
    return Markup('\n"use strict";\n(() => {\n' + parts + "})();\n")


def _read(folder: str, name: str) -> str:
    text = (resources.files("screening.outputs.page") / folder / name).read_text(encoding="utf-8")
    if "</" in text.replace("</ ", ""):
        raise AssertionError(f"{folder}/{name} would end its own block")
    return text


def policy(styles: Sequence[str], scripts: Sequence[str]) -> str:
    """A content security policy: nothing is loaded, nothing runs but what is named here by its hash."""
    return (
        f"default-src 'none'; script-src {_hashes(scripts)}; style-src {_hashes(styles)}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )


def _hashes(texts: Sequence[str]) -> str:
    return " ".join(f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'" for text in texts)


def block(document: object) -> Markup:
    """A document as JSON for a data block of the page; no text in it can end the block."""
    text = json.dumps(document, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return Markup(text.translate(_UNSAFE))
