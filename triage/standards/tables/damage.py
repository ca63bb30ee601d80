"""Tells cells that no person typed: totals, errors of a spreadsheet, identifiers it changed.

The words are those of spreadsheet programs in several languages; common practice, no source.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Mapping, Sequence

_TOTAL_WORDS = """
total|totals|grand total|sum|summe|gesamt|gesamtsumme|insgesamt|razem|suma|ogółem|łącznie|somme
|total général|totaal|totale|celkem|\u03c3|\u2211|subtotal|zwischensumme|sous-total
|mean|average|avg|mittelwert|durchschnitt|średnia|srednia|moyenne|median|minimum|maximum
"""
_VOID_WORDS = """
void voided invalid cancelled canceled deleted withdrawn retracted ungültig storniert annulliert
gelöscht gestrichen hinfällig skreślone skreślono skreślony anulowane anulowano unieważnione
unieważniono wykreślone wykreślono nieważne usunięte usunięto annulé annulée supprimé supprimée rayé
caduc
"""
_VOID = frozenset(_VOID_WORDS.split())
NOTHING = ("null", "NULL", "undefined", "NaN", "nan", "nil")
"""What programs write for a cell with nothing in it; common practice, no source."""
_NOTHING_WORDS = """
n/a|n. a.|not available|not applicable|none|unknown|tbd|k.a.|k. a.|keine|keine angabe
|keine angaben|unbekannt|entfällt|entf.|brak|brak danych|b.d.|b. d.|bd.|nie dotyczy|nieznany
|nieznana|nieznane|aucun|aucune|inconnu|inconnue|s.o.|s. o.|sans objet|non renseigné
"""
_NOTHING = frozenset(" ".join(one.split()) for one in _NOTHING_WORDS.split("|"))
PEOPLE = ("recordedBy", "identifiedBy")
_TOTALS = frozenset(word.strip() for word in _TOTAL_WORDS.split("|"))
_ALL_WORDS = """
all alle alles wszystkie wszystko tous toutes tout ensemble zusammen ø ⌀ x̄ min max mittel mw mediana
médiane średnio
"""
_ALL = frozenset(_ALL_WORDS.split())
_ERROR_WORDS = """
#REF! #NAME? #N/A #VALUE! #DIV/0! #NUM! #NULL! #NV #WERT! #BEZUG! #ARG! #ADR! #NAZWA? #DZIEL/0!
#LICZBA! #VALEUR! #NOM? Err:502
"""
_ERRORS = frozenset(_ERROR_WORDS.split())
_MONTHS = (
    "(?:jan|sty|feb|lut|fév|fev|mar|mär|mrz|apr|kwi|avr|may|mai|maj|jun|cze|jui|jul|lip|aug|sie|aoû"
    r"|sep|wrz|oct|okt|paź|nov|lis|dec|dez|gru|déc)[^\W\d_]*\.?"
)
_CHANGED = re.compile(  # 1,23457E+15; 12-Feb; Feb-12; 2026-02-12 00:00:00; 12.02.2026; 2/12/2026
    r"\d+([.,]\d+)?[eE]\+\d+"
    rf"|\d{{1,2}}(?:[-. ]|\. ){_MONTHS}|{_MONTHS}[-. ]\d{{2}}|\d{{4}}-\d\d-\d\d(?: 00:00:00)?"
    r"|\d{1,2}([./])\d{1,2}\2\d{4}",
    re.IGNORECASE,
)


_MEASURED = re.compile(
    r"[~<>]?\s?\d+(?:[.,]\d+)?\s?(?:min|minut[a-zy]*|h|hrs?|hours?|std|stunden?|godz|godzin[ay]?"
    r"|heures?|k?m|met(?:er|re)s?)\b.*",
    re.IGNORECASE,
)
DEGREES = ("decimalLatitude", "decimalLongitude")  # of which there are no thousands
KEPT_DIGITS = 15  # of a number, in a spreadsheet


def damage_of(cell: str, *, first: bool = False) -> str:
    """Why a cell makes its row no record, with what to do; empty for any other cell.

    In the ``first`` cell of a row, where identifiers stand, "all" and "max" are such words, too.
    """
    plain = cell.casefold().rstrip(":. ")
    if plain in _TOTALS or (first and plain in _ALL):
        return f"'{cell}': this seems to be a row of totals or means. Remove it."
    if plain in _VOID:
        return f"'{cell}' says that the row does not hold. Remove the row, or the word."
    if cell in _ERRORS or re.fullmatch(r"#{3,}", cell):
        return f"The cell holds the spreadsheet's error {cell[:20]}. Correct it there."
    return ""


def says_nothing(cell: str) -> bool:
    """Whether a cell of words holds a dash or a word for none, as hands write it.

    >>> [says_nothing(one) for one in ("-", "n/a", "k. A.", "brak danych", "Brakwede", "")]
    [True, True, True, True, False, False]
    """
    plain = " ".join(cell.split()).casefold()
    return plain in _NOTHING or re.fullmatch(r"[-\u2010-\u2015\u2212/]+", plain) is not None


def changed_numbers(column: Mapping[int, str], name: str) -> dict[int, str]:
    """By line: why an identifier of a column is not the one that was typed, with what to do.

    A spreadsheet keeps 15 digits of a number (IEEE 754 double; Excel specifications and limits,
    "number precision") and writes zeros for the others; some programs add ".0" to all whole ones.
    One identifier of a column that has not that form answers for the others.

    >>> list(changed_numbers({2: "2026061500012340", 3: "EX-1"}, "catalogNumber"))
    [2]
    >>> changed_numbers({2: "2026061500012340", 3: "2026061500012347"}, "catalogNumber")
    {}
    >>> list(changed_numbers({2: "12.0", 3: "13.0"}, "eventID"))
    [2, 3]
    >>> list(changed_numbers({2: "0117", 3: "119", 4: "1020"}, "catalogNumber"))
    [3]
    """
    numbers = {line: cell for line, cell in column.items() if re.fullmatch(r"[\d.,]+", cell)}
    long = {line: cell for line, cell in numbers.items() if re.fullmatch(r"\d{16,}", cell)}
    cut = {line: cell for line, cell in long.items() if not cell[KEPT_DIGITS:].strip("0")}
    if long and len(cut) == len(long):
        return {
            line: f"'{cell}' has only zeros after its {KEPT_DIGITS}th digit: a spreadsheet seems to"
            " have cut it. Type it again in a column formatted as text."
            for line, cell in cut.items()
        }
    named = re.search("ID$|Number$|^sighting$|^site$", name) is not None
    led = [len(cell) for cell in numbers.values() if re.fullmatch(r"0\d+", cell)]
    if led and named:
        return {
            line: f"'{cell}' seems to have lost zeros, which others of the column begin with. Write"
            " them, in a column formatted as text."
            for line, cell in numbers.items()
            if re.fullmatch(r"[1-9]\d*", cell) and len(cell) < min(led)
        }
    commas = any(re.fullmatch(r"[\d.]+,\d+", cell) for cell in numbers.values())
    thousands = {
        line: f"'{cell}' can be read in two ways, beside others of the column with a decimal comma."
        " Write its digits alone."
        for line, cell in numbers.items()
        if re.fullmatch(r"[1-9]\d{0,2}(\.\d{3})+", cell)
    }
    if commas and thousands and name not in DEGREES:
        return thousands
    whole = {line: cell for line, cell in numbers.items() if re.fullmatch(r"\d+[.,]0", cell)}
    if whole and len(whole) == len(numbers) and named:
        return {
            line: f"'{cell}' seems to be an identifier that a program made a number of. Write it"
            " without the .0, in a column formatted as text."
            for line, cell in whole.items()
        }
    return {}


def exchanged_people(
    rows: Sequence[Mapping[str, str]], known: Collection[str]
) -> dict[int, tuple[str, str]]:
    """By place: a person's column with what others have in another known one, and that column.

    Rows that bear it among their people show that it is somebody's name after all.
    """
    of_things = [one for one in known if one not in PEOPLE and not one.endswith("Remarks")]
    borne = Counter(cells[one] for cells in rows for one in PEOPLE if cells.get(one))
    elsewhere = {
        cells[name]: name
        for cells in rows
        if borne
        for name in of_things
        if borne.get(cells.get(name, "")) == 1
    }
    return {
        place: (one, elsewhere[cells[one]])
        for place, cells in enumerate(rows)
        for one in PEOPLE
        if cells.get(one) in elsewhere
    }


def is_effort(words: str) -> bool:
    """Whether words begin with a duration or a length, as an effort under a person's header does.

    >>> [is_effort(one) for one in ("60 min", "2 h 30", "100 m", "2nd Troop", "3 Hansen")]
    [True, True, True, False, False]
    """
    return _MEASURED.fullmatch(words) is not None


def is_changed_identifier(value: str) -> bool:
    """Whether a spreadsheet has made a number or a date of an identifier.

    >>> [is_changed_identifier(one) for one in ("1,23457E+15", "12-Feb", "EX-0012", "12e5")]
    [True, True, False, False]
    """
    return _CHANGED.fullmatch(value) is not None


def plain_identifier(value: str) -> str:
    """What two spellings of one identifier share: no capitals, no signs between letter and digit.

    An O beside a digit is a zero. A sign between two digits stays: 1-11 is not 11-1.

    >>> [plain_identifier(one) for one in ("LNT 02", "lnt-02", "LNT-O2", "1-11", "EX_7/1")]
    ['lnt02', 'lnt02', 'lnt02', '1-11', 'ex7-1']
    """
    plain = re.sub(r"[\W_]+", "-", value.strip()).casefold()
    plain = re.sub(r"(?<![^\W\d_])o(?=\d)|(?<=\d)o(?![^\W\d_])", "0", plain)
    return re.sub(r"(?<=[^\W\d_])-(?=\d)|(?<=\d)-(?=[^\W\d_])", "", plain)


def without_zeros(value: str) -> str:
    """A plain identifier without the zeros before its number, which spreadsheets drop.

    >>> [without_zeros(one) for one in ("LNT-02", "lnt 2", "007", "2026-01", "100")]
    ['lnt2', 'lnt2', '7', '2026-01', '100']
    """
    return re.sub(r"(?<![\d-])0+(?=\d)", "", plain_identifier(value))
