"""Tells where the words around a day say that it is the day of something else than the photo.

The day of something written, of an event that is thanked for, or on which an old picture was found
or received: such a day is no second one, and alone it is asked about. Every other day must stand
in a safe form (triage.metadata.day_forms). English, German, Polish and French; no source: chosen
from how people write, and what they must and must not match stands in the tests.
"""

from __future__ import annotations

import re

from triage.metadata.text_spans import whole_words

_REACH = 160  # characters of the sentence on either side that are looked at


# All patterns meet folded text (triage.metadata.text_spans.fold_letters).
_WRITTEN = whole_words(
    r"""birthdays?|anniversary|wedding|geburtstag\w*|hochzeit\w*|jubilaum|urodzin\w*|imienin\w*|wesel\w+|anniversaire|mariage
    |newsletters?|newspapers?|magazine|issue|\w*zeitung|ausgabe|zeitschrift|gazet\w+|journal|bulletins?|(?<!to\s)report|reports|articles?|programmes?|deadline|invitation|letter
    |(?:your|my|our|his|her)\s(?:e-?)?mails?
    |(?:your|thanks?\s(?:you\s)?for)\s(?:\w+\s){0,3}?(?:workshop|talk|lecture|walk|course|exhibition
    |event|meeting|excursion|evening|day)
    |rundbrief|bericht|artikel|einladung|anmeldeschluss|frist|(?:ihr\w*|eure?\w*|dein\w*|meine?)\s
    (?:e-?)?mail|(?:ihr|euer|dein|danke\sfur|dank\sfur)\w*\s(?:\w+\s){0,2}?(?:vortrag|kurs|fuhrung
    |exkursion|ausstellung|treffen|abend)
    |biuletyn\w*|artykul\w*|zaproszeni\w+|zapraszam\w*|termin\w*|raport\w*
    |(?:wasz|pan|panstwa)\w*\s(?:\w+\s){0,2}?(?:wyklad|spacer|warsztat|spotkani|wystaw)\w*
    |rapport|compte\srendu|invitation|date\slimite|votre\s(?:\w+\s){0,2}?(?:mail|courriel|bulletin|conference
    |sortie|atelier|exposition|soiree)|merci\spour\s(?:\w+\s){0,3}?(?:sortie|conference|atelier)"""
)
_RECEIVED = whole_words(
    r"""received|got\s(?:it|this|them)\sfrom|(?:sent|gave|showed|e-?mailed)\s(?:it\sto\s)?(?:me|us)
    |(?:memory|sd)\scards?|speicherkarte\w*|kart\w+\spamieci|cartes?\smemoire
    |heute\s+(?:im\sanhang|anbei)|today\s+attached|dzis\w*\s+w\szal\w+
    |arrived|came\s(?:by|in\sthe)\spost|kam\sper\spost|eingetroffen|angekommen|poczt\w+|par\sla\sposte
    |online|(?:im|aus\sdem)\s(?:netz|internet)|w\s(?:sieci|internecie)|z\s(?:sieci|internetu)
    |(?:on|from)\sthe\s(?:internet|web)|sur\s(?:internet|le\snet)
    |screenshots?|screen\scapture|bildschirmfoto|zrzut\w*|capture\sd[\u2019']ecran
    |(?:clean|clear|tidy|go|look)ing\s(?:up|out|through)|aufraum\w+|porzadk\w+|przeglada\w+|en\s(?:ran|tri)\w+ant
    |scanned|(?:found|discovered)\sagain|drawer|album|sorting|sorted|dug\sout|developed
    |bought|gekauft|kupi\w+|achetee?s?|erhalten|(?<!linse\s)bekommen|geschickt|zugeschickt|wiedergefunden|eingescannt|schublade
    |dosta\w+|otrzyma\w+|przyslal\w*|zeskanowa\w+|szuflad\w+|odnalez\w+
    |recue?s?|retrouvee?s?|envoyee?s?\sa|tiroir|scannee?s?"""
)
# A picture of another time: no day of this year, wherever in the mail it stands, is the photo's.
_OLD_PICTURE = whole_words(
    r"""(?:old|older|ancient|archive|vintage)\s(?:\w+\s)?(?:photos?|pictures?|slides?|prints?|negatives?|shots?)
    |(?:years|decades)\sago|(?:from|in)\sthe\s(?:\w+ties|archives?)|(?:a|an|the|this|my)\s(?:slide|print|negative)|slides|specimen\slabel\w*|pinned
    |alte[snr]?\s(?:fotos?|bild\w*|dias?|aufnahme\w*)|vor\s(?:\w+\s)?jahren|dias?|abzug|abzuge|negative?
    |aus\sden\s\w+(?:zigern|zigerjahren)|archivbild\w*|papierbild\w*
    |star\w+\s(?:zdjeci\w+|fotografi\w+)|sprzed\s(?:\w+\s)?lat|(?:przed\s)?laty|odbitk\w+|slajd\w*|negatyw\w*|archiwaln\w+
    |(?:vieille?s?|ancienne?s?|vieux)\s(?:photos?|cliches?|diapos?\w*)|il\sy\sa\s(?:\w+\s)?(?:ans|annees)|diapos?\w*
    |tirages?|negatifs?|des\sannees\s\w+"""
)
# The day of something that is thanked for, in the same clause and with no photo in it.
_THANKED = re.compile(
    r"(?<!\w)(?:thanks?(?:\syou)?\sfor|merci\s(?:pour|de)|dank\w*\sfur|dziek\w+\sza)"
    r"(?:\s(?!(?:this|these|photos?|pictures?|ones?|dies\w*|fotos?|bild\w*|t[aeo]|zdjec\w+|cette|ce)\b)"
    r"[^\s,;:]+){0,6}\s*$"
)
# A day that hangs on another one: "the day before" what?
_ANCHORED = whole_words(
    r"""another\s(?:outing|trip|day)|(?:does|do)\snot\sbelong|(?:gehort|gehoren)\snicht\s(?:dazu|hierher)
    |an\seinem\sanderen\stag|nie\snalez\w+|innego\sdnia|un\sautre\sjour|fait\spas\spartie|(?:on\s)?the\s(?:day\sbefore(?!\syesterday)|previous\sday|next\sday|following\sday|day\safter)
    |(?:a|one|two|three|\d+)\s(?:days?|weeks?|months?|years?)\s(?:before|earlier|later|after)
    |(?:ein|eine[nm]?|zwei|drei)\s(?:tage?|wochen?|monate?|jahre?)\s(?:fruher|spater|davor|danach|zuvor)
    |(?:rok|dwa\slata|miesiac|tydzien|dwa\sdni)\s(?:wczesniej|pozniej)
    |(?:un|une|deux)\s(?:jours?|semaines?|mois|ans?)\s(?:plus\st(?:ot|ard)|avant|apres)
    |am\s(?:tag\s(?:davor|zuvor|danach)|nachsten\stag|folgenden\stag)|tags\s(?:zuvor|darauf)
    |(?:dzien|dnia)\s(?:wczesniej|pozniej)|poprzedniego\sdnia|nastepnego\sdnia
    |la\sveille|le\slendemain|le\sjour\s(?:d[\u2019']avant|suivant)"""
)


