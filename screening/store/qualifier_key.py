"""One qualifier key for each deliverable: what its letters mean, as people read it in the deliverable and taught it.

A letter taught for one deliverable is proposed for the next and never taken over: laboratories use the same letters
for different things.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from screening.deliverable.columns import Frame
from screening.errors import Refused
from screening.store.ledger import Act
from screening.vocabulary.qualifiers import EFFECTS, listed

if TYPE_CHECKING:
    import duckdb

TAUGHT = "qualifier_taught"
BETWEEN = re.compile(r"[\s,;/|&]+")


def key_of(connection: duckdb.DuckDBPyConnection, deliverable: str) -> dict[str, str]:
    """Letter -> effects, as taught for one deliverable."""
    rows = connection.execute(
        "SELECT old_text, new_text FROM decision WHERE kind = ? AND subject = ? ORDER BY number", [TAUGHT, deliverable]
    ).fetchall()
    return {row[0]: row[1] for row in rows}


def meant_by(identity: str, text: str, answer: str | None, key: Mapping[str, str]) -> dict[str, str]:
    """What each letter of a held text means by a person's answer: an effect, several, or a letter of the known key.

    One letter takes the answer as it is; several are told apart as "Q=estimated, Z=none". ``key`` is what the
    deliverable's letters mean already. Raises `Refused` for what is no effect, and for a second meaning of a letter.
    """
    own = {letter.strip().upper(): " ".join(sorted(effect.split())) for letter, effect in key.items()}
    letters = [part for part in BETWEEN.split(text.upper()) if part]
    unknown = [letter for letter in letters if letter not in own and letter not in listed()]
    if answer is None and not unknown:
        return {}
    if answer is None:
        raise Refused(
            f"{identity}: what does {' and '.join(unknown)} mean in the deliverable's key? Say --as with one of "
            f"{', '.join(sorted(EFFECTS))}, or a known letter"
        )
    asked = unknown or letters
    if "=" in answer:
        pairs = [part.partition("=") for part in re.split(r"[,;]", answer)]
        said = {letter.strip().upper(): effect.strip() for letter, _, effect in pairs}
    elif len(asked) == 1:
        said = {asked[0]: answer.strip()}
    else:
        raise Refused(f'{identity}: {", ".join(asked)} are several letters; say --as "{"=..., ".join(asked)}=..."')
    found = {}
    for letter, effect in said.items():
        words = listed().get(effect.upper()) or frozenset(own.get(effect.upper(), effect).split())
        if letter not in letters or not words or words - EFFECTS:
            fault = f"'{effect}' is no effect" if letter in letters else f"'{letter}' does not stand in '{text}'"
            raise Refused(f"{identity}: {fault}; say one of {', '.join(sorted(EFFECTS))}, or a known letter")
        found[letter] = " ".join(sorted(words))
        if own.get(letter, found[letter]) != found[letter]:
            raise Refused(f"{identity}: '{letter}' means {own[letter]} in this deliverable; one deliverable has one key")
    return found


def as_taught(text: str, key: Mapping[str, str]) -> str:
    """The answer that a deliverable's key gives for a held text by itself."""
    known = {letter.strip().upper(): effect for letter, effect in key.items()}
    return ", ".join(f"{letter}={known[letter]}" for letter in BETWEEN.split(text.upper()) if letter in known)


def lessons(site: str, deliverable: str, meanings: Mapping[str, str], key: Mapping[str, str]) -> list[Act]:
    """The acts that teach what a deliverable's key did not hold yet."""
    return [Act(site, TAUGHT, deliverable, letter, effect) for letter, effect in meanings.items() if letter not in key]


def proposed(connection: duckdb.DuckDBPyConnection, site: str, frame: Frame) -> Frame:
    """Held rows of a reading whose letter other deliverables of the site explained, all in one way: that is proposed."""
    rows = connection.execute(
        "SELECT old_text, min(new_text), min(d.file) FROM decision AS c JOIN deliverable AS d ON d.id = c.subject "
        "WHERE c.kind = ? AND c.site = ? GROUP BY old_text HAVING count(DISTINCT new_text) = 1",
        [TAUGHT, site],
    ).fetchall()
    frame = frame.copy() if rows else frame
    for letter, effect, file in rows:
        same = (frame["class"] == "held") & (frame["held_field"] == "qualifiers") & (frame["delivered_field"] == letter)
        frame["proposal"] = frame["proposal"].mask(same, effect)
        frame["reason"] = frame["reason"].mask(same, frame["reason"] + f"; accepted as {effect} in {file}: is the key the same?")
    return frame
