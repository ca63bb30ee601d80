"""Whether the words of a mail speak of several animals, in English, German, Polish or French.

The sender was there: "two different ones" outweighs every likeness of pictures. Words that only
tell of several views ("the first from the back, the second from the side") do not count.
"""

from __future__ import annotations

import re

from triage.mail.consent import sentences_of
from triage.mail.likeness import is_like
from triage.mail.wishes import SENTENCE

_SEVERAL = re.compile(
    r"""
    # English
    \b(?:two|three|four|several|[2-9])\s+(?:\w+\s+)?(?:different|separate|distinct)\b
    | \bdifferent\s+(?:ones|animals|individuals|insects|species|dragonfl\w+|damselfl\w+)\b
    | \bnot\s+(?:all\s+)?the\s+same\s+(?:one|animal|individual|insect|species|\w+fly)\b
    | \banother\s+(?:animal|individual|insect|species|male|female|dragonfly|damselfly)\b
    # German
    | \b(?:zwei|drei|vier|mehrere|[2-9])\s+(?:verschiedene|unterschiedliche)\b
    | \b(?:verschiedene|unterschiedliche)[nr]?\s+(?:tiere|individuen|libellen|arten)\b
    | \bnicht\s+(?:dasselbe|das\s+gleiche|das\s+selbe)\s+(?:tier|individuum)\b
    | \bein\s+(?:anderes|weiteres)\s+(?:tier|individuum|männchen|weibchen)\b
    # Polish
    | \b(?:dwa|dwie|dwóch|trzy|trzech|kilka|[2-9])\s+różn\w+
    | \bróżn\w+\s+(?:osobnik\w*|ważk\w*|gatunk\w*)
    | \binn(?:y|ego)\s+osobnik\w* | \binna\s+ważka\b
    # French
    | \b(?:deux|trois|plusieurs|[2-9])\s+(?:\w+\s+)?différent(?:e)?s\b
    | \b(?:individus|animaux|libellules|espèces)\s+différent(?:e)?s\b
    | \bpas\s+(?:le\s+même\s+individu|le\s+même\s+animal|la\s+même)\b
    | \bun(?:e)?\s+autre\s+(?:individu|animal|libellule|mâle|femelle)\b
    """,
    re.IGNORECASE | re.VERBOSE,
)
_KIND = (
    r"(?:fe)?male|another|dragonfly|damselfly|männchen|weibchen|libelle|"
    r"sam(?:iec|ica)|mâle|femelle|libellule"
)
_IS_A = (
    rf"\b[^.!?\n]{{0,20}}\b(?:is|was|shows|ist|war|zeigt|to|jest|est|était|montre)\b"
    rf"[^.!?\n]{{0,20}}\b(?:{_KIND})\b[^!?\n]{{0,60}}\b"
)
_IN_TURN = re.compile(
    rf"\b(?:(?:first|1st){_IS_A}(?:second|2nd|other)|erste[rsn]?{_IS_A}(?:zweite|andere)"
    rf"|pierwsz\w+{_IS_A}drug\w+|premi(?:er|ère){_IS_A}(?:second|deuxième|autre))",
    re.IGNORECASE,
)
_NUMBER = (
    r"(?:[2-9]|two|three|four|five|six|zwei|drei|vier|fünf|sechs|dwa|dwie|trzy|cztery|pięć|deux|trois"
    r"|quatre|cinq|six)"
)
_ANIMALS = (
    r"(?:animals|individuals|specimens|insects|dragonflies|damselflies|tieren?|individuen|libellen"
    r"|osobniki?|osobników|ważki|individus|animaux|libellules)"
)
# "These show three animals", "To trzy osobniki": said of what is sent, not of what flew about.
_COUNTED = re.compile(
    rf"\b(?:show|shows|zeigen|zeigt|przedstawiają|montrent|there\s+are|es\s+sind|das\s+sind|to(?:\s+są)?"
    rf"|ce\s+sont|il\s+y\s+a)\s+(?:\w+\s+)?{_NUMBER}\s+(?:\w+\s+)?{_ANIMALS}\b"
    rf"|\b(?:of|von|z)\s+{_NUMBER}\s+(?:\w+\s+)?{_ANIMALS}\b|\b{_NUMBER}\s+of\s+them\b"
    r"|\b(?:second|third|other|zweite[sn]?|andere[sn]?|weitere[sn]?|deuxième|autre)\s+(?:individual|animal"
    r"|specimen|insect|tier|exemplar|individuum|individu)\b|\bboth\s+are\s+(?:here|attached|in)\b"
    rf"|\b{_NUMBER}\s+{_ANIMALS}\s+(?:in\s+all|in\s+total|insgesamt|zusammen|łącznie|w\s+sumie|en\s+tout)\b",
    re.IGNORECASE,
)
_MALE, _FEMALE = r"(?:male|männchen|sam(?:iec|ca)|mâle)", r"(?:female|weibchen|samic[aęy]|femelle)"
_PLACED = (
    r"(?:photos?|pictures?|images?|frames?|bild(?:er)?|fotos?|zdjęci\w+|last|letzte\w*|ostatni\w*|derni\w+|left|right|links|rechts|lew\w+|praw\w+|gauche|droite"
    r"|top|bottom|oben|unten|first|second|erst\w+|zweit\w+|pierwsz\w+|drug\w+|premi\w+|deuxième|second\w*"
    r"|separately|einzeln|getrennt|osobno|séparément)"
)
# "Links das Männchen, rechts das Weibchen", "photo 1 is the male, photo 2 the female".
_PLACED_SEXES = re.compile(
    rf"\b{_PLACED}\b[^.!?\n]{{0,40}}\b(?:{_MALE}\b[^.!?\n]{{1,40}}\b{_FEMALE}"
    rf"|{_FEMALE}\b[^.!?\n]{{1,40}}\b{_MALE})\b"
    rf"|\b{_MALE}\s+(?:and|und|i|et)\s+(?:\w+\s+)?{_FEMALE}\b[^.!?\n]{{1,30}}"
    r"\b(?:separately|einzeln|getrennt|osobno|séparément)\b"
    r"|\b(?:photo|picture|bild|foto|zdjęcie|image)\s+\d\s+(?:\w+\s+)?"
    r"(?:another|a\s+different|ein(?:e|en)?\s+ander\w+|inn[aey]\w*|un(?:e)?\s+autre)\b",
    re.IGNORECASE,
)
_OF_PICTURES = re.compile(
    r"different\s+(?:views?|angles?|sides?|photos?|pictures?|shots?|days?|places?|sites?|ponds?)"
    r"|(?:verschiedene|unterschiedliche)[nr]?\s+(?:seiten|winkel\w*|ansichten|fotos|bilder|tage\w*|orte\w*)"
    r"|różn\w+\s+(?:stron\w*|ujęci\w*|zdję\w*|kąt\w*|miejsc\w*|dni\w*)"
    r"|(?:angles|photos|vues|côtés|jours|endroits|lieux)\s+différents?",
    re.IGNORECASE,
)


