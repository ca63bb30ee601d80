"""Names as experts type them: read as they were meant, or refused with the nearest names.

The checklist is a part of the European fauna (names as in docs/tables.md's example); the wordings
are made up after how people write on labels, in mails and in tables.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.checklist import RANKS, Checklist, Taxon, read_name
from triage.checklist.authors import is_authorship
from triage.checklist.marks import read_qualifier


def species(name, family, vernacular="", *synonyms):
    return Taxon(
        scientific_name=name,
        rank="species",
        family=family,
        vernacular_name=vernacular,
        synonyms=synonyms,
    )


CHECKLIST = Checklist(
    [
        species(
            "Aeshna mixta", "Aeshnidae", "Migrant Hawker|Herbst-Mosaikjungfer|Żagnica jesienna"
        ),
        species("Aeshna grandis", "Aeshnidae", "Brown Hawker|Braune Mosaikjungfer|Żagnica wielka"),
        species("Aeshna juncea", "Aeshnidae", "Common Hawker|Moorland Hawker"),
        species("Anaciaeschna isoceles", "Aeshnidae", "Norfolk Hawker", "Aeshna isoceles"),
        species("Anax imperator", "Aeshnidae", "Emperor|Große Königslibelle|Anax empereur"),
        species("Anax parthenope", "Aeshnidae", "Lesser Emperor"),
        species("Coenagrion puella", "Coenagrionidae", "Azure Damselfly|Łątka dzieweczka"),
        species("Coenagrion pulchellum", "Coenagrionidae", "Variable Damselfly|Łątka wczesna"),
        species("Ischnura elegans", "Coenagrionidae", "Bluetail"),
        species("Ischnura pumilio", "Coenagrionidae", "Bluetail"),
        species("Libellula depressa", "Libellulidae", "Plattbauch|Libellule déprimée"),
        species("Libellula quadrimaculata", "Libellulidae", "Vierfleck"),
        species("Sympetrum striolatum", "Libellulidae", "Common Darter"),
        species("Sympetrum vulgatum", "Libellulidae", "Vagrant Darter"),
        species("Lestes dryas", "Lestidae", "Scarce Emerald Damselfly"),
        species("Calopteryx splendens", "Calopterygidae", "", "Agrion splendens"),
        Taxon(
            scientific_name="Calopteryx splendens xanthostoma",
            rank="subspecies",
            family="Calopterygidae",
        ),
    ]
)

# Written, accepted name.
PLAIN = [
    ("L. depressa", "Libellula depressa"),
    ("L depressa", "Libellula depressa"),
    ("Lib. depressa", "Libellula depressa"),
    ("C. puella", "Coenagrion puella"),
    ("Ae. mixta", "Aeshna mixta"),
    ("Aeshnamixta", "Aeshna mixta"),
    ("Aeshna\u200bmixta", "Aeshna mixta"),
    ("A. mixta", "Aeshna mixta"),
    ("Aes. mixta", "Aeshna mixta"),
    ("Ae mixta", "Aeshna mixta"),
    ("Aeshna_mixta", "Aeshna mixta"),
    ("Zagnica jesienna", "Aeshna mixta"),
    ("Aeshna mixta", "Aeshna mixta"),
    ("  Aeshna   mixta  ", "Aeshna mixta"),
    ("Aeshna\u00a0mixta", "Aeshna mixta"),
    ("Aeshna\u2009mixta", "Aeshna mixta"),
    ("Aeshna \u200bmixta\u200b", "Aeshna mixta"),
    ("\ufeffAeshna mixta", "Aeshna mixta"),
    ("Aeshna mix\u00adta", "Aeshna mixta"),
    ("aeshna mixta", "Aeshna mixta"),
    ("AESHNA MIXTA", "Aeshna mixta"),
    ("Aeshna Mixta", "Aeshna mixta"),
    ("Aeshna mixta.", "Aeshna mixta"),
    ("Aeshna mixta,", "Aeshna mixta"),
    ("Aeshna mixta!", "Aeshna mixta"),
    ('"Aeshna mixta"', "Aeshna mixta"),
    ("*Aeshna mixta*", "Aeshna mixta"),
    ("\u201cAeshna mixta\u201d", "Aeshna mixta"),
    ("Aeshna mixta Latreille, 1805", "Aeshna mixta"),
    ("Aeshna mixta Latreille 1805", "Aeshna mixta"),
    ("AESHNA MIXTA LATREILLE, 1805", "Aeshna mixta"),
    ("Aeshna mixta (Latreille, 1805)", "Aeshna mixta"),
    ("Aeshna mixta Latreille", "Aeshna mixta"),
    ("Aeshna grandis (L.)", "Aeshna grandis"),
    ("Aeshna grandis L., 1758", "Aeshna grandis"),
    ("Aeshna grandis L.", "Aeshna grandis"),
    ("Coenagrion puella (Linnaeus, 1758)", "Coenagrion puella"),
    ("Coenagrion puella (Linné 1758).", "Coenagrion puella"),
    ("Coenagrion pulchellum (Vander Linden, 1825)", "Coenagrion pulchellum"),
    ("Coenagrion pulchellum (van der Linden, 1825)", "Coenagrion pulchellum"),
    ("Anax parthenope (Selys, 1839)", "Anax parthenope"),
    ("Anax parthenope (de Selys Longchamps, 1839)", "Anax parthenope"),
    ("Anax imperator Leach in Brewster, 1815", "Anax imperator"),
    ("Anaciaeschna isoceles (O.F. Müller, 1767)", "Anaciaeschna isoceles"),
    ("Anaciaeschna isoceles (O. F. Müller 1767)", "Anaciaeschna isoceles"),
    ("Lestes dryas Kirby", "Lestes dryas"),
    ("Aeshna isoceles", "Anaciaeschna isoceles"),
    ("Agrion splendens", "Calopteryx splendens"),
    ("Anaciaeschna (Aeshna) isoceles", "Anaciaeschna isoceles"),  # both are its names
    ("Sympetrum (Sympetrum) striolatum", "Sympetrum striolatum"),
    ("Aeshna (Aeshna) mixta Latreille, 1805", "Aeshna mixta"),
    ("Calopteryx splendens xanthostoma", "Calopteryx splendens xanthostoma"),
    ("Calopteryx splendens ssp. xanthostoma", "Calopteryx splendens xanthostoma"),
    ("Calopteryx splendens splendens", "Calopteryx splendens"),
    ("Migrant Hawker", "Aeshna mixta"),
    ("migrant hawker", "Aeshna mixta"),
    ("Herbst-Mosaikjungfer", "Aeshna mixta"),
    ("żagnica jesienna", "Aeshna mixta"),
    ("ŻAGNICA WIELKA", "Aeshna grandis"),
    ("Große Königslibelle", "Anax imperator"),
    ("Anax empereur", "Anax imperator"),
    ("Libellule déprimée", "Libellula depressa"),
    ("Libellule de\u0301prime\u0301e", "Libellula depressa"),
    ("Łątka dzieweczka.", "Coenagrion puella"),
    ("Aeshna mixta (Migrant Hawker)", "Aeshna mixta"),
    ("Migrant Hawker (Aeshna mixta)", "Aeshna mixta"),
    ("Aeshna mixta - Migrant Hawker", "Aeshna mixta"),
    ("Migrant Hawker Aeshna mixta", "Aeshna mixta"),
    ("Anaciaeschna isoceles (= Aeshna isoceles)", "Anaciaeschna isoceles"),
    ("Anaciaeschna isoceles / Aeshna isoceles", "Anaciaeschna isoceles"),
    ("Aeshna", "Aeshna"),
    ("Aeshna sp.", "Aeshna"),
    ("Aeshna sp", "Aeshna"),
    ("Aeshna spp.", "Aeshna"),
    ("Aeshna species", "Aeshna"),
    ("Aeshna indet.", "Aeshna"),
    ("AESHNA SP.", "Aeshna"),
    ("Aeshna Fabricius, 1775", "Aeshna"),
    ("Coenagrionidae", "Coenagrionidae"),
    ("coenagrionidae indet.", "Coenagrionidae"),
    ("Zygoptera", "Zygoptera"),
    ("Zygoptera sp.", "Zygoptera"),
    ("Odonata", "Odonata"),
    ("Odonata indet", "Odonata"),
    ("Sympetrum striolatum s.str.", "Sympetrum striolatum"),
]
# Written, accepted name, sex.
SEXED = [
    ("Aeshna mixta ♂", "Aeshna mixta", "male"),
    ("Aeshna mixta ♀", "Aeshna mixta", "female"),
    ("Aeshna mixta ♂\ufe0f", "Aeshna mixta", "male"),
    ("♂ Aeshna mixta", "Aeshna mixta", "male"),
    ("Aeshna mixta, ♀", "Aeshna mixta", "female"),
    ("Aeshna mixta♀", "Aeshna mixta", "female"),
    ("Aeshna mixta ♂♀", "Aeshna mixta", "male and female"),
    ("Aeshna mixta ♂ + ♀", "Aeshna mixta", "male and female"),
    ("Aeshna mixta (male)", "Aeshna mixta", "male"),
    ("Aeshna mixta female", "Aeshna mixta", "female"),
    ("Aeshna mixta Weibchen", "Aeshna mixta", "female"),
    ("Aeshna mixta, Männchen", "Aeshna mixta", "male"),
    ("Aeshna mixta samiec", "Aeshna mixta", "male"),
    ("Aeshna mixta femelle", "Aeshna mixta", "female"),
    ("Aeshna mixta Latreille, 1805 ♂", "Aeshna mixta", "male"),
    ("Aeshna sp. ♀", "Aeshna", "female"),
]
# Written, accepted name, qualifier.
DOUBTED = [
    ("Aeshna mixta not sure", "Aeshna mixta", "?"),
    ("I think Aeshna mixta", "Aeshna mixta", "?"),
    ("Aeshna mixta 80%", "Aeshna mixta", "?"),
    ("Aeshna mixta, not sure", "Aeshna mixta", "?"),
    ("Aeshna mixta type", "Aeshna mixta", "nr."),
    ("like Aeshna mixta", "Aeshna mixta", "nr."),
    ("Aeshna ex gr. mixta", "Aeshna mixta", "agg."),
    ("Aeshna cf. mixta", "Aeshna mixta", "cf."),
    ("Aeshna cf mixta", "Aeshna mixta", "cf."),
    ("Aeshna CF. mixta", "Aeshna mixta", "cf."),
    ("AESHNA CF. MIXTA", "Aeshna mixta", "cf."),
    ("Aeshna cf.mixta", "Aeshna mixta", "cf."),
    ("Aeshna c.f. mixta", "Aeshna mixta", "cf."),
    ("Aeshna (cf. mixta)", "Aeshna mixta", "cf."),
    ("cf. Aeshna mixta", "Aeshna mixta", "cf."),
    ("cf Aeshna mixta Latreille, 1805", "Aeshna mixta", "cf."),
    ("Aeshna mixta cf.", "Aeshna mixta", "cf."),
    ("Aeshna mixta (cf.)", "Aeshna mixta", "cf."),
    ("cf. Anax", "Anax", "cf."),
    ("Aeshna sp. cf. mixta", "Aeshna mixta", "cf."),
    ("Aeshna sp. (mixta?)", "Aeshna mixta", "?"),
    ("Aeshna aff. mixta", "Aeshna mixta", "aff."),
    ("aff. Aeshna mixta", "Aeshna mixta", "aff."),
    ("Aeshna nr. mixta", "Aeshna mixta", "nr."),
    ("Aeshna near mixta", "Aeshna mixta", "nr."),
    ("Aeshna mixta?", "Aeshna mixta", "?"),
    ("Aeshna mixta ?", "Aeshna mixta", "?"),
    ("Aeshna mixta (?)", "Aeshna mixta", "?"),
    ("Aeshna mixta??", "Aeshna mixta", "?"),
    ("?Aeshna mixta", "Aeshna mixta", "?"),
    ("Aeshna ?mixta", "Aeshna mixta", "?"),
    ("Aeshna ? mixta", None, ""),  # a doubt of the genus, or of the species: asked
    ("Aeshna?", "Aeshna", "?"),
    ("Aeshna mixta agg.", "Aeshna mixta", "agg."),
    ("Aeshna mixta group", "Aeshna mixta", "agg."),
    ("Aeshna mixta-Gruppe", "Aeshna mixta", "agg."),
    ("Sympetrum striolatum complex", "Sympetrum striolatum", "agg."),
    ("Aeshna mixta s.l.", "Aeshna mixta", "s.l."),
    ("Aeshna mixta s. l.", "Aeshna mixta", "s.l."),
    ("Aeshna mixta sensu lato", "Aeshna mixta", "s.l."),
    ("probably Aeshna mixta", "Aeshna mixta", "?"),
    ("Aeshna mixta, prob.", "Aeshna mixta", "?"),
    ("vermutlich Aeshna mixta", "Aeshna mixta", "?"),
    ("wahrscheinlich Vierfleck", "Libellula quadrimaculata", "?"),
    ("chyba Aeshna mixta", "Aeshna mixta", "?"),
    ("prawdopodobnie żagnica jesienna", "Aeshna mixta", "?"),
    ("Aeshna mixta peut-être", "Aeshna mixta", "?"),
    ("Migrant Hawker?", "Aeshna mixta", "?"),
    ("cf. Migrant Hawker", "Aeshna mixta", "cf."),
    ("Aeshna cf. mixta ♂?", "Aeshna mixta", "cf. ?"),
    ("Coenagrionidae?", "Coenagrionidae", "?"),
    ("poss. Aeshna mixta", "Aeshna mixta", "?"),
    ("Aeshna mixta (prob.)", "Aeshna mixta", "?"),
    ("Aeshna mixta, likely", "Aeshna mixta", "?"),
    ("near Aeshna mixta", "Aeshna mixta", "nr."),
    ("Aeshna nr mixta", "Aeshna mixta", "nr."),
    ("Aeshna mixta complex", "Aeshna mixta", "agg."),
    ("Aeshna  mixta?!", "Aeshna mixta", "?"),
    ("?? Aeshna mixta", "Aeshna mixta", "?"),
    ("wohl Aeshna mixta", "Aeshna mixta", "?"),
    ("sans doute Aeshna mixta", "Aeshna mixta", "?"),
    ("peut-être Aeshna mixta", "Aeshna mixta", "?"),
]
# Written, shared name, the names.
SEVERAL = [
    ("C. puella or C. pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella or pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella oder pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella lub pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella albo C. pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella ou pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella/pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella / pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella / C. pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella & pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella and/or pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella und/oder C. pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("either Coenagrion puella or pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella x pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella × C. pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella\nCoenagrion pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella, pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella; C. pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion puella vs. pulchellum", "Coenagrion", ("puella", "pulchellum")),
    ("COENAGRION PUELLA OR PULCHELLUM", "Coenagrion", ("puella", "pulchellum")),
    (
        "Coenagrion puella (L.) / C. pulchellum (Vander Linden)",
        "Coenagrion",
        ("puella", "pulchellum"),
    ),
    ("Azure Damselfly or Variable Damselfly", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion (puella or pulchellum)", "Coenagrion", ("puella", "pulchellum")),
    ("Coenagrion sp. (puella/pulchellum)", "Coenagrion", ("puella", "pulchellum")),
    ("Sympetrum striolatum/vulgatum ♀", "Sympetrum", ("striolatum", "vulgatum")),
]
ACROSS = [
    ("Coenagrion puella / Ischnura elegans", "Coenagrionidae"),
    ("Anax imperator or Aeshna mixta", "Aeshnidae"),
    ("Anax or Aeshna", "Aeshnidae"),
    ("Coenagrion puella & Anax imperator", "Odonata"),
    ("Anax imperator + Libellula depressa", "Anisoptera"),
]
# Written, one name that must be offered, or none.
REFUSED = [
    ("Libellula q", "Libellula quadrimaculata"),
    ("Anax i", "Anax imperator"),
    ("Aeshna m", "Aeshna mixta"),
    ("Aeshna M.", "Aeshna mixta"),
    ("Anax Zzz", "Anax imperator"),
    ("Anax xyz", "Anax imperator"),
    ("aemi", "Aeshna mixta"),
    ("Aes mix", "Aeshna mixta"),
    ("C. pu.", "Coenagrion puella"),
    ("mixta", "Aeshna mixta"),
    ("Aesna mixta", "Aeshna mixta"),
    ("Aeschna mixta", "Aeshna mixta"),
    ("Aeshna mixat", "Aeshna mixta"),
    ("Aeshna míxta", "Aeshna mixta"),
    ("Aeshnä mixta", "Aeshna mixta"),
    ("Aeshna mixtа", "Aeshna mixta"),  # the last letter is Cyrillic
    ("Aeshna-mixta", "Aeshna mixta"),
    ("Libelulla depressa", "Libellula depressa"),
    ("Coenagrionide", "Coenagrion puella"),
    ("Migrant Hawkr", "Aeshna mixta"),
    ("Hawker", "Aeshna mixta"),
    ("Bluetail", "Ischnura elegans"),
    ("not Aeshna mixta", "Aeshna mixta"),
    ("Aeshna, not mixta", "Aeshna mixta"),
    ("nicht Aeshna mixta", "Aeshna mixta"),
    ("nie Aeshna mixta", "Aeshna mixta"),
    ("pas Aeshna mixta", "Aeshna mixta"),
    ("Aeshna (no mixta)", "Aeshna mixta"),
    ("Passer domesticus", None),
    ("Felis", None),
    ("Aeshna affinis", "Aeshna mixta"),
    ("Aeshna subarctica", "Aeshna mixta"),
    ("Aeshna mixta foo", "Aeshna mixta"),
    ("Aeshna mixta at Heron Mere", "Aeshna mixta"),
    ("Aeshna mixta Heron Mere", "Aeshna mixta"),
    ("Aeshna mixta Heron Mere 2026", "Aeshna mixta"),
    ("Aeshna mixta (Heron, 2026)", "Aeshna mixta"),
    ("Aeshna mixta det. Brenn", "Aeshna mixta"),
    ("Aeshna mixta f. autumnalis", "Aeshna mixta"),
    ("Aeshna (?) mixta", "Aeshna mixta"),
    ("Aeshna mixta male or female", "Aeshna mixta"),
    ("Coenagrion puella-pulchellum", "Coenagrion puella"),
    ("Aeshna mixta 3", "Aeshna mixta"),
    ("3 Aeshna mixta", "Aeshna mixta"),
    ("Aeshna mixta x2", "Aeshna mixta"),
    ("Aeshna mixta 2 males", "Aeshna mixta"),
    ("Aeshna mixta exuvia", "Aeshna mixta"),
    ("Aeshna mixta because of the thorax", "Aeshna mixta"),
    ("Aeshna mixta sp.", "Aeshna mixta"),
    ("Aeshna sp. 1", "Aeshna mixta"),
    ("Aeshna sp. nov.", "Aeshna"),
    ("Aeshna mixta Aeshna grandis", "Aeshna mixta"),
    ("Aeshna mixta grandis", "Aeshna mixta"),
    ("Aeshna mixta (Brown Hawker)", "Aeshna mixta"),
    ("Aeshna (Anax) mixta", "Aeshna mixta"),
    ("Aeshna (mixta)", "Aeshna mixta"),
    ("Aeshna mixta Anax, 1805", "Aeshna mixta"),
    ("Calopteryx splendens foo", "Calopteryx splendens"),
    ("Aeshna? mixta", "Aeshna mixta"),
    ("Coenagrion puella or pulchelum", "Coenagrion puella"),
    ("Coenagrion puella or something", "Coenagrion puella"),
    ("Coenagrion or", None),
    ("Aeshna x mixta", "Aeshna mixta"),
    ("Coenagrion puella hybrid", "Coenagrion puella"),
    ("Aeshna mixta ♂ / Aeshna grandis ♀", "Aeshna mixta"),
    ("Azure / Variable Damselfly", "Coenagrion puella"),
    ("dragonfly", None),
    ("?", None),
    ("cf.", None),
    ("sp.", None),
    ("♂", None),
    ("", None),
    ("   ", None),
    ("12345", None),
    ("=Aeshna mixta", "Aeshna mixta"),
    ("Aeshna mixta\x00", None),
    ("Aeshna mixta " * 30, None),
    ("Aeshna mixta-like", "Aeshna mixta"),
    ("Sympetrum striolatum (vulgatum?)", "Sympetrum striolatum"),
    ("Sympetrum vulgatum nec striolatum", "Sympetrum striolatum"),
    ("Sympetrum vulgatum, S. striolatum excluded", "Sympetrum striolatum"),
    ("Sympetrum striolatum rather than vulgatum", "Sympetrum striolatum"),
    ("Aeshna mixta not juncea", "Aeshna juncea"),
    ("no Aeshna mixta", "Aeshna mixta"),
    ("Aeshna n. sp.", "Aeshna"),
    ("Aeshna mixta var. alba", "Aeshna mixta"),
    ("Aeshna mixta f. typica", "Aeshna mixta"),
    ("Aeshna mixta 2 ♂♂ 1 ♀", "Aeshna mixta"),
    ("Aeshna mixta x3", "Aeshna mixta"),
    ("Aeshna mixta (larva)", "Aeshna mixta"),
    ("Aeshna mixta auct. non Latreille", "Aeshna"),
    ("[Aeshna mixta]", "Aeshna mixta"),
    ("Aeshna mixta dead", "Aeshna mixta"),
    ("ex-Aeshna mixta", "Aeshna mixta"),
    ("Aeshna mixta det. R. Fenner", "Aeshna mixta"),
    ("Aeshna mixta fide R. Fenner", "Aeshna mixta"),
    ("Aeshna m.", "Aeshna mixta"),
    ("Aeshna mi.", "Aeshna mixta"),
    ("Aeshna mixt", "Aeshna mixta"),
    ("Aeshna mixta\tAeshna juncea", "Aeshna mixta"),
    ("Aeshna mixta (verwechselbar mit juncea)", "Aeshna mixta"),
    ("Bluetail (elegans)", "Ischnura elegans"),
    ("unknown", None),
    ("not determined", None),
    ("Emperor sp.", "Anax imperator"),
    ("Libellula depressa∕quadrimaculata", "Libellula quadrimaculata"),
    ("Libellula depressa ⁄ quadrimaculata", "Libellula quadrimaculata"),
    ("Libellula depressa ev. quadrimaculata", "Libellula quadrimaculata"),
    ("Аeshna mixta", "Aeshna mixta"),
    ("hybrid Coenagrion puella", "Coenagrion puella"),
    ("Aeshna mixta + 1 Anax imperator", "Aeshna"),
    ("Aeshna mixta with Anax imperator", "Aeshna mixta"),
    ("Aeshna mixta eaten by Anax imperator", "Aeshna mixta"),
    ("formerly Aeshna mixta", "Aeshna mixta"),
    ("previously determined as Aeshna mixta", "Aeshna"),
    ("Aeshna mixta (error for juncea)", "Aeshna mixta"),
    ("Aeshna mixta -> Aeshna juncea", "Aeshna mixta"),
    ("Aeshna mixta => juncea", "Aeshna juncea"),
    ("Aeshna mixta recte juncea", "Aeshna mixta"),
    ("Aeshna mixta, corr. juncea", "Aeshna"),
    ("Aeshna mixta ode juncea", "Aeshna juncea"),
    ("Aeshna mixta alebo Aeshna juncea", "Aeshna mixta"),
]


def test_the_table_holds_at_least_160_names_and_28_in_doubt():
    assert len(PLAIN) + len(SEXED) + len(DOUBTED) + len(SEVERAL) + len(REFUSED) >= 160
    assert len(DOUBTED) >= 28


@pytest.mark.parametrize(("written", "accepted"), PLAIN)
def test_a_name_is_read_as_it_was_meant(written, accepted):
    found = read_name(written, CHECKLIST)
    assert (found.scientific_name or None, found.qualifier) == (accepted, ""), found
    assert found.verbatim == written


@pytest.mark.parametrize(("written", "accepted", "sex"), SEXED)
def test_a_sex_beside_a_name_is_read(written, accepted, sex):
    found = read_name(written, CHECKLIST)
    assert (found.scientific_name, found.qualifier, found.sex) == (accepted, "", sex)


@pytest.mark.parametrize(("written", "accepted", "qualifier"), DOUBTED)
def test_doubt_is_kept(written, accepted, qualifier):
    found = read_name(written, CHECKLIST)
    assert (found.scientific_name or None, found.qualifier) == (accepted, qualifier), found


@pytest.mark.parametrize(("written", "shared", "epithets"), SEVERAL)
def test_two_names_give_what_they_share_and_both_are_kept(written, shared, epithets):
    found = read_name(written, CHECKLIST)
    assert found.scientific_name == shared, found
    assert found.alternatives == tuple(f"{shared} {epithet}" for epithet in epithets)
    assert found.hybrid == (" x " in written or "×" in written)


@pytest.mark.parametrize(("written", "shared"), ACROSS)
def test_two_names_of_different_genera_share_a_coarser_rank(written, shared):
    found = read_name(written, CHECKLIST)
    assert (found.scientific_name, len(found.alternatives)) == (shared, 2)


@pytest.mark.parametrize(("written", "offered"), REFUSED)
def test_what_is_no_name_of_the_checklist_is_refused_with_the_nearest(written, offered):
    found = read_name(written, CHECKLIST)
    assert found.taxon is None, found
    assert found.problem
    assert found.next_step.endswith((".", "'."))
    if offered is not None:
        assert offered in found.near


def test_all_candidates_of_an_abbreviation_are_named():
    elsewhere = Checklist([species("Aeshna eremita", "Aeshnidae")])  # none of Europe's
    assert set(read_name("A. eremita", elsewhere).near) == {"Aeshna eremita"}
    assert set(read_name("C. pu.", CHECKLIST).near) == {
        "Coenagrion puella",
        "Coenagrion pulchellum",
    }
    assert set(read_name("Bluetail", CHECKLIST).near) == {"Ischnura elegans", "Ischnura pumilio"}


@settings(deadline=None)
@given(st.text(max_size=60))
def test_whatever_is_typed_gives_a_listed_taxon_or_a_problem(written):
    found = read_name(written, CHECKLIST)
    assert bool(found.taxon) != bool(found.problem)
    assert found.taxon is None or found.rank in RANKS


@settings(deadline=None)
@given(
    st.sampled_from([taxon.scientific_name for taxon in CHECKLIST.taxa]),
    st.text(alphabet="abcdefghijklmnopqrstuvwxyz", min_size=1, max_size=12),
)
def test_a_word_behind_a_name_is_never_cut_off(name, word):
    found = read_name(f"{name} {word}", CHECKLIST)
    if found.scientific_name == name and not found.qualifier and not found.sex:
        assert is_authorship(word) or word in ("ssp", "subsp", name.split()[-1])


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("CF", "cf."), ("cf", "cf."), ("?", "?"), ("sp.", ""), ("agg", "agg."), ("", "")],
)
def test_a_qualifier_in_its_own_column_is_spelt_in_one_way(typed, kept):
    assert read_qualifier(typed) == kept


@pytest.mark.parametrize(
    ("name", "rank", "qualifier", "expected"),
    [
        ("Aeshna mixta", "species", "", ("Aeshna mixta", "species")),
        ("Aeshna mixta", "species", "cf.", ("Aeshna", "genus")),
        ("Aeshna", "genus", "?", ("Aeshnidae", "family")),
        ("Aeshnidae", "family", "?", ("Anisoptera", "suborder")),
        ("Odonata", "order", "?", ("Odonata", "order")),
        ("Passer domesticus", "species", "?", ("Passer", "genus")),
    ],
)
def test_a_name_in_doubt_counts_for_what_stands_above_it(name, rank, qualifier, expected):
    assert CHECKLIST.without_doubt(name, rank, qualifier) == expected
