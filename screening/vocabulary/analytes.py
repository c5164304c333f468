"""Which analyte a laboratory means by a name and a CAS number, or why a person must say."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from screening.errors import Refused
from screening.vocabulary import cas as cas_numbers
from screening.vocabulary import listing, names
from screening.vocabulary.listing import Analyte
from screening.vocabulary.spelling import nearest, plain

__all__ = ["Analyte", "Identity", "Vocabulary", "is_tentative"]

is_tentative = names.is_tentative

_NO_CAS = frozenset({"", "na", "n/a", "n.a.", "-", "--", "none", "null", "not applicable", "not available"})
_SURROGATE_MARK = re.compile(r"surr\.?|surrogate|surrogate standard|(?:ss|is) ?\d|internal standard")


@dataclass(frozen=True)
class Identity:
    """What a name and a CAS number were read as. With a `problem` nothing else is settled and the row is held."""

    analyte: str | None = None
    cas: str | None = None
    kind: str | None = None
    fraction: str | None = None
    notes: tuple[str, ...] = ()
    problem: str | None = None
    field: str | None = None
    proposal: str | None = None


@dataclass(frozen=True)
class _NameRead:
    """A name looked up: the analyte, or the candidates of an ambiguous name, or what is wrong with it."""

    analyte: Analyte | None = None
    fraction: str | None = None
    candidates: tuple[Analyte, ...] = ()
    notes: tuple[str, ...] = ()
    problem: str | None = None
    proposal: str | None = None


class UnknownAnalyte(Refused):
    """A name was used that the list of analytes does not hold."""


class Vocabulary:
    """The listed analytes, and the spellings that people taught by accepting proposals."""

    def __init__(self, learned: Mapping[str, str]) -> None:
        self._by_key = listing.by_key()
        self._canonical = {analyte.name: analyte for analyte in listing.analytes()}
        self._learned = {names.key(spelling): self.by_name(name) for spelling, name in learned.items()}

    @classmethod
    def load(cls, learned: Mapping[str, str] = {}) -> Vocabulary:
        """The built-in list with `learned` (spelling -> analyte name) on top.

        Raises
        ------
        UnknownAnalyte
            A learned spelling points to a name that is not listed.
        """
        return cls(learned)

    def __iter__(self) -> Iterator[Analyte]:
        return iter(self._canonical.values())

    def by_name(self, canonical: str) -> Analyte:
        """The analyte of exactly this listed name.

        Raises
        ------
        UnknownAnalyte
            No analyte has that name; synonyms are read by `named`.
        """
        try:
            return self._canonical[canonical]
        except KeyError:
            likely = ", ".join(nearest(canonical, self._canonical)) or "none"
            raise UnknownAnalyte(f"analyte {canonical!r} is not listed; names most like it: {likely}") from None

    def named(self, name: str) -> Analyte | None:
        """The analyte of this name or synonym; None if it is unknown or may mean several."""
        return self._read_name(name).analyte

    def sums(self) -> dict[str, tuple[tuple[str, ...], ...]]:
        """Each sum with listed parts -> its alternatives, any one of which is complete."""
        return {analyte.name: analyte.members for analyte in self if analyte.members}

    def identify(self, name: str, cas: str) -> Identity:
        """What a laboratory's name and CAS number together mean; a disagreement is held, never resolved."""
        name, cas = " ".join(name.split()), " ".join(cas.split())
        if plain(cas) in _NO_CAS:
            cas = ""
        cas_as_name = self._read_name(cas) if re.search(r"[A-Za-z]{3}", cas) else _NameRead()
        if not name and cas_as_name.analyte is not None:
            note = f"name found in the CAS cell: {cas}"
            return _settled(cas_as_name.analyte, cas_as_name.fraction, (*cas_as_name.notes, note))
        if not name:
            return self._by_number_alone(cas)
        read = self._read_name(name)
        if read.analyte is None and not read.candidates and names.is_tentative(name):
            return Identity(name, None, "tentative")
        number, notes = _number(cas)
        if read.candidates:
            return self._ambiguous(name, read, cas, number, notes)
        if read.analyte is None:
            return self._unknown_name(name, read, cas, number)
        settled = _settled(read.analyte, read.fraction, read.notes)
        if cas_as_name.analyte is read.analyte:
            return replace(settled, notes=(*settled.notes, f"the CAS cell holds a name that agrees: {cas}"))
        return _checked(name, read.analyte, settled, cas, number, notes)

    def _read_name(self, name: str) -> _NameRead:
        base, fraction = names.without_fraction(name)
        for spelling in dict.fromkeys((name, base)):
            key = names.key(spelling)
            analyte = self._learned.get(key) or self._by_key.get(key)
            if analyte is not None:
                return self._with_fraction(analyte, base, fraction)
            if key in listing.ambiguous_names():
                found = tuple(self.by_name(candidate) for candidate in listing.ambiguous_names()[key])
                return _NameRead(fraction=fraction, candidates=found)
        ends = names.carbon_ends(base)
        if ends is not None:
            return self._read_range(base, ends)
        bracket = names.bracket_text(base)
        if bracket is not None:
            read = self._read_bracket(*bracket)
            return replace(read, fraction=read.fraction or fraction)
        return _NameRead()

    def _with_fraction(self, analyte: Analyte, base: str, fraction: str | None) -> _NameRead:
        key = names.key(base)
        if fraction is None or (analyte.kind not in ("substance", "species") and fraction != "dissolved"):
            return _NameRead(analyte)  # 'total' before a sum or range is part of its name
        if (self._learned.get(key) or self._by_key.get(key)) is not analyte:
            return _NameRead(analyte)
        has_species = any(other.species_of == analyte.name for other in self)
        note = f"'total' in the name read as the fraction; {analyte.name} is all its species together"
        return _NameRead(analyte, fraction, notes=(note,) if has_species and fraction == "total" else ())

    def _read_range(self, name: str, ends: tuple[int, int]) -> _NameRead:
        found = listing.ranges_between(ends, names.hydrocarbon_families(name))
        if len(found) == 1:
            return _NameRead(found[0], notes=(f"read by its carbon ends C{ends[0]}-C{ends[1]}",))
        said = f"carbon range C{ends[0]}-C{ends[1]}"
        if found:
            return _NameRead(
                problem=f"{said} is listed more than once and {name!r} does not say which",
                proposal=" | ".join(analyte.name for analyte in found),
            )
        likely = nearest(name, (analyte.name for analyte in self if analyte.kind == "range"))
        return _NameRead(problem=f"{said} of {name!r} is not listed", proposal=" | ".join(likely) or None)

    def _read_bracket(self, before: str, inside: str) -> _NameRead:
        outer = self._read_name(before)
        if _SURROGATE_MARK.fullmatch(plain(inside)):
            if outer.analyte is None or outer.analyte.kind == "surrogate":
                return outer
            return _NameRead(problem=f"{before!r} is marked as a surrogate and is not listed as one")
        inner = self._read_name(inside)
        meant = (inner.analyte,) if inner.analyte else inner.candidates
        if outer.analyte is not None and outer.analyte in meant:
            return outer
        if outer.candidates and inner.analyte in outer.candidates:
            return replace(inner, fraction=inner.fraction or outer.fraction)
        proposal = [analyte.name for analyte in (outer.analyte, inner.analyte) if analyte is not None]
        if outer.analyte is not None:
            problem = f"{before!r} is {outer.analyte.name}, but {inside!r} in brackets is not known to mean the same"
            return _NameRead(problem=problem, proposal=" | ".join(proposal))
        return _NameRead(proposal=" | ".join(proposal) or None)

    def _by_number_alone(self, cas: str) -> Identity:
        if not cas:
            return Identity(problem="neither a name nor a CAS number is given", field="analyte")
        number, notes = _number(cas)
        found = listing.by_cas().get(number or "", ())
        if len(found) == 1:
            note = f"no name given; {number} is {found[0].name}"
            return _settled(found[0], None, (*notes, note))
        if found:
            names_found = " | ".join(analyte.name for analyte in found)
            return Identity(problem=f"no name given and {number} has several", field="analyte", proposal=names_found)
        if number is not None:
            return Identity(problem=f"no name given and CAS {number} is not listed", field="cas")
        known = [repair for repair in cas_numbers.repairs(cas) if repair in listing.by_cas()]
        problem = f"no name given and CAS {cas!r}: {cas_numbers.complaint(cas)}"
        return Identity(problem=problem, field="cas", proposal=" | ".join(known) or None)

    def _ambiguous(self, name: str, read: _NameRead, cas: str, number: str | None, notes: tuple[str, ...]) -> Identity:
        same = [analyte for analyte in read.candidates if number is not None and number == analyte.cas]
        if len(same) == 1:
            note = f"{name!r} settled by its CAS number {number}"
            return _settled(same[0], read.fraction, (*notes, note))
        may_mean = " or ".join(analyte.name for analyte in read.candidates)
        others = ", among others" if len(read.candidates) == 1 else ""
        problem = f"{name!r} alone may mean {may_mean}{others}"
        if cas:
            fault = f"CAS {number} is none of these" if number else f"CAS {cas!r}: {cas_numbers.complaint(cas)}"
            problem = f"{problem}; {fault}"
            ours = {analyte.cas for analyte in read.candidates}
            repaired = [repair for repair in cas_numbers.repairs(cas) if repair in ours] if not number else []
            if repaired:
                return Identity(problem=problem, field="cas", proposal=" | ".join(repaired))
        proposal = " | ".join(analyte.name for analyte in read.candidates)
        return Identity(problem=problem, field="analyte", proposal=proposal)

    def _unknown_name(self, name: str, read: _NameRead, cas: str, number: str | None) -> Identity:
        problem = read.problem or f"analyte {name!r} is not listed"
        ours = listing.by_cas().get(number or "", ())
        if ours:
            owner = " | ".join(analyte.name for analyte in ours)
            return Identity(problem=f"{problem}; CAS {number} is {owner}", field="analyte", proposal=owner)
        if number:
            problem = f"{problem}; nor is CAS {number}"
        elif cas:
            problem = f"{problem}; CAS {cas!r}: {cas_numbers.complaint(cas)}"
            repaired = [a.name for repair in cas_numbers.repairs(cas) for a in listing.by_cas().get(repair, ())]
            if repaired:
                return Identity(problem=problem, field="analyte", proposal=" | ".join(repaired))
        return Identity(problem=problem, field="analyte", proposal=read.proposal or self._nearest(name))

    def _nearest(self, name: str) -> str | None:
        spellings = {plain(text): a.name for a in self for text in (a.name, *a.synonyms)}
        likely = dict.fromkeys(spellings[text] for text in nearest(plain(name), spellings, count=5))
        return " | ".join(list(likely)[:3]) or None


