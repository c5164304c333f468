import pytest

from screening.vocabulary.analytes import UnknownAnalyte, Vocabulary, is_tentative


@pytest.fixture(scope="module")
def vocabulary() -> Vocabulary:
    return Vocabulary.load()


class TestSpoiledNumbers:
    """Acceptance scenario "CAS numbers that a spreadsheet spoiled"."""

    def test_date(self, vocabulary: Vocabulary) -> None:
        read = vocabulary.identify("Dichloromethane", "1975-09-02")
        assert (read.analyte, read.field, read.proposal) == (None, "cas", "75-09-2")
        assert read.problem is not None and "date" in read.problem

    def test_lost_digit(self, vocabulary: Vocabulary) -> None:
        read = vocabulary.identify("Methoxychlor", "2-43-5")
        assert (read.field, read.proposal) == ("cas", "72-43-5")
        assert read.problem is not None and "17 gives 7, not 5" in read.problem

    def test_lost_hyphen(self, vocabulary: Vocabulary) -> None:
        read = vocabulary.identify("Arsenic", "744038-2")
        assert (read.problem, read.cas) == (None, "7440-38-2")
        assert read.notes == ("hyphens restored: 744038-2 read as 7440-38-2",)

    def test_brackets(self, vocabulary: Vocabulary) -> None:
        assert vocabulary.identify("Benzo[a]pyrene", "50-32-8") == vocabulary.identify("Benzo(a)pyrene", "50-32-8")

    def test_initials_alone(self, vocabulary: Vocabulary) -> None:
        read = vocabulary.identify("1,2-DCA", "")
        assert (read.analyte, read.field, read.proposal) == (None, "analyte", "1,2-Dichloroethane")

    def test_accepted_repairs_are_accepted(self, vocabulary: Vocabulary) -> None:
        assert vocabulary.identify("Dichloromethane", "75-09-2").analyte == "Methylene chloride"
        assert vocabulary.identify("Methoxychlor", "72-43-5").analyte == "Methoxychlor"


@pytest.mark.parametrize(
    ("name", "analyte"),
    [
        ("Benzo-a-pyrene", "Benzo[a]pyrene"),
        ("Benzo (a) pyrene", "Benzo[a]pyrene"),
        ("BENZO(GHI)PERYLENE", "Benzo[g,h,i]perylene"),
        ("Indeno(1,2,3-c,d)pyrene", "Indeno[1,2,3-cd]pyrene"),
        (".alpha.-Endosulfan", "Endosulfan I"),
        ("\u03b1-BHC", "alpha-BHC"),
        ("p,p\u2032-DDT", "4,4'-DDT"),
        ("Total Xylenes", "Total xylenes"),
        ("Xylenes, total", "Total xylenes"),
        ("Xylene (total)", "Total xylenes"),
        ("m/p-Xylene", "m,p-Xylene"),
        ("P & M -Xylene", "m,p-Xylene"),
        ("MTBE", "Methyl tert-butyl ether"),
        ("1,2-Dichloroethane (EDC)", "1,2-Dichloroethane"),
        ("CFC-11", "Trichlorofluoromethane"),
        ("CHBrCl2", "Bromodichloromethane"),
        ("SOLIDS, TOTAL", "Percent solids"),
        ("PCB-056+060", "PCB-056+060"),
    ],
)
def test_spellings(vocabulary: Vocabulary, name: str, analyte: str) -> None:
    assert vocabulary.identify(name, "").analyte == analyte


@pytest.mark.parametrize(
    ("name", "analyte"),
    [
        ("TPH C6-C12 (gasoline)", "TPH C6-C12"),
        ("C6-C12", "TPH C6-C12"),
        ("TPH (C6-C12)", "TPH C6-C12"),
        ("C10-C20 TPH", "TPH C10-C20"),
        ("Gasoline Range Organics (C6-C10)", "Gasoline range organics C6-C10"),
        ("TPH-GRO (C6-C10)", "Gasoline range organics C6-C10"),
        ("GRO", "Gasoline range organics"),
        ("C9-C10 Aromatics", "C9-C10 Aromatics"),
    ],
)
def test_carbon_ranges(vocabulary: Vocabulary, name: str, analyte: str) -> None:
    assert vocabulary.identify(name, "").analyte == analyte


@pytest.mark.parametrize("name", ["C7-C9 TPH", "TPH (C6-C10 volatile + C10-C36 extractable)"])
def test_an_unlisted_range_is_held(vocabulary: Vocabulary, name: str) -> None:
    assert vocabulary.identify(name, "").problem is not None


@pytest.mark.parametrize(
    ("name", "fraction"),
    [
        ("Lead, dissolved", "dissolved"),
        ("Dissolved lead", "dissolved"),
        ("Lead (dissolved)", "dissolved"),
        ("LEAD, TOTAL", "total"),
        ("Lead, Total Recoverable", "total"),
        ("Lead, water, unfiltered, recoverable, micrograms per liter", "total"),
        ("Lead, wf", "dissolved"),
        ("Lead, wu,recov", "total"),
        ("Lead", None),
    ],
)
def test_fraction_in_the_name(vocabulary: Vocabulary, name: str, fraction: str | None) -> None:
    read = vocabulary.identify(name, "7439-92-1")
    assert (read.analyte, read.fraction, read.problem) == ("Lead", fraction, None)


