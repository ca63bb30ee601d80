"""The words by which people grant, refuse or doubt, in English, German, Polish and French.

No source: chosen from how such sentences are written; what they must and must not match stands in
the tests of consent. A grant ties its verb to its modal ("you may publish"): "you can see the
photos I used" grants nothing.
"""

from __future__ import annotations

import re


def pattern(*, english: str, german: str, polish: str, french: str) -> re.Pattern[str]:
    """Compile the words of the four languages into one pattern of whole words."""
    return re.compile(rf"(?i)\b(?:{english}|{german}|{polish}|{french})\b")


_ENGLISH_VERB = "(?:publish|use|re-?use|print|share|post|show)"
_ENGLISH_DONE = "(?:published|used|re-?used|shown|printed|shared|posted)"
_ENGLISH_DOING = rf"(?:publish\w*|publication|print|us(?:e|ed|ing)|{_ENGLISH_DONE})"
_GERMAN_VERB = (
    "(?:veröffentlichen|zeigen|teilen|verwenden|benutzen|nutzen|abdrucken|weiterverwenden)"
)
_GERMAN_DONE = "(?:veröffentlicht|verwendet|genutzt|gezeigt|benutzt|abgedruckt)"
_GERMAN_MODAL = "(?:dürfen|dürft|darfst|können|könnt|kannst)"
_POLISH_VERB = (
    "(?:opublikować|publikować|wykorzystać|wykorzystywać|użyć|używać|zamieścić|udostępnić"
    r"|być (?:publikowane|opublikowane|wykorzystane|użyte))"
)
_FRENCH_VERB = "(?:publier|utiliser|réutiliser|montrer|partager|diffuser|imprimer|reproduire)"
_FRENCH_DONE = r"(?:(?:publi|utilis|réutilis|montr|partag|diffus|imprim)ée?s?|reproduite?s?)"

