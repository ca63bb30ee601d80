"""Sightings after any history are those that a fresh look gives; what is frozen stays."""

from __future__ import annotations

import dataclasses
import random
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from tests_support import NOW

from triage.bench import scale
from triage.determinations import Statement
from triage.errors import UnknownError
from triage.mail.message import Envelope, Message, Part
from triage.pipeline import correct, determine, edit, inbox, proposals, standing, undo
from triage.quality.examination import Examined
from triage.store import actions, copies, grouping, messages, photos
from triage.store import sightings as store
from triage.store.connection import Survey, create_survey, open_survey
from triage.store.dump import canonical_dump


def add_mail(survey: Survey, number: int, sender: str, moments: list[str]) -> list[str]:
    """A mail with a photo for each moment, empty for a photo without date; returns digests."""
    numbers = [number * 100 + i for i in range(len(moments))]
    digests = [f"{one:064x}" for one in numbers]
    message = Message(
        identifier=f"{number:032x}",
        raw_sha256=f"{number:064x}",
        envelopes=(Envelope(sender_address=f"{sender}@example.org"),),
        parts=tuple(
            Part(
                path=str(i),
                envelope=0,
                file_name="",
                declared_type="",
                media_type="image/jpeg",
                outcome="taken in",
                reason="a picture",
                content=b"x",
            )
            for i in range(len(moments))
        ),
    )
    with survey.transaction():
        messages.add(survey, message, origin="test", raw_name="", kept=digests, now=NOW)
        for digest, moment in zip(digests, moments, strict=True):
            scale._examined(
                survey, digest, NOW, scale.site_of(1), np.random.default_rng(int(digest, 16))
            )
            row = photos.load(survey, [digest])[digest]
            seen = Examined(
                photo=row.photo,
                exif=dataclasses.replace(
                    row.exif, date_time_original=moment, gps_latitude=None, gps_longitude=None
                ),
                measurement=dataclasses.replace(
                    row.measurement, odonate=0.9, suborder="anisoptera", view="dorsal"
                ),
                colours=(0.5, 0.5),
            )
            photos.save_examination(survey, seen, examined_with="x")
    return digests


@pytest.fixture
def survey(tmp_path: Path):
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as opened:
        yield opened


def work(survey: Survey) -> None:
    scale.claims.read_claims(survey)
    proposals.propose(survey)
    inbox.settle_states(survey, now=NOW)


def groups(survey: Survey) -> set[frozenset[str]]:
    return {frozenset(p for p, _ in row.members) for row in store.every(survey)}


def dump(survey: Survey) -> list[str]:
    return list(canonical_dump(survey))


def day(minute: int, of: int = 1) -> str:
    return f"2026-07-{of:02d}T10:{minute:02d}:00"


def test_who_leaves_a_group_lets_others_join_that_he_kept_apart(survey: Survey):
    first, middle, last = add_mail(survey, 1, "a", [day(0), day(2), day(4)])
    work(survey)
    assert groups(survey) == {frozenset({first, middle}), frozenset({last})}
    correct.correct(survey, first, field="time", value=day(0, of=2), by="Bo", now=NOW)
    assert groups(survey) == {frozenset({first}), frozenset({middle, last})}
    undo.undo(survey, by="Bo", now=NOW)
    assert groups(survey) == {frozenset({first, middle}), frozenset({last})}


def test_undated_photos_of_one_mail_are_looked_at_together(survey: Survey):
    first, second, third = add_mail(survey, 1, "a", ["", "", ""])
    work(survey)
    assert groups(survey) == {frozenset({first, second, third})}
    correct.correct(survey, first, field="view", value="lateral", by="Bo", now=NOW)
    assert groups(survey) == {frozenset({first, second, third})}


