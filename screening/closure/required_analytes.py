"""Analytes that the stored products ask for, sample by sample, and those that no result answers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from screening.closure.findings import Gap
from screening.closure.library import GENERAL, Library, Taken
from screening.closure.rules import ProductRow
from screening.closure.samples import SOIL, WATER, Place, Sampled, places
from screening.closure.situation import products_of, release_found
from screening.site.site_file import SiteFile
from screening.vocabulary.analysis_groups import answered_by, asked_for
from screening.vocabulary.analytes import Vocabulary


@dataclass(frozen=True)
class AnalyteMissing:
    """One analyte, or analysis, that a rule asks for at a sample and that no result answers."""

    sample: str
    location: str
    component: str
    medium: str
    analyte: str
    product: str
    decides: bool
    citation: str
    transcription: str
    because: str
    waived: str = ""


@dataclass(frozen=True)
class Demand:
    """One analyte asked for, of one product, whichever rule or order asks."""

    analyte: str
    product: str
    media: tuple[str, ...]
    decides: bool
    citation: str
    transcription: str
    note: str


def analytes_missing(
    site: SiteFile, samples: Sequence[Sampled], library: Library, taken: Taken, waiting: Sequence[tuple[str, str]] = ()
) -> tuple[list[AnalyteMissing], list[str]]:
    """What is missing, and notes. ``waiting`` are (sample, analyte) of rows held back, which are told elsewhere."""
    held = {(sample, _name(analyte)) for sample, analyte in waiting}
    lists = _Lists(site, library, taken)
    found: dict[tuple[str, str, str, str], AnalyteMissing] = {}
    for sample, component in _tied(places(site, samples), samples):
        for demand in lists.of(component):
            if sample.medium not in (
                *(SOIL if "soil" in demand.media else ()),
                *(WATER if "groundwater" in demand.media else ()),
            ):
                continue
            if answered(demand.analyte, sample.rows) or (sample.sample, _name(demand.analyte)) in held:
                continue
            key = (sample.sample, sample.medium, demand.analyte, component)
            if key not in found or (demand.decides and not found[key].decides):
                found[key] = AnalyteMissing(
                    sample.sample, sample.location, component, sample.medium, demand.analyte, demand.product, demand.decides,
                    demand.citation, demand.transcription, _because(demand, sample), _waiver(site, component, demand.analyte),
                )  # fmt: skip
    return list(found.values()), lists.notes


class _Lists:
    """The demands of a site by component."""

    def __init__(self, site: SiteFile, library: Library, taken: Taken) -> None:
        self.site = site
        self.files = [file for file in taken.files if file.name != GENERAL or taken.named]
        self.general = library.general("products")
        self.notes = [f"analyte lists: {', '.join(file.name for file in self.files) or 'none'} ({taken.because})"]
        self.notes += [f"{file.name}: {text}" for file in self.files for text in (file.incomplete, file.note) if text]
        self._offered = False

    def of(self, component: str) -> list[Demand]:
        """What is asked for at a component, the general list where no other speaks of its products."""
        demands: list[Demand] = []
        for product in products_of(self.site, component):
            for required in self.site.required:
                if required.product in ("", product):
                    demands += [
                        Demand(name, product, ("soil", "groundwater"), True, required.citation, "as the site file states", "")
                        for name in required.analytes
                    ]
            own = [row for file in self.files for row in file.rows if not row.products or product in row.products]
            counting = [row for row in own if row.force in ("required", "if_release_suspected", "consider")]
            demands += [self._demand(row, product, decides=True) for row in counting]
            self._note(row for row in own if row.force in ("method_note", "follow_on"))
            if not counting and not any(required.product in ("", product) for required in self.site.required):
                demands += [self._demand(row, product, decides=False) for row in self.general.rows if product in row.products]
                self._note_general(product)
        return demands

    def _demand(self, row: ProductRow, product: str, *, decides: bool) -> Demand:
        binding = row.force == "required" or (row.force == "if_release_suspected" and release_found(self.site))
        return Demand(
            row.analyte, product, row.media, binding and decides, row.citation, row.status,
            {"consider": "the rule asks to consider it", "if_release_suspected": "asked for where a release is known or suspected"}
            .get(row.force, "") + (f"; {row.note}" if row.note else ""),
        )  # fmt: skip

    def _note(self, rows: Iterable[ProductRow]) -> None:
        for row in rows:
            if row.note and f"{row.note} ({row.citation})" not in self.notes:
                self.notes.append(f"{row.note} ({row.citation})")

    def _note_general(self, product: str) -> None:
        known = any(product in row.products for row in self.general.rows)
        told = "common practice, no source, is offered" if known else "nor is there a common one for it"
        text = f"no list of analytes was read for '{product}' here, which does not mean that the rule has none; {told}"
        if text not in self.notes:
            self.notes.append(text)


def _tied(found: Sequence[Place], samples: Sequence[Sampled]) -> Iterator[tuple[Sampled, str]]:
    """Each soil or groundwater sample with its component, '' where it stands for none."""
    component = {id(item): place.location.component for place in found for item in place.samples}
    for sample in samples:
        if sample.medium in (*SOIL, *WATER):
            yield sample, component.get(id(sample), "")


def answered(item: str, rows: set[tuple[str, str]]) -> bool:
    """Whether results answer an analyte by itself, by all members of a sum, or a group by any of its analytes."""
    names = {analyte for analyte, _ in rows}
    asked = asked_for(item) or (item,)
    members = _members()
    for one in asked:
        if one in names or any(set(parts) <= names for parts in members.get(one, ())):
            continue
        if any(one in way for analyte, method in rows for way in answered_by(analyte, method)):
            continue
        return False
    return True


@lru_cache(maxsize=1)
def _members() -> Mapping[str, tuple[tuple[str, ...], ...]]:
    return Vocabulary.load().sums()


def _name(text: str) -> str:
    known = Vocabulary.load().named(text)
    return known.name if known else text


def _because(demand: Demand, sample: Sampled) -> str:
    known = Vocabulary.load().named(demand.analyte)
    total = known.species_of if known else None
    said = "only the total was delivered" if total and total in sample.analytes else "no result"
    return f"{said}; {demand.note}" if demand.note.strip("; ") else said


def _waiver(site: SiteFile, component: str, analyte: str) -> str:
    for part in site.waiver:
        if part.analyte and _name(part.analyte) == _name(analyte) and part.component in ("", component):
            return f"waived by {part.by}: {part.why}"
    return ""


def gaps_of(missing: Sequence[AnalyteMissing]) -> list[Gap]:
    """One gap an analyte and medium, with all samples that lack it."""
    grouped: dict[tuple[str, str, str, str], list[AnalyteMissing]] = {}
    for one in missing:
        if one.decides and not one.waived:
            grouped.setdefault((one.analyte, one.medium, one.because, one.citation), []).append(one)
    gaps = []
    for (analyte, medium, because, citation), lacking in grouped.items():
        samples = ", ".join(dict.fromkeys(one.sample for one in lacking))
        products = ", ".join(dict.fromkeys(one.product for one in lacking))
        gaps.append(
            Gap(f"{analyte} is asked for in {medium} where {products.replace('_', ' ')} was stored and is missing in {samples}: {because} ({citation})",
                f"have {samples} analysed for {analyte}, or sample again where that can no longer be done")
        )  # fmt: skip
    return gaps
