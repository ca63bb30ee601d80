"""Read what a coordinator decides about a message: a site, a day, a corrected clock, a question."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date as date_type
from datetime import datetime

from triage.analysis.geodesy import Area
from triage.errors import UnknownError
from triage.exuviae import Site, near_sites, sites_called, slip_of_point
from triage.inbox.records import EARLIEST_PHOTO
from triage.inbox.states import MessageState
from triage.metadata.capture_time import TimeClaim
from triage.metadata.choosing import Chosen
from triage.metadata.durations import typed_span
from triage.metadata.point_radius import digits_uncertainty
from triage.metadata.position import PlaceClaim
from triage.metadata.text_places import SEVERAL_SITES
from triage.standards.tables import parse_event_days, year_first

_CHECK_YEAR = "Check the year: it lies in the future, or before there were photographs."
MINUTE, DAY = 60.0, 86_400.0  # seconds: how well a time or a day is known when a person types it
CHOSEN_SITE = "site chosen by the coordinator"  # georeference_protocol: it lies where the site does
TYPED_PLACE_METRES = 100.0  # assumed of coordinates typed by hand, common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Settlement:
    """What the coordinator decided about one message; every field is optional.

    ``answers`` is the code of the question that it answers, ``photographer`` who took its photos,
    ``new_person`` lets it be somebody not known yet.
    """

    site: str = ""
    date: str = ""
    camera_offset_seconds: float | None = None
    set_aside: str = ""
    ask: str = ""
    accept: bool = False
    take_offer: bool = False
    answers: str = ""
    photographer: str = ""
    new_person: bool = False

    def refuse_contradiction(self) -> None:
        """Refuse a decision that decides nothing, or that leaves a message in two states.

        Raises
        ------
        UnknownError
            With what was decided.
        """
        states = [bool(self.set_aside), bool(self.ask), self.accept]
        if replace(self, new_person=False) != Settlement() and sum(states) < 2:
            return
        raise UnknownError(
            "a message is accepted, set aside or waits for an answer"
            if sum(states) > 1
            else "nothing is decided",
            failing=self.words,
            next_step="Give one of them: see 'triage settle --help'.",
        )

    @property
    def tells_of_clocks(self) -> bool:
        """Whether it says, or may say, how far a camera's clock was off."""
        return bool(self.date or self.take_offer) or self.camera_offset_seconds is not None

    @property
    def closes(self) -> bool:
        """Whether a message that it decides needs nobody any more."""
        return self.accept or bool(self.set_aside)

    @property
    def without_closing(self) -> Settlement:
        """What it says of a message that stays open."""
        return replace(self, accept=False, set_aside="")

    @property
    def closes_what_it_says(self) -> bool:
        """Whether it closes a message together with something that nobody has seen there yet."""
        return self.closes and self.without_closing != Settlement()

    @property
    def words(self) -> str:
        """The decision in few words, for the log."""
        clock = self.camera_offset_seconds
        pieces = [
            f"site {self.site}" if self.site else "",
            f"date {self.date}" if self.date else "",
            f"camera clock {typed_span(clock)}" if clock is not None else "",
            f"set aside: {self.set_aside}" if self.set_aside else "",
            f"asked {self.ask}" if self.ask else "",
            "accepted" if self.accept else "",
            "took what is offered" if self.take_offer else "",
            f"answers {self.answers}" if self.answers else "",
            "taken by another" if self.photographer else "",
        ]
        return ", ".join(piece for piece in pieces if piece) or "looked at"

    def leaves(self, draft_name: str = "") -> tuple[MessageState, str]:
        """The state that it leaves a message in, with the reason; a question has its draft."""
        if self.set_aside:
            return "set aside", self.set_aside
        if self.ask:
            return "waiting", f"asked: {self.ask} ({draft_name})"
        return ("settled", "accepted as it is") if self.accept else ("open", self.words)

    def speaks_of(self, message: str, photos: Iterable[str]) -> Iterator[str]:
        """What it says something of, decided for this message with these photos."""
        yield f"message {message}"
        if self.set_aside or self.ask or self.accept:
            yield f"state {message}"
        for photo in photos:
            if self.date or self.take_offer or self.camera_offset_seconds is not None:
                yield f"time {photo}"
            if self.site or self.take_offer:
                yield f"place {photo}"
            if self.photographer:
                yield f"photographer {photo}"