@pytest.mark.parametrize("seed", range(4))
def test_after_any_history_a_fresh_look_finds_the_same(survey: Survey, seed: int, monkeypatch):
    chosen = random.Random(seed)
    every: list[str] = []
    for number in range(8):
        moments = [
            day(chosen.randrange(12), of=1 + chosen.randrange(2)) if chosen.random() < 0.8 else ""
            for _ in range(4)
        ]
        every += add_mail(survey, number, "ab"[number % 2], moments)
        work(survey)
    for _ in range(30):
        photo, other = chosen.sample(every, 2)
        homes = {s.identifier: s for s in standing.sightings(survey)}
        of = {p: s.identifier for s in homes.values() for p in s.photos}
        kind = chosen.choice(("time", "view", "merge", "split", "determine", "undo"))
        if kind == "time":
            value = day(chosen.randrange(12), of=1 + chosen.randrange(2))
            correct.correct(survey, photo, field="time", value=value, by="Bo", now=NOW)
        elif kind == "view":
            correct.correct(survey, photo, field="view", value="lateral", by="Bo", now=NOW)
        elif kind == "merge" and of[photo] != of[other]:
            edit.merge(survey, [of[photo], of[other]], by="Bo", now=NOW)
        elif kind == "split" and len(homes[of[photo]].photos) > 1:
            edit.split(survey, of[photo], [photo], by="Bo", now=NOW)
        elif kind == "determine" and chosen.random() < 0.3:
            said = Statement(cannot_tell="blurred")
            determine.determine(survey, of[photo], said, by="Ida", now=NOW, new=True)
        elif kind == "undo":
            with suppress(UnknownError):  # nothing is left but what was undone
                undo.undo(survey, by="Bo", now=NOW)
        before = dump(survey)
        held = [p for s in standing.sightings(survey) for p in s.photos]
        assert sorted(held) == sorted(every)
        for at_once in (20_000, 1):  # all senders together, and in turn
            monkeypatch.setattr(proposals, "AT_ONCE", at_once)
            grouping.mark_everything_dirty(survey)
            work(survey)
            assert dump(survey) == before, kind
        monkeypatch.undo()


def test_photos_are_taken_in_portions_of_whole_senders(survey: Survey):
    sent = [add_mail(survey, n, "abc"[n % 3], [day(0), day(1)]) for n in range(6)]
    every = sorted(photo for mail in sent for photo in mail)
    assert list(grouping.by_sender(survey, every, most=12)) == [every]
    assert list(grouping.by_sender(survey, [], most=12)) == []
    portions = list(grouping.by_sender(survey, every, most=9))
    assert [len(one) for one in portions] == [8, 4]
    assert sorted(photo for one in portions for photo in one) == every
    assert {*sent[0], *sent[3]} <= set(portions[0])
    assert len(list(grouping.by_sender(survey, every, most=1))) == 3


def test_a_frozen_sighting_that_was_split_and_joined_can_be_split_again(survey: Survey):
    first, second = add_mail(survey, 1, "a", [day(0), day(1)])
    work(survey)
    (one,) = standing.sightings(survey)
    determine.determine(
        survey, one.identifier, Statement(cannot_tell="far"), by="Ida", now=NOW, new=True
    )
    before = dump(survey)
    for _ in range(2):
        edit.split(survey, one.identifier, [first], by="Bo", now=NOW)
        assert groups(survey) == {frozenset({first}), frozenset({second})}
        undo.undo(survey, by="Bo", now=NOW)
        assert dump(survey) == before


def test_what_was_said_of_a_part_is_not_lost_when_the_split_is_taken_back(survey: Survey):
    first, _ = add_mail(survey, 1, "a", [day(0), day(1)])
    work(survey)
    (one,) = standing.sightings(survey)
    determine.determine(
        survey, one.identifier, Statement(cannot_tell="far"), by="Ida", now=NOW, new=True
    )
    edit.split(survey, one.identifier, [first], by="Bo", now=NOW)
    number = actions.log(survey, limit=1)[0].number
    part = next(s for s in standing.sightings(survey) if s.photos == (first,))
    determine.determine(
        survey, part.identifier, Statement(cannot_tell="dark"), by="Al", now=NOW, new=True
    )
    undo.undo(survey, by="Bo", now=NOW, number=number)
    (whole,) = standing.sightings(survey)
    said = {d.reason for d in standing.standing(survey).determinations[whole.identifier]}
    assert said == {"far", "dark"}