PHOTO = pattern(
    english="photos?|photographs?|pictures?|images?|shots?",
    german="fotos?|bilder?n?|bild|aufnahmen?",
    polish=r"zdjęci\w+|zdjęć|fotografi\w+",
    french=r"photos?|photographies?|images?|clichés?",
)
PRONOUN = pattern(
    english="them|these|it|any", german="sie|diese", polish="je", french="les|celles?-ci"
)
PUBLISH = pattern(
    english=r"publish\w*|publication|re-?us\w*|put online",
    german=r"veröffentlich\w*|abdruck\w*",
    polish=r"opublik\w*|publik\w*|zamieści\w*|udostępni\w*",
    french=r"publi(?:er|ée?s?|e|ez|iez|cation)|réutilis\w*|diffus\w*|mettre en ligne|en ligne",
)
USE = pattern(
    english="use|used|using|print|printed|share|shared|shown|posted",
    german=r"verwend\w*|benutz\w*|nutz\w*|genutzt|gezeigt|zeigen(?! lassen)",
    polish=r"wykorzyst\w*|używa(?!ł)\w*|użyć|użyte",
    french=r"utilis\w*|usage|montr\w*|partag\w*|imprim\w*|reprodui\w*",
)
GRANT = pattern(
    english=rf"you (?:may|can)(?: \w+){{0,2}} {_ENGLISH_VERB}"
    rf"|you(?:[\u2019']re| are) (?:welcome|free|allowed) to {_ENGLISH_VERB}"
    rf"|feel free to {_ENGLISH_VERB}|(?:may|can) (?:\w+ )?be {_ENGLISH_DONE}"
    rf"|(?:i|we) (?:\w+ )?(?:agree|consent|allow|permit)\b.{{0,80}}?\b{_ENGLISH_DOING}"
    rf"|(?:permission|consent)\b.{{0,80}}?\b{_ENGLISH_DOING}"
    rf"|happy for (?:you to {_ENGLISH_VERB}|.{{0,40}}? to be {_ENGLISH_DONE})"
    "|(?:free|fine|okay|ok) to (?:publish|use|share)"
    r"|use (?:\w+ ){0,2}(?:as|however|any way) you (?:like|wish|please|want)"
    "|publi(?:shing|cation) (?:\\w+ )?is (?:fine|ok|okay|all right)",
    german=rf"(?:sie|ihr|du) {_GERMAN_MODAL}(?: \S+){{0,6}}? {_GERMAN_VERB}"
    rf"|{_GERMAN_MODAL} (?:sie|ihr|du)(?: \S+){{0,6}}? {_GERMAN_VERB}"
    rf"|(?:darf|dürfen|kann|können) (?:\S+ ){{0,6}}?{_GERMAN_DONE} werden"
    r"|(?:ich (?:erlaube|gestatte|bin (?:damit )?einverstanden|stimme)|einverstanden mit|erlaubnis"
    rf"|einverständnis)\b.{{0,80}}?\b(?:veröffentlich\w*|verwend\w*|nutz\w*|nutzen|benutz\w*)"
    r"|(?:mit (?:der|einer) )?veröffentlichung\b.{0,60}?\b(?:einverstanden|in ordnung)"
    "|frei (?:verwendbar|nutzbar)",
    polish=r"(?:możecie|mogą|może pan|może pani|można|możesz|mogą państwo)(?: \w+){0,3}? "
    rf"{_POLISH_VERB}"
    r"|(?:zgadzam się|wyrażam zgodę|zgoda|zezwalam|za moją zgodą)\b.{0,60}?\b"
    r"(?:publik\w*|opublik\w*|wykorzyst\w*|użyci\w*)",
    french=rf"(?:vous pouvez|tu peux|libre à (?:vous|toi) de"
    rf"|n[\u2019']hésitez pas à)(?: \S+){{0,4}}? "
    rf"{_FRENCH_VERB}|(?:peuvent|peut) (?:\S+ )?être {_FRENCH_DONE}"
    r"|(?:je (?:vous )?autorise|j[\u2019']autorise|je donne mon (?:accord|autorisation"
    r"|consentement)"
    r"|(?:je suis|bien) d[\u2019']accord|j[\u2019']accepte|oui)\b.{0,60}?"
    rf"\b(?:publication|utilisation|diffusion|usage|{_FRENCH_VERB}|{_FRENCH_DONE})"
    r"|libres? de droits",
)
# A condition that is about the name alone leaves the photos free: "pod warunkiem, że bez nazwiska".
OF_THE_NAME = re.compile(
    r"(?i)\b(?:on (?:the )?condition|provided|unter der bedingung|vorausgesetzt|pod warunkiem"
    r"|à (?:la )?condition)\b[\s,]*(?:(?:that|dass|że|que|de)\s+)?(?=without|ohne|bez|sans|anonym)"
)
# "... with my name if you like" leaves it to the reader and sets no condition.
AS_YOU_LIKE = pattern(
    english="(?:if|as|when(?:ever)?|however) you (?:like|wish|please|want)",
    german="(?:wenn|wie) (?:sie|ihr|du) (?:mögen|möchten|wollen|mögt|wollt|magst|willst)",
    polish="(?:jeśli|jak) (?:chcecie|państwo chcą|pan chce|pani chce)",
    french="(?:si|comme|quand) vous (?:le )?(?:voulez|souhaitez|désirez)",
)
BARE_GRANT = re.compile(
    r"(?i)\b(?:feel free to publish|permission to publish|erlaubnis zur veröffentlichung"
    r"|mit (?:einer |der )?veröffentlichung einverstanden|(?:zgodę|zgoda|zgadzam się) na publikację"
    r"|publi(?:shing|cation) is (?:fine|ok|okay)"
    r"|(?:agree|consent) to publication"
    r"|use (?:\w+ ){0,2}(?:as|however|any way) you (?:like|wish|please|want)"
    r"|n[\u2019']hésitez pas à publier|accord pour (?:la |une )?publication)\b"
)
# Refusals that need no object: nothing but the photos can be meant, unless a name or place is.
BARE_REFUSAL = pattern(
    english="not (?:for publication|to be published)|no publication"
    "|(?:do not|don[\u2019']?t) publish",
    german="nicht (?:zur veröffentlichung|veröffentlichen)|keine veröffentlichung",
    polish="nie (?:do publikacji|publikować|publikujcie)",
    french="(?:ne (?:pas|jamais)|à ne pas) (?:les )?(?:publier|diffuser)|pas (?:de"
    "|pour) (?:la )?publication"
    "|aucune publication|ne (?:les |la )?publiez pas|publication interdite",
)
# Where a photo is out in the open: beside a negation it needs no object to be a refusal, since a
# refusal that was not meant costs a question, and one that was not read a person's trust.
IN_THE_OPEN = pattern(
    english=r"publish\w*|publication|on ?line|(?:on|onto|to|off|for) (?:the |your |any )?"
    r"(?:web|internet|web ?sites?|web ?pages?)|social (?:media|networks?)|shar(?:e|ed|ing)",
    german=r"veröffentlich\w*|(?:ins|im|fürs) (?:netz|internet|web)|online"
    r"|(?:webseite|website|homepage)\w*|soziale[nr]? (?:medien|netzwerke\w*)",
    polish=r"publik\w*|opublik\w*|(?:w|do) (?:internecie|internetu|sieci)|online|publicznie"
    r"|udostępni\w*|(?:u|za)mieszcz\w*|stron\w+ (?:internetow\w+|www)",
    french=r"publi(?:er|ée?s?|e|ez|iez|cation)|(?:sur|dans) (?:internet|le web|le net)"
    r"|en ligne|(?:votre|un|le) site (?:web|internet)|votre site|réseaux sociaux|diffus\w*",
)
# What people tell of themselves: "I could not find it online" refuses nothing.
TOLD_OF_ONESELF = pattern(
    english=r"(?:did|could|have|has|had|was|were)(?: not|n[\u2019']t)|find|found|search\w*"
    r"|look(?:ed|ing)?|read|seen?|saw|compar\w*|know",
    german=r"gefunden|find\w*|(?:ge)?such\w*|gelesen|(?:ge|nach)?seh\w*|konnte\w*|vergl\w*|weiß",
    polish=r"znalaz\w+|znale\w+|szuka\w+|widzia\w+|porówn\w+|wiem",
    french=r"trouv\w+|cherch\w+|vue?s?|lue?s?|compar\w+|sais",
)
NO_OBJECTION = pattern(
    english="no objections?|no problem if you|(?:don[\u2019']?t|do not) (?:mind|object)(?: if you)?"
    "|(?:without|need not|no need to|don[\u2019']?t (?:need|have) to) ask(?:ing)?"
    "(?: before| first)?",
    german="(?:nichts|keine einwände) (?:dagegen|gegen)(?:, (?:wenn|dass) (?:sie|ihr|du))?"
    "|keine einwände|kein problem|keine bedenken|ohne (?:zu fragen|rückfrage)",
    polish="nie mam nic przeciwko|bez pytania|nie ma (?:problemu|sprawy)",
    french="(?:ne vois|n[\u2019']ai) (?:pas|aucune?) (?:d[\u2019'])?(?:inconvénient"
    "|objection)(?: à ce que vous| à)?"
    "|pas d[\u2019']objection|pas de (?:problème|souci)|aucun (?:problème|souci)"
    "|aucune objection|ne me (?:dérange|gêne) pas|sans (?:me )?demander|n[\u2019']hésitez pas",
)
REFUSAL = pattern(
    english="do not|don[\u2019']?t|may not|must not|mustn[\u2019']?t|can(?:not|[\u2019']t| not)"
    r"|not (?:to be|for|agree|consent|allow|want|be|publish\w*|ok(?:ay)?|fine)|please not"
    r"|no (?:publication|publishing|photos?|pictures?|images?)|keep (?:\S+ ){1,4}?off"
    "|(?<!did )(?<!have )not use|aren[\u2019']?t|are not|never|no permission"
    "|without (?:my |our |further )?(?:permission|consent)|rather not|refuse",
    german=r"nicht|kein\w*|niemals|ohne (?:meine|unsere)|untersag\w*|verbiete",
    polish="nie|bez (?:mojej|naszej)|zabraniam",
    french=r"pas|ne|n[\u2019']\w+|jamais|aucune?|refuse|interdi[ts]\w*|sans (?:mon"
    r"|notre) (?:accord|autorisation)",
)
DOUBT = re.compile(
    r"(?i)\?\s*$|\b(?:if|unless|perhaps|maybe|not (?:so )?sure|would it"
    r"|should i|shall i|ask me|until"
    r"|once (?!more)|as (?:long|soon) as|provid(?:ed|ing)|on (?:the )?condition|i suppose|let me"
    r"|only (?:after|when|with)|depend(?:s|ing)|might|solange|sobald|vorausgesetzt"
    r"|unter der (?:bedingung|voraussetzung)|wahrscheinlich|vermutlich|muss (?:\S+ )?(?:erst|noch)"
    r"|pod warunkiem|o ile|dopóki|jak tylko|muszę (?:\w+ )?(?:zapytać|spytać)|raczej"
    r"|tant que|dès que|pourvu que|à (?:la )?condition|je suppose|il faut que je"
    r"|falls|wenn|ob|sofern|vielleicht|evtl|eventuell|erst nach|vorher fragen|soll ich"
    r"|jeśli|jeżeli|gdyby|czy|może kiedyś|dopiero|si|peut-être|puis-je|pourriez-vous"
    r"|demandez-moi|seulement après|j[\u2019']hésite|je ne sais pas)\b"
)
RESTRICTED = pattern(
    english="only|solely|except|apart from|the ones?|some of|(?:non-?)?commercial(?:ly)?"
    "|internal(?:ly)?|for identification"
    "|to (?:identify|determine|name|check|see|tell)",
    german=r"nur|ausschließlich|lediglich|außer|bis auf|einige (?:der|von)"
    r"|(?:nicht-?)?kommerziell\w*|intern\w*|zur bestimmung",
    polish=r"tylko|wyłącznie|jedynie|oprócz|poza|niektóre|(?:nie)?komercyjn\w*"
    r"|do oznaczeni\w+|wewnętrzn\w+",
    french=r"uniquement|seulement|exclusivement|sauf|excepté|hormis"
    r"|(?:non )?commerciale?s?|commerciaux|interne"
    r"|pour (?:l[\u2019'])?identification"
    r"|à condition|sous réserve",
)
PLACE = pattern(
    english="location|places?|sites?(?! web)|coordinates|whereabouts",
    german="orte?|fundorte?|standorte?|koordinaten|(?:die|der|diese[rn]?|genaue[rn]?) stellen?",
    polish=r"miejsc\w*|lokalizacj\w+|współrzędn\w+|stanowisk\w+",
    french="lieux?|endroits?|localisation|coordonnées|sites? exacts?",
)
NAME = pattern(
    english=r"(?:my|our|and|with) (?:full )?names?|names? (?:may|can)|name me"
    r"|credit(?:ed)?|anonym\w*",
    german="(?:meine[mns]?|und|mit) namen?|namentlich|namensnennung",
    polish=r"moj\w+ (?:nazwisk\w+|imieni\w+|imię)|nazwisk\w+|anonimow\w+|podpis(?:ać|ane|em)?",
    french="(?:mon|son|notre|avec|sous) (?:mon |le )?noms?|nom (?:peut|puisse)|me (?:créditer"
    "|citer|nommer)|crédit\\w*|anonym\\w*",
)
NAMELESS = pattern(
    english="anonymous(?:ly)?|without (?:my )?name",
    german="anonym(?:isiert)?|ohne (?:meinen )?namen?",
    polish=r"bez (?:mojego )?(?:nazwiska|imienia)|anonimow\w+",
    french="anonyme(?:ment)?|sans (?:mon |le )?nom",
)
NAME_GRANT = pattern(
    english="(?:with|under|use|mention) my name|(?:please|with) credit(?: me| to)?|credit me"
    "|credited|name me|names? (?:may|can) be",
    german=r"(?:mit|unter) (?:meinem )?namen|namentlich (?:genannt|nennen|erwähn\w+)"
    "|namen? (?:darf|dürfen)|mit namensnennung",
    polish="pod (?:moim )?nazwiskiem|z (?:moim )?nazwiskiem|podać (?:moje )?nazwisko"
    "|podpisane moim|z podpisem",
    french="(?:avec|sous|mention de|mentionner|citer) mon nom|me (?:créditer|citer)|avec crédit"
    "|nom peut être",
)
