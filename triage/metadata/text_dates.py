"""Read the days and times that a text names, in several languages.

Days are read against the day of the mail in the survey's zone, in English, German and Polish. A
date without a year is its latest occurrence up to the mail. What reads two ways becomes an
interval with a doubt and a question.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import islice
from zoneinfo import ZoneInfo

from triage.metadata.capture_time import TimeClaim
from triage.metadata.dates_in_figures import in_figures
from triage.metadata.dates_in_words import month_parts, other_years, relative, weekdays, written_out
from triage.metadata.day_forms import DAY_ONLY_MENTIONED, offer_of_day, stands_in_a_field
from triage.metadata.day_words import day_after_another, doubt_of_day, old_picture
from triage.metadata.days_found import MENTIONS, Day, Unread
from triage.metadata.last_years import in_the_year_said, with_years_said
from triage.metadata.letter_dates import dates_the_letter
from triage.metadata.mentions import likeness
from triage.metadata.photo_days import day_of_the_photo, denial_of_day
from triage.metadata.position import PlaceClaim
from triage.metadata.text_spans import (
    MAX_CHARACTERS,
    SITE,
    Span,
    blanked,
    fold_letters,
    is_short,
    without_links,
)
from triage.metadata.text_times import find_clock_times

ABOUT_SECONDS = 1800.0  # common practice: "around 3 pm"
A_MONTH = timedelta(days=31)
# A day stands where its mail is at least so like those that name the photo's; chosen on batches of
# mails that neither the forms nor the weights had seen (docs/metadata.md).
LIKE_PLAIN = 0.32  # in a safe form
MUCH_LIKE_PLAIN = 0.43  # in any other form
AT_SECONDS = 300.0  # common practice: a time read off a watch and told later


def find_times(
    text: str,
    *,
    sent_at: datetime | None,
    zone: str,
    sites: Iterable[Span] = (),
    place: str = "",
    without: int | None = None,
) -> tuple[list[TimeClaim], list[str]]:
    """Return a claim for each day that the text names, and what must be asked.

    ``sites`` are where names of sites stand in it, ``place`` how its place stands; ``without``
    names a fold of the batches that the likeness of mentions was not learned from.
    """
    sent = sent_at.astimezone(ZoneInfo(zone or "UTC")) if sent_at else None
    shown = blanked(text, sites, by=SITE)
    whole = fold_letters(shown)
    days, questions, folded = days_named(text, shown, sent)
    clock, clock_spans = find_clock_times(folded)
    days, heads = _but_for_the_letters(days, shown, sent)
    distinct = _distinct([*days, *heads])
    doubts = (_spoken_of(day, whole) or denial_of_day(day, shown) for day in distinct)
    spoken_of = [heads.get(day) or doubt for day, doubt in zip(distinct, doubts, strict=True)]
    left = [day for day, doubt in zip(distinct, spoken_of, strict=True) if not doubt]
    of_photo = day_of_the_photo(days, shown)
    meant = _meant([(day, offer_of(day, days, shown)) for day in left], shown, of_photo)
    if len(meant) == 1:
        # What is named only to say something else is no second day.
        (stated, offer), *_ = meant
        claims = [_claim(stated, text, sent, zone)]
    else:
        claims = [
            _doubted(_claim(day, text, sent, zone), doubt)
            for day, doubt in zip(distinct, spoken_of, strict=True)
        ]
        questions += [f"Was the photo taken on that day? {doubt}" for doubt in spoken_of if doubt]
    if len(meant) == 1 and not claims[0].doubts:
        named = [day.span for day in days if (day.first, day.last) == (stated.first, stated.last)]
        like = likeness(shown, named, "day", signs_of(offer, place), without=without)
        safe = of_photo or heads or is_short(text) or stands_in_a_field(shown[: stated.span[0]])
        if like <= (MUCH_LIKE_PLAIN if offer else LIKE_PLAIN) and (offer or not safe):
            offer = offer or f"{DAY_ONLY_MENTIONED}: '{claims[0].verbatim}'"
            claims = [_doubted(claims[0], offer)]
    if claims and (words := day_after_another(whole)):
        claims = [_doubted(one, f"the text speaks of {words!r}") for one in claims]
        questions.append(f"Which day is meant by {words!r}?")
    if old := old_picture(whole):
        claims = [
            _doubted(one, f"the text speaks of {old!r}") if _is_of_late(one, sent) else one
            for one in claims
        ]
    if len(claims) == 1 and len(clock) == 1 and "/" not in claims[0].event_date:
        first, last = clock_spans[0]
        told = _with_clock(claims[0], clock[0], text[first:last], sent)
        if offer_of_day(shown[:first], shown[first:last].strip(), shown[last:]):
            note = f"{' '.join(text[first:last].split())!r} may be the time of something else"
            offered = "" if claims[0].doubts else told.event_date
            told = replace(claims[0], offered_event_date=offered, note=note)
        claims = [told]
    if len(claims) > 1:
        listed = ", ".join(sorted(claim.event_date for claim in claims))
        doubt = f"the text names several days: {listed}"
        claims = [replace(claim, doubts=(*claim.doubts, doubt)) for claim in claims]
        questions.append(f"Which day was the photo taken: {listed}?")
    return claims, questions


def _with_wrong_weekdays(days: list[Day]) -> list[Day]:
    """The same days; a weekday that is not a day's stands beside each mention of that day."""
    wrong = {(day.first, day.last): day.weekday for day in days if _is_on_another_weekday(day)}
    return [replace(day, weekday=wrong.get((day.first, day.last), day.weekday)) for day in days]


