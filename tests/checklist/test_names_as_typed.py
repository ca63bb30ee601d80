"""Names as experts type them, read with the demo's checklist: right, or refused, never wrong.

The wordings are made up after how people write; each was judged before the program read it.
"""

from __future__ import annotations

from dataclasses import replace
from importlib import resources
from pathlib import Path

import pytest

from triage.checklist import Checklist, read_checklist, read_name

VERNACULAR = {
    "Aeshna mixta": "Herbst-Mosaikjungfer | żagnica jesienna | Aeschne mixte",
    "Platycnemis pennipes": "Blaue Federlibelle",
    "Libellula depressa": "Plattbauch | ważka płaskobrzucha | Libellule déprimée",
}

# "is": without doubt; "doubt": with a qualifier; "of": the taxon that is left; "no": refused.
# A name that could be read may be refused with the nearest names, too.
TYPED = [
    ("Sympetrum cfr. striolatum", "doubt", "Sympetrum striolatum"),
    ("prob. Aeshna juncea", "doubt", "Aeshna juncea"),
    ("Lestes barbarus (?)", "doubt", "Lestes barbarus"),
    ("Anax parthenope ??", "doubt", "Anax parthenope"),
    ("Coenagrion hastulatum, not sure", "doubt", "Coenagrion hastulatum"),
    ("vermutlich Sympetrum danae", "doubt", "Sympetrum danae"),
    ("wohl Libellula fulva", "doubt", "Libellula fulva"),
    ("chyba Aeshna grandis", "doubt", "Aeshna grandis"),
    ("peut-être Ischnura pumilio", "doubt", "Ischnura pumilio"),
    ("Somatochlora metallica agg", "doubt", "Somatochlora metallica"),
    ("Aeshna mixta / affinis", "of", "Aeshna"),
    ("Orthetrum c.f. albistylum", "doubt", "Orthetrum albistylum"),
    ("looks like Cordulia aenea", "doubt", "Cordulia aenea"),
    ("Leucorrhinia dubia sensu lato", "doubt", "Leucorrhinia dubia"),
    ("Ischnura elegans group", "doubt", "Ischnura elegans"),
    ("Calopteryx spec.", "of", "Calopteryx"),
    ("Sympetrum sp. (vulgatum?)", "doubt", "Sympetrum vulgatum"),
    ("Aeshna mixta s. str.", "is", "Aeshna mixta"),
    ("Coenagrion sp 2", "of", "Coenagrion"),
    ("?Epitheca bimaculata", "doubt", "Epitheca bimaculata"),
    ("Libellula fulva - 80%", "doubt", "Libellula fulva"),
    ("Calopteryx splendens i virgo", "of", "Calopteryx"),
    ("Sympetrum vulgatum vs. striolatum", "of", "Sympetrum"),
    ("Sympetrum sanguineum, danae", "of", "Sympetrum"),
    ("Anax imperator + parthenope", "of", "Anax"),
    ("entweder Lestes sponsa oder L. virens", "of", "Lestes"),
    ("Aeshna grandis (or cyanea)", "of", "Aeshna"),
    ("C. splendens x virgo", "of", "Calopteryx"),
    ("Calopteryx splendens × C. virgo", "of", "Calopteryx"),
    ("Orthetrum cancellatum/Libellula fulva", "of", "Libellulidae"),
    ("Libellula depressa ou Libellula fulva", "of", "Libellula"),
    ("Ischnura elegans - I. pumilio", "of", "Ischnura"),
    ("Azure or Variable Bluet", "of", "Coenagrion"),
    ("Coenagrion puella-pulchellum", "of", "Coenagrion"),
    ("Ae. mixta", "is", "Aeshna mixta"),
    ("S. danae", "is", "Sympetrum danae"),
    ("O. cancelatum", "no", ""),
    ("Aesh. gran.", "no", ""),
    ("S. flavomac.", "no", ""),
    ("Symp. vulg.", "no", ""),
    ("Blaue Federlibelle", "is", "Platycnemis pennipes"),
    ("żagnica jesienna", "is", "Aeshna mixta"),
    ("Żagnica Jesienna?", "doubt", "Aeshna mixta"),
    ("zagnica jesienna", "is", "Aeshna mixta"),
    ("Herbst Mosaikjungfer", "is", "Aeshna mixta"),
    ("Mosaikjungfer", "no", ""),
    ("Aeschne mixte", "is", "Aeshna mixta"),
    ("Libellule déprimée", "is", "Libellula depressa"),
    ("Libellule deprimee femelle", "is", "Libellula depressa"),
    ("Blue Emperor dragonfly", "is", "Anax imperator"),
    ("emperor", "no", ""),
    ("Common Darter or Ruddy Darter", "of", "Sympetrum"),
    ("Common Blue", "no", ""),
    ("Libelula quadrimaculata", "no", ""),
    ("Aeshna cyanaea", "no", ""),
    ("Anax imperatorr", "no", ""),
    ("Coenagrion pulchela", "no", ""),
    ("Lestes viridis", "no", ""),
    ("Leucorrhina pectoralis", "no", ""),
    ("Ischnura\xa0elegans", "is", "Ischnura elegans"),
    ("Ischnura\u200belegans", "is", "Ischnura elegans"),
    ("Anax\u2009imperator", "is", "Anax imperator"),
    ("\ufeffAnax imperator", "is", "Anax imperator"),
    ("Anax imper\xadator", "is", "Anax imperator"),
    ("\u0410nax imperator", "no", ""),
    ("Anax_imperator", "is", "Anax imperator"),
    ("ANAX IMPERATOR", "is", "Anax imperator"),
    ("Anax Imperator Leach", "is", "Anax imperator"),
    ("Anax ephippiger", "no", ""),
    ("no Aeshna mixta seen", "no", ""),
    ("Aeshna mixta exuvia", "no", ""),
    ("2 Aeshna mixta", "no", ""),
    ("Aeshna mixta 3 ex.", "no", ""),
    ("kein Anax imperator", "no", ""),
    ("Anax imperator, dead", "no", ""),
    ("Anax imperator in tandem with Anax parthenope", "no", ""),
    ("Zygoptera indet.", "of", "Zygoptera"),
    ("Libellulidae gen. sp.", "of", "Libellulidae"),
    ("dragonfly", "no", ""),
    ("Libellula depressa was wrong", "no", ""),
    ("rather Anax parthenope than imperator", "no", ""),
    ("Sympetrum striolatum/vulgatum", "of", "Sympetrum"),
    ("Aeshna juncea, cf. grandis", "of", "Aeshna"),
    ("Anax sp. not imperator", "no", ""),
    ("imperator", "no", ""),
    ("Aeshna m.", "no", ""),
    ("A. m.", "no", ""),
    ("Libellula quadrimaculata var. praenubila", "no", ""),
    ("Calopteryx splendens ssp. ?", "doubt", "Calopteryx splendens"),
    ("Ischnura elegans f. rufescens", "no", ""),
    ("Ischnura elegans (Vander Linden, 1820)", "is", "Ischnura elegans"),
    ("Ischnura elegans V.d.L.", "no", ""),
    ("Sympetrum danae?!", "doubt", "Sympetrum danae"),
    ("Sympetrum danae!", "is", "Sympetrum danae"),
    ("Sympetrum danae (probably)", "doubt", "Sympetrum danae"),
    ("maybe S. danae", "no", ""),
    ("Black Darter", "is", "Sympetrum danae"),
    ("black darter male", "is", "Sympetrum danae"),
    ("Schwarze Heidelibelle", "no", ""),
    ("Lestes sponsa group/dryas", "no", ""),
    ("Lestes cf sponsa/dryas", "no", ""),
    ("Coenagrion puella complex", "doubt", "Coenagrion puella"),
    ("Coenagrion puella ex.", "no", ""),
    ("Coenagrion puella Larve", "no", ""),
    ("Coenagrion puella exuviae", "no", ""),
    ("Coenagrion puella (teneral)", "no", ""),
    ("Gomphus flavipes", "is", "Stylurus flavipes"),
    ("Gomphus cf. flavipes", "doubt", "Stylurus flavipes"),
    ("Agrion virgo", "is", "Calopteryx virgo"),
    ("Agrion sp.", "no", ""),
    ("Orthetrum cancellatum & Orthetrum albistylum", "of", "Orthetrum"),
    ("Orthetrum cancellatum ♂ + ♀", "is", "Orthetrum cancellatum"),
    ("Orthetrum cancellatum 1m 1f", "no", ""),
    ("Anisoptera sp.", "of", "Anisoptera"),
    ("Odonata", "of", "Odonata"),
    ("unknown", "no", ""),
    ("n/a", "no", ""),
    ("?", "no", ""),
    ("-", "no", ""),
    ("Libellulidae?", "doubt", "Libellulidae"),
    ("Aeshna?", "doubt", "Aeshna"),
    ("Aeshna ? mixta", "no", ""),
    ("Aeshna mixta oder doch affinis", "no", ""),
    ("Aeshna mixta bzw. cyanea", "of", "Aeshna"),
    ("albo Aeshna mixta albo cyanea", "of", "Aeshna"),
    ("Aeshna mixta, sicher", "no", ""),
    ("sicher Aeshna mixta", "no", ""),
    ("Aeshna mixta 100%", "no", ""),
    ("Aeshna mixta 60 %", "no", ""),
    ("ident. Aeshna mixta", "no", ""),
    ("Aeshna mixta det. Kvist", "no", ""),
    ("Aeshna mixta (L.)", "is", "Aeshna mixta"),
    ("Sympetrum flaveolum L.", "is", "Sympetrum flaveolum"),
    ("Cordulia linaenea", "no", ""),
    ("Cordulia aeneaturfosa", "no", ""),
    ("Somatochlora aenea", "no", ""),
    ("Libellula cancellata", "no", ""),
    ("Lestes viridens", "no", ""),
    ("Anax  parthenope  ×  imperator", "of", "Anax"),
    ("Anax parthenope X Anax imperator", "of", "Anax"),
    ("\u200e\u202aAnax imperator\u202c", "is", "Anax imperator"),
    ("Anax\timperator", "is", "Anax imperator"),
    ("Anax\r\nimperator", "is", "Anax imperator"),
    ("Anax imperator\r\n", "is", "Anax imperator"),
    ("“Anax imperator”", "is", "Anax imperator"),
    ("<i>Anax imperator</i>", "no", ""),
    ("\uff21nax imperator", "no", ""),
]


@pytest.fixture(scope="module")
def listed() -> Checklist:
    path = Path(str(resources.files("triage.demo").joinpath("data", "checklist.csv")))
    taxa, _ = read_checklist(path)
    return Checklist(
        replace(one, vernacular_name=f"{one.vernacular_name} | {more}") if more else one
        for one in taxa
        for more in [VERNACULAR.get(one.scientific_name, "")]
    )


@pytest.mark.parametrize(("typed", "kind", "name"), TYPED)
def test_no_name_is_taken_for_what_was_not_meant(listed, typed: str, kind: str, name: str):
    found = read_name(typed, listed)
    if found.taxon is None:
        assert found.problem
        assert found.next_step
        return
    assert kind != "no"
    assert found.scientific_name == name
    assert found.qualifier if kind == "doubt" else kind == "of" or not found.qualifier
    assert found.verbatim == typed


def test_three_of_four_that_can_be_read_are_read(listed):
    """Refusing everything would be safe and of no use."""
    meant = [one for one in TYPED if one[1] != "no"]
    read = [typed for typed, _, _ in meant if read_name(typed, listed).taxon is not None]
    assert len(read) / len(meant) > 0.75
