"""Nothing in, the species of the survey's checklist with families and flight seasons out.

Seasons are first and last day of the year on which adults are usually on the wing in the lowlands
of Central Europe, set down from memory of what field guides to European dragonflies print, to
about ten days: good for a demo, to be replaced by the region's own list in a real survey. Names
and synonyms likewise from memory, after common European usage.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One species of the checklist."""

    name: str
    suborder: str
    family: str
    vernacular: str
    season: tuple[int, int]
    synonyms: tuple[str, ...] = ()
    needs_two: bool = False
    sensitive: str = ""


_TABLE: tuple[tuple[str, str, str, int, int, str], ...] = (
    ("Calopteryx splendens", "Calopterygidae", "Banded Demoiselle", 130, 258, "Agrion splendens"),
    ("Calopteryx virgo", "Calopterygidae", "Beautiful Demoiselle", 125, 250, "Agrion virgo"),
    ("Sympecma fusca", "Lestidae", "Common Winter Damselfly", 213, 170, "Sympycna fusca"),
    ("Lestes sponsa", "Lestidae", "Common Spreadwing", 160, 280, ""),
    ("Lestes barbarus", "Lestidae", "Migrant Spreadwing", 155, 275, ""),
    ("Lestes virens", "Lestidae", "Small Spreadwing", 180, 290, ""),
    ("Platycnemis pennipes", "Platycnemididae", "Blue Featherleg", 135, 260, ""),
    ("Pyrrhosoma nymphula", "Coenagrionidae", "Large Red Damsel", 105, 230, ""),
    ("Coenagrion puella", "Coenagrionidae", "Azure Bluet", 120, 250, "Agrion puella"),
    ("Coenagrion pulchellum", "Coenagrionidae", "Variable Bluet", 120, 240, "Agrion pulchellum"),
    ("Coenagrion hastulatum", "Coenagrionidae", "Spearhead Bluet", 120, 230, ""),
    ("Enallagma cyathigerum", "Coenagrionidae", "Common Bluet", 115, 275, ""),
    ("Ischnura elegans", "Coenagrionidae", "Common Bluetail", 115, 275, ""),
    ("Ischnura pumilio", "Coenagrionidae", "Small Bluetail", 125, 270, ""),
    ("Erythromma najas", "Coenagrionidae", "Large Redeye", 120, 255, ""),
    ("Erythromma viridulum", "Coenagrionidae", "Small Redeye", 150, 270, ""),
    ("Aeshna cyanea", "Aeshnidae", "Blue Hawker", 160, 305, ""),
    ("Aeshna grandis", "Aeshnidae", "Brown Hawker", 160, 290, ""),
    ("Aeshna mixta", "Aeshnidae", "Migrant Hawker", 182, 315, ""),
    ("Aeshna juncea", "Aeshnidae", "Moorland Hawker", 165, 295, ""),
    ("Anax imperator", "Aeshnidae", "Blue Emperor", 140, 270, ""),
    ("Anax parthenope", "Aeshnidae", "Lesser Emperor", 135, 275, ""),
    ("Brachytron pratense", "Aeshnidae", "Hairy Hawker", 110, 200, "Brachytron hafniense"),
    ("Gomphus vulgatissimus", "Gomphidae", "Common Clubtail", 118, 205, ""),
    ("Stylurus flavipes", "Gomphidae", "River Clubtail", 160, 275, "Gomphus flavipes"),
    ("Onychogomphus forcipatus", "Gomphidae", "Small Pincertail", 145, 260, ""),
    ("Ophiogomphus cecilia", "Gomphidae", "Green Snaketail", 155, 275, "Ophiogomphus serpentinus"),
    ("Cordulegaster boltonii", "Cordulegastridae", "Common Goldenring", 145, 260, ""),
    ("Cordulia aenea", "Corduliidae", "Downy Emerald", 115, 215, ""),
    ("Somatochlora metallica", "Corduliidae", "Brilliant Emerald", 145, 270, ""),
    ("Somatochlora flavomaculata", "Corduliidae", "Yellow-spotted Emerald", 145, 250, ""),
    ("Epitheca bimaculata", "Corduliidae", "Eurasian Baskettail", 125, 200, ""),
    ("Libellula depressa", "Libellulidae", "Broad-bodied Chaser", 115, 245, "Platetrum depressum"),
    ("Libellula quadrimaculata", "Libellulidae", "Four-spotted Chaser", 110, 250, ""),
    ("Libellula fulva", "Libellulidae", "Blue Chaser", 125, 220, ""),
    ("Orthetrum cancellatum", "Libellulidae", "Black-tailed Skimmer", 125, 265, ""),
    ("Orthetrum albistylum", "Libellulidae", "White-tailed Skimmer", 130, 260, ""),
    ("Orthetrum coerulescens", "Libellulidae", "Keeled Skimmer", 140, 265, ""),
    ("Crocothemis erythraea", "Libellulidae", "Broad Scarlet", 120, 285, ""),
    ("Sympetrum sanguineum", "Libellulidae", "Ruddy Darter", 155, 310, ""),
    ("Sympetrum vulgatum", "Libellulidae", "Moustached Darter", 165, 315, ""),
    ("Sympetrum striolatum", "Libellulidae", "Common Darter", 150, 330, ""),
    ("Sympetrum danae", "Libellulidae", "Black Darter", 170, 305, "Sympetrum scoticum"),
    ("Sympetrum flaveolum", "Libellulidae", "Yellow-winged Darter", 160, 285, ""),
    ("Leucorrhinia pectoralis", "Libellulidae", "Yellow-spotted Whiteface", 125, 210, ""),
    ("Leucorrhinia dubia", "Libellulidae", "Small Whiteface", 125, 220, ""),
    ("Leucorrhinia caudalis", "Libellulidae", "Lilypad Whiteface", 130, 205, ""),
)
_ZYGOPTERA = {"Calopterygidae", "Lestidae", "Platycnemididae", "Coenagrionidae"}
# Directive 92/43/EEC, Annexes II and IV (from memory): handled with care, by two determiners.
_PROTECTED = {
    "Ophiogomphus cecilia": "3",
    "Stylurus flavipes": "3",
    "Leucorrhinia pectoralis": "2",
    "Leucorrhinia caudalis": "3",
}

SPECIES: tuple[Entry, ...] = tuple(
    Entry(
        name=name,
        suborder="Zygoptera" if family in _ZYGOPTERA else "Anisoptera",
        family=family,
        vernacular=vernacular,
        season=(first, last),
        synonyms=tuple(one for one in (synonym,) if one),
        needs_two=name in _PROTECTED,
        sensitive=_PROTECTED.get(name, ""),
    )
    for name, family, vernacular, first, last, synonym in _TABLE
)
