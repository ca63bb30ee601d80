"""Make claims of time and place from a message's words, with the words that made them.

Only the author's own words may be passed: quoted mail and signatures name other days and places.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from triage.analysis.geodesy import Area
from triage.metadata.capture_time import TimeClaim
from triage.metadata.clock_words import clock_spans
from triage.metadata.place_kinds import SPEAK_AGAINST
from triage.metadata.position import NamedPlace, PlaceClaim, doubts_against
from triage.metadata.text_coordinates import find_coordinates
from triage.metadata.text_dates import find_times, place_stands
from triage.metadata.text_places import find_sites, is_denied
from triage.metadata.text_spans import MAX_CHARACTERS, blanked, without_links


@dataclass(frozen=True, slots=True, kw_only=True)
class TextEvidence:
    """What one author's text claims; ``questions`` are what could not be settled from it."""

    times: tuple[TimeClaim, ...] = ()
    places: tuple[PlaceClaim, ...] = ()
    questions: tuple[str, ...] = ()


def read_text(
    text: str,
    *,
    sent_at: datetime | None,
    places: Sequence[NamedPlace],
    zone: str,
    area: Area | None = None,
    without: int | None = None,
) -> TextEvidence:
    """Return what the author's own text claims of time and place.

    Days are read against the day the mail was sent in the survey's ``zone``; without ``sent_at``
    (aware) words like "yesterday" become questions. Several days or sites give several claims,
    each doubted, and one question. ``without`` names a fold of the batches that the likeness of
    mentions was not learned from (``triage.metadata.mentions``).
    """
    whole, text = len(text), text[:MAX_CHARACTERS]
    coordinates, spans = find_coordinates(text, area=area)
    plain = without_links(blanked(text, [*spans, *clock_spans(text)]))
    sites, site_questions, names = find_sites(plain, places, without=without)
    times, time_questions = find_times(
        plain,
        sent_at=sent_at,
        zone=zone,
        sites=names,
        place=place_stands(sites),
        without=without,
    )
    named = [claim for claim in sites if claim.location_id]
    if len(named) == 1 and coordinates:
        site = next(p for p in places if p.location_id == named[0].location_id)
        coordinates = [
            replace(claim, doubts=(*claim.doubts, *doubts_against(claim, site)))
            for claim in coordinates
        ]
    if sites and not coordinates and all(map(_speaks_otherwise, sites)):
        # Words that are not sure of the place tell of other things, too: they are looked at anyway.
        times = [_beside_doubt(claim) for claim in times]
    questions = [*time_questions, *site_questions]
    if whole > MAX_CHARACTERS:
        questions.append(
            f"Only the first {MAX_CHARACTERS:,} of {whole:,} characters were read for place and"
            " date: does the rest say more?"
        )
    if len(coordinates) > 1:
        coordinates = [
            replace(claim, doubts=(*claim.doubts, "the text gives several coordinates"))
            for claim in coordinates
        ]
        shown = "; ".join(claim.verbatim for claim in coordinates)
        questions.append(f"Which of the coordinates is the place of the photo: {shown}?")
    return TextEvidence(
        times=tuple(times), places=(*coordinates, *sites), questions=tuple(questions)
    )


def _speaks_otherwise(site: PlaceClaim) -> bool:
    """Whether words speak against a site as the photo's place; a name of two sites does not."""
    return is_denied(site) or any(doubt.startswith(SPEAK_AGAINST) for doubt in site.doubts)


def _beside_doubt(claim: TimeClaim) -> TimeClaim:
    doubt = "the mail speaks of another place, or of none for sure: is this the day of the photo?"
    return claim if claim.doubts else replace(claim, doubts=(doubt,))
