"""The words of a mail in, the sentence that says somebody else took its photos, and the name, out.

English, German, Polish and French; no source: chosen from how people write, and what they must and
must not match stands in the tests. A sentence read in vain costs a look.
"""

from __future__ import annotations

import re
from collections.abc import Collection

from triage.mail.consent import sentences_of
from triage.mail.likeness import is_like

READ = 20_000  # characters
_NAME = (
    r"(?P<name>(?!(?:My|Our|Ein\w*|Mein\w*|Unser\w*|Moj\w*|M\u00f3j|Mon|Ma|The|This|I|We|Der|Die"
    r"|Das)\b)"
    r"[A-ZÀ-Ž][\w\u2019'-]+(?:\s(?:van|von|de|den|der|du|la)\b)*(?:\s[A-ZÀ-Ž][\w\u2019'-]+){1,2})"
)
_KIN = (
    r"(?:(?:[Mm]y|[Oo]ur|[Aa]|[Mm]eine?[nrm]?|[Uu]nsere?[nrm]?|[Ee]ine?[nrm]?|[Mm][oó]j\w*"
    r"|[Nn]asz\w*|[Mm]on|[Mm]a|[Nn]otre"
    r"|[Uu]ne?)\s)?(?:friend|neighbou?r|colleague|wife|husband|brother|sister|father|mother|dad|mum"
    r"|daughter|son|partner|cousin|uncle|aunt|nephew|niece"
    r"|grand(?:son|daughter|child|father|mother|pa|ma)|reader|walker|visitor|volunteer|member"
    r"|student|pupil|intern|warden|ranger|guide|boss|lady|gentleman|Schwager|Schwägerin"
    r"|Enkel(?:in)?|Onkel|Tante|Neffe|Nichte|Opa|Oma|Praktikant(?:in)?|Schüler(?:in)?"
    r"|Leser(?:in)?|Spaziergänger(?:in)?|Teilnehmer(?:in)?|[Ww]nu(?:k|czka)|[Tt]eś(?:ć|ciowa)"
    r"|[Ss]zwagier|[Uu]cz(?:eń|ennica)|[Cc]zytelni(?:k|czka)|[Ww]ujek|[Cc]iocia|[Dd]ziadek"
    r"|[Bb]abcia|[Ss]tażyst(?:a|ka)|petit-fils|petite-fille|neveu|nièce|beau-(?:frère|père|fils)"
    r"|belle-(?:sœur|mère|fille)|stagiaire|élève|lecteur|lectrice|bénévole|oncle|tante"
    r"|Freund(?:in)?|Nachbar(?:in)?|Kolleg(?:e|en|in)|Frau(?!\s[A-ZÄÖÜ])"
    r"|Mann|Bruder|Schwester|Vater|Mutter|Tochter|Sohn|Partner(?:in)?|Bekannte[rn]?|[Kk]olega"
    r"|[Kk]oleżanka"
    r"|kolegi|koleżanki|znajom\w+|sąsiad\w*|[Żż]ona|[Mm]ąż|[Bb]rat|[Ss]iostra|ojciec|matka"
    r"|[Cc]órka|[Ss]yn|[Tt]ata|[Mm]ama"
    r"|amie?|voisine?|collègue|femme|mari|frère|sœur|père|mère|fille|fils)"
)
_PHOTO = (
    r"(?:[Pp]hoto(?:graph)?s?|[Pp]ictures?|[Ii]mages?|[Ff]otos?|[Bb]ild(?:er)?|[Aa]ufnahmen?"
    r"|[Zz]djęci\w+|[Ff]otografi\w+|[Cc]lichés?)"
)
_TOOK = (
    r"(?:took|has\staken|had\staken|photographed|shot|snapped|caught|pressed\sthe\sbutton|made"
    r"|hat\b[^.!?\n,]{0,60}?\b(?:aufgenommen|fotografiert|gemacht|geknipst|geschossen)"
    r"|(?:zrobił|robił|wykonał|sfotografował)[aio]?\b|pstrykn(?:ął|ęła)"
    r"|l[\u2019']a\s(?:prise|faite|photographiée)|(?:a|ont)\s(?:pris|fait|photographié))"
)
_FORMS = tuple(
    re.compile(form)
    for form in (
        # "my friend Ida Reed took it", "Ida Reed took this"
        rf"(?<!\w)(?:{_KIN},?\s)?{_NAME}(?:,?\s(?:who|die|der|który|która|qui))?\s{_TOOK}",
        rf"(?<!\w){_KIN}(?:\s[\w\u2019'-]+)?"
        rf"(?:\s\([^)]*\)|\s(?:de|von|aged?)\s\d+\s?\w*)?\s{_TOOK}",
        # sent, given, passed on: whoever has it from another did not take it
        rf"(?<!\w){_PHOTO}\s(?:\w+\s){{0,3}}?(?:sent|given|shown|lent|e-?mailed)\sto\s(?:me|us)\sby",
        r"(?<!\w)(?:[Cc]ourtesy\sof|[Pp]ass(?:ing)?\s(?:this|these|it|them)\son|[Cc]redit\s(?:goes\s)?to"
        r"|(?:gave|lent)\s(?:(?:it|them|this|these)\sto\s)?(?:me|us))(?!\w)",
        rf"(?<!\w)(?:[Hh]er|[Hh]is|[Tt]heir|seine?[nms]?|deren|[Jj]ego|[Jj]ej|[Ss]a|[Ss]es|[Ll]eurs?)"
        rf"\s{_PHOTO}(?!\w)",
        r"(?<!\w)(?:[Tt]aken|[Pp]hotographed)\sby\s(?:one\sof\s(?:our|my|the)|another)\s\w",
        r"(?<!\w)on\s(?:\w+\s){0,3}\w+[\u2019']s\s(?:camera|phone|memory\scard)(?!\w)",
        rf"(?<!\w)(?:stamm(?:t|en)|kommt|kommen)\svon\s{_KIN}",
        rf"(?<!\w)(?:[Vv]on|[Oo]d)\s{_KIN}\w*\s(?:bekommen|erhalten|geschickt|zugeschickt|überlassen)",
        rf"(?<!\w){_PHOTO}\s(?:\w+\s)?(?:dostał\w+|otrzymał\w+|przysłał\w+)(?!\w)",
        rf"(?<!\w){_PHOTO}\s(?:\w+\s)?(?:transmise?s?|envoyée?s?|reçue?s?)\s(?:par|de|d[\u2019'])",
        # "Lena took this", "Lena hat das Foto gemacht", "Lena zrobiła to", "Lena l'a prise"
        r"^(?P<name>(?!(?:I|We|You|They|This|That|It|Er|Sie|Es|Wir|Ich|Ona|On|Il|Elle|Je|Nous"
        r"|Kolega|Koleżanka|Siostra|Brat|Mąż|Żona|Syn|Córka|Mama|Tata|Mum|Dad|Opa|Oma|Papa)\b)"
        r"[A-ZÀ-Ž][\w\u2019'-]+)\s(?:(?:took|photographed)\s(?:this|it|these|them|the)\b"
        rf"|hat\s(?:\w+\s)?{_PHOTO}\b[^.!?\n]{{0,60}}?\b(?:aufgenommen|fotografiert|gemacht)"
        rf"|(?:zrobił|wykonał|sfotografował)[aio]?\s(?:to|te|je|{_PHOTO})"
        r"|l[\u2019']a\s(?:prise|faite|photographiée))",
        # "taken by my friend Ida Reed", "photo by Ida Reed", "Foto: Ida Reed", "zdjęcie: Ida Reed"
        rf"(?<!\w)(?:taken|photographed|shot|made)\sby\s(?!me\b"
        rf"|myself\b)(?:{_KIN},?\s)?(?:{_NAME}|(?<=\s){_KIN}\b)",
        rf"(?<!\w){_PHOTO}\s?(?:credit)?\s?(?:by|:|\u00a9|von|autorstwa|de"
        rf"|par)\s(?:{_KIN},?\s)?{_NAME}",
        rf"(?<!\w){_PHOTO}\s(?:of|by|from|von|de|par)\s{_KIN}(?!\w)",
        rf"(?<!\w)(?:[Aa]ufgenommen|fotografiert|gemacht)\svon\s(?:{_KIN},?\s)?(?:{_NAME}|{_KIN})",
        rf"(?<!\w)(?:von|durch)\s(?:{_KIN},?\s)?{_NAME}\s(?:aufgenommen|fotografiert|gemacht)",
        rf"(?<!\w)(?:zrobion\w+|wykonan\w+)\sprzez\s(?:{_KIN},?\s)?(?:{_NAME}|{_KIN})",
        rf"(?<!\w)(?:[Pp]rises?|[Ff]aites?)\spar\s(?!moi\b)(?:{_KIN},?\s)?(?:{_NAME}|{_KIN})",
        r"(?:\u00a9|\([cC]\))\s*(?:(?:19|20)\d\d\s)?" + _NAME,
        rf"(?<!\w)(?:zrobił|robił|wykonał|sfotografował)[aio]?\s(?:(?:{_KIN},?\s)?{_NAME}|{_KIN})",
        # "Sue's photo", "so Ravi pressed the shutter", "La photo est de Mathilde"
        rf"(?<!\w)(?!(?:Today|Yesterday|Tonight|\w+day|\w+morning|It|That|What|There|Here|This)\b)"
        rf"(?<![A-Z]\w )[A-ZÀ-Ž]\w+[\u2019']s\s{_PHOTO}(?!\w)",
        r"(?<=\s)(?!I\b)[A-ZÀ-Ž]\w+\spressed\sthe\s(?:shutter|button)",
        rf"(?<!\w){_PHOTO}\s(?:est|sont)\sd[e\u2019']\s?[A-ZÀ-Ž]",
        # handed on: "let me have this one", "ich leite nur weiter", "dostałam je od"
        r"(?<!\w)(?:let\s(?:me|us)\shave|[Ll]eite\s(?:\w+\s)?weiter|[Gg]ebe\s(?:\w+\s)?weiter"
        r"|[Dd]osta(?:łam|łem|liśmy|łyśmy)\s(?:\w+\s)?od|[Jj]e\stransmets\sseulement)(?!\w)",
        # "not mine", "I did not take it"
        r"(?<!\w)(?:[Nn]ot\s(?:mine|my\s(?:own\s)?(?:photo|picture|shot|work))|[Nn]icht\svon\smir"
        r"|[Nn]ie\smoje|[Pp]as\s(?:de\smoi|la\smienne))(?!\w)",
        r"(?<!\w)I\s(?:did\snot|didn[\u2019']t)\stake\s(?:it|this|the|them|these)(?!\w)",
        r"(?:(?<!\w)(?:is|are)|[\u2019']s)\s(?:one\sof\s)?[A-ZÀ-Ž]\w+[\u2019']s(?=[.,!]|$)",
        r"(?<!\w)came\s(?:to\s(?:me|us)\s)?(?:through|via)(?!\w)",
        rf"(?<!\w){_PHOTO}\s?:\s[A-ZÀ-Ž]\w+,\s[A-ZÀ-Ž]",
        rf"(?<!\w){_PHOTO}\s(?:est|sont)\s(?:de|d[\u2019'])\s?{_KIN}",
        rf"(?<!\w)(?:{_PHOTO}|[Aa]ufnahme)\s(?:ist|sind|stammt|stammen)\svon\s(?:mein|unser|ein)e[mr]\s[A-ZÄÖÜ]",
        r"(?<!\w)(?:nie\sja|not\sme\swho|nicht\sich|pas\smoi\squi)(?!\w)",
        # "on behalf of Mr Voss", "im Namen von", "w imieniu", "de la part de"
        rf"(?<!\w)(?:[Oo]n\sbehalf\sof|[Ff]orwarding\sthis\sfor|[Ii]m\s(?:Namen|Auftrag)\svon"
        rf"|[Ww]\simieniu|[Dd]e\sla\spart\sde)\s(?:{_NAME}|\w)",
    )
)


