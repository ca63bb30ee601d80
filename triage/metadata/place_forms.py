"""Tells whether a site's name in a mail stands in a form that is known to say where the photo is.

Three forms are known: a place line ("Place: Heron Mere"), a line or subject of little more than
place and day, and "at Heron Mere" in a sentence of the sender's own about what was seen. Any other
mention is an offer. English, German, Polish and French; no source: chosen from how people write,
and what they must and must not match stands in the tests.
"""

from __future__ import annotations

import re

from triage.metadata.date_words import DAYS_BACK, MONTHS, WEEKDAYS
from triage.metadata.text_spans import fold_letters, whole_words, word_set

_SENTENCE_END = re.compile(r"[.!?;\n]")
_ABBREVIATED = re.compile(r"(?<=\d)\.|(?<=\b[a-zA-Z])\.")  # "13.06.", "z. B."


_LABEL = re.compile(
    r"^\W*(?:(?:place|site|location|locality|where|spot|water|pond|lake|seen|taken|found|position|"
    r"ort|fundort|stelle|fundstelle|gewässer|standort|wo|gesehen|aufgenommen|"
    r"miejsce|stanowisko|lokalizacja|gdzie|zbiornik|staw|jezioro|"
    r"lieu|endroit|localité|où|étang|lac|vu)\b[^:=\n]{0,20}[:=]|"
    r"(?:place|site|location|ort|fundort|miejsce|stanowisko|lieu)\s+[-\u2013\u2014])\s*"
    r"(?:[a-zàéü]{1,5}\s+){0,2}$",
    re.IGNORECASE,
)
_AT = re.compile(
    r"(?<!\w)(?:at|in|near|nearby|by|beside|over|from|around|round|on|along|off|of|visit(?:ed|ing)|"
    r"(?:outing|trip|visit|walk|stroll|excursion)\sto|"
    r"an|am|im|vom|von|beim|bei|zum|aus|um|nahe|entlang|"
    r"nad|znad|przy|w|we|z|ze|na|koło|obok|wokół|pod|"
    r"à|au|aux|de|du|près\sd[eu]|vers|sur|dans|autour\sd[eu])\s+"
    r"(?:(?:the|old|der|die|das|dem|den|des|le|la|les|jezior\w*|stawie|stawu|étang|lac|see|teich)"
    r"\s+){0,2}(?:l[\u2019'])?$",
    re.IGNORECASE,
)
_SEEN = whole_words(
    r"""saw|seen|see|found|took|taken|take|another|photo\w*|pictures?|pics?|images?|shots?|snap\w*|spotted
    |came\sacross|finds?|chasing|caught|noticed|watched|observed|encountered|met\sthis|flying|flew|perched|resting|sitting|sat
    |landed|basking|hunting|patrolling|mating|ovipositing|emerg\w+|hatch\w+|visited
    |(?:this|these|it|they|one|ones|all|both|attached)\s(?:\w+\s){0,3}(?:is|are|was|were|from)
    |(?:was|were|am|are)\s(?:at|there|out|by|around|near)
    |dragonfl\w+|damselfl\w+|darters?|hawkers?|skimmers?|chasers?|emeralds?|odonat\w+|insects?|male
    |female|pair|animal|specimens?|exuvia\w*|larva\w*|records?|sightings?|observations?
    |ones?|skins?|two|three|four|five|six|several|frames?|walks?|walked|outing|trip|visit|stroll|excursion
    |eine?|zwei|drei|vier|spaziergang|ausflug|spacer\w*|wycieczk\w+|dwie|dwa|trzy|promenade|sortie
    |une?|deux|trois|gesehen|gefunden|fotografiert|aufgenommen|entdeckt|beobacht\w+|fotos?|bild(?:er)?|aufnahmen?
    |libellen?|männchen|weibchen|paar|tier|exuvien?|funde?|saß|flog|flogen|geschlüpft
    |zauważ\w+|zaobserw\w+|napotka\w+|widzia\w+|zobaczy\w+|znala\w+|zrobi\w+|sfotografowa\w+|spotka\w+|zdję\w+|fot\w*|ważk\w+
    |samiec|samica|samce|para|okaz\w*|wylink\w*|siedzia\w+|lata\w+
    |vue?s?|trouvée?s?|prise?s?|observée?s?|photographiée?s?|photos?|libellules?|demoiselles?
    |mâle|femelle|couple|exuvies?|posée?s?"""
)
# Words of a line that says place and day and little more; digits are allowed besides.
_PLAIN = word_set(
    """
    a about site date weather after afternoon again all am an and any april around at attached
    attachment august bank be best bye by cc dated dawn day days dear december dusk early east
    edge enclosed end evening february for found friday from greetings hello here hi i idea in is
    it its january jetty july june kind late light little break lunch male female march may me
    midday mile monday morning my near new nice night no noon north november now o oclock october
    of on one only our outlet photo photos picture pictures pm regards s same saturday seen
    september shore side small some south sun sunday sunny team thanks the this these thursday
    time to today tuesday two three up warm we wednesday weekend west what whatever who windy with
    yesterday yours taken sorry sharp very first last unknown ab abend abends anbei auf aus bei
    beim bild bilder das dem den der die dienstag dezember diese dieses donnerstag ein eine einen
    es etwa februar foto fotos freitag früh gegen gestern grüße gruß hallo heute hier im ist
    januar juli juni lg liebe mai märz mfg mittag mittags mittwoch montag morgen morgens
    nachmittag nachmittags nord oktober ost ostufer nordufer südufer westufer samstag sonnabend
    sonne sonnig sonntag süd uhr ufer um und uns vom von vormittag vorgestern was weiß wir zum
    zwei drei co czerwca czerwiec dziś dzisiaj dzień dobry fot godz godzina grudnia ja jest
    kwietnia lipca lipiec lipcu listopada lutego maja marca na nad niedziela niedzielę około od
    październik października piątek po południe popołudniu poniedziałek pozdrawiam przy rano
    sierpnia sierpień sobota sobotę stycznia środa środę ten tu w wczoraj wieczorem wrześnie
    września wtorek z za zdjęcia zdjęcie ze août après aujourd au aux avril avec bonjour ce cette
    ci dans de dimanche du décembre en et fin février hui il ici janvier je jeudi joint joints
    juillet juin la le les lundi mardi mars matin mercredi merci midi mon novembre nous octobre
    par près pris salut samedi septembre soir sur un une vendredi vers voici voilà vu vue m
    pozdrowienia
    """
)
_OF_OTHERS = whole_words(
    r"""(?:my|our|a|his|her|their|some|the)\s(?:\w+\s)?(?:friends?|neighbou?rs?|colleagues?
    |sister|brother|mother|father|mum|dad|aunt|uncle|cousins?|wife|husband|daughter|son\ssaw
    |people|man|woman|walker)
    |he|she|somebody|someone|others|you|your|yours
    |(?:meine?|unsere?|eine?)[rns]?\s(?:freund\w*|nachbar\w*|kolleg\w*|schwester|bruder|mutter|vater)
    |jemand|ihr|ihre[nrms]?|euch|eure[nrms]?|dein\w*|sie\shab\w+|er\shat
    |(?:mój|moja|nasz|nasza)\s(?:koleg\w+|kolega|koleżanka|sąsiad\w*|siostra|brat|mama|tata)|ktoś
    |wasz\w*|wy|państwo|państwa|pan|pani
    |(?:mon|ma|notre|un|une)\s(?:amie?|voisine?|collègue|sœur|frère|mère|père)|quelqu[\u2019']un
    |vous|votre|vos"""
)
_UNSURE = whole_words(
    r"""if|maybe|perhaps|might|would|could|should|shall|wish|always|often|sometimes|nothing|none
    |nobody|before|until|heading|drove|driving|on\s(?:the|my|our)\sway|way\sto|towards?|closed
    |cancel\w+|meet|meets|meeting|shop\w*|lunch\swith|tea|coffee|parked|stayed|staying|holiday\sat
    |as\swell|also|too|another\spond|other\spond|elsewhere|known|know|called|named|say|says|said|told
    |heard|read|compare\w*|count|counts|survey\sat
    |wenn|vielleicht|könnte|sollte|immer|oft|manchmal|nichts|bevor|unterwegs|auf\sdem\sweg|gesperrt|auch|woanders
    |sonst|getroffen|heißt|genannt|gelesen|gehört
    |jeśli|może|chyba|zawsze|często|czasem|nic|zanim|w\sdrodze|zamknięt\w+|też|także|gdzie\sindziej
    |si|peut-être|toujours|souvent|parfois|rien|avant|en\sroute|fermée?|aussi|ailleurs"""
)
_AT_HOME = whole_words(
    r"""(?:in|from|at|by)\s(?:my|our|his|her|their)\s(?:own\s|back\s|little\s|small\s)?(?:garden\w*
    |pond|home|house|balcony|yard|backyard|terrace|patio|allotment|office|school)|at\shome
    |garden\spond|(?:in|an|aus|auf)\s(?:meine\w|unsere\w)\s(?:\w+\s)?(?:garten\w*|teich|balkon
    |terrasse|haus)|im\sgarten|gartenteich|zu\shause|daheim|balkon
    |(?:w|z|na)\s(?:moim|mojego|naszym|naszego|mojej|naszej)\s(?:ogr\w+|staw\w+|balkon\w*|dzia\w+)
    |w\sogrodzie|na\sdziałce|na\sbalkonie|w\sdomu
    |(?:dans|de|sur)\s(?:mon|ma|notre)\s(?:jardin|balcon|terrasse|maison|mare)|chez\s(?:moi|nous)
    |à\sla\smaison"""
)
_ELSEWHERE = whole_words(
    r"""(?:photos?|pictures?|images?|pics?|shots?|mine|ours)\s(?:\w+\s)?(?:is|are|was|were|comes?|came)
    \s(?:\w+\s)?(?:taken\s|seen\s|found\s)?(?:from|at|in|on|by|near)
    |(?:this|these|it)\s(?:one\s|photo\s)?(?:is|are|was|were|comes?)\s(?:taken\s)?from
    |but\s(?:from|at|in|the)|instead|rather
    |(?:fotos?|bild|bilder|aufnahmen?)\s(?:ist|sind|war|waren|stamm\w+|kommt|kommen|wurde\w?)\s(?:\w+\s)?
    (?:aus|von|vom|an|am|in|im|bei)|sondern|stattdessen
    |zdjęci\w+\s(?:jest|są|było|były|pochodz\w+)\s(?:\w+\s)?(?:z|ze|znad|w|nad)|tylko\s(?:z|nad|w)|lecz
    |photos?\s(?:est|sont|vient|viennent|a\sété\s\w+|ont\sété\s\w+)\s(?:\w+\s)?(?:de|du|à|au|dans|en)
    |mais\s(?:de|du|à|au|le|la)"""
)


