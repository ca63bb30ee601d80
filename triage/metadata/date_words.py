"""The words for days, months and times in English, German, Polish and French, as texts fold."""

from __future__ import annotations


def _listed(words: str) -> tuple[str, ...]:
    return tuple(words.split())


MONTHS: dict[str, int] = {
    word: number
    for number, words in enumerate(
        (
            "january jan januar jaenner janner jan styczen stycznia styczniu sty janvier janv",
            "february feb februar luty lutego lutym lut fevrier fevr",
            "march mar marz maerz mrz marzec marca marcu mars",
            "april apr april kwiecien kwietnia kwietniu kwi avril avr",
            "may mai maj maja maju",
            "june jun juni czerwiec czerwca czerwcu cze juin",
            "july jul juli lipiec lipca lipcu juillet juil",
            "august aug sierpien sierpnia sierpniu aout",
            "september sept sep wrzesien wrzesnia wrzesniu wrz septembre",
            "october oct oktober okt pazdziernik pazdziernika pazdzierniku paz octobre",
            "november nov listopad listopada listopadzie novembre",
            "december dec dezember dez grudzien grudnia grudniu gru decembre",
        ),
        start=1,
    )
    for word in words.split()
}

ROMAN = {
    word: number
    for number, word in enumerate(_listed("i ii iii iv v vi vii viii ix x xi xii"), start=1)
}

WEEKDAYS: dict[str, int] = {  # Monday is 0
    word: number
    for number, words in enumerate(
        (
            "monday mon montag poniedzialek poniedzialku lundi",
            "tuesday tue tues dienstag wtorek wtorku mardi",
            "wednesday wed mittwoch sroda srode srody mercredi",
            "thursday thu thur thurs donnerstag czwartek czwartku jeudi",
            "friday fri freitag piatek piatku vendredi",
            "saturday sat samstag sonnabend sobota sobote soboty samedi",
            "sunday sun sonntag niedziela niedziele niedzieli dimanche",
        )
    )
    for word in words.split()
}
_PARTS_OF_DAY = _listed("morgen fruh vormittag mittag nachmittag abend nacht")
WEEKDAYS |= {  # German joins them: "Sonntagmorgen"
    day + part: number
    for day, number in tuple(WEEKDAYS.items())
    if day.endswith("tag") or day in ("mittwoch", "sonnabend")
    for part in _PARTS_OF_DAY
}
_OF_WEEKDAYS = _listed("poniedzialkow wtorkow srodow czwartkow piatkow sobotni niedzieln")
WEEKDAYS |= {  # Polish makes adjectives of them: "z niedzielnego spaceru"
    stem + ending: number
    for number, stem in enumerate(_OF_WEEKDAYS)
    for ending in _listed("ego ej y a e ym ych m ch")
}
# Two letters and a stop are a weekday only right before a date ("So., 14.06.").
SHORT_WEEKDAYS = {"mo": 0, "di": 1, "mi": 2, "do": 3, "fr": 4, "sa": 5, "so": 6} | {
    "pn": 0, "pon": 0, "wt": 1, "sr": 2, "czw": 3, "pt": 4, "sob": 5, "nd": 6, "niedz": 6,
}  # fmt: skip

# Phrases for a day relative to the mail's -> days back.
DAYS_BACK: dict[str, int] = {
    "today": 0, "this morning": 0, "this lunchtime": 0, "this midday": 0,
    "this afternoon": 0, "this evening": 0, "tonight": 0,
    "just now": 0, "an hour ago": 0, "earlier today": 0,
    "heute": 0, "heute morgen": 0, "heute frueh": 0, "heute fruh": 0, "eben gerade": 0, "vorhin": 0,
    "dzis": 0, "dzisiaj": 0, "dzis rano": 0, "dzisiaj rano": 0,
    "dzisiejszy": 0, "dzisiejszego": 0, "dzisiejszej": 0, "dzisiejsza": 0, "dzisiejsze": 0,
    "dzisiejszym": 0, "dzisiejszych": 0, "heutige": 0, "heutigen": 0, "heutiger": 0, "heutiges": 0,
    "yesterday": 1, "last night": 1, "last evening": 1, "gestern": 1, "wczoraj": 1,
    "wczorajszy": 1, "wczorajszego": 1, "wczorajszej": 1, "wczorajsza": 1, "wczorajsze": 1,
    "wczorajszym": 1, "wczorajszych": 1,
    "gestrige": 1, "gestrigen": 1, "gestriger": 1, "gestriges": 1,
    "aujourd'hui": 0, "ce matin": 0, "cet apres-midi": 0, "ce soir": 0, "ce midi": 0,
    "hier": 1, "hier matin": 1, "hier soir": 1, "avant-hier": 2,
    "day before yesterday": 2, "vorgestern": 2, "przedwczoraj": 2,
}  # fmt: skip

# "hier" is yesterday in French and here in German: which, the small words around it tell.
FRENCH_WORDS = _listed(
    "le la les l une des du au aux et est sont pour dans sur avec vous nous je j ai c cette ce ces "
    "bonjour bonsoir salut merci pris prise vu vue voici photo libellule de"
)
GERMAN_WORDS = _listed(
    "der die das den dem ein eine einen ich wir ist sind und mit auf nicht es zum vom am im mein "
    "meine meinen unser unsere diese dieser dieses gibt hallo moin gruss grusse viele von"
)

NUMBER_WORDS: dict[str, int] = {
    "a": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "ten": 10,
    "einem": 1, "einer": 1,
    "zwei": 2, "drei": 3, "vier": 4, "fuenf": 5, "funf": 5, "sechs": 6, "sieben": 7,
    "un": 1, "une": 1, "deux": 2, "trois": 3, "quatre": 4, "cinq": 5, "sept": 7,
    "dwa": 2, "trzy": 3, "cztery": 4, "piec": 5, "szesc": 6, "siedem": 7,
}  # fmt: skip

# What comes before a date that is written with figures alone.
CUES = _listed(
    "on from since dated date taken seen photographed found until till between am vom den "
    "datum seit bis zum dnia dniu data z od do w le du depuis prise vue"
)

LAST = _listed(
    "last past previous letzten letzte letztes letzter vergangenen vergangenes vergangene "
    "zeszly zeszla zeszlym zeszlego ostatni ostatnia ostatnim miniony miniona minionym "
    "ubiegly ubiegla ubieglym dernier derniere passe passee"
)
# "next Sunday", "every Sunday": plans and habits, no evidence of a day.
NOT_PAST = _listed(
    "next coming every each naechsten nachsten naechste nachste kommenden jeden jede "
    "przyszly przyszla przyszlym nastepny nastepna kazda kazdy prochain prochaine chaque le les"
)

# Words of a sentence that speaks of sending, where "today" is the day of writing.
SENDING = _listed(
    "send sending sent write writing mail mailing attach attached attaching forward forwarding "
    "schicke schicken sende senden schreibe anbei wysylam przesylam pisze zalaczam "
    "envoie envoyer envoye joins joint ecris"
)
# Words of a sentence that speaks of what is to come.
TO_COME = _listed(
    "will shall going plan planning tomorrow see next werde werden wollen planen kommenden "
    "bede bedziemy jutro planuje planujemy zamierzam zobaczenia demain serai serons irai irons"
)
