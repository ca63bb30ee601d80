"""Tells whether a site's name in a mail stands in a form that is known to say where the photo is.

Three forms are known: a place line ("Place: Heron Mere"), a line or subject of little more than
place and day, and "at Heron Mere" in a sentence of the sender's own about what was seen. Any other
mention is an offer. English, German, Polish and French; no source: chosen from how people write,
and what they must and must not match stands in the tests.
"""

from __future__ import annotations

import re

from triage.metadata.date_words import DAYS_BACK, MONTHS, ROMAN, WEEKDAYS
from triage.metadata.place_kinds import SPEAK_AGAINST, another_place, is_called_after
from triage.metadata.text_spans import fold_letters, whole_words, word_set

_SENTENCE_END = re.compile(r"[.!?;\n]")
# "13.06.", "13. Juni", "z. B."; a figure before a capital ends its sentence.
_ABBREVIATED = re.compile(
    r"(?<=\d)\.(?=\S|\s+[a-zà-ž\d]|\s+(?:Jan|Feb|M\wr|Apr|Mai|Jun|Jul|Aug|Sep|Okt|Nov|Dez))"
    r"|(?<=\d\.[1-9])\.|(?<=\d\.[01]\d)\.|(?<=\b[a-zA-Z])\."
)


# What a field of a form asks for; German joins its nouns ("Aufnahmeort").
_OF_PLACE = (
    r"(?:place|site|location|locality|loc\.?|where|spot|waters?|pond|lake|seen|taken|found|position|"
    r"\w*(?:ort|stelle|gewässer\w*)|wo|gesehen|aufgenommen|"
    r"miejsc\w+|stanowisk\w+|lokalizacj\w+|gdzie|zbiornik\w*|staw|jezioro|"
    r"lieu|endroit|emplacement|localité|localisation|où|étang|lac|vue?)"
)
# A field of a form whose whole value begins with a site, whatever it calls itself.
_ANY_FIELD = re.compile(r"^\W*(?:[^\W\d_]+\s+){0,2}[^\W\d_]+\s?:\s*$")
_NO_FIELD = re.compile(
    r"(?:adress|address|adres|home|club|verein|from|meeting|treff|event|walk|next|not|nicht|nie|pas)",
    re.IGNORECASE,
)
_FIELD = re.compile(_OF_PLACE, re.IGNORECASE)
_LABEL = re.compile(
    rf"^\W*(?:(?:[^\W\d_]+\s+){{0,3}}?{_OF_PLACE}\b[^:=\n]{{0,20}}[:=]|"
    rf"{_OF_PLACE}\s+[-\u2013\u2014])\s*"
    r"(?:[a-zàéü]{1,5}\s+){0,2}$"
    # "Date and place: 17 July, Heron Mere"
    rf"|^\W*(?:[^\W\d_]+\s+){{1,3}}?{_OF_PLACE}\s?[:=][^:=\n]{{4,30}}[,;]\s*$"
    # "The place was Heron Mere"
    r"|^\W*(?:(?:the|der|die|le|l[\u2019'])\s?)?(?:place|site|location|spot|\w*ort|\w*stelle|miejsce|"
    r"stanowisko|lieu|endroit)\s(?:is|was|ist|war|to|było|est|était)\s(?:(?:the|das|der|die|la|le)\s)?"
    r"(?:l[\u2019'])?$",
    re.IGNORECASE,
)
_AT = re.compile(
    r"(?<!\w)(?:at|in|near|nearby|by|beside|over|from|around|round|on|along|off|of|visit(?:ed|ing)|"
    r"(?:outing|trip|visit|walk|stroll|excursion)\sto|"
    r"an|am|im|vom|von|beim|bei|aus|um|nahe|entlang|"
    r"nad|znad|przy|po|w|we|z|ze|na|koło|obok|wokół|pod|"
    r"à|au|aux|de|du|près\sd[eu]|vers|sur|dans|autour\sd[eu])\s+"
    r"(?:(?:the|old|der|die|das|dem|den|des|le|la|les|jezior\w*|stawie|stawu|étang|lac|see|teich)"
    r"\s+){0,2}(?:l[\u2019'])?$",
    re.IGNORECASE,
)
# A question is about the photo only where it points at the animal or names the day.
_THIS = whole_words(
    r"""this|these|it|mine|attached|die(?:se\w*)|ta|tak\w|to|te|ten|cette|celle|celui|ce|c[\u2019']\w+
    |(?:das|es)\swar\w*|that\swas"""
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
    |libellen?|männchen|weibchen|paar|tier|exuvien?|funde?|saß|saßen|flog|flogen|geschlüpft|schlupf|eiablage|paarung\w*|tandems?|fand|fanden|hing|hingen
    |zauważ\w+|zaobserw\w+|napotka\w+|widzia\w+|zobaczy\w+|znala\w+|zrobi\w+|sfotografowa\w+|spotka\w+|zdję\w+|fot\w*|ważk\w+
    |samiec|samica|samce|para|okaz\w*|sztuk\w*|wylink\w*|siedzia\w+|lata\w+
    |vue?s?|trouvée?s?|prise?s?|observée?s?|photographiée?s?|photos?|libellules?|demoiselles?
    |émerg\w+|ponte|accouplement|kopulacj\w+|rencontre
    |mâle|femelle|couple|exuvies?|posée?s?"""
)
# Words of a line that says place and day and little more; digits are allowed besides.
_PLAIN = word_set(
    """
    approx ca circa nd rd st th znad
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
    pozdrowienia visit besuch begehung wizyta kontrola visite passage
    """
)
_OF_OTHERS = whole_words(
    r"""(?:my|our|a|his|her|their|some|the)\s(?:\w+\s)?(?:friends?|neighbou?rs?|colleagues?
    |sister|brother|mother|father|mum|dad|aunt|uncle|cousins?|wife|husband|daughter|son\ssaw
    |people|man|woman|walker)
    |(?:friends?|neighbou?rs?|colleagues?|relatives)\sof\s(?:ours|mine)
    |he|she|somebody|someone|others|you|your|yours
    |(?:meine?|unsere?|eine?)[rns]?\s(?:freund\w*|nachbar\w*|kolleg\w*|schwester|bruder|mutter|vater)
    |jemand|ihr|ihre[nrms]?|euch|eure[nrms]?|dein\w*|sie\shab\w+|er\shat
    |(?:(?:mój|moja|nasz|nasza)\s)?(?:kolega|koleżanka|sąsiad|sąsiadka|siostra|brat|mama|tata)|ktoś
    |wasz\w*|wy|państwo|państwa|pan|pani
    |(?:mon|ma|notre|un|une|la|le)\s(?:amie?|voisine?|collègue|sœur|frère|mère|père)|quelqu[\u2019']un
    |vous|votre|vos"""
)
_UNSURE = whole_words(
    r"""if|maybe|perhaps|possibly|presumably|either|might|would|could|should|shall|wish|nothing|none
    |nobody|closed
    |cancel\w+|meet|meets|meeting|shop\w*|lunch\swith|tea|coffee|parked|stay\w*\s(?:at|in|by|on)|holiday\sat
    |as\swell|also(?!\s(?:gestern|heute|vorgestern|am))|too|another\spond|other\spond|elsewhere|known|know|say|says|said|told
    |(?:i|we)[\u2019']ll|(?:i|we)\swill|werde\sich|wir\swerden|werden\swir|gerne?\s(?:ein)?mal|będ(?:ę|ziemy)
    |its\stwin|the\sother(?:\sone)?|(?:die|das)\sandere|drug[ai]e?|l[\u2019']autre|serai|serons|irai|irons|heard|read|compare\w*|do\syou\scount|survey\sat
    |dr[ae]w\w*|paint\w*|watercolou?r\w*|zeichn\w+|gezeichnet|gemalt|\w*rysowa\w+|rysun\w+|dessin\w*|peint\w*|releas\w+|let\s(?:\w+\s)?go|freigelassen|ausgesetzt|wypuś\w+|wypuszcz\w+|relâch\w+
    |wenn|entweder|wohl|vielleicht|könnte|sollte|nichts|(?:fiel|fällt)\saus|ausgefallen|abgesagt|gesperrt|auch|woanders
    |sonst|getroffen|gelesen|gehört
    |jeśli|może|albo|chyba|przywioz\w+|przynios\w+|nic|zamknięt\w+|odwołan\w+|też|także|gdzie\sindziej
    |si|soit|peut-être|rien|fermée?|annulée?|aussi|ailleurs"""
)
# What is done again and again is no outing, where it is said of the site itself.
_HABIT = whole_words(
    "always|often|sometimes|immer|oft|manchmal|zawsze|często|czasem|toujours|souvent|parfois"
)
# Ahead of a name these make it the end of a way or of a time; after it they speak of other things.
_ON_THE_WAY = whole_words(
    r"""before(?!\syesterday)|(?:after|since)(?!\s(?:\d|noon|lunch|work))|nach(?!\s(?:\d|mittag))|seit|après(?!-midi)
    |(?:returning|back|home|rückweg|heimweg|zurück|retour|reven\w+|revien\w+|rentr\w+|wraca\w+|powro\w+)\s(?:from|vom|von|de|du|znad|z)
    |until|heading|drove|driving|on\s(?:the|my|our)\sway|towards?|called|named
    |(?:way|road|route|path|bus|train|journey|drive)\s(?:to|for)|as\sfar\sas
    |bevor|unterwegs|auf\sdem\sweg|(?:fahrt|weg|straße|anfahrt|bus|zug)\s(?:zu\w*|nach)|bis\szu\w*|heißt|genannt
    |zanim|w\sdrodze|(?:drog\w+|autobus\w*|pociąg\w*|trasi\w*)\s(?:do|na|nad)|do(?=\s*$)
    |avant(?!-hier)|en\sroute|en\schemin|(?:route|chemin|bus|train)\s(?:de|du|vers|pour)"""
)
# Who is with the sender is no other person of whom the sentence speaks.
_TOGETHER = whole_words(
    r"""(?:with|and|mit|und|samt|z|ze|avec|et)\s(?:my|our|the|meine[nrm]?|unsere[nrm]?|de[nr]|moi[mn]\w*|moj\w+
    |nasz\w+|mon|ma|mes|notre|nos)\s(?:\w+\s)?\w+
    |(?:my|our)\s(?:\w+\s)?\w+\sand(?=\s(?:i|me)\b)|(?:meine?|unsere?)\s\w+\sund(?=\sich\b)
    |(?:mój|moja|mon|ma)\s\w+\s(?:i(?=\sja\b)|et(?=\smoi\b))
    |(?:z|ze)\s(?:synem|córką|żoną|mężem|dziećmi|bratem|siostrą|kolegą|koleżanką|rodziną)"""
)
# Politeness to the reader states nothing: "I thought you might like to see this", "I would say".
_REQUEST = whole_words(
    r"""(?:can|could|would|will)\s(?:you|someone|anybody|anyone)(?:\splease)?(?:\s(?:tell|help))?
    |habe\s(?:euch|ihnen|dir)|you\s(?:might|may|would|will)\s(?:like|want|be|find)|(?:might|may)\sinterest\syou
    |i\s(?:would|\u2019d|'d)\s(?:be|like|guess|say|love|think)|i\sshould\slike
    |(?:for|to)\s(?:you|your\s(?:survey|project|records?|list|collection))
    |(?:kann|könnte|können|könnten|könnt|könntet)\s(?:mir\s)?(?:sie|ihr|jemand|man|einer)
    |ich\swürde(?:\smich)?|(?:ihnen|euch|sie|ihr)(?=,|\s(?:ein|das|mein|foto|bild|anbei))
    |(?:może|mógłby|mogłaby|możecie)\s(?:ktoś|pan|pani|państwo|mi)|proszę|chciał\w+bym
    |(?:je|ci-joint)\s(?:vous\s)(?:\w+)|votre\s(?:enquête|projet|étude|recensement|liste)
    |(?:ich\s)?(?:sende|schicke|übersende|maile)\s(?:ihnen|euch|dir)|(?:wysyłam|przesyłam)\s(?:państwu|wam|panu|pani)
    |(?:pouvez|pourriez|voulez|sauriez)[\s-]vous|quelqu[\u2019']un\s(?:peut|pourrait|sait)"""
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
    |but\s(?:from|at|in|the)|instead|rather\s(?:than|at|from|in)
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
    rest = before[: len(before) - len(ahead)], after[len(behind) :]
    if elsewhere := _said_elsewhere(*rest) or _corrected(*rest):
        return f"{SPEAK_AGAINST[0]} '{elsewhere}'"
    if _LABEL.match(line_ahead) or _LABEL.match(ahead):
        return ""
    if other := another_place(" ".join(rest)):
        return f"{SPEAK_AGAINST[0]} '{other}'"
    if _ANY_FIELD.match(ahead) and not _NO_FIELD.search(ahead) and _set_off("", behind):
        return ""
    unsure = _UNSURE.search(f"{ahead} {behind}") or _ON_THE_WAY.search(ahead)
    if not unsure and _is_plain(ahead, behind):
        return ""
    said = _TOGETHER.sub(" ", _REQUEST.sub(" ", ahead))
    if longer := _longer_name(behind):
        return f"'{verbatim} {longer}' may be the name of something else"
    whole = f"{said} {_TOGETHER.sub(' ', _REQUEST.sub(' ', behind))}"
    # A day in a sentence that is the sender's own says that something happened there.
    day = _names_a_day(whole)
    asks = after[len(behind) :].startswith("?") and not (day or _THIS.search(whole))
    clause = f"{_COMMA.split(said)[-1]} {_COMMA.split(behind)[0]}"
    happened = day and (_FIRST_PERSON.search(clause) or _THIS.search(clause))
    seen = not asks and (happened or _SEEN.search(whole))
    own = (_AT.search(ahead) and seen) or (
        _set_off(ahead, behind) and (_stands_first(ahead) or seen or day)
    )
    # What is denied in another clause is not the place: "... and cannot name it".
    nearest = f"{_CLAUSE.split(said)[-1]} {_CLAUSE.split(behind)[0]}"
    denies = _NEGATION.search(_QUALITY.sub(" ", nearest))
    speaks_otherwise = (
        denies
        or _ON_THE_WAY.search(said)
        or _HABIT.search(f"{_COMMA.split(said)[-1]} {_COMMA.split(behind)[0]}")
        or is_called_after(said)
        or another_place(whole)
        or any(p.search(whole) for p in (_OF_OTHERS, _UNSURE, _AT_HOME, _ELSEWHERE_HERE))
    )
    if (own or _is_caption(ahead, behind) or _is_headed(ahead, behind)) and not speaks_otherwise:
        return ""
    sentence = " ".join(f"{ahead}{verbatim}{behind}".split())
    return f"{SPEAK_AGAINST[1] if speaks_otherwise else ONLY_MENTIONED}: '{sentence}'"


_FIRST_PERSON = whole_words(
    r"""i|we|me|us|my|our|ich|wir|mir|mich|uns|mein\w*|unser\w*|ja|mi|mnie|nam|nas|moj\w+|nasz\w+|\w+(?:łem|łam|liśmy|łyśmy)
    |je|j[\u2019']\w+|nous|ma|mes|notre|nos"""
)
_NEGATION = whole_words(
    r"""not|no|never|nothing|\w+n[\u2019']t|nicht|kein\w*|nie|nichts|niemals|żadn\w+|pas|jamais|aucune?|rien
    |(?:almost|nearly|not\squite|fast|beinahe|prawie|niemal|presque)\s(?=at\b|in\b|on\b|a[mn]\b|im\b|bei\w*|nad\b|przy\b|na\b|à|au\b)
    |wegen|because\sof|due\sto|z\spowodu|à\scause
    |dreamt|dreamed|remember\w*|geträumt|träum\w+|rêv\w+|śni\w+"""
)
# What is not sharp or not known was seen all the same.
_QUALITY = whole_words(
    r"""(?:not|isn[\u2019']t|nicht|nie|pas)\s(?:\w+\s){0,2}?(?:sharp|in\sfocus|good|great|clear|sure|certain|best|
    scharf|gut|toll|schlecht|optimal|sicher|kenne|weiß|bestimmen|know|identify|znam|connais|ostr\w+|najlepsz\w+|pewn\w+|nette?|bonne|terrible|sûre?)
    |no\s(?:idea|clue|wind|clouds?)|keine\sahnung|don[\u2019']t\sknow|weiß\snicht|nie\swiem|je\sne\s\w+\spas"""
)
_CORRECTED = whole_words(
    r"""correction|corrected|mixed\sup|mistake|wrong(?:ly)?|by\serror|irrtum|irrtümlich|verwechselt|falsch\w*
    |pomyłk\w+|pomyli\w+|błędnie|par\serreur|erreur|rectifi\w+|corriger"""
)


def _corrected(earlier: str, later: str) -> str:
    """Words of other sentences that take something said back; empty if none do."""
    found = _CORRECTED.search(earlier) or _CORRECTED.search(later)
    return found[0] if found else ""


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
    r"(?<!\w)(?:"
    + "|".join(w for w in (*MONTHS, *WEEKDAYS, *DAYS_BACK) if len(w) > 3 or w == "may")
    + r"|\d{1,2}[./]\d{1,2})(?!\w)"
)


def _names_a_day(text: str) -> bool:
    return _NAMES_A_DAY.search(fold_letters(text)) is not None


_SPEAKS = whole_words(
    r"""i|we|he|she|they|you|it|who|is|was|are|were|be|had|has|have|ich|wir|er|sie|es|ihr|ist|war
    |waren|hat|habe|haben|byłem|byłam|byliśmy|jest|był\w*|je|nous|il|elle|on\s(?:a|est|était|voit)|est|était|a|ai|avons"""
)


def _is_caption(ahead: str, behind: str) -> bool:
    """Whether a line, or its part with the name, says place and day like the caption of a photo.

    That is without a verb, and with few other words.
    """
    parts = _COMMA.split(ahead)[-1], _COMMA.split(behind)[0]
    return _says_day_and_place(ahead, behind) or _says_day_and_place(*parts)


_CLAUSE = re.compile(r"[,:;]|\s[\u2013\u2014-]\s|\s(?:and|und|i|oraz|et)\s")
_COMMA = re.compile(r"[,:;]|\s[\u2013\u2014-]\s")


def _says_day_and_place(ahead: str, behind: str) -> bool:
    whole = f"{ahead} {behind}"
    words = re.findall(r"[^\W\d_]+", whole.casefold())
    return (
        _AT.search(ahead) is not None
        and _names_a_day(whole)
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
    opened = _stands_first(ahead) or _is_small(_DIVIDER.split(ahead)[-1])
    return opened and _is_small(_DIVIDER.split(behind)[0])


_DIVIDER = re.compile(r"[,:()/\u2013\u2014]|\s-\s|-\s*$")


def _is_small(text: str) -> bool:
    """Whether a stretch of a sentence holds days, times, small words and what names a field."""
    words = re.findall(r"[^\W\d_]+", text.casefold())
    return all(w in _PLAIN or _is_of_a_day(w) or _FIELD.fullmatch(w) for w in words)


def _is_plain(ahead: str, behind: str) -> bool:
    """Whether the sentence holds nothing besides the name but days, times, and small words."""
    words = re.findall(r"[^\W\d_]+", f"{ahead} {behind}".casefold())
    return all(word in _PLAIN or _is_of_a_day(word) for word in words)


def _is_of_a_day(word: str) -> bool:
    folded = fold_letters(word)
    return folded in MONTHS or folded in WEEKDAYS or folded in ROMAN


def _longer_name(behind: str) -> str:
    """A word with a capital right behind a name, as if both were one: "Heron Mere Arms"."""
    found = re.match(r"[^\S\n]([^\W\d_]+)", behind)
    if not found or not found[1][0].isupper():
        return ""
    word = found[1].casefold()
    known = word in _PLAIN or _is_of_a_day(word) or _SEEN.fullmatch(word)
    return "" if known else found[1]


def _is_headed(ahead: str, behind: str) -> bool:
    """Whether a line says the name, what is sent, and perhaps a day: "Photo 28 July Heron Mere"."""
    words = re.findall(r"[^\W\d_]+", f"{ahead} {behind}".casefold())
    return all(w in _PLAIN or _is_of_a_day(w) or _SEEN.fullmatch(w) for w in words)


def _said_elsewhere(earlier: str, later: str) -> str:
    """Words of other sentences that say another place of the photo; empty if none do."""
    for text in (earlier, later):
        found = _AT_HOME.search(text) or _ELSEWHERE.search(text)
        if found:
            return " ".join(text[found.start() : found.end() + 30].split())
    return ""
