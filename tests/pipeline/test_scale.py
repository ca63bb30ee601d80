"""A night's work follows the night, not the survey: counted in steps of the database, not timed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from tests_support import NOW

from triage.bench import scale, survey_work
from triage.duplicates import Fingerprint
from triage.duplicates.narrowing import cell_of
from triage.pipeline import linking, proposals
from triage.quality.examination import METHOD
from triage.store import (
    actions,
    copies,
    derived_rules,
    determinations,
    evidence,
    forgetting,
    ground,
    grouping,
    messages,
    overview,
    photos,
    queue_order,
    sightings,
)
from triage.store import claims as claim_store
from triage.store.connection import Survey, create_survey, open_survey


def filled(folder: Path, size: int) -> Path:
    scale.make_survey(folder, size)
    return folder


def steps_of_a_night(folder: Path, size: int, night: int) -> tuple[int, int]:
    """Queries, and portions of a hundred steps of SQLite's machine, that one night takes."""
    queries = ticks = 0

    def query(_: str) -> None:
        nonlocal queries
        queries += 1

    def tick() -> int:
        nonlocal ticks
        ticks += 1
        return 0

    with open_survey(folder) as survey:
        scale.fill(survey, night, random=np.random.default_rng(2), first=size)
        survey.connection.set_trace_callback(query)
        survey.connection.set_progress_handler(tick, 100)
        scale.claims.read_claims(survey)
        scale.proposals.propose(survey)
        scale.inbox.settle_states(survey, now=NOW)
        survey.connection.set_progress_handler(None, 0)
        survey.connection.set_trace_callback(None)
    return queries, ticks


def test_four_times_the_survey_takes_the_same_night(tmp_path: Path):
    small = steps_of_a_night(filled(tmp_path / "small", 200), 200, 40)
    large = steps_of_a_night(filled(tmp_path / "large", 800), 800, 40)
    # Other days have other numbers of neighbours; a scan would take three or four times as much.
    assert large[0] < 1.2 * small[0]
    assert large[1] < 1.6 * small[1]


def test_a_night_of_twice_the_photos_takes_about_twice_the_queries(tmp_path: Path):
    one = steps_of_a_night(filled(tmp_path / "one", 200), 200, 40)
    two = steps_of_a_night(filled(tmp_path / "two", 200), 200, 80)
    assert 1.5 < two[0] / one[0] < 2.5


def steps_of_asking(survey: Survey, ask: Callable[[Survey], object]) -> int:
    """Portions of ten steps of SQLite's machine that a question takes."""
    ticks = 0

    def tick() -> int:
        nonlocal ticks
        ticks += 1
        return 0

    survey.connection.set_progress_handler(tick, 10)
    ask(survey)
    survey.connection.set_progress_handler(None, 0)
    return ticks


WHAT_IS_DUE: dict[str, Callable[[Survey], object]] = {
    "photos to examine": lambda survey: photos.not_examined_with(survey, METHOD),
    "photos to link": lambda survey: copies.not_linked(survey, linking.METHOD),
    "photos to group": lambda survey: grouping.dirty(survey, proposals.METHOD),
    "texts to read": messages.texts_to_reread,
    "messages whose state is due": messages.due,
    "sightings to place": lambda survey: derived_rules.due(survey, "queue_order"),
    "sightings to match": lambda survey: derived_rules.due(survey, "matches"),
    "what there is": overview.holdings,
    "whether figures of sites are newer": ground.stamp,
    "how many determinations stand": queue_order.looks_done,
    "messages that an action spoke of": lambda survey: messages.rows_of_action(survey, 10**6),
    "photos that an action spoke of": lambda survey: grouping.photos_of_action(survey, 10**6),
    "photos of somebody": lambda survey: grouping.photos_of_people(survey, [10**6]),
    "photos that were forgotten": forgetting.dropped,
}


