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
    rf"|(?:(?<!had to )take|taken) (?:\w+ )?(?:{_PICTURES} )?(?:down|offline)"
    rf"|(?<=had to )take (?:\w+ )?(?:{_PICTURES} )?(?:offline|down(?! (?:by|at|near) ))"
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
    r"|(?:keep|kept|stay(?:ed|s)?|remain(?:ed|s)?) (?:\w+ ){0,3}"
    r"(?:private|to yourselves?|between (?:us|ourselves)|confidential)"
    r"|between you and me|(?:hold|keep) (?:\w+ ){0,3}back"
    "|(?:identification|id|internal use) only|for your eyes only|strictly private"
    "|not (?:on|for) (?:the )?(?:web|internet|website|social media)",
    german=r"nur für (?:sie|euch|dich|ihre|eure|den internen)|unter uns|(?:nirgends|nirgendwo)\b"
    r"|(?:möchte|will|mag) (?:\S+ ){0,3}?nicht, dass (?:\S+ ){1,8}?(?:netz|internet|landen|sehen)"
    "|(?:lieber|besser|bitte) nicht (?:zeigen|teilen|online|ins (?:netz|internet))"
    "|(?:für sie|für euch) (?:privat|persönlich)|vertraulich|privat bleiben"
    "|nicht (?:im|ins) (?:netz|internet)|nur (?:zur|für die) bestimmung",
    polish=r"wolał(?:bym|abym) (?:\w+ )?nie|między nami|nigdzie nie|nie (?:po)?kazywać"
    r"|wolał(?:bym|abym),? (?:żeby|aby) (?:\w+ ){0,4}nie"
    r"|(?:tylko|wyłącznie) do (?:oznaczenia|wiadomości)"
    r"|zachować (?:\w+ )?(?:dla siebie|w tajemnicy)|nie w internecie|poufne",
    french=r"préfère(?:rais)?\b.{0,40}?\b(?:ne|privées?|pas)|préférerais\b.{0,40}?\b(?:ne|pas)"
    r"|entre (?:nous|vous et moi)"
    r"|(?:reste|rester|restent|garder) (?:\w+ ){0,3}(?:privée?s?|pour (?:vous|nous))"
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
    r"|(?:eldest|youngest|boy|girl|son|daughter) \(\d{1,2}|the class|\d{1,2}[- ]years?[- ]old"
    r"|(?:three|four|five|six|seven|eight|nine|ten|eleven|twelve)[- ]years?[- ]old"
    r"|who is (?:three|four|five|six|seven|eight|nine|ten|eleven|twelve|\d{1,2})\b|toddlers?"
    r"|school ?class|aged? \d{1,2}|grand(?:son|daughter|child\w*) \w+ \(\d{1,2}",
    german=r"(?:mein|meine|meiner|meinem|meines|unser|unsere) (?:kleine[rn]? )?(?:sohn|tochter"
    r"|kind\w*|enkel\w*|neffe|nichte|schüler\w*)|schulklasse"
    r"|(?:erst|zweit|dritt|viert)klässler\w*|kindergarten\w*|vorschul\w*|\d{1,2}-?jährige\w*",
    polish=r"(?:mój|moja|moje|mojego|mojej|nasz|nasza|nasze) (?:syn\w*|córk\w*|dzieck\w*|dzieci"
    r"|wnu\w+)|uczniowie|przedszkola\w+|pierwszoklasist\w+|maluch\w*"
    r"|(?:wnu\w+|syn\w*|córk\w*|uczennic\w+|uczeń|ucznia) \(\d{1,2}",
    french=r"(?:mon|ma|mes|notre|nos) (?:petite?s?[ -])?(?:fils|filles?|enfants?|garçons?"
    r"|neveux?|nièces?|élèves?)"
    r"|(?:notre|ma) classe|(?:petite?|notre) derni(?:er|ère)|maternelle",
)
"""Children, for whom a guardian speaks, and never in passing."""

_PLAIN_WORDS = """
    attached enclosed anbei angehängten beigefügten załączone załączonych jointe jointes
    internetseite homepage webseite website whatever whenever ja oui tak
    a about absolutely agree all allow allowed also always am and any anybody anyone anything
    anywhere are as ask asking at atlas be been being both but by can certainly consent
    copyright course data database do document documents don't exact feel fine for free freely
    full fully gladly give given glad grant gratis happily happy have hello here hereby hi i i'm
    if images in indeed into is isn't just leaflet leaflets licence license like location may me
    mean means mind mine must my name need needn't newsletter no not now objection objections of
    ok okay on online or other our page pages paper papers permission permit place please
    problem project publications record records regards report reports request right rights
    science scientific sent should sites so such sure survey surveys talk talks thank thanks
    that the their them then these they this those to too under unrestricted us want way we web
    website websites welcome well what when whatever wherever which wish with without work would
    yes you you'd you're your yours aber aus alle allem alles auch auf bedenken bei beim bericht
    berichte berichten bin bitte dabei dafür dagegen damit danke dann das dass daten dem den der
    des die dies diese diesen dieser du dürfen dürft darf darfst einverstanden eine einem einen
    einer einfach erfassung erlaube erlaubnis erteile es euch eure eurem euren frei freie freut
    für gebe gefragt gern gerne genutzt gestatte genaue gesendeten geschickten gruß grüße habe
    haben hallo hiermit ich ihnen ihr ihre ihrem ihren ihrer im internet ist ja jede jeder
    jederzeit kann kannst kein keine können könnt könnten lizenz mein meine meinem meinen meiner
    meines mich mir mit namen natürlich nein netz nicht nichts ordnung ort projekt recht
    rundbrief schicke selbstverständlich sehr seite sein sich sie sind sofern und uns unser
    unsere unserem unter viele vielen von webseite weiter weiterhin wenn werden wie wir wird
    würde zu zum zur zustimmung zweck zwecke ale atlasie bardzo bez być chętnie co dla dobrze
    dowolny dowolnie dzień dobry gdzie imieniem imię internecie jak jako jest każdy którym które
    którą licencji lub mam mi mogą moich moim moja moje mojego mojej może możecie można mnie na
    nam naszych nazwiska nazwiskiem nic nie o od oczywiście oraz państwa państwo pan pani po pod
    podane podania podaniem ponieważ pozdrawiam problemu projekcie projektu proszę przeciw
    przeciwko publicznie raporcie raportach się są stronie strony swobodnie tak też tego tu tych
    tym udzielam w wasz waszej waszych wszystkie wszystkich wszędzie wyrażam z za ze zezwalam
    zgadzam zgoda zgodę zgody że śmiało żeby accord d'accord afin ai au aucun aucune aussi
    autorisation autorise aux avec bien bonjour bon ce cela ces cet cette c'est consens
    consentement d d'autre d'inconvénient dans de donne droit droits dérange en enquête est et
    être fait façon gêne gratuitement j'accepte j'ai j'autorise je l'enquête la le les leur
    librement libre libres lieu ma mais mention merci mes moi mon mots n'ai n'hésitez ne nom nos
    notre nous ou oui par pas peut peuvent peux plaisir pour pouvez problème projet qu'elles que
    qui rapport rapports sans se ses si site soient soit sont souci sous souhaitez sur sûr toute
    toutes tous tout un une utilisation vois volontiers vos votre voulez vous y à suis
"""
UNDERSTOOD = frozenset(_PLAIN_WORDS.split())
"""Words of a plain grant beside its verb, its photos and its name; any other makes it unclear."""