ONLY_MENTIONED = "the mail only mentions it"


def offer_of_mention(before: str, verbatim: str, after: str) -> str:
    """Why a name in a text is only an offer of a place; empty where its form is known to be safe.

    ``before`` and ``after`` are the text on either side of the name.

    Examples
    --------
    >>> offer_of_mention("Seen at ", "Heron Mere", " yesterday.")
    ''
    >>> offer_of_mention("We had a talk about ", "Heron Mere", ".")
    "the mail only mentions it: 'We had a talk about Heron Mere'"
    """
    ahead, behind = _sentence(before, after)
    line_ahead = before.rpartition("\n")[2]
    elsewhere = _said_elsewhere(before[: len(before) - len(ahead)], after[len(behind) :])
    if elsewhere:
        return f"the mail also says '{elsewhere}'"
    if (
        _LABEL.match(line_ahead)
        or _LABEL.match(ahead)
        or (not _UNSURE.search(f"{ahead} {behind}") and _is_plain(ahead, behind))
    ):
        return ""
    whole = f"{ahead} {behind}"
    own = (_AT.search(ahead) and _SEEN.search(whole)) or (
        _set_off(ahead, behind) and (_stands_first(ahead) or _SEEN.search(whole))
    )
    speaks_otherwise = any(
        p.search(whole) for p in (_OF_OTHERS, _UNSURE, _AT_HOME, _ELSEWHERE_HERE)
    )
    if (own or _is_caption(ahead, behind)) and not speaks_otherwise:
        return ""
    sentence = " ".join(f"{ahead}{verbatim}{behind}".split())
    return f"{'its words are not sure' if speaks_otherwise else ONLY_MENTIONED}: '{sentence}'"