def coordinator_time(date: str, *, latest: date_type | None = None) -> TimeClaim:
    """A date or time as typed by the coordinator: a day, a local time, an instant or an interval.

    Raises
    ------
    UnknownError
        If it is no date of ISO 8601 or as 18.8.2026, ends before it begins, is of a day after
        ``latest``, or of one before there were photographs.
    """
    pieces = [_in_iso(piece) for piece in date.split("/")]
    said = "/".join(pieces)
    try:
        for piece in pieces:
            datetime.fromisoformat(piece)
        first_day, last_day = parse_event_days(said)
    except ValueError as error:
        why = "it ends before it begins" if "ends before" in str(error) else "this is no date"
        raise UnknownError(
            why, failing=date, next_step="Give it as YYYY-MM-DD, YYYY-MM-DDTHH:MM or FIRST/LAST."
        ) from error
    if (latest is not None and last_day > latest) or first_day.year < EARLIEST_PHOTO:
        raise UnknownError("no photo can be of that day", failing=date, next_step=_CHECK_YEAR)
    return TimeClaim(
        source="coordinator",
        event_date=said,
        uncertainty_seconds=MINUTE if "T" in pieces[0] else DAY,
        verbatim=date,
    )


def _in_iso(typed: str) -> str:
    """A day with stops, as tables have it, or a time behind a blank, as ISO 8601 writes it."""
    day, *clock = re.split(r"\s+(?=\d)|(?<=\d)T", typed.strip(), maxsplit=1)
    return "T".join([year_first(day), *clock])


def typed_place(text: str) -> PlaceClaim | None:
    """Coordinates typed as "latitude,longitude" in degrees, or nothing if it is something else."""
    try:
        latitude, longitude = map(float, text.split(","))
    except ValueError:
        return None
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        return None
    radius = TYPED_PLACE_METRES + digits_uncertainty(latitude, longitude)
    return PlaceClaim(
        source="coordinator",
        decimal_latitude=latitude,
        decimal_longitude=longitude,
        coordinate_uncertainty_in_meters=round(radius, 1),
        verbatim=text,
        georeference_protocol="coordinates typed by the coordinator: 100 m and their digits",
    )


def place_said(typed: str, sites: Sequence[Site], *, area: Area | None, zone: str) -> PlaceClaim:
    """The place that a coordinator types: coordinates, or the one site that is called so.

    Raises
    ------
    UnknownError
        If no site, or several, are called so, or a slip explains where the coordinates lie.
    """
    place = typed_place(typed)
    if place is None:
        return place_of_site(sites, typed)
    point = (place.decimal_latitude or 0.0, place.decimal_longitude or 0.0)
    slip = slip_of_point(*point, area=area, zone=zone, known=sites)
    if slip:
        raise UnknownError(
            "these coordinates lie far from the survey, and a slip explains it",
            failing=typed,
            next_step=slip,
        )
    return place


def taken_offers(chosen: Chosen) -> tuple[TimeClaim | None, PlaceClaim | None]:
    """What the doubts of a photo's time and place suggest, as the coordinator's word.

    A correction of the camera that another mail suggests is none of one photo's time.
    """
    time = chosen.offered_date if chosen.time_doubts and not chosen.carried else ""
    place = chosen.offered_place
    return (
        coordinator_time(time) if time else None,
        replace(place, source="coordinator") if place is not None else None,
    )


def refuse_two_places(chosen: Iterable[Chosen], message: str) -> None:
    """Refuse to accept a place that nobody chose.

    Raises
    ------
    UnknownError
        If the words of the message name several sites and nobody said which.
    """
    named = [d for one in chosen for d in one.place_doubts if d.startswith(SEVERAL_SITES)]
    if named:
        raise UnknownError(
            named[0],
            failing=f"message {message[:12]}",
            next_step="Choose one of them with --site, then settle again.",
        )


def place_of_site(sites: Iterable[Site], text: str) -> PlaceClaim:
    """The one site of this identifier, name or other name, as the coordinator's claim.

    Raises
    ------
    UnknownError
        If no site, or several, are called so.
    """
    known = list(sites)
    found = sites_called(text, known)
    if len(found) != 1:
        near = " or ".join(near_sites(text, known))
        raise UnknownError(
            "no site has that name" if not found else f"{len(found)} sites have that name",
            failing=text,
            next_step=(f"Perhaps {near} is meant. " if near and not found else "")
            + "Write the name or the identifier as the list of sites has it, or add the water.",
        )
    site = found[0]
    return PlaceClaim(
        source="coordinator",
        decimal_latitude=site.decimal_latitude,
        decimal_longitude=site.decimal_longitude,
        coordinate_uncertainty_in_meters=site.coordinate_uncertainty_in_meters,
        location_id=site.location_id,
        locality=site.locality,
        verbatim=text,
        georeference_protocol=CHOSEN_SITE,
    )