def test_species_stay_apart(vocabulary: Vocabulary) -> None:
    assert vocabulary.identify("Total chromium", "").analyte == "Chromium"
    assert vocabulary.identify("Chromium VI", "18540-29-9").kind == "species"
    assert vocabulary.by_name("Hexavalent chromium").species_of == "Chromium"
    assert vocabulary.by_name("Chromium(III)").species_of == "Chromium"


def test_sums(vocabulary: Vocabulary) -> None:
    assert vocabulary.sums()["Total xylenes"] == (
        ("m,p-Xylene", "o-Xylene"),
        ("m-Xylene", "p-Xylene", "o-Xylene"),
    )


@pytest.mark.parametrize("absent", ["", "NA", "n/a", "-", "none", " "])
def test_cas_words_for_nothing(vocabulary: Vocabulary, absent: str) -> None:
    assert vocabulary.identify("Benzene", absent).problem is None


@pytest.mark.parametrize(
    ("name", "number", "words"),
    [
        ("Benzene", "108-88-3", ("Benzene", "Toluene")),
        ("Benzene", "64742-49-0", ("64742-49-0", "not listed")),
        ("GRO", "71-43-2", ("Gasoline range organics", "Benzene")),
        ("Total xylenes", "108-38-3", ("Total xylenes", "m-Xylene")),
        ("Nobodyene", "71-43-2", ("Nobodyene", "Benzene")),
        ("Nobodyene", "64742-49-0", ("Nobodyene", "64742-49-0")),
        ("Benzene (MTBE)", "", ("Benzene", "MTBE")),
        ("Lead (II)", "", ("Lead", "II")),
        ("1,2-DCA", "71-43-2", ("1,2-DCA", "71-43-2")),
        ("Benzene (surr)", "", ("surrogate",)),
        ("", "", ("neither",)),
    ],
)
def test_conflicts_are_held_and_both_sides_named(vocabulary: Vocabulary, name: str, number: str, words: tuple[str, ...]) -> None:
    read = vocabulary.identify(name, number)
    assert read.analyte is None
    assert read.problem is not None
    assert all(word in read.problem for word in words)


@pytest.mark.parametrize(
    ("name", "number", "analyte"),
    [
        ("", "71-43-2", "Benzene"),
        ("1,2-DCA", "107-06-2", "1,2-Dichloroethane"),
        ("GRO", "8006-61-9", "Gasoline range organics"),
        ("m,p-Xylene", "108-38-3", "m,p-Xylene"),
        ("m,p-Xylene", "108-38-3/106-42-3", "m,p-Xylene"),
        ("PCBTRI2 (unidentified PCBs)", "PCBTRI2", "PCBTRI2 (unidentified PCBs)"),
    ],
)
def test_accepted_with_a_note(vocabulary: Vocabulary, name: str, number: str, analyte: str) -> None:
    read = vocabulary.identify(name, number)
    assert (read.analyte, read.problem) == (analyte, None)
    assert read.notes


def test_an_unknown_name_gets_the_nearest(vocabulary: Vocabulary) -> None:
    read = vocabulary.identify("Ethylbenzne", "")
    assert read.proposal is not None and read.proposal.split(" | ")[0] == "Ethylbenzene"


@pytest.mark.parametrize("name", ["unknown hydrocarbon", "Unknown", "C10 alkane", "2-Methylnonane (TIC)"])
def test_tentative_compounds(vocabulary: Vocabulary, name: str) -> None:
    assert is_tentative(name)
    read = vocabulary.identify(name, "")
    assert (read.kind, read.analyte, read.problem) == ("tentative", name, None)


def test_surrogates(vocabulary: Vocabulary) -> None:
    for name in ("Toluene-d8 (surr)", "PYRENE-D10", "Dibromofluoromethane [SS1]", "o-Terphenyl"):
        assert vocabulary.identify(name, "").kind == "surrogate"


def test_a_taught_spelling_is_read() -> None:
    taught = Vocabulary.load({"1,2-DCA": "1,2-Dichloroethane", "our lab's benzol": "Benzene"})
    assert taught.identify("1,2-DCA", "").analyte == "1,2-Dichloroethane"
    assert taught.identify("Our Lab's Benzol", "").analyte == "Benzene"


def test_a_lesson_for_an_unlisted_analyte_is_refused() -> None:
    with pytest.raises(UnknownAnalyte, match="Benzene"):
        Vocabulary.load({"x": "Benzen"})


def test_every_listed_spelling_is_identified_as_its_own_analyte(vocabulary: Vocabulary) -> None:
    for analyte in vocabulary:
        for spelling in (analyte.name, *analyte.synonyms):
            read = vocabulary.identify(spelling, analyte.cas or "")
            assert (read.analyte, read.problem) == (analyte.name, None), spelling