def _is_on_another_weekday(day: Day) -> bool:
    return day.first == day.last and day.weekday not in (None, day.first.weekday())


def _but_for_the_letters(
    days: list[Day], shown: str, sent: datetime | None
) -> tuple[list[Day], dict[Day, str]]:
    """The days without those that date the letter, and these with the doubt."""
    on, only = sent.date() if sent else None, len({(day.first, day.last) for day in days}) == 1
    doubts = [dates_the_letter(day, shown, on, only=only) for day in days]
    heads = {day: doubt for day, doubt in zip(days, doubts, strict=True) if doubt}
    others = [day for day in days if day not in heads]
    again = {(day.first, day.last) for day in others}  # said of something else, too
    return others, {day: heads[day] for day in heads if (day.first, day.last) not in again}


def _meant(told: list[tuple[Day, str]], shown: str, of_photo: Day | None) -> list[tuple[Day, str]]:
    """Of days with their offers: beside the one safe date a weekday only mentioned is no second.

    ``of_photo`` is the one day that is said of the photo itself, if it is.
    """
    if of_photo and any(day.first == of_photo.first for day, _ in told):
        return [(of_photo, "")]
    safe = [one for one in told if not one[1]]
    dated = [one for one in told if re.search(r"\d", shown[slice(*one[0].span)])]
    return safe if len(safe) == 1 and safe == dated else told


def days_named(text: str, shown: str, sent: datetime | None) -> tuple[list[Day], list[str], str]:
    """The days of a text, what must be asked of them, and the folded text without them.

    ``shown`` is the text with the names of sites as SITE.
    """
    folded = whole = fold_letters(shown)
    days: list[Day] = []
    questions: list[str] = []
    folded, years = with_years_said(folded, shown, sent.date() if sent else None)
    for read in (written_out, in_figures, relative, weekdays, month_parts, other_years):
        spans: list[Span] = []
        for read_so in read(folded, sent.date() if sent else None):
            found = in_the_year_said(read_so, years)
            spans.append(found.span)
            if isinstance(found, Day):
                days.append(found)
            elif found.ask:
                phrase = text[slice(*found.span)].strip()
                why = found.why or "the mail has no date"
                questions.append(f"Which day is meant by {phrase!r}? {why[:1].upper()}{why[1:]}.")
        folded = blanked(folded, spans)
    # "Sunday's child" names no day, nor "last year's reed" beside one; "Sunday's dragonfly" does.
    named = [
        day
        for day in days
        if not (
            whole.startswith("'s", day.span[1])
            and ((len(days) > 1 and day.last - day.first > A_MONTH) or offer_of(day, [day], shown))
        )
    ]
    asked = [day.question.replace("{words}", _words(text, day.span)) for day in named]
    return _with_wrong_weekdays(named), [*questions, *filter(None, asked)], folded


