"""Simulated surveys of any size, and what one night's mail costs in them.

No pictures: rows as examination leaves them are written through the store, with few senders who
send most, days, places and moments of four seasons. Then 200 photos more arrive, sent on one later
evening, and each step of the night's work is timed. A cost that follows the night stays
as it is when the survey grows; one that follows the survey grows with it. Decoding, and geometry
between pictures, are not in the figures: they are paid once a photo.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from triage.analysis import images
from triage.analysis.view import VIEWS
from triage.bench.running import one_of_few, seconds_of
from triage.duplicates import PixelKeys
from triage.exuviae import Site
from triage.mail.message import Envelope, Message, Part
from triage.metadata.exif import ExifRecord
from triage.photos import Photo
from triage.pipeline import claims, inbox, linking, proposals, queueing
from triage.quality import Measurement
from triage.quality.examination import METHOD, Examined
from triage.standards.digests import digest_of
from triage.store import copies, evidence, messages, originals, photos
from triage.store.connection import Survey, create_survey, open_survey, portions

NIGHT = 200  # photos of one night
STEPS = ("claims", "linking", "sightings", "states", "queue")
PHOTOS_A_MAIL = 4
PAGE = 25  # sightings of the queue that are looked at
STRIPPED = 0.2  # share of photos that lost date and place on their way, as messengers leave them
REAL_FILES = 200  # photos that are real pictures, kept as originals; the others are rows alone
_SENDERS, _SITES, _YEARS = 250, 60, 4
_SEASON = 150  # days from the first of May, on which the past mails were sent
LATE = 0.1  # share of a night's mails that show a day of the past
_FEATURES = 200  # of 32 bytes a photo, as examination keeps them
_NOW = datetime(2026, 11, 1, tzinfo=UTC)
_ZONE = timezone(timedelta(hours=2))


def fill(
    survey: Survey,
    count: int,
    *,
    random: np.random.Generator,
    first: int = 0,
    evening: int | None = None,
    keep: Callable[[int], str] | None = None,
) -> list[str]:
    """Write so many examined photos, in mails of four; returns their digests.

    The mails are of any days of the seasons; with ``evening`` they are of that evening after the
    last season, but for `LATE` of them, which show a day of the past. ``keep`` writes the picture
    of a number and gives its digest; the first are small otherwise.
    """
    digests: list[str] = []
    for start in range(0, count, 1000):
        with survey.transaction():
            for number in range(start, min(start + 1000, count), PHOTOS_A_MAIL):
                size = min(PHOTOS_A_MAIL, count - number)
                numbers = range(first + number, first + number + size)
                made = [keep(n) if keep else _kept_photo(survey, n, random) for n in numbers]
                _mail(survey, first + number, made, random, evening)
                digests += made
    return digests


def time_night(survey: Survey) -> dict[str, float]:
    """Seconds of processor time of each step over what is new."""
    steps: dict[str, Callable[[], object]] = {
        "claims": lambda: claims.read_claims(survey),
        "linking": lambda: linking.link_new(survey),
        "sightings": lambda: proposals.propose(survey),
        "states": lambda: inbox.settle_states(survey, now=_NOW),
        "queue": lambda: queueing.queue(survey, now=_NOW, limit=PAGE),
    }
    return {step: round(seconds_of(work), 3) for step, work in steps.items()}


def settle_in(survey: Survey, known: Sequence[str]) -> None:
    """Do all past nights at once; the simulated photos are strangers, so none is compared."""
    with survey.transaction():
        copies.save_links(survey, [], photos=known, method=linking.METHOD)
        for some in portions(known, 5_000):
            copies.save_sketches(
                survey, copies.narrowing_prints(survey, some, senders=False).values()
            )
    claims.read_claims(survey)
    proposals.propose(survey)
    inbox.settle_states(survey, now=_NOW)


def make_survey(folder: Path, size: int) -> None:
    """Make a survey of so many photos in which all past nights are done."""
    random = np.random.default_rng(1)
    create_survey(folder)
    with open_survey(folder) as survey:
        evidence.save(survey, [site_of(number) for number in range(_SITES)])
        settle_in(survey, fill(survey, size, random=random))


def one_night(folder: str, size: int, night: int) -> dict[str, float]:
    """Have a night's photos arrive in a survey of this size; seconds of each step over them.

    It is the second of two nights alike: what every process loads once is in no figure.
    """
    random = np.random.default_rng(2)
    with open_survey(Path(folder)) as survey:
        for evening in range(2):
            first = size + evening * night
            fill(survey, night, random=random, first=first, evening=evening)
            spent = time_night(survey)
    return spent


def _mail(
    survey: Survey,
    number: int,
    digests: Sequence[str],
    random: np.random.Generator,
    evening: int | None,
) -> None:
    sender = one_of_few(random, _SENDERS)
    late = evening is None or random.random() < LATE
    year = 2026 - number // PHOTOS_A_MAIL % _YEARS if late else 2026  # four seasons in turn
    day = datetime(year, 5, 1, 9, tzinfo=_ZONE) + timedelta(
        days=int(random.integers(_SEASON)) if late else _SEASON + (evening or 0),
        seconds=int(random.integers(30_000)),
    )
    site = site_of(int(random.integers(_SITES)))
    message = Message(
        identifier=digest_of(f"mail {number}".encode())[:32],
        raw_sha256=digest_of(f"raw {number}".encode()),
        message_id=f"{number}@example.org",
        envelopes=(
            Envelope(
                sender_address=f"sender{sender}@example.org",
                sender_name=f"Sender {sender}",
                sent_at=day + timedelta(hours=10),
                subject="Seen today",
                text=f"At {site.locality} today.",
            ),
        ),
        parts=tuple(
            Part(
                path=str(i + 1),
                envelope=0,
                file_name=f"IMG_{number + i}.jpg",
                declared_type="image/jpeg",
                media_type="image/jpeg",
                outcome="taken in",
                reason="a picture",
                content=digest.encode(),
            )
            for i, digest in enumerate(digests)
        ),
    )
    messages.add(survey, message, origin="bench", raw_name="", kept=digests, now=_NOW)
    for i, digest in enumerate(digests):
        moment = day + timedelta(seconds=int(40 * i + random.integers(20)))
        _examined(survey, digest, moment, site, random)


def _kept_photo(survey: Survey, number: int, random: np.random.Generator) -> str:
    if number >= REAL_FILES:
        return digest_of(f"photo {number}".encode())
    picture = images.as_jpeg(random.integers(0, 255, (480, 640, 3), dtype=np.uint8))
    return originals.keep(survey.originals, picture, media_type="image/jpeg")


def _examined(
    survey: Survey, digest: str, moment: datetime, site: Site, random: np.random.Generator
) -> None:
    view = random.dirichlet(np.ones(5))
    odonate = float(random.random() ** 0.25)
    measurement = Measurement(
        method="bench",
        odonate=odonate,
        suborder="anisoptera" if random.random() < 0.5 else "zygoptera",
        suborder_probability=0.8,
        box=(0.2, 0.2, 0.8, 0.8),
        view=VIEWS[int(view.argmax())],
        p_dorsal=float(view[0]),
        p_lateral=float(view[1]),
        p_anterior=float(view[2]),
        p_oblique=float(view[3]),
        p_other=float(view[4]),
        focus=float(random.random()),
        exposure=0.7,
        insect_px=900.0,
        usability=float(random.random()),
        features=random.bytes(256),
    )
    stripped = random.random() < STRIPPED
    exif = (
        ExifRecord()
        if stripped
        else ExifRecord(
            date_time_original=moment.strftime("%Y-%m-%dT%H:%M:%S"),
            offset_time="+02:00",
            gps_latitude=round(site.decimal_latitude + float(random.normal(0, 0.001)), 6),
            gps_longitude=round(site.decimal_longitude + float(random.normal(0, 0.001)), 6),
            gps_h_positioning_error=8.0,
            make="Maker",
            model=f"Model {int(random.integers(30))}",
        )
    )
    colours = random.dirichlet(np.full(108, 0.2))
    seen = Examined(
        photo=Photo(
            sha256=digest,
            format="image/jpeg",
            width=4000,
            height=3000,
            orientation=1,
            byte_size=4_000_000,
        ),
        exif=exif,
        measurement=measurement,
        keys=PixelKeys(phash=random.bytes(32).hex(), local_features=random.bytes(32 * _FEATURES)),
        colours=tuple(round(float(share), 5) for share in colours),
    )
    photos.save_examination(survey, seen, examined_with=METHOD)


def site_of(number: int) -> Site:
    """The invented water of this number."""
    return Site(
        location_id=f"S{number:02d}",
        locality=f"Pool {number} of the Mill",
        decimal_latitude=53.5 + 0.03 * (number // 10),
        decimal_longitude=21.2 + 0.05 * (number % 10),
        coordinate_uncertainty_in_meters=30.0,
    )