# A sentence of another person and of photographing is shown, unless it says that the sender did it.
_PERSON = re.compile(
    rf"(?<!\w)(?:{_KIN}|eldest|youngest|kids?|boy|girl|class|[Kk]lass[ea]|Chef(?:in)?|Gruppe|club|klub\w*"
    r"|kolegi|koleżanki|siostry|brata|żony|męża|córki|syna|sąsiad(?:a|ki)|teścia|wnu(?:ka|czki)|mamy|taty)(?![\w-])"
)
_WITH_THEM = re.compile(
    r"(?<!\w)(?:with|and|mit|und|samt|z|ze|i|avec|et)\s(?:\w+\s){0,2}?(?=\w)(?:"
    + _PERSON.pattern
    + r")"
    r"|" + _PERSON.pattern + r"\s(?:and|und|i|et)\s(?:I|me|ich|ja|moi)(?!\w)"
)
# A likeness counts only where somebody is named or meant.
_SOMEBODY = re.compile(
    _PERSON.pattern
    + r"|(?<!\w)(?:he|she|him|hers?|his|some(?:body|one)|credit|er|ihm|ihr|jemand|on|ona"
    r"|kto\u015b|il|elle|quelqu\w*|not|nicht|nie|pas|group|grup\w+|groupe)(?!\w)"
    r"|(?<=[a-z\u00e0-\u017e,]\s)[A-ZÀ-Ž]\w+"
)
# What somebody would have done was not done: "which my husband would have been proud of".
_WOULD = re.compile(r"(?<!\w)(?:which|that|who)\s[^,.;]{0,60}?\bwould\b[^,.;]{0,60}")
_TAKING = re.compile(
    rf"(?<!\w)(?:{_PHOTO}|{_TOOK}|[Ff]otk\w+|shots?|snaps?|pics?|got\sthis|erwischt|entdeckt"
    r"|[Pp]hotographiée?s?|pstrykn\w+)(?!\w)"
)
_MYSELF = re.compile(
    r"(?<!\w)(?:(?:I|[Ww]e|[Ii]ch|[Ww]ir|[Jj]e|[Nn]ous)(?:\s\w+){0,4}?\s(?:took|photographed|shot|snapped|caught|got"
    r"|fotografiert|aufgenommen|gemacht|geknipst|pris|photographi\w+|managed|pressed)|by\sme|von\smir|par\smoi"
    r"|przeze\smnie|myself|selbst|selber|moi-même|[Jj]e\sl[\u2019']ai|(?:habe|haben|konnte)\s(?:ich|wir)|j[\u2019']ai"
    r"|(?:z?robi|wykona|s?fotografowa|pstryknę|pstrykną)(?:łem|łam|liśmy|łyśmy))(?!\w)"
)