def changes(survey: Survey) -> list[str]:
    query = "select change from proposed_changes order by sighting, change"
    return [row[0] for row in survey.connection.execute(query)]


def test_a_change_is_proposed_only_as_long_as_it_holds(survey: Survey):
    first, _ = add_mail(survey, 1, "a", [day(0), day(1)])
    work(survey)
    (one,) = standing.sightings(survey)
    determine.determine(
        survey, one.identifier, Statement(cannot_tell="far"), by="Ida", now=NOW, new=True
    )
    (late,) = add_mail(survey, 2, "a", [day(1)])
    work(survey)
    assert changes(survey) == ["1 more photo may show this animal"]
    correct.correct(survey, late, field="time", value=day(1, of=9), by="Bo", now=NOW)
    assert changes(survey) == []
    correct.correct(survey, first, field="time", value=day(0, of=2), by="Bo", now=NOW)
    assert changes(survey) == []  # what a person says is no proposal


def test_other_rules_in_the_settings_group_everything_anew(survey: Survey):
    first, second = add_mail(survey, 1, "a", [day(0), day(2)])
    work(survey)
    assert groups(survey) == {frozenset({first, second})}
    section = survey.settings.sightings.model_copy(update={"same_animal_seconds": 30.0})
    survey.settings = survey.settings.model_copy(update={"sightings": section})
    work(survey)
    assert groups(survey) == {frozenset({first}), frozenset({second})}


def test_a_fuller_copy_takes_the_place_of_a_small_one_and_keeps_what_was_said(survey: Survey):
    (small,) = add_mail(survey, 1, "a", [""])
    work(survey)
    correct.correct(survey, small, field="view", value="lateral", by="Bo", now=NOW)
    (large,) = add_mail(survey, 2, "a", [day(5)])
    copies.save_groups(survey, "copy", [("copies-1", [small, large], large)], {small, large})
    grouping.mark_dirty(survey, [small])
    work(survey)
    (one,) = standing.sightings(survey)
    assert one.photos == (large,)
    assert one.best_lateral == large
    assert one.event_date.startswith("2026-07-01T10:05")
    reasons = [row.state_reason for row in messages.every(survey)]
    assert reasons == ["place", "every photo was sent before"]


def test_a_fuller_copy_of_a_frozen_sighting_is_only_proposed(survey: Survey):
    (small,) = add_mail(survey, 1, "a", [day(5)])
    work(survey)
    (one,) = standing.sightings(survey)
    determine.determine(
        survey, one.identifier, Statement(cannot_tell="far"), by="Ida", now=NOW, new=True
    )
    (large,) = add_mail(survey, 2, "a", [day(5)])
    copies.save_groups(survey, "copy", [("copies-1", [small, large], large)], {small, large})
    grouping.mark_dirty(survey, [small])
    work(survey)
    assert groups(survey) == {frozenset({small})}
    assert changes(survey) == [f"a fuller copy arrived: {large[:12]}"]


def test_what_a_second_sender_says_of_the_same_picture_is_asked_about(survey: Survey):
    (first,) = add_mail(survey, 1, "a", [day(5)])
    (second,) = add_mail(survey, 2, "b", [day(5)])
    copies.save_groups(survey, "copy", [("copies-1", [first, second], first)], {first, second})
    work(survey)
    (one,) = standing.sightings(survey)
    assert one.photos == (first,)
    needs = {entry.message.row: {n.kind for n in entry.needs} for entry in inbox.entries(survey)}
    assert "two senders" not in needs[1]
    assert "two senders" in needs[2]
