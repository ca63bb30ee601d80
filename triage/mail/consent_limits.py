"""The words that take a consent back, refuse softly, or speak of what is not the writer's to give.

No source: chosen from how such sentences are written, in English, German, Polish and French; what
they must and must not match stands in the tests of consent. They may match too much: then a person
reads the words, and nothing is published meanwhile.
"""

from __future__ import annotations

from triage.mail.consent_words import pattern

_PICTURES = "(?:photos?|pictures?|images?|shots?)"
_BILDER = "(?:fotos?|bilder|bild|aufnahmen?)"
_KIN = (
    "(?:friend|wife|husband|brother|sister|father|mother|partner|neighbou?r|colleague|uncle|aunt)"
)
_VERWANDTE = (
    r"(?:freund\w*|frau|mann|bruder|schwester|vater|mutter|partner\w*|nachbar\w*|kolleg\w*)"
)
_KREWNI = r"(?:mąż|żona|brat|siostra|ojciec|matka|kolega|koleżanka|znajom\w+|sąsiad\w*)"
_CLICHES = "(?:photos?|images?|clichés?)"
_PROCHES = "(?:amie?|mari|femme|frère|sœur|père|mère|voisine?|collègue|oncle|tante|compagn(?:e|on))"

WITHDRAWAL = pattern(
    english=r"withdraw\w*|withdrawn|changed my mind"
    r"|no longer (?:want|agree|wish|allow|ok|okay|happy)"
    rf"|(?:take|taken) (?:\w+ )?(?:{_PICTURES} )?(?:down|offline)"
    rf"|(?:delete|remove|erase) (?:\w+ ){{0,3}}(?:{_PICTURES}|them)",
    german=r"widerruf\w*|(?:ziehe|nehme) (?:\S+ ){0,6}?(?:zurück|zurückziehen)"
    r"|nicht mehr (?:einverstanden|veröffentlich\w*)"
    rf"|{_BILDER} (?:\S+ ){{0,3}}?(?:löschen|entfernen)"
    rf"|(?:lösch|entfern)\w* (?:\S+ ){{0,4}}{_BILDER}",
    polish=r"(?:wycofuję|cofam|odwołuję)(?: \w+){0,2} zgod\w+|już nie zgadzam się"
    r"|(?:usunąć|usuńcie|skasować|skasujcie)(?: \w+){0,3} zdjęci\w+",
    french=r"retire (?:\w+ ){0,3}(?:accord|autorisation|consentement|photos?)|changé d[\u2019']avis"
    r"|(?:ne suis|ne veux|ne souhaite|n[\u2019']autorise) plus"
    rf"|(?:supprim|effac|enlev|retir)(?:er|ez|e|és|ées) (?:\w+ ){{0,3}}{_CLICHES}",
)
"""A consent taken back, or a wish that the photos go: at once, whatever was said before."""

SOFT_REFUSAL = pattern(
    english=r"(?:rather|prefer)(?: you| that you| to| it)?(?: \w+)? (?:not|didn[\u2019']?t"
    r"|don[\u2019']?t|weren[\u2019']?t|wasn[\u2019']?t)"
    r"|(?:keep|kept|stay|remain) (?:\w+ ){0,3}(?:private|to yourselves?|between us|confidential)"
    "|(?:identification|id|internal use) only|for your eyes only|strictly private"
    "|not (?:on|for) (?:the )?(?:web|internet|website|social media)",
    german="(?:lieber|besser|bitte) nicht (?:zeigen|teilen|online|ins (?:netz|internet))"
    "|(?:für sie|für euch) (?:privat|persönlich)|vertraulich|privat bleiben"
    "|nicht (?:im|ins) (?:netz|internet)|nur (?:zur|für die) bestimmung",
    polish=r"wolał(?:bym|abym) (?:\w+ )?nie|(?:tylko|wyłącznie) do (?:oznaczenia|wiadomości)"
    r"|zachować (?:\w+ )?(?:dla siebie|w tajemnicy)|nie w internecie|poufne",
    french=r"préfère(?:rais)?\b.{0,40}?\b(?:ne|privées?|pas)|préférerais\b.{0,40}?\b(?:ne|pas)"
    r"|(?:rester|restent|garder) (?:\w+ ){0,3}(?:privée?s?|pour (?:vous|nous))"
    r"|(?:uniquement|seulement|juste) pour (?:l[\u2019'])?(?:la )?(?:identification|détermination)"
    r"|pas (?:sur|dans) (?:le |l[\u2019'])?(?:site|web|internet|réseaux)"
    r"|strictement privé\w*|confidentiel\w*",
)
"""A refusal put softly, or leave for naming the animal alone: no more is given."""

OTHERS = pattern(
    english=rf"(?:his|her|their|{_KIN}[\u2019']?s) {_PICTURES}"
    r"|(?:he|she|they) (?:says?|said|agrees?|agreed|allows?|allowed|is (?:happy|fine|ok))"
    rf"|{_PICTURES} (?:\w+ )?(?:by|of|from) (?:my|a|our) {_KIN}|{_KIN} (?:\w+ )?took",
    german=rf"(?:seine|ihre|deren) {_BILDER}|(?:er|sie) (?:sagt|erlaubt|stimmt|ist einverstanden)"
    rf"|(?:mein|meine|meiner|meinem|unser|unsere) {_VERWANDTE}",
    polish=rf"(?:jego|jej|ich) (?:zdjęcia|zdjęć|fotografie)"
    rf"|{_KREWNI} (?:\w+ )?(?:zgadza|zrobił|pozwala|mówi)\w*",
    french=rf"(?:ses|leurs) {_CLICHES}|(?:il|elle|ils|elles) (?:dit|disent|accepte|autorise"
    rf"|est d[\u2019']accord|veut bien)"
    rf"|{_CLICHES} (?:de|par) (?:mon|ma|notre|une?) {_PROCHES}"
    rf"|(?:mon|ma|notre|une?) {_PROCHES} (?:\w+ )?(?:qui )?(?:les )?(?:a|ont|l[\u2019']a)",
)
"""Photos that are another's to give."""

CHILDREN = pattern(
    english=r"(?:my|our|the|a) (?:little |young |small )?(?:son|daughter|child|children|kids?"
    r"|grandson|granddaughter|grandchild\w*|nephew|niece|pupils?|boy|girl)"
    r"|school ?class|aged? \d{1,2}",
    german=r"(?:mein|meine|meiner|meinem|meines|unser|unsere) (?:kleine[rn]? )?(?:sohn|tochter"
    r"|kind\w*|enkel\w*|neffe|nichte|schüler\w*)|schulklasse",
    polish=r"(?:mój|moja|moje|mojego|mojej|nasz|nasza|nasze) (?:syn\w*|córk\w*|dzieck\w*|dzieci"
    r"|wnu\w+)|uczniowie",
    french=r"(?:mon|ma|mes|notre|nos) (?:petite?s?[ -])?(?:fils|filles?|enfants?|garçons?"
    r"|neveux?|nièces?|élèves?)"
    r"|(?:notre|ma) classe",
)
"""Children, for whom a guardian speaks, and never in passing."""