# In the sentence of the name itself "these are from Heron Mere" is the plainest statement there is.
_ELSEWHERE_HERE = whole_words(
    r"""but\s(?:from|at|in|the)|instead|rather|sondern|stattdessen|lecz|tylko\s(?:z|nad|w)
    |mais\s(?:de|du|à|au|le|la)|not\s(?:at|from|in\sthe|the|here|there|taken|it)|no\slonger|never"""
)


def _sentence(before: str, after: str) -> tuple[str, str]:
    """What stands before and after the name in its own sentence."""
    hidden = _ABBREVIATED.sub(",", before)
    start = max((found.end() for found in _SENTENCE_END.finditer(hidden)), default=0)
    end = _SENTENCE_END.search(_ABBREVIATED.sub(",", after))
    return before[start:].lstrip(), after[: end.start() if end else len(after)]


CAPTION_WORDS = 3  # besides days, times and small words; a longer line is a sentence
_NAMES_A_DAY = re.compile(
    r"(?<!\w)(?:" + "|".join((*MONTHS, *WEEKDAYS, *DAYS_BACK)) + r"|\d{1,2}[./]\d{1,2})(?!\w)"
)
_SPEAKS = whole_words(
    r"""i|we|he|she|they|you|it|who|is|was|are|were|be|had|has|have|ich|wir|er|sie|es|ihr|ist|war
    |waren|hat|habe|haben|byłem|byłam|byliśmy|jest|był\w*|je|nous|il|elle|on|est|était|a|ai|avons"""
)