_NOBODYS_NAME = frozenset(
    ("He", "She", "Who", "Somebody", "Someone", "Another", "Grandad", "Granny")
)


def another_took_it(
    text: str, *, places: Collection[str] = (), without: int | None = None
) -> tuple[str, str]:
    """The first sentence that says somebody else took the photos, and whom it names; else empty.

    ``places`` are names of sites, which are nobody's: "Photo: Heron Mere". Beside the known forms a
    sentence counts by its likeness (``triage.mail.likeness``, there also ``without``).

    Examples
    --------
    >>> another_took_it("Hello. My friend Ida Reed took it at the pond.")
    ('My friend Ida Reed took it at the pond.', 'Ida Reed')
    >>> another_took_it("I took it at the pond.")
    ('', '')
    """
    for sentence in sentences_of(text[:READ]):
        for form in _FORMS:
            found = form.search(sentence)
            name = (found.groupdict().get("name") or "").strip() if found else ""
            if found and not any(place.casefold() in name.casefold() for place in places):
                return sentence, "" if name in _NOBODYS_NAME else name
        plain = _WITH_THEM.sub(" ", _WOULD.sub(" ", sentence))
        if _PERSON.search(plain) and _TAKING.search(plain) and not _MYSELF.search(sentence):
            return sentence, ""
    for sentence in sentences_of(text[:READ]):
        plain = sentence
        for place in places:
            plain = plain.replace(place, " ")
        like = is_like(sentence, "another", without=without)
        if like and _SOMEBODY.search(plain) and not _MYSELF.search(sentence):
            return sentence, ""
    return "", ""
