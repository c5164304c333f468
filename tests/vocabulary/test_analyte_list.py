"""The list of analytes is data, and data is tested."""

from collections import defaultdict

from screening.vocabulary import cas, listing, names
from screening.vocabulary.tables import rows


def test_every_cas_number_passes_its_check() -> None:
    assert [a.name for a in listing.analytes() for number in a.cas_numbers if not cas.valid(number)] == []


def test_no_two_analytes_share_a_key() -> None:
    owners: dict[str, set[str]] = defaultdict(set)
    for analyte in listing.analytes():
        for spelling in (analyte.name, *analyte.synonyms):
            owners[names.key(spelling)].add(analyte.name)
    assert {key: found for key, found in owners.items() if len(found) > 1} == {}


def test_names_are_unique() -> None:
    found = [analyte.name for analyte in listing.analytes()]
    assert len(found) == len(set(found))


def test_an_ambiguous_name_is_no_plain_synonym_and_its_candidates_are_listed() -> None:
    listed = {analyte.name for analyte in listing.analytes()}
    assert set(listing.ambiguous_names()) & set(listing.by_key()) == set()
    for candidates in listing.ambiguous_names().values():
        assert set(candidates) <= listed


def test_only_these_share_a_cas_number() -> None:
    # Nitrate and nitrite carry one number whichever way they are counted; a surrogate is also a congener.
    shared = {number for number, found in listing.by_cas().items() if len(found) > 1}
    assert shared == {"57-12-5", "14797-55-8", "14797-65-0", "2051-24-3"}


def test_kinds_members_species_and_ends_are_sound() -> None:
    listed = {analyte.name: analyte for analyte in listing.analytes()}
    for analyte in listed.values():
        assert analyte.kind in listing.KINDS
        assert analyte.provenance, analyte.name
        assert {member for parts in analyte.members for member in parts} <= set(listed), analyte.name
        assert analyte.kind == "sum" or not analyte.members
        assert (analyte.kind == "species") == (analyte.species_of in listed)
        assert (analyte.carbon_from is None) == (analyte.carbon_to is None)
        if analyte.carbon_from is not None and analyte.carbon_to is not None:
            assert analyte.kind == "range"
            assert 0 < analyte.carbon_from < analyte.carbon_to


def test_gasoline_and_diesel_range_state_no_ends() -> None:
    listed = {analyte.name: analyte for analyte in listing.analytes()}
    for name in ("Gasoline range organics", "Diesel range organics", "Oil range organics"):
        assert listed[name].carbon_from is None
    assert (listed["TPH C6-C12"].carbon_from, listed["TPH C6-C12"].carbon_to) == (6, 12)


def test_every_ambiguous_name_has_a_provenance() -> None:
    assert all(row["provenance"] for row in rows("ambiguous_names.csv"))
