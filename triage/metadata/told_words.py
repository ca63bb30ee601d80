"""The words by which people tell what they saw, and the sentence in which they stand.

English, German, Polish and French; no source: chosen from how people write, and what they must and
must not match stands in the tests of places and of days (tests/data/mails).
"""

from __future__ import annotations

import re

from triage.metadata.date_words import MONTHS, ROMAN, WEEKDAYS
from triage.metadata.text_spans import fold_letters, whole_words, word_set

_SENTENCE_END = re.compile(r"[.!?;\n]")
# "13.06.", "13. Juni", "z. B."; a figure before a capital ends its sentence.
_ABBREVIATED = re.compile(
    r"(?<=\d)\.(?=\S|\s+[a-zà-ž\d]|\s+(?:Jan|Feb|M\wr|Apr|Mai|Jun|Jul|Aug|Sep|Okt|Nov|Dez))"
    r"|(?<=\d\.[1-9])\.|(?<=\d\.[01]\d)\.|(?<=\b[a-zA-Z])\.|(?<=\b(?:ok|ca|nr))\."
)
# A question is about the photo only where it points at the animal or names the day.
THIS = whole_words(
    r"""this|these|it|mine|attached|die(?:se\w*)|ta|tak\w|to|te|ten|cette|celle|celui|ce|c[\u2019']\w+
    |(?:das|es)\swar\w*|that\swas"""
)
SEEN = whole_words(
    r"""saw|seen|see|found|took|taken|take|another|photo\w*|pictures?|pics?|images?|shots?|snap\w*|spotted
    |came\sacross|finds?|chasing|caught|noticed|watched|observed|encountered|met\sthis|flying|flew|perched|resting|sitting|sat
    |landed|basking|hunting|patrolling|mating|ovipositing|emerg\w+|hatch\w+|visited
    |(?:this|these|it|they|one|ones|all|both|attached)\s(?:\w+\s){0,3}(?:is|are|was|were|from)
    |(?:was|were|am|are)\s(?:at|there|out|by|around|near)
    |dragonfl\w+|damselfl\w+|darters?|hawkers?|skimmers?|chasers?|emeralds?|odonat\w+|insects?|male
    |female|pair|animal|specimens?|exuvia\w*|larva\w*|larvenh\w+|survey|relevé|balade|records?|sightings?|observations?
    |ones?|skins?|two|three|four|five|six|several|frames?|walks?|walked|outing|trip|visit|stroll|excursion
    |eine?|zwei|drei|vier|spaziergang|ausflug|spacer\w*|wycieczk\w+|dwie|dwa|trzy|promenade|sortie
    |une?|deux|trois|gesehen|gefunden|fotografiert|aufgenommen|entdeckt|beobacht\w+|\w*fotos?|\w*bild(?:er)?|\w*aufnahmen?
    |libellen?|männchen|weibchen|paar|tier|exuvien?|funde?|saß|saßen|flog|flogen|geschlüpft|schlupf|eiablage|paarung\w*|tandems?|fand|fanden|hing|hingen
    |zauważ\w+|zaobserw\w+|napotka\w+|widzia\w+|zobaczy\w+|znala\w+|zrobi\w+|sfotografowa\w+|spotka\w+|zdję\w+|fot\w*|ważk\w+
    |samiec|samica|samce|para|okaz\w*|sztuk\w*|wylink\w*|siedzia\w+|lata\w+
    |vue?s?|trouvée?s?|prise?s?|observée?s?|photographiée?s?|photos?|libellules?|demoiselles?
    |émerg\w+|ponte|accouplement|kopulacj\w+|rencontre
    |mâle|femelle|couple|exuvies?|posée?s?"""
)
# Words of a line that says place and day and little more; digits are allowed besides.
SMALL = word_set(
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
    both lunchtime mid clock halb so beide beides oba obie deux autour południu elf zehn neun acht
    pozdrowienia visit besuch begehung wizyta kontrola visite passage
    """
)
OF_OTHERS = whole_words(
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
UNSURE = whole_words(
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
HABIT = whole_words(
    "always|often|sometimes|immer|oft|manchmal|zawsze|często|czasem|toujours|souvent|parfois"
)
# Who is with the sender is no other person of whom the sentence speaks.
TOGETHER = whole_words(
    r"""(?:with|and|mit|und|samt|z|ze|avec|et)\s(?:my|our|the|meine[nrm]?|unsere[nrm]?|de[nr]|moi[mn]\w*|moj\w+
    |nasz\w+|mon|ma|mes|notre|nos)\s(?:\w+\s)?\w+
    |(?:my|our)\s(?:\w+\s)?\w+\sand(?=\s(?:i|me)\b)|(?:meine?|unsere?)\s\w+\sund(?=\sich\b)
    |(?:mój|moja|mon|ma)\s\w+\s(?:i(?=\sja\b)|et(?=\smoi\b))
    |(?:z|ze)\s(?:synem|córką|żoną|mężem|dziećmi|bratem|siostrą|kolegą|koleżanką|rodziną)"""
)
# Politeness to the reader states nothing: "I thought you might like to see this", "I would say".
REQUEST = whole_words(
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
FIRST_PERSON = whole_words(
    r"""i|we|me|us|my|our|ich|wir|mir|mich|uns|mein\w*|unser\w*|ja|mi|mnie|nam|nas|moj\w+|nasz\w+|\w+(?:łem|łam|liśmy|łyśmy)
    |je|j[\u2019']\w+|nous|ma|mes|notre|nos"""
)
SPEAKS = whole_words(
    r"""i|we|he|she|they|you|it|who|is|was|are|were|be|had|has|have|ich|wir|er|sie|es|ihr|ist|war
    |waren|hat|habe|haben|byłem|byłam|byliśmy|jest|był\w*|je|nous|il|elle|on\s(?:a|est|était|voit)|est|était|a|ai|avons"""
)
NEGATION = whole_words(
    r"""not|no|never|nothing|\w+n[\u2019']t|nicht|kein\w*|nie|nichts|niemals|żadn\w+|pas|jamais|aucune?|rien
    |(?:almost|nearly|not\squite|fast|beinahe|prawie|niemal|presque)\s(?=at\b|in\b|on\b|a[mn]\b|im\b|bei\w*|nad\b|przy\b|na\b|à|au\b)
    |wegen|because\sof|due\sto|z\spowodu|à\scause
    |dreamt|dreamed|remember\w*|geträumt|träum\w+|rêv\w+|śni\w+"""
)
# What is not sharp or not known was seen all the same.
QUALITY = whole_words(
    r"""(?:not|isn[\u2019']t|nicht|nie|pas)\s(?:\w+\s){0,2}?(?:sharp|in\sfocus|good|great|clear|sure|certain|best|
    scharf|gut|toll|schlecht|optimal|sicher|kenne|weiß|bestimmen|know|identify|znam|connais|ostr\w+|najlepsz\w+|pewn\w+|nette?|bonne|terrible|sûre?)
    |no\s(?:idea|clue|wind|clouds?)|keine\sahnung|don[\u2019']t\sknow|weiß\snicht|nie\swiem|je\sne\s\w+\spas"""
)
COMMA = re.compile(r"[,:;]|\s[\u2013\u2014-]\s")
CLAUSE = re.compile(r"[,:;]|\s[\u2013\u2014-]\s|\s(?:and|und|i|oraz|et)\s")


def sentence_around(before: str, after: str) -> tuple[str, str]:
    """What stands before and after the name in its own sentence."""
    hidden = _ABBREVIATED.sub(",", before)
    start = max((found.end() for found in _SENTENCE_END.finditer(hidden)), default=0)
    end = _SENTENCE_END.search(_ABBREVIATED.sub(",", after))
    return before[start:].lstrip(), after[: end.start() if end else len(after)]


def is_plain(ahead: str, behind: str) -> bool:
    """Whether the sentence holds nothing besides the name but days, times, and small words."""
    words = re.findall(r"[^\W\d_]+", f"{ahead} {behind}".casefold())
    return all(word in SMALL or is_of_a_day(word) for word in words)


def is_of_a_day(word: str) -> bool:
    folded = fold_letters(word)
    return folded in MONTHS or folded in WEEKDAYS or folded in ROMAN
