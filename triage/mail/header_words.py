"""The words that mail programs put around a forwarded or quoted mail, by language of their user.

Common practice, no source: what the interfaces of usual mail programs write. A language more is
one row more.
"""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class HeaderWords:
    """One language: names of header fields, marks above old mails, words of attributions.

    ``opening`` and ``wrote`` are how the line above quoted text begins and ends ("On ... Ada
    wrote:"); ``phone`` is how programs on phones sign by themselves; ``closing`` is the line above
    a writer's own name.
    """

    language: str
    sender: tuple[str, ...]
    date: tuple[str, ...]
    to: tuple[str, ...]
    subject: tuple[str, ...]
    forwarded: tuple[str, ...]
    original: tuple[str, ...]
    prefixes: tuple[str, ...]
    opening: tuple[str, ...]
    wrote: tuple[str, ...]
    phone: tuple[str, ...]
    closing: tuple[str, ...]
    months: tuple[str, ...]


ENGLISH = HeaderWords(
    language="English",
    sender=("from",),
    date=("date", "sent"),
    to=("to", "cc", "reply-to"),
    subject=("subject",),
    forwarded=("forwarded message", "forwarded mail", "begin forwarded message"),
    original=("original message",),
    prefixes=("fwd", "fw"),
    opening=("on",),
    wrote=("wrote",),
    phone=("sent from my", "sent from", "sent via", "get outlook for"),
    closing=(
        "regards",
        "best regards",
        "kind regards",
        "best wishes",
        "kind wishes",
        "all the best",
        "cheers",
        "yours sincerely",
        "sincerely",
    ),
    months=("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"),
)
GERMAN = HeaderWords(
    language="German",
    sender=("von",),
    date=("datum", "gesendet", "gesendet am"),
    to=("an", "kopie", "antwort an"),
    subject=("betreff",),
    forwarded=(
        "weitergeleitete nachricht",
        "weitergeleitete e-mail",
        "anfang der weitergeleiteten nachricht",
        "anfang der weitergeleiteten e-mail",
    ),
    original=("ursprüngliche nachricht", "original-nachricht", "originalnachricht"),
    prefixes=("wg",),
    opening=("am",),
    wrote=("schrieb",),
    phone=("von meinem", "gesendet von", "gesendet mit", "gesendet aus"),
    closing=(
        "mit freundlichen grüßen",
        "mit freundlichem gruß",
        "viele grüße",
        "liebe grüße",
        "beste grüße",
        "freundliche grüße",
        "herzliche grüße",
        "schöne grüße",
        "mfg",
        "vg",
        "lg",
        "viele gruesse",
        "liebe gruesse",
    ),
    months=("jan", "feb", "mär", "apr", "mai", "jun", "jul", "aug", "sep", "okt", "nov", "dez"),
)
POLISH = HeaderWords(
    language="Polish",
    sender=("od", "nadawca"),
    date=("data", "wysłano", "wysłane", "data wysłania"),
    to=("do", "dw", "adresat", "odpowiedź do"),
    subject=("temat",),
    forwarded=(
        "wiadomość przekazana",
        "przekazana wiadomość",
        "wiadomość przesłana dalej",
        "treść przekazanej wiadomości",
        "początek przekazywanej wiadomości",
        "początek przekazanej wiadomości",
    ),
    original=("oryginalna wiadomość", "wiadomość oryginalna", "treść oryginalnej wiadomości"),
    prefixes=("pd", "fwd"),
    opening=("w dniu", "dnia"),
    wrote=("pisze", "napisał", "napisała", "napisał(a)", "napisał/a"),
    phone=("wysłane z", "wysłano z", "wysłany z"),
    closing=(
        "pozdrawiam",
        "pozdrawiam serdecznie",
        "serdecznie pozdrawiam",
        "z poważaniem",
        "pozdrowienia",
        "z pozdrowieniami",
        "z wyrazami szacunku",
    ),
    months=("sty", "lut", "mar", "kwi", "maj", "cze", "lip", "sie", "wrz", "paź", "lis", "gru"),
)
FRENCH = HeaderWords(
    language="French",
    sender=("de", "expéditeur"),
    date=("date", "envoyé", "envoyé le"),
    to=("à", "destinataire"),
    subject=("objet",),
    forwarded=(
        "message transféré",
        "message réexpédié",
        "début du message réexpédié",
        "début du message transféré",
    ),
    original=("message d'origine", "message d\u2019origine", "message original"),
    prefixes=("tr",),
    opening=("le",),
    wrote=("a écrit",),
    phone=("envoyé de mon", "envoyé depuis", "envoyé à partir"),
    closing=("cordialement", "bien cordialement", "bien à vous", "amicalement", "salutations"),
    months=("jan", "fév", "mars", "avr", "mai", "juin", "juil", "aoû", "sep", "oct", "nov", "déc"),
)
DUTCH = HeaderWords(
    language="Dutch",
    sender=("van", "afzender"),
    date=("datum", "verzonden"),
    to=("aan",),
    subject=("onderwerp",),
    forwarded=("doorgestuurd bericht", "begin doorgestuurd bericht"),
    original=("oorspronkelijk bericht",),
    prefixes=("doorst", "fw"),
    opening=("op",),
    wrote=("schreef", "heeft het volgende geschreven"),
    phone=("verzonden vanaf", "verstuurd vanaf"),
    closing=(
        "met vriendelijke groet",
        "met vriendelijke groeten",
        "groeten",
        "vriendelijke groet",
        "mvg",
    ),
    months=("jan", "feb", "mrt", "apr", "mei", "jun", "jul", "aug", "sep", "okt", "nov", "dec"),
)
SPANISH = HeaderWords(
    language="Spanish",
    sender=("de", "remitente"),
    date=("fecha", "enviado", "enviado el"),
    to=("para",),
    subject=("asunto",),
    forwarded=("mensaje reenviado", "inicio del mensaje reenviado"),
    original=("mensaje original",),
    prefixes=("rv",),
    opening=("el",),
    wrote=("escribió",),
    phone=("enviado desde",),
    closing=("saludos", "un saludo", "saludos cordiales", "atentamente"),
    months=("ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic"),
)
ITALIAN = HeaderWords(
    language="Italian",
    sender=("da", "mittente"),
    date=("data", "inviato"),
    to=("a",),
    subject=("oggetto",),
    forwarded=("messaggio inoltrato", "inizio messaggio inoltrato"),
    original=("messaggio originale",),
    prefixes=("i",),
    opening=("il", "il giorno"),
    wrote=("ha scritto",),
    phone=("inviato da", "inviato dal"),
    closing=("cordiali saluti", "saluti", "distinti saluti"),
    months=("gen", "feb", "mar", "apr", "mag", "giu", "lug", "ago", "set", "ott", "nov", "dic"),
)
PORTUGUESE = HeaderWords(
    language="Portuguese",
    sender=("de",),
    date=("data", "enviado", "enviada em", "enviado em"),
    to=("para",),
    subject=("assunto",),
    forwarded=("mensagem encaminhada", "mensagem reencaminhada"),
    original=("mensagem original",),
    prefixes=("enc",),
    opening=("em",),
    wrote=("escreveu",),
    phone=("enviado do meu", "enviado a partir"),
    closing=("cumprimentos", "atenciosamente", "abraços", "com os melhores cumprimentos"),
    months=("jan", "fev", "mar", "abr", "mai", "jun", "jul", "ago", "set", "out", "nov", "dez"),
)
DANISH = HeaderWords(
    language="Danish and Norwegian",
    sender=("fra",),
    date=("dato", "sendt"),
    to=("til", "kopi"),
    subject=("emne",),
    forwarded=("videresendt besked", "videresendt melding", "videresendt meddelelse"),
    original=("oprindelig meddelelse", "opprinnelig melding"),
    prefixes=("vs",),
    opening=("den", "på"),
    wrote=("skrev",),
    phone=("sendt fra",),
    closing=("med venlig hilsen", "med vennlig hilsen", "venlig hilsen", "hilsen", "mvh"),
    months=("jan", "feb", "mar", "apr", "maj", "jun", "jul", "aug", "sep", "okt", "nov", "dec"),
)
SWEDISH = HeaderWords(
    language="Swedish",
    sender=("från",),
    date=("datum", "skickat"),
    to=("till", "kopia"),
    subject=("ämne",),
    forwarded=("vidarebefordrat meddelande", "vidarebefordrat brev"),
    original=("ursprungligt meddelande",),
    prefixes=("vb",),
    opening=("den",),
    wrote=("skrev",),
    phone=("skickat från",),
    closing=("med vänliga hälsningar", "vänliga hälsningar", "hälsningar", "mvh"),
    months=("jan", "feb", "mars", "apr", "maj", "jun", "jul", "aug", "sep", "okt", "nov", "dec"),
)
FINNISH = HeaderWords(
    language="Finnish",
    sender=("lähettäjä",),
    date=("päivämäärä", "lähetetty", "päiväys"),
    to=("vastaanottaja", "kopio"),
    subject=("aihe",),
    forwarded=("välitetty viesti", "edelleenlähetetty viesti"),
    original=("alkuperäinen viesti",),
    prefixes=("vl",),
    opening=(),
    wrote=("kirjoitti",),
    phone=("lähetetty",),
    closing=("ystävällisin terveisin", "terveisin"),
    months=(
        "tammi",
        "helmi",
        "maalis",
        "huhti",
        "touko",
        "kesä",
        "heinä",
        "elo",
        "syys",
        "loka",
        "marras",
        "joulu",
    ),
)
CZECH = HeaderWords(
    language="Czech",
    sender=("od",),
    date=("datum", "odesláno"),
    to=("komu", "kopie"),
    subject=("předmět",),
    forwarded=("přeposlaná zpráva", "přeposlaný e-mail"),
    original=("původní zpráva", "původní e-mail"),
    prefixes=("fw",),
    opening=("dne",),
    wrote=("napsal", "napsala", "napsal(a)"),
    phone=("odesláno z",),
    closing=("s pozdravem", "s přátelským pozdravem"),
    months=(
        "led",
        "únor",
        "břez",
        "dub",
        "květ",
        "červn",
        "července",
        "srp",
        "září",
        "říj",
        "listop",
        "prosin",
    ),
)

