"""Who sent a photo first, and what is a burst, never depends on the order of reading mail."""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Sequence
from email.message import EmailMessage
from pathlib import Path

import pytest
from mail_writing import letter, picture, take_in
from tests_support import DEMO, NOW

from triage.inbox import Settlement
from triage.pipeline import correct, edit, examine, linking, persons, settle, standing, undo
from triage.store import copies, derived_rules, people
from triage.store.connection import Survey, open_survey
from triage.store.dump import canonical_dump

SAM, IDA = "Sam Ferry <sam.ferry@example.org>", "Ida Reed <ida.reed@example.org>"
CAMERA = ("Maker", "M-1", "007")
FRAMES = [picture(n, taken=f"2026:06:14 12:00:{20 * n:02}", camera=CAMERA) for n in range(3)]
PHOTO = (DEMO / "photos" / "IMG_20260530_103112.jpg").read_bytes()
COPY = PHOTO[:-2] + b"\xff\xfe\x00\x03x" + PHOTO[-2:]  # another file of the same picture

MAILS = [
    letter("A mail.", number=number, sender=sender, sent=sent, pictures=tuple(pictures))
    for number, (sender, sent, pictures) in enumerate(
        [
            # 08:30 in Greenwich is later than 09:00 in Warsaw, though it reads earlier.
            (SAM, "Sun, 14 Jun 2026 09:00:00 +0200", [PHOTO]),
            (IDA, "Sun, 14 Jun 2026 08:30:00 +0000", [PHOTO]),
            (IDA, "Mon, 15 Jun 2026 08:00:00 +0200", [COPY]),
            (IDA, "Mon, 15 Jun 2026 09:00:00 +0200", FRAMES[::2]),
            (IDA, "Mon, 15 Jun 2026 09:30:00 +0200", [FRAMES[1]]),
            (IDA, "", [FRAMES[1]]),
        ]
    )
]


def received(empty: Path, folder: Path, nights: Iterable[Sequence[EmailMessage]]) -> list[str]:
    """The dump of a survey that these mails came to, night by night."""
    shutil.copytree(empty, folder / "survey")
    with open_survey(folder / "survey") as survey:
        for mails in nights:
            take_in(survey, folder / "mails", list(mails), now=NOW)
        return list(canonical_dump(survey))


@pytest.mark.parametrize(
    "nights",
    [
        [MAILS[::-1]],
        [MAILS[:3], MAILS[3:], MAILS],
        *([[mail] for mail in mails] for mails in (MAILS, MAILS[::-1], MAILS[3:] + MAILS[:3])),
    ],
)
def test_mails_give_the_same_survey_in_any_order(empty_once: Path, tmp_path: Path, nights):
    expected = received(empty_once, tmp_path / "once", [MAILS])
    assert received(empty_once, tmp_path / "nights", nights) == expected


def test_whoever_sent_a_photo_first_is_its_observer_wherever_their_clock_stands(
    empty: Survey, tmp_path: Path
):
    take_in(empty, tmp_path / "mails", MAILS[1::-1], now=NOW)
    (one,) = standing.sightings(empty)
    assert one.observer == people.find(empty, "sam.ferry@example.org").code


@pytest.mark.parametrize(
    "later",
    [
        letter("Please keep the exact pond to yourselves.", number=8, sender=SAM),
        letter("Sorry, it should have been Monday.", number=8, sender=SAM, pictures=(FRAMES[1],)),
        letter("No words of use.", number=8, sender=SAM),
    ],
)
def test_words_are_about_an_earlier_mail_also_where_that_is_received_later(
    empty_once: Path, tmp_path: Path, later: EmailMessage
):
    earlier = letter("A.", number=7, sender=SAM, sent=MAILS[0]["Date"], pictures=(PHOTO,))
    del later["Date"]
    later["Date"] = MAILS[2]["Date"]
    expected = received(empty_once, tmp_path / "once", [[earlier, later]])
    assert received(empty_once, tmp_path / "nights", [[later], [earlier]]) == expected


def lines_and_anew(survey: Survey) -> tuple[list[str], list[str]]:
    """The dump as it is, and once all that is derived is derived again."""
    before = list(canonical_dump(survey))
    derived_rules.all_anew(survey)
    examine.follow(survey, now=NOW)
    return before, list(canonical_dump(survey))


def test_frames_are_one_burst_as_soon_as_they_are_one_persons(empty: Survey, tmp_path: Path):
    mails = [
        letter("One.", number=1, sender=SAM, pictures=tuple(FRAMES[::2])),
        letter("Two.", number=2, sender=IDA, pictures=(FRAMES[1],)),
    ]
    identifier = take_in(empty, tmp_path / "mails", mails, now=NOW)[1]

    def frames() -> list[int]:
        before, anew = lines_and_anew(empty)
        assert before == anew
        [shown] = empty.column("select sha256 from parts where file_name = 'p2-0.jpg'")
        links = copies.links_among(empty, copies.linked(empty, linking.METHOD))
        return [len(links), sum(shown in (one.first, one.second) for one in links)]

    assert frames() == [1, 0]
    persons.join(empty, "sam.ferry@example.org", "ida.reed@example.org", now=NOW)
    assert frames() == [2, 2]
    undo.undo(empty, by="coordinator", now=NOW)
    assert frames() == [1, 0]
    settle.settle(empty, [identifier], Settlement(photographer="Sam Ferry"), by="Bo", now=NOW)
    assert frames() == [2, 2]
    undo.undo(empty, by="Bo", now=NOW)
    assert frames() == [1, 0]


def test_an_animal_added_to_either_copy_is_seen_on_the_best_one(empty: Survey, tmp_path: Path):
    mails = [letter("Seen.", number=1, pictures=(PHOTO, COPY))]
    take_in(empty, tmp_path / "mails", mails, now=NOW)
    (one,) = standing.sightings(empty)
    for digest in copies.linked(empty, linking.METHOD):
        new = edit.add_animal(empty, digest, by="Bo", now=NOW)
        shown = {each.identifier: each.photos for each in standing.sightings(empty)}
        assert shown == {one.identifier: one.photos, new: one.photos}
        undo.undo(empty, by="Bo", now=NOW)


def test_a_time_typed_of_a_photo_is_heard_in_the_mails_that_bring_its_copies(
    empty: Survey, tmp_path: Path
):
    mails = [
        letter("Seen.", number=1, pictures=(PHOTO,)),
        letter("Again.", number=2, sender=IDA, pictures=(COPY,)),
    ]
    take_in(empty, tmp_path / "mails", mails, now=NOW)
    assert len(copies.exposures(empty, copies.linked(empty, linking.METHOD))) == 1
    for digest in copies.linked(empty, linking.METHOD):
        correct.correct(empty, digest, field="time", value="2025-07-01", by="Bo", now=NOW)
        before, anew = lines_and_anew(empty)
        assert before == anew
        undo.undo(empty, by="Bo", now=NOW)