def _is_caption(ahead: str, behind: str) -> bool:
    """Whether a line says place and day like the caption of a photo: no verb, few other words."""
    whole = f"{ahead} {behind}"
    words = re.findall(r"[^\W\d_]+", whole.casefold())
    return (
        _AT.search(ahead) is not None
        and _NAMES_A_DAY.search(fold_letters(whole)) is not None
        and _SPEAKS.search(whole) is None
        and sum(word not in _PLAIN for word in words) <= CAPTION_WORDS
    )


_TYPE_OF_SITE = re.compile(
    r"\W*(?:(?:the\s)?(?:site|place|lake|pond|pool)|jezioro|staw|der\s|see|teich|lac|étang)?\s*$",
    re.IGNORECASE,
)


def _stands_first(ahead: str) -> bool:
    """Whether a name begins its sentence, but for the kind of place that it is."""
    return _TYPE_OF_SITE.match(ahead) is not None


def _set_off(ahead: str, behind: str) -> bool:
    """Whether the name stands by itself, between commas, dashes or the ends of its sentence."""
    opened = _stands_first(ahead) or ahead.rstrip()[-1] in ",:-\u2013\u2014("
    return opened and (not behind.strip() or behind.lstrip()[0] in ",:-\u2013\u2014)(")


def _is_plain(ahead: str, behind: str) -> bool:
    """Whether the sentence holds nothing besides the name but days, times, and small words."""
    words = re.findall(r"[^\W\d_]+", f"{ahead} {behind}".casefold())
    return all(word in _PLAIN for word in words)


def _said_elsewhere(earlier: str, later: str) -> str:
    """Words of other sentences that say another place of the photo; empty if none do."""
    for text in (earlier, later):
        found = _AT_HOME.search(text) or _ELSEWHERE.search(text)
        if found:
            return " ".join(text[found.start() : found.end() + 30].split())
    return ""