LANGUAGES = (
    ENGLISH,
    GERMAN,
    POLISH,
    FRENCH,
    DUTCH,
    SPANISH,
    ITALIAN,
    PORTUGUESE,
    DANISH,
    SWEDISH,
    FINNISH,
    CZECH,
)


_ANSWERS = "re|aw|odp|sv|antw|r|ref|rép"
_ANSWER = re.compile(rf"(?i)\s*(?:{_ANSWERS})\s?(?:\[\d{{1,4}}\])?\s?:\s*")


def is_answer(subject: str) -> bool:
    """Tell whether a subject begins as the answer to another mail does.

    Examples
    --------
    >>> is_answer("AW[2]: Teich"), is_answer("Response: none")
    (True, False)
    """
    return bool(_ANSWER.match(subject))


def without_answer_prefixes(subject: str) -> str:
    """Return a subject without the prefixes that answering programs put before it.

    Examples
    --------
    >>> without_answer_prefixes("Re: AW: Odp: Alder Pool")
    'Alder Pool'
    """
    start = 0
    while match := _ANSWER.match(subject, start):
        start = match.end()
    return subject[start:]


def any_of(kind: str) -> str:
    """Return a pattern for every word of one kind, the longest first."""
    words = {word for language in LANGUAGES for word in getattr(language, kind)}
    return "|".join(re.escape(word) for word in sorted(words, key=lambda word: (-len(word), word)))
