"""What can be read from the spelling of an analyte's name alone, without the list of analytes."""

from __future__ import annotations

import re

from screening.vocabulary.spelling import plain
from screening.vocabulary.terms import listed_term

_GREEK = {"\u03b1": "alpha", "\u03b2": "beta", "\u03b3": "gamma", "\u03b4": "delta", "\u03b5": "epsilon"}
_BRACKETED = re.compile(r"(.+?)\s*[(\[{]([^()\[\]{}]*)[)\]}]\s*")
_CARBON_RANGE = re.compile(r"\bc ?(\d{1,2})(?: ?(?:-|to|through) ?)c? ?(\d{1,2})\b")
_DOTTED_GREEK = re.compile(r"\.(alpha|beta|gamma|delta|epsilon)\.")
_ANY_BRACKETS = re.compile(r"[(\[{]([^()\[\]{}]*)[)\]}]")
_WORD_TOTAL = re.compile(r"^total (?=\S)|[, ]+total$|,? ?\(total\)")
_LETTERS_APART = re.compile(r"(?<=\b[a-z]) ?[,&/+] ?(?=[a-z]\b)")  # m,p- = m&p- ; (g,h,i) = (ghi)
_DIGITS_APART = re.compile(r"(?<=\d)[\s-]+(?=\d)")
_UNCOUNTED = re.compile(r"[\s()\-]")
_FAMILIES = {
    "tph": r"\btph\b(?!-[gdmo])|petroleum hydrocarbons?",  # not TPH-g, TPH-DRO
    "gasoline": r"gasoline|\bgro\b|\btph-?gx?\b",
    "diesel": r"diesel|\bdro\b|\btphd\b|\btph-?dx?\b",
    "oil": r"\boils?\b|\boro\b|\brro\b|residual range",
    "extractable": r"extractable|\beph\b",
    "volatile": r"volatile petroleum|\bvph\b",
    "aliphatic": r"aliphatics?",
    "aromatic": r"aromatics?",
}
_TENTATIVE = re.compile(
    r"\bunknowns?\b|\btics?\b|tentatively identified|\bunidentified\b"
    r"|^c ?\d{1,2}[ -]*(?:alkan|alken|alkyl|cycloalkan|hydrocarbon|aromatic)\w*"
)
_SUMMED = re.compile(r",? (?:max sum|maximum summation)\b")
# The long names of the public water quality vocabularies carry medium and unit behind the name.
_TRAILING_UNIT = re.compile(
    r", (?:milli|micro|nano|pico)grams? per (?:liter|litre|kilogram|gram)(?: as [a-z0-9]+)?$", re.IGNORECASE
)


def key(name: str) -> str:
    """The form in which two spellings of one name are compared.

    Case, blanks, hyphens beside letters, kinds of bracket, prime and dash, Greek letters, and the place of the
    word "total" make no difference. Digits, primes, and commas between digits do.
    """
    text = plain(name)
    if not text.isascii():
        for letter, word in _GREEK.items():
            text = text.replace(letter, word)
    if "." in text:
        text = _DOTTED_GREEK.sub(r"\1", text)
    if "[" in text or "{" in text or "(" in text:
        text = _ANY_BRACKETS.sub(r"(\1)", text)
    total = 0
    if "total" in text:
        text, total = _WORD_TOTAL.subn("", text)
    text = _LETTERS_APART.sub("", text)
    text = _DIGITS_APART.sub("_", text)
    text = _UNCOUNTED.sub("", text)
    return f"{text}|total" if total else text


def without_fraction(name: str) -> tuple[str, str | None]:
    """The name without a fraction behind or before it, and that fraction: "Lead, dissolved" -> Lead, dissolved."""
    text = _SUMMED.sub("", _TRAILING_UNIT.sub("", name.strip()))
    if match := re.fullmatch(r"(.+?), ?(?:water, )?([^()]+)", text):
        head, tail = match[1], match[2]
        while True:
            fraction = listed_term("fraction", tail)
            if fraction is not None:
                return head, fraction
            further = re.fullmatch(r"([^,]+), ?(.+)", tail)
            if further is None:
                break
            head, tail = f"{head}, {further[1]}", further[2]
    bracket = bracket_text(text)
    if bracket is not None:
        fraction = listed_term("fraction", bracket[1])
        if fraction is not None:
            return bracket[0], fraction
    if match := re.fullmatch(r"(total recoverable|total|dissolved|filtered|unfiltered) (.+)", text, re.IGNORECASE):
        return match[2], listed_term("fraction", match[1])
    return text, None


def bracket_text(name: str) -> tuple[str, str] | None:
    """The name before a closing bracket and the text in that bracket; None where no bracket stands at the end."""
    match = _BRACKETED.fullmatch(name.strip())
    return (match[1].strip(), match[2].strip()) if match else None


def carbon_ends(name: str) -> tuple[int, int] | None:
    """The two carbon numbers of a range in the name: "TPH C6-C12" -> (6, 12); None for no range or several."""
    found = set(_CARBON_RANGE.findall(plain(name).replace("(", " ").replace(")", " ")))
    if len(found) != 1:
        return None
    low, high = found.pop()
    return int(low), int(high)


def hydrocarbon_families(name: str) -> frozenset[str]:
    """The words in the name that say which kind of hydrocarbon range is meant."""
    text = plain(name)
    return frozenset(family for family, pattern in _FAMILIES.items() if re.search(pattern, text))


def is_tentative(name: str) -> bool:
    """Whether the name is a tentatively identified compound: "unknown hydrocarbon", "C10 alkane", "... (TIC)"."""
    return _TENTATIVE.search(plain(name)) is not None