def _settled(analyte: Analyte, fraction: str | None, notes: tuple[str, ...]) -> Identity:
    return Identity(analyte.name, analyte.cas, analyte.kind, fraction, notes)


def _number(cas: str) -> tuple[str | None, tuple[str, ...]]:
    """The valid number (or numbers joined by /) in the text, with a note if hyphens were restored."""
    parts = [part.strip() for part in re.split(r"[/;,&]", cas)] if cas else []
    if parts and all(cas_numbers.valid(part) for part in parts):
        return "/".join(parts), ()
    restored = cas_numbers.hyphenate(cas)
    if cas and cas_numbers.valid(restored):
        what = "leading zeros dropped" if cas_numbers.has_shape(cas.lstrip("0")) else "hyphens restored"
        return restored, (f"{what}: {cas} read as {restored}",)
    return None, ()


def _checked(name: str, analyte: Analyte, settled: Identity, cas: str, number: str | None, notes: tuple[str, ...]) -> Identity:
    """The identity of a known name held against the CAS text beside it."""
    if not cas:
        return settled
    if number is not None and set(number.split("/")) == set(analyte.cas_numbers):
        return replace(settled, notes=(*settled.notes, *notes))
    if number is None:
        if analyte.cas is None and not re.fullmatch(r"[\d\-/.]+", cas):
            note = f"CAS text {cas!r} is no CAS number; {analyte.name} has none"
            return replace(settled, notes=(*settled.notes, note))
        agreeing = [repair for repair in cas_numbers.repairs(cas) if repair == analyte.cas]
        proposal = agreeing or ([analyte.cas] if analyte.cas else cas_numbers.repairs(cas))
        fault = f"CAS {cas!r} beside {name!r}: {cas_numbers.complaint(cas)}"
        return Identity(problem=fault, field="cas", proposal=" | ".join(proposal) or None)
    owners = " | ".join(owner.name for owner in listing.by_cas().get(number, ()))
    if _is_unseparated_pair(analyte) and set(number.split("/")) <= _member_numbers(analyte):
        note = f"CAS {number} is that of one part of {analyte.name}, which the method does not separate"
        return replace(settled, notes=(*settled.notes, *notes, note))
    if analyte.cas is None and any(
        names.key(analyte.name).startswith(names.key(owner.name)) for owner in listing.by_cas().get(number, ())
    ):
        note = f"CAS {number} is that of the part that {analyte.name} is named after"
        return replace(settled, notes=(*settled.notes, *notes, note))
    if analyte.cas is None and not owners:
        note = f"CAS {number} given; {analyte.name} has none"
        return replace(settled, notes=(*settled.notes, *notes, note))
    other = f"CAS {number} is {owners}" if owners else f"CAS {number} is not listed"
    ours = f"{analyte.name} has {analyte.cas}" if analyte.cas else f"{analyte.name} has none"
    proposal = [analyte.cas] if analyte.cas else []
    fault = f"name and CAS number disagree: {name!r} is {analyte.name}, {other}; {ours}"
    return Identity(problem=fault, field="cas", proposal=" | ".join([*proposal, *([owners] if owners else [])]) or None)


def _is_unseparated_pair(analyte: Analyte) -> bool:
    """Whether a sum is two substances that no column separates; a name that says "total" claims more."""
    pair = analyte.kind == "sum" and [len(parts) for parts in analyte.members] == [2]
    return pair and "total" not in analyte.name.casefold()


def _member_numbers(analyte: Analyte) -> set[str]:
    canonical = {listed.name: listed.cas for listed in listing.analytes()}
    own = {canonical.get(member) for alternative in analyte.members for member in alternative}
    return {number for number in own if number} | set(analyte.cas_numbers)