@pytest.fixture(scope="module")
def two_sizes(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("sizes")
    small, large = filled(folder / "small", 100), filled(folder / "large", 400)
    for one in (small, large):
        survey_work.prepare(one)
    return small, large


@pytest.mark.parametrize("what", WHAT_IS_DUE)
def test_asking_what_is_due_walks_through_nothing(two_sizes: tuple[Path, Path], what: str):
    found = []
    for folder in two_sizes:
        with open_survey(folder) as survey:
            found.append(steps_of_asking(survey, WHAT_IS_DUE[what]))
    assert found[1] <= found[0] + 5, found


WHAT_PEOPLE_SAID: dict[str, Callable[[Survey], object]] = {
    "a message": lambda survey: messages.by_row(survey, 1),
    "claims of a photo": lambda survey: claim_store.of_photos(survey, ["a"]),
    "determinations of a sighting": lambda survey: determinations.of_sighting(survey, "a"),
    "sightings of a photo": lambda survey: grouping.sightings_of_photos(survey, ["a"]),
}


@pytest.mark.parametrize("what", WHAT_PEOPLE_SAID)
def test_a_long_log_of_actions_costs_no_question_anything(two_sizes: tuple[Path, Path], what: str):
    ask = WHAT_PEOPLE_SAID[what]
    with open_survey(two_sizes[0]) as survey:
        before = steps_of_asking(survey, ask)
        with survey.transaction():
            for _ in range(500):
                actions.record(survey, command="settle", summary="much", by="Bo", now=NOW)
        assert steps_of_asking(survey, ask) <= before + 5


def test_one_split_and_one_photographer_do_not_make_questions_walk_through_the_log(tmp_path: Path):
    with open_survey(filled(tmp_path / "survey", 40)) as survey:
        first, second, *_ = sightings.every(survey)
        photo = first.members[0][0]
        with survey.transaction():
            action = actions.record(survey, command="split", summary="", by="Bo", now=NOW)
            survey.run("update sightings set action_id = ?", action)
            said = {"old": first.identifier, "new": second.identifier, "action_id": action}
            survey.insert("sighting_succession", said)
            survey.insert("photographers", {"photo": photo, "person_id": 1, "action_id": action})
        ways: dict[str, Callable[[Survey], object]] = {
            "sightings": lambda here: sightings.of_identifiers(here, [first.identifier]),
            "sightings of a photo": lambda here: grouping.sightings_of_photos(here, [photo]),
            "appearances": lambda here: photos.appearances(here, [photo]),
            "photographers": lambda here: photos.photographers_of(here, [photo]),
        }
        before = {what: steps_of_asking(survey, ask) for what, ask in ways.items()}
        with survey.transaction():
            for _ in range(500):
                actions.record(survey, command="settle", summary="much", by="Bo", now=NOW)
        after = {what: steps_of_asking(survey, ask) for what, ask in ways.items()}
    assert all(after[what] <= before[what] + 5 for what in ways), (before, after)


@pytest.fixture
def strangers(tmp_path: Path):
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as survey:
        evidence.save(survey, [scale.site_of(number) for number in range(60)])
        scale.settle_in(survey, scale.fill(survey, 300, random=np.random.default_rng(1)))
        yield survey


def may_lie_there(one: Fingerprint, other: Fingerprint) -> bool:
    """Whether two photos do not state places more than about a kilometre apart."""
    here, there = cell_of(one), cell_of(other)
    if here is None or there is None:
        return True
    return max(abs(here[0] - there[0]), abs(here[1] - there[1])) <= 1


def test_a_large_survey_compares_a_photo_with_its_like_and_its_neighbours_only(
    strangers: Survey, monkeypatch
):
    monkeypatch.setattr(linking, "ALL_ARE_NEIGHBOURS", 10)
    known = set(copies.linked(strangers, linking.METHOD))
    arrived = scale.fill(strangers, 20, random=np.random.default_rng(2), first=300)
    prints = copies.fingerprints(strangers, arrived)
    print_of_new = next(one for one in prints.values() if one.captured)
    twin, same_day, *_ = sorted(known)
    strangers.connection.execute(
        "update photos set phash = ? where sha256 = ?", (print_of_new.phash, twin)
    )
    strangers.connection.execute(
        "update photos set exif = (select exif from photos where sha256 = ?) where sha256 = ?",
        (print_of_new.sha256, same_day),
    )
    every = copies.fingerprints(strangers, known)
    found, senders = linking._may_be_linked(strangers, {print_of_new.sha256: print_of_new}, set())
    near = {
        photo
        for photo, one in every.items()
        if one.captured[:10] == print_of_new.captured[:10] and may_lie_there(one, print_of_new)
    }
    undated_of_sender = {
        photo
        for photo, one in every.items()
        if not one.captured and one.sender == print_of_new.sender
    }
    elsewhere = {
        photo
        for photo, one in every.items()
        if one.captured and not may_lie_there(one, print_of_new)
    }
    assert undated_of_sender
    assert elsewhere
    assert same_day in near
    assert near | {twin} <= found
    assert undated_of_sender <= found | senders.keys()
    assert not (elsewhere - {twin}) & found
    assert len(found) < len(known) / 2
    undated = next(one for one in prints.values() if not one.captured)
    own = {photo for photo, one in every.items() if one.sender == undated.sender}
    assert own
    found, senders = linking._may_be_linked(strangers, {undated.sha256: undated}, {"f" * 64})
    assert own <= found | senders.keys()
    assert set(senders.values()) == {undated.sender}
    assert "f" * 64 in found  # what it was linked to


def loaded_by_a_night(folder: Path, size: int, monkeypatch) -> tuple[int, int]:
    """Photos that linking a night of 40 compares by their sketch, and loads whole."""
    sketches, whole = set[str](), set[str]()
    by_sketch, by_row, features = (
        copies.sketched_prints,
        copies.narrowing_prints,
        copies.local_features,
    )

    def noted(seen: set[str], load: Callable) -> Callable:
        return lambda survey, wanted, **more: (seen.update(wanted), load(survey, wanted, **more))[1]

    with open_survey(filled(folder, size)) as survey, monkeypatch.context() as patch:
        patch.setattr(linking, "ALL_ARE_NEIGHBOURS", 10)
        patch.setattr(copies, "sketched_prints", noted(sketches, by_sketch))
        patch.setattr(copies, "narrowing_prints", noted(whole, by_row))
        patch.setattr(copies, "local_features", noted(whole, features))
        scale.fill(survey, 40, random=np.random.default_rng(2), first=size, evening=0)
        linking.link_new(survey)
    return len(sketches), len(whole)


def test_of_a_senders_photos_a_night_loads_none_that_its_own_are_not_like(tmp_path, monkeypatch):
    small = loaded_by_a_night(tmp_path / "small", 200, monkeypatch)
    large = loaded_by_a_night(tmp_path / "large", 1000, monkeypatch)
    assert large[0] > 3 * small[0] > 0  # the same people have sent five times as much
    assert large[1] <= small[1] + 3  # a mail of a past day has a few of that day more


def test_an_older_survey_gets_its_sketches_as_they_are_needed(strangers: Survey, monkeypatch):
    monkeypatch.setattr(linking, "ALL_ARE_NEIGHBOURS", 10)
    strangers.connection.execute("delete from photo_sketches")
    arrived = scale.fill(strangers, 20, random=np.random.default_rng(2), first=300)
    _, senders = linking._may_be_linked(strangers, copies.fingerprints(strangers, arrived), set())
    linking.link_new(strangers)
    assert senders
    assert copies.sketched_prints(strangers, senders).keys() == senders.keys()
    assert len(copies.sketched_prints(strangers, dict.fromkeys(arrived, ""))) == 20
    photo = arrived[0]
    strangers.connection.execute(
        "update photos set local_features = x'' where sha256 = ?", (photo,)
    )
    assert copies.sketched_prints(strangers, {photo: ""}) == {}  # it told of what is gone


def test_a_crop_of_what_its_sender_sent_years_ago_is_found_by_its_sketch(
    strangers: Survey, monkeypatch
):
    monkeypatch.setattr(linking, "ALL_ARE_NEIGHBOURS", 10)
    known = copies.fingerprints(strangers, copies.linked(strangers, linking.METHOD))
    arrived = scale.fill(strangers, 40, random=np.random.default_rng(2), first=300, evening=0)
    prints = copies.fingerprints(strangers, arrived)
    crop, old = next(
        (one, other)
        for one in prints.values()
        for other in known.values()
        if not one.captured and other.captured and one.sender == other.sender
    )
    kept = old.local_features[: 32 * 60] + crop.local_features[32 * 60 :]
    strangers.connection.execute(
        "update photos set local_features = ? where sha256 = ?", (kept, crop.sha256)
    )
    loaded: set[str] = set()
    load = copies.local_features
    monkeypatch.setattr(
        copies,
        "local_features",
        lambda here, wanted: (loaded.update(wanted), load(here, wanted))[1],
    )
    linking.link_new(strangers)
    assert old.sha256 in loaded
    assert len(loaded) < 5


def test_sizes_below_one_photo_are_refused():
    with pytest.raises(ValueError, match="at least one photo"):
        next(survey_work.bench(lambda _: {}, photos=[]))


def test_the_table_names_every_figure_and_the_growth():
    costs = [
        (size, {"the night, s": 5 * spent, "determine, ms": 1000 * spent, "survey.db, MB": 2.0})
        for size, spent in ((10, 1.0), (40, 1.5))
    ]
    text = survey_work.lines(costs)
    assert text[0] == "|  | 10 photos | 40 photos | x 4 |"
    assert text[2:] == [
        "| the night, s | 5.00 | 7.50 | x 1.5 |",
        "| determine, ms | 1,000 | 1,500 | x 1.5 |",
        "| survey.db, MB | 2 | 2 | x 1.0 |",
    ]


def test_each_photo_is_loaded_once_for_the_inbox(strangers: Survey, monkeypatch):
    loaded: list[str] = []
    load = photos.load
    monkeypatch.setattr(
        photos, "load", lambda survey, wanted: loaded.extend(wanted) or load(survey, wanted)
    )
    scale.inbox.entries(strangers)
    assert len(loaded) == len(set(loaded)) > 0


def test_what_was_typed_of_times_is_found_without_the_photos_of_a_prolific_sender(
    two_sizes: tuple[Path, Path],
):
    found = []
    for folder in two_sizes:
        with open_survey(folder) as survey:
            people = [row[0] for row in survey.run("select id from people")]
            found.append(steps_of_asking(survey, lambda s, p=people: claim_store.typed_times(s, p)))
    assert found[1] <= found[0] + 30, found  # more people have sent something; it was four times
