"""survey.toml: its defaults, its comments, and mistakes that are named."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.errors import SettingsError
from triage.matching import MatchingSettings
from triage.review_queue import QueueRules
from triage.sightings import GroupingRules
from triage.store.settings import (
    RETIRED,
    Settings,
    read_settings,
    settings_text,
    write_default_settings,
)


def as_data(settings: Settings) -> dict[str, dict[str, object]]:
    return settings.model_dump(mode="json")


def test_the_file_of_defaults_says_what_the_program_does(tmp_path: Path):
    path = tmp_path / "survey.toml"
    write_default_settings(path, title="Survey")
    assert as_data(read_settings(path)) == as_data(Settings())


def test_the_file_names_every_setting_and_explains_it(tmp_path: Path):
    lines = settings_text(Settings()).splitlines()
    for section, values in as_data(Settings()).items():
        assert f"[{section}]" in lines
        for name in values:
            (line,) = [x for x in lines if x.removeprefix("# ").startswith(f"{name} = ")]
            assert "# " in line.split("=", 1)[1] or name in ("title", "description", "licence")


def test_a_setting_of_an_earlier_version_does_not_close_a_survey(tmp_path: Path):
    path = tmp_path / "survey.toml"
    for section, name in RETIRED:
        path.write_text(f"[{section}]\n{name} = []\n", encoding="utf-8")
        assert as_data(read_settings(path)) == as_data(Settings())
        assert name not in as_data(Settings())[section]
    path.write_text("intake = 3\n", encoding="utf-8")
    with pytest.raises(SettingsError, match="setting intake"):
        read_settings(path)


def test_a_title_with_quotes_is_written_whole(tmp_path: Path):
    path = tmp_path / "survey.toml"
    title = 'The "Linnet" \\ Survey'
    write_default_settings(path, title=title)
    assert read_settings(path).survey.title == title


def test_a_file_that_is_there_is_never_written_over(tmp_path: Path):
    path = tmp_path / "survey.toml"
    path.write_text('[survey]\ntitle = "Mine"\n', encoding="utf-8")
    write_default_settings(path, title="Other")
    assert tomllib.loads(path.read_text(encoding="utf-8")) == {"survey": {"title": "Mine"}}


def test_a_missing_file_means_the_defaults(tmp_path: Path):
    assert read_settings(tmp_path / "none.toml") == Settings()


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("[survey]\ntitel = 'x'\n", "survey.titel"),
        ("[queues]\n", "queues"),
        ("[sightings]\nleast_likeness = 1.5\n", "sightings.least_likeness"),
        ("[survey]\nlanguage = 'nl'\n", "survey.language"),
        ("[determinations]\nindependent = 'two'\n", "determinations.independent"),
        ("[survey]\ntime_zone = 'Europe/Linnet'\n", "survey.time_zone"),
        ("[survey]\narea = [54.3, 21.0, 53.5, 22.4]\n", "survey.area"),
        ("[survey]\nseason = [335, 400]\n", "survey.season"),
        ("[survey\n", "not valid TOML"),
        ("a = " + "[" * 20_000, "nested too deep"),
        ("[survey]\ntitle = '\udcff'\n", "not valid TOML"),
    ],
)
def test_a_mistake_is_named_with_the_file(tmp_path: Path, text: str, named: str):
    path = tmp_path / "survey.toml"
    path.write_bytes(text.encode("utf-8", "surrogateescape"))
    with pytest.raises(SettingsError) as caught:
        read_settings(path)
    assert named in caught.value.what
    assert caught.value.failing == str(path)
    assert "orrect" in caught.value.next_step


MISTAKES = [
    ("[survey]\ntitel = 'x'", "setting survey.titel: unknown setting"),
    ("[surveys]\ntitle = 'x'", "setting surveys: unknown setting"),
    ("[survey]\ntitle = 3", "setting survey.title: must be a text in quotation marks"),
    ("[survey]\nlanguage = 'nl'", "setting survey.language: must be 'en', 'de', 'pl' or 'fr'"),
    ("[survey]\nseason = [0, 300]", "setting survey.season.0: must be at least 1"),
    ("[survey]\nseason = [1, 2, 3]", "setting survey.season: must be a list of 2 values"),
    ("[survey]\nseason = [1]", "setting survey.season.1: a value is missing from the list"),
    ("[survey]\nseason = 5", "setting survey.season: must be a list in square brackets"),
    ("[survey]\ntime_zone = 'Mars'", "setting survey.time_zone: no zone of that name"),
    ("[queue]\nsender_share = 'x'", "setting queue.sender_share: must be a number"),
    ("[queue]\nsender_share = 0", "setting queue.sender_share: must be more than 0"),
    ("[queue]\nsender_share = nan", "setting queue.sender_share: must be at most 1"),
    ("[queue]\nreserved_every = 1", "setting queue.reserved_every: must be at least 2"),
    ("[sightings]\nleast_odonate = 2", "setting sightings.least_odonate: must be at most 1"),
    ("[matching]\nleast_share = 0.5", "setting matching.least_share: must be less than 0.5"),
    ("[matching]\nmost_sites = 1.5", "setting matching.most_sites: must be a whole number"),
    ("[matching]\nmost_sites = 'x'", "setting matching.most_sites: must be a whole number"),
    ("queue = 3", "setting queue: must be a section of settings"),
]


@pytest.mark.parametrize(("text", "told"), MISTAKES)
def test_a_mistake_is_told_in_our_own_words(text: str, told: str, tmp_path: Path):
    path = tmp_path / "survey.toml"
    path.write_text(text + "\n", encoding="utf-8")
    with pytest.raises(SettingsError) as caught:
        read_settings(path)
    assert told in str(caught.value)
    assert "Input should" not in str(caught.value)


@pytest.mark.parametrize(
    ("section", "rules"),
    [("queue", QueueRules()), ("sightings", GroupingRules()), ("matching", MatchingSettings())],
)
def test_the_rules_by_themselves_have_the_defaults_of_the_settings(section: str, rules: object):
    for name, value in as_data(Settings())[section].items():
        if hasattr(rules, name):
            assert getattr(rules, name) == value, name


@given(title=st.text(st.characters(exclude_categories=["Cs"]), max_size=40))
@settings(deadline=None, max_examples=60)
def test_any_title_is_read_back_as_written(title: str):
    survey = Settings().survey.model_copy(update={"title": title})
    text = settings_text(Settings().model_copy(update={"survey": survey}))
    assert tomllib.loads(text)["survey"]["title"] == title