def doubt_of_day(before: str, words: str, after: str) -> str:
    """Why a day in a text is no statement of when the photo was taken; empty if it may be.

    ``before`` and ``after`` are the folded text on either side of the day.

    Examples
    --------
    >>> doubt_of_day("seen ", "yesterday", " at the pond")
    ''
    >>> doubt_of_day("thanks for the newsletter of ", "3 august", ".")
    "'newsletter ... 3 august' may be the day of something written or of an event"
    """
    ahead = re.split(r"[.!?;\n]\s+|\n", before[-_REACH:])[-1]
    behind = re.split(r"[.!?;\n]\s|\n", after[:_REACH])[0]
    if found := _last(_WRITTEN, ahead):
        return f"'{found} ... {words}' may be the day of something written or of an event"
    if thanked := _THANKED.search(ahead):
        return f"'{thanked[0].strip()} {words}' may be the day of what is thanked for"
    whole = f"{ahead} {words} {behind}"
    if received := _RECEIVED.search(whole):
        return f"'{received[0]}': {words} may be the day on which the picture was found or received"
    return ""


def old_picture(text: str) -> str:
    """The words of a folded text for a picture of another time, empty if there are none.

    >>> old_picture("i scanned an old slide")
    'old slide'
    """
    found = _OLD_PICTURE.search(text)
    return found[0] if found else ""


def day_after_another(text: str) -> str:
    """The words of a folded text for a day that hangs on another one, empty if there are none.

    >>> day_after_another("the photo is from the day before")
    'the day before'
    """
    found = _ANCHORED.search(text)
    return found[0] if found else ""


def _last(pattern: re.Pattern[str], text: str) -> str:
    found = list(pattern.finditer(text))
    return found[-1][0] if found else ""
