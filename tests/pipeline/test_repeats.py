"""A command given again is one action, also one that was ended after it was recorded."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from tests_support import NOW

from triage.cli import main
from triage.inbox import Settlement
from triage.pipeline import correct, edit, settle, standing, undo
from triage.store import actions, messages, photos
from triage.store.connection import Survey, open_survey
from triage.store.dump import canonical_dump

Deed = Callable[[Survey, Callable[[str], None]], object]


@pytest.fixture
def survey(walked: Path) -> Iterator[Survey]:
    """The walked survey, with an address of its own to ask from."""
    settings = walked / "survey.toml"
    text = settings.read_text(encoding="utf-8")
    address = 'reply_address = "linnet@example.org"'
    settings.write_text(text.replace('reply_address = ""', address), encoding="utf-8")
    with open_survey(walked) as opened:
        yield opened


def a_message(survey: Survey) -> str:
    """A message with photos that a person may settle."""
    return next(
        row.identifier
        for row in messages.every(survey)
        if photos.appearances_of_message(survey, row.row)
    )


def several(survey: Survey) -> tuple[str, str]:
    """A sighting of several photos, and the first of them."""
    one = max(standing.sightings(survey), key=lambda one: len(one.photos))
    return one.identifier, one.photos[0]


def settled(**words: object) -> Callable[[Survey], Deed]:
    def deed_of(survey: Survey) -> Deed:
        wanted = [a_message(survey)]
        said = Settlement(**words)  # type: ignore[arg-type]
        return lambda here, tell: settle.settle(here, wanted, said, by="Bo", now=NOW, tell=tell)

    return deed_of


def corrected(**words: str) -> Callable[[Survey], Deed]:
    def deed_of(survey: Survey) -> Deed:
        photo = several(survey)[1]
        return lambda here, tell: correct.correct_all(
            here, photo, words, by="Bo", now=NOW, tell=tell
        )

    return deed_of


def split(survey: Survey) -> Deed:
    sighting, photo = several(survey)
    return lambda here, tell: edit.split(here, sighting, [photo], by="Bo", now=NOW, tell=tell)


def merged(survey: Survey) -> Deed:
    wanted = [one.identifier for one in standing.sightings(survey)[:2]]
    return lambda here, tell: edit.merge(here, wanted, by="Bo", now=NOW, tell=tell)


def aside(survey: Survey) -> Deed:
    sighting = several(survey)[0]
    return lambda here, tell: edit.set_aside(
        here, sighting, "a drawing", by="Bo", now=NOW, tell=tell
    )


DEEDS = {
    "settle site": settled(site="Heron Mere"),
    "settle date": settled(date="2026-07-01"),
    "settle clock": settled(camera_offset_seconds=3600.0),
    "settle ask": settled(ask="place"),
    "settle aside": settled(set_aside="not ours"),
    "settle accept": settled(accept=True),
    "correct view": corrected(view="oblique"),
    "correct box": corrected(box="0.2,0.2,0.8,0.8"),
    "correct time": corrected(time="2026-07-01"),
    "correct place": corrected(place="Heron Mere"),
    "correct several": corrected(view="dorsal", place="Heron Mere", publication="cleared"),
    "split": split,
    "merge": merged,
    "set aside": aside,
}


@pytest.fixture(params=DEEDS)
def deed_of(request: pytest.FixtureRequest) -> Callable[[Survey], Deed]:
    return DEEDS[request.param]


def test_the_same_words_again_add_nothing_and_say_so(
    survey: Survey, deed_of: Callable[[Survey], Deed]
):
    deed, told = deed_of(survey), list[str]()
    deed(survey, told.append)
    assert told == []
    before, count = list(canonical_dump(survey)), len(actions.log(survey))
    deed(survey, told.append)
    assert ["recorded already" in line for line in told] == [True]
    assert len(actions.log(survey)) == count
    assert list(canonical_dump(survey)) == before


def test_words_that_were_taken_back_are_recorded_again(
    survey: Survey, deed_of: Callable[[Survey], Deed]
):
    deed, told = deed_of(survey), list[str]()
    deed(survey, told.append)
    count = len(actions.log(survey))
    undo.undo(survey, by="Bo", now=NOW)
    deed(survey, told.append)
    assert told == []
    assert len(actions.log(survey)) == count + 2


@pytest.mark.parametrize(
    ("deed_of", "ended_in"),
    [
        (split, (edit, "refresh")),
        (merged, (edit, "refresh")),
        (DEEDS["correct place"], (correct, "refresh")),
        (DEEDS["settle site"], (settle.proposals, "propose")),
    ],
)
def test_a_command_ended_after_its_commit_and_repeated_is_finished_as_one_action(
    survey: Survey, deed_of, ended_in, monkeypatch: pytest.MonkeyPatch
):
    deed = deed_of(survey)

    def ended(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(*ended_in, ended)
        with pytest.raises(KeyboardInterrupt):
            deed(survey, lambda _: None)
    count = len(actions.log(survey))
    deed(survey, lambda _: None)
    once = list(canonical_dump(survey))
    assert len(actions.log(survey)) == count
    undo.undo(survey, by="Bo", now=NOW)
    deed(survey, lambda _: None)
    assert list(canonical_dump(survey)) == once


def test_what_was_corrected_since_is_said_anew(survey: Survey):
    photo = several(survey)[1]
    for place in ("Heron Mere", "Alder Pool", "Heron Mere"):
        correct.correct(survey, photo, field="place", value=place, by="Bo", now=NOW)
    assert len([one for one in actions.log(survey) if one.command == "correct"]) == 3
    stands = next(one for one in standing.sightings(survey) if photo in one.photos)
    assert stands.locality == "Heron Mere"


def test_a_decision_about_the_message_holds_until_a_photo_of_it_is_corrected(survey: Survey):
    wanted = [a_message(survey)]
    row = messages.find(survey, wanted[0])
    photo = photos.appearances_of_message(survey, row.row)[0].photo
    said = Settlement(site="Heron Mere")
    settle.settle(survey, wanted, said, by="Bo", now=NOW)
    correct.correct(survey, photo, field="place", value="Alder Pool", by="Bo", now=NOW)
    settle.settle(survey, wanted, said, by="Bo", now=NOW)
    assert len([one for one in actions.log(survey) if one.command == "settle"]) == 2


def test_the_same_words_of_somebody_else_are_another_action(survey: Survey):
    photo = several(survey)[1]
    for by in ("Bo", "Ida", "ida"):
        correct.correct(survey, photo, field="view", value="oblique", by=by, now=NOW)
    assert len([one for one in actions.log(survey) if one.command == "correct"]) == 2


def test_the_command_says_what_was_recorded_already(
    walked: Path, survey: Survey, capsys: pytest.CaptureFixture[str]
):
    photo = several(survey)[1]
    line = ["correct", photo[:12], "--view", "oblique", "--survey", str(walked)]
    assert main(line) == 0
    assert "recorded already" not in capsys.readouterr().err
    assert main(line) == 0
    assert "recorded already" in capsys.readouterr().err