# "Both views are of the same male", "the second from the side", "in tandem" tell of one sighting.
_ONE = re.compile(
    r"\b(?:same|(?:das|der|die)selbe[nr]?|sam(?:a|ą|ej|ego|o|ym)|même|tandem\w*|paarungs\w*|mating"
    r"|views?|angles?|sides?|back|above|below|seite|oben|hinten|winkel|ansicht\w*|boku|góry|tyłu"
    r"|dos|profil|dessus)\b",
    re.IGNORECASE,
)


def tells_of_several(text: str) -> bool:
    """Whether the author says that the photos show more than one animal.

    A question ("or are these two different ones?") counts as well: who asks is not sure of one.

    >>> tells_of_several("Two different ones, I think."), tells_of_several("From two angles.")
    (True, False)
    """
    return bool(words_of_several(text))


def words_of_several(text: str, *, without: int | None = None) -> str:
    """The words that tell of several animals, with the sentence around them; empty for none.

    Beside the known forms a sentence counts by its likeness (``triage.mail.likeness``, there also
    ``without``).

    >>> words_of_several("Hello. Two different ones, I think. Ida")
    'Two different ones, I think.'
    """
    plain = _OF_PICTURES.sub(lambda found: " " * len(found[0]), text)
    forms = (_SEVERAL, _IN_TURN, _COUNTED, _PLACED_SEXES)
    found = next((one for form in forms if (one := form.search(plain))), None)
    if not found:
        said = (one for one in sentences_of(plain) if is_like(one, "several", without=without))
        return next((one for one in said if not _ONE.search(one)), "")
    around = [
        s[0] for s in SENTENCE.finditer(text) if s.start() < found.end() and s.end() > found.start()
    ]
    return " ".join(" ".join(around).split())
