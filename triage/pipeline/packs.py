"""Write photo packs, and say in which of them a photo stands whose consent was withdrawn since."""

from __future__ import annotations

from collections import Counter
from datetime import datetime
from pathlib import Path

from triage.exports.photo_pack import PackOutcome, write_photo_pack
from triage.pipeline import publish, standing, unfinished
from triage.store import originals, packs, people
from triage.store.connection import Survey


def photo_pack(
    survey: Survey, folder: Path, *, since: Path | None = None, now: datetime
) -> PackOutcome:
    """Write the photos that may be handed on, and note which went out under which version."""
    stands = standing.standing(survey)
    found = [one for one in standing.sightings(survey, stands) if one.state != "set aside"]

    def note(outcome: PackOutcome) -> None:
        with survey.transaction():
            publish.note_out(survey, sorted({one for one, _ in outcome.photos}), now=now)
            packs.note(survey, f"{folder.name}, version {outcome.version}", outcome.photos, now=now)

    with unfinished.written(survey, folder):
        return write_photo_pack(
            folder,
            publish.content(survey, found, stands),
            publish.policy(survey, internal=False),
            read_photo=lambda photo: originals.content_of(survey.originals, photo),
            now=now,
            since=since,
            before_naming=note,
        )


def withdrawn(survey: Survey) -> list[str]:
    """One sentence for each pack that holds photos whose sender now says no."""
    refused = {person.row for person in people.all_people(survey) if person.publish == "no"}
    counts = Counter(
        pack for pack, _, _, observer in packs.handed_on(survey) if observer in refused
    )
    return [
        f"{number} photo(s) in the photo pack {pack}: consent was withdrawn; "
        "ask whoever received it to take them down"
        for pack, number in sorted(counts.items())
    ]
