"""A changed list of sites reads every mail again, and renews only what it says otherwise."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests_support import NOW

from triage.bench import scale
from triage.pipeline import claims, examine, proposals, tables, undo
from triage.store import grouping, messages
from triage.store.connection import Survey, open_survey
from triage.store.dump import canonical_dump
from triage.store.settings import Settings

PHOTOS = 80


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[Survey]:
    scale.make_survey(tmp_path / "survey", PHOTOS)
    with open_survey(tmp_path / "survey") as opened:
        examine.follow(opened, now=NOW)
        yield opened


def due(survey: Survey) -> set[str]:
    return set(grouping.dirty(survey, proposals.METHOD))


def of_site(survey: Survey, locality: str) -> set[str]:
    """Photos whose mails name this site."""
    query = (
        "select a.photo from appearances a join envelopes e on e.message_id = a.message_id"
        " where e.text like ?"
    )
    return {row[0] for row in survey.connection.execute(query, (f"%{locality} today%",))}


def add(survey: Survey, name: str) -> str:
    return tables.add_site(survey, name, 53.9, 21.9, by="Bo", now=NOW).location_id


def test_a_site_that_no_mail_means_renews_no_photo(survey: Survey):
    rows = "select id from place_claims union all select id from time_claims"
    before = survey.connection.execute(rows).fetchall()
    add(survey, "Kingcup Marsh")
    assert claims.read_claims(survey) == PHOTOS // scale.PHOTOS_A_MAIL
    assert due(survey) == set()
    assert survey.connection.execute(rows).fetchall() == before  # nothing was written anew
    assert claims.read_claims(survey) == 0


def test_a_site_withdrawn_and_back_renews_the_photos_of_the_mails_that_name_it(survey: Survey):
    named = next(site for site in map(scale.site_of, range(60)) if of_site(survey, site.locality))
    tables.withdraw_site(survey, named.location_id, by="Bo", now=NOW)
    claims.read_claims(survey)
    assert of_site(survey, named.locality) <= due(survey)
    assert len(due(survey)) < PHOTOS / 2
    examine.follow(survey, now=NOW)
    undo.undo(survey, by="Bo", now=NOW)
    claims.read_claims(survey)
    assert of_site(survey, named.locality) <= due(survey)


def test_what_is_renewed_in_parts_is_what_a_fresh_look_at_everything_finds(survey: Survey):
    add(survey, "Pool 61 of the Mill")
    tables.withdraw_site(survey, "S03", by="Bo", now=NOW)
    examine.follow(survey, now=NOW)
    in_parts = list(canonical_dump(survey))
    survey.connection.execute("update messages set texts_read_with = '', state_due = 1")
    grouping.mark_everything_dirty(survey)
    examine.follow(survey, now=NOW)
    assert list(canonical_dump(survey)) == in_parts


def test_other_settings_renew_every_photo(survey: Survey):
    around = survey.settings.survey.model_copy(update={"time_zone": "Europe/Helsinki"})
    survey.settings = Settings(**{**dict(survey.settings), "survey": around})
    claims.read_claims(survey)
    assert len(due(survey)) == PHOTOS


def test_a_mail_that_is_to_be_read_again_renews_its_photos(survey: Survey):
    messages.reread_texts(survey, [1])
    claims.read_claims(survey)
    assert len(due(survey)) == scale.PHOTOS_A_MAIL


def test_reading_that_was_stopped_goes_on_with_the_mails_that_are_left(survey: Survey):
    add(survey, "Pool 61 of the Mill")

    def stop(what: str, done: int, total: int) -> None:
        if done == 5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        claims.read_claims(survey, progress=stop)
    seen: list[tuple[str, int, int]] = []
    left = PHOTOS // scale.PHOTOS_A_MAIL - 5
    assert claims.read_claims(survey, progress=lambda *now: seen.append(now)) == left
    assert seen[-1] == ("reading texts", left, left)


def test_every_long_step_after_an_import_shows_how_far_it_is(survey: Survey):
    tables.withdraw_site(survey, "S03", by="Bo", now=NOW)
    steps: set[str] = set()
    examine.follow(survey, now=NOW, progress=lambda what, done, total: steps.add(what))
    assert {"reading texts", "looking what each mail needs"} <= steps