def days_of_no_calendar(text: str) -> str:
    """What a text writes as a day that no calendar has, each with the reason; empty for none.

    >>> days_of_no_calendar("Seen on 31.06.2026 at the pond.")
    "'31.06.2026', and there is no 31 June"
    """
    folded = fold_letters(without_links(text[:MAX_CHARACTERS]))
    found: list[str] = []
    for read in (written_out, in_figures):
        spans = []
        for one in read(folded, None):
            spans.append(one.span)
            if isinstance(one, Unread) and one.why:
                found.append(f"'{_words(text, one.span)}', and {one.why}")
        folded = blanked(folded, spans)
    return "; ".join(dict.fromkeys(found))


def signs_of(offer: str, place: str) -> list[str]:
    """What the rules say of a day, beside a ``place`` that stands in some way."""
    return [f"safe {not offer}", f"safe {not offer}, place {place}", f"place {place}"]


def place_stands(sites: Sequence[PlaceClaim]) -> str:
    """How the place of a mail stands by its words: it does, it is doubted, or none is named."""
    return ("stands" if any(not one.doubts for one in sites) else "doubted") if sites else "none"


OF_LATE_DAYS = 365  # before the mail: an old picture's own day lies further back


def _is_of_late(claim: TimeClaim, sent: datetime | None) -> bool:
    last = date.fromisoformat(claim.event_date.rpartition("/")[2][:10])
    return sent is None or (sent.date() - last).days < OF_LATE_DAYS


def _spoken_of(day: Day, folded: str) -> str:
    first, last = day.span
    return doubt_of_day(folded[:first], _words(folded, day.span), folded[last:])


def offer_of(stated: Day, days: Sequence[Day], shown: str) -> str:
    """Why a day is only an offer, by the mention of it that is the surest."""
    mentions = (day for day in days if (day.first, day.last) == (stated.first, stated.last))
    offers = []
    for day in islice(mentions, MENTIONS):
        first, last = day.span
        words = re.sub(r"(?<=[^\W\d])\.$", "", shown[first:last].rstrip(" \n,;:("))
        after = first + len(words)
        offers.append(offer_of_day(shown[:first], words, shown[after:]))
    return min(offers, key=len)


def _doubted(claim: TimeClaim, doubt: str) -> TimeClaim:
    return replace(claim, doubts=(*claim.doubts, doubt)) if doubt else claim


def _claim(day: Day, text: str, sent: datetime | None, zone: str) -> TimeClaim:
    doubts = list(day.doubts)
    if day.weekday is not None and _is_on_another_weekday(day):
        was, said = _DAY_NAMES[day.first.weekday()], _DAY_NAMES[day.weekday]
        doubts.append(f"{day.first.isoformat()} was a {was}, the text says {said}")
    if sent and day.first > sent.date():
        doubts.append(f"later than the mail, which was sent {sent.date().isoformat()}")
    one = day.first.isoformat()
    return TimeClaim(
        source="message text",
        event_date=one if day.first == day.last else f"{one}/{day.last.isoformat()}",
        uncertainty_seconds=0.0,
        verbatim=_words(text, day.span),
        zone=zone,
        doubts=tuple(doubts),
        note=day.note,
    )


def _words(text: str, span: Span) -> str:
    return " ".join(text[slice(*span)].split()).strip(" ,.;:()")


_DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def _with_clock(
    claim: TimeClaim, clock: tuple[int, int, bool], words: str, sent: datetime | None
) -> TimeClaim:
    hour, minute, about = clock
    moment = f"{claim.event_date}T{hour:02d}:{minute:02d}"
    doubts = claim.doubts
    if sent and datetime.fromisoformat(moment) > sent.replace(tzinfo=None) and not doubts:
        doubts = (f"later than the mail, which was sent {sent.isoformat(timespec='minutes')}",)
    return replace(
        claim,
        event_date=moment,
        uncertainty_seconds=ABOUT_SECONDS if about else AT_SECONDS,
        verbatim=f"{claim.verbatim}, {' '.join(words.split())}",
        doubts=doubts,
    )


def _distinct(days: list[Day]) -> list[Day]:
    """Drop what another finding says more exactly, and what is said twice."""
    kept: list[Day] = []
    for day in sorted(days, key=lambda d: (d.last - d.first, len(d.doubts), d.span)):
        if not any(day.first <= other.first and other.last <= day.last for other in kept):
            kept.append(day)
    return sorted(kept, key=lambda d: d.span)
