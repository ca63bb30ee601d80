"""Read, check and write survey.toml; here alone each setting has default, limits and meaning."""

from __future__ import annotations

import json
import shutil
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    NonNegativeFloat,
    NonNegativeInt,
    PositiveFloat,
    ValidationError,
    field_validator,
)
from pydantic_core import ErrorDetails

from triage.errors import SettingsError
from triage.store import whole_files

_DayOfYear = Annotated[int, Field(ge=1, le=366)]
_Share = Annotated[float, Field(ge=0, le=1)]
_PositiveShare = Annotated[float, Field(gt=0, le=1)]


class _Section(BaseModel):
    """What stands below a setting is its meaning, which survey.toml and the desk show beside it."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)


class SurveySettings(_Section):
    """What the survey is."""

    title: str = "Survey"
    """the name on pages, letters and exports"""
    identifier: str = ""
    """the survey's own in every export; never to be changed"""
    description: str = ""
    """in a sentence or two, for exports"""
    time_zone: str = "Europe/Warsaw"
    """IANA name: the zone of clocks where nothing better is known"""
    language: Literal["en", "de", "pl", "fr"] = "en"
    """of letters where a mail does not tell: en, de, pl, fr"""
    contact: str = ""
    """shown in exports and reports"""
    reply_address: str = ""
    """the survey's own address, for drafts"""
    country_code: str = Field(default="", pattern="^([A-Z]{2})?$")
    """ISO 3166-1, two letters: where all of it is one country"""
    area: tuple[float, float, float, float] | None = Field(
        default=None, examples=[[53.5, 21.0, 54.3, 22.4]]
    )
    """south, west, north, east in degrees: places outside are doubted"""
    season: tuple[_DayOfYear, _DayOfYear] = (60, 335)
    """first and last day of year on which adults are expected"""

    @field_validator("time_zone")
    @classmethod
    def _zone_exists(cls, name: str) -> str:
        try:
            ZoneInfo(name)
        except (ZoneInfoNotFoundError, ValueError, OSError) as error:
            raise ValueError("no zone of that name; one such as Europe/Warsaw is needed") from error
        return name

    @field_validator("area")
    @classmethod
    def _area_is_a_box(
        cls, area: tuple[float, float, float, float] | None
    ) -> tuple[float, float, float, float] | None:
        if area is not None:
            south, west, north, east = area
            if not (-90 <= south < north <= 90 and -180 <= west < east <= 180):
                raise ValueError("it must be south, west, north, east in degrees")
        return area


class IntakeSettings(_Section):
    """Limits on what mail may bring."""

    max_message_megabytes: PositiveFloat = 100
    """larger mails are listed, not opened"""


class SightingSettings(_Section):
    """When two photos may show one animal."""

    same_animal_seconds: NonNegativeFloat = 180
    """seconds: photos further apart are never proposed as one animal"""
    same_place_metres: NonNegativeFloat = 60
    """metres between two GPS places, beyond their uncertainties"""
    least_likeness: _Share = 0.65
    """0 to 1: how likely the insects must look to be one"""
    least_odonate: _Share = 0.5
    """0 to 1: below it a photo makes no sighting by itself"""


class QueueSettings(_Section):
    """How the queue is ordered; docs/queue.md has the formula."""

    both_views_gain: NonNegativeFloat = 0.5
    """0 to 1: how far the second of back and side view helps"""
    sitting: int = Field(default=20, ge=1, le=1000)
    """looks in one sitting, about"""
    reserved_every: int = Field(default=4, ge=2, le=1000)
    """every so many looks one is for the longest waiting"""
    sender_share: _PositiveShare = 0.25
    """0 to 1: most of a sitting that one sender may fill"""


class DeterminationSettings(_Section):
    """How many independent determinations settle a sighting."""

    independent: int = Field(default=1, ge=1, le=5)
    """how many determiners must agree before a sighting is determined"""
    blind: bool = False
    """true: the desk hides names and places until a name is recorded"""
    blind_date: bool = False
    """true: a blind determination does not show the date either"""


class MatchingSection(_Section):
    """The weights of matching; docs/matching.md has the sources."""

    unknown_sites_per_square_kilometre: PositiveFloat = 0.1
    """waters nobody has searched yet; docs/matching.md"""
    movement_scale: PositiveFloat = 1.0
    """multiplies every distance of every movement kernel"""
    detection_per_pass: float = Field(default=0.64, gt=0, lt=1)
    """0 to 1: where the survey's own searches do not tell it"""
    exuviae_last_days: NonNegativeInt = 42
    """days that skins last on the shore"""
    least_share: float = Field(default=0.01, ge=0, lt=0.5)
    """0 to 1: likelier explanations are listed"""
    most_sites: int = Field(default=12, ge=1)
    """sites listed for one sighting"""


class PublishingSettings(_Section):
    """What is released."""

    release_precision_degrees: _PositiveShare = 0.001
    """degrees: the grid of released coordinates"""
    occurrence_status: Literal["detected", "present"] = "present"
    """or detected (Darwin Core of 2026-05-26); docs/exports.md"""
    basis_of_record: Literal["MachineObservation", "HumanObservation"] = "HumanObservation"
    """or MachineObservation; docs/exports.md explains the choice"""
    private_home_precision_degrees: _PositiveShare = 0.01
    """degrees: the grid for homes and gardens"""
    include_unnamed: bool = False
    """release sightings that nobody has named, as the order Odonata"""
    include_doubted: bool = False
    """release, with a remark, what hangs on an open question"""
    institution_code: str = ""
    """who answers for the records, as exports name it"""
    rights_holder: str = ""
    """who holds the rights in the records"""
    publish_reply_address: bool = False
    """whether exports give the reply address"""
    media_base_uri: str = ""
    """where the folder media of a release will stand on the web"""
    licence: str = ""
    """of the data, as a URI"""
    default_photo_licence: str = ""
    """of photos whose sender stated none; empty: they are not released"""
    asked_photo_licence: str = "https://creativecommons.org/licenses/by/4.0/"
    """what --ask publish asks for"""


class Settings(_Section):
    """The whole of survey.toml."""

    survey: SurveySettings = SurveySettings()
    intake: IntakeSettings = IntakeSettings()
    sightings: SightingSettings = SightingSettings()
    queue: QueueSettings = QueueSettings()
    determinations: DeterminationSettings = DeterminationSettings()
    matching: MatchingSection = MatchingSection()
    publishing: PublishingSettings = PublishingSettings()


_WORDS = {  # by the checker's kind of mistake, with its limits
    "extra_forbidden": "unknown setting",
    "greater_than": "must be more than {gt}",
    "greater_than_equal": "must be at least {ge}",
    "less_than": "must be less than {lt}",
    "less_than_equal": "must be at most {le}",
    "literal_error": "must be {expected}",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
    "finite_number": "must be a number",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "string_type": "must be a text in quotation marks",
    "tuple_type": "must be a list in square brackets",
    "model_type": "must be a section of settings",
    "too_long": "must be a list of {max_length} values",
    "missing": "a value is missing from the list",
}


def _in_our_words(mistake: ErrorDetails) -> str:
    """What is wrong with a setting; a check of ours says so itself."""
    if mistake["type"] == "value_error":
        return mistake["msg"].removeprefix("Value error, ")
    words = _WORDS.get(mistake["type"], "the value cannot be used")
    return words.format_map(mistake.get("ctx", {}))


def mistakes(typed: Mapping[str, Mapping[str, Any]]) -> dict[str, str]:
    """What is wrong with each setting that cannot be used, by its whole name; empty if nothing."""
    try:
        Settings.model_validate(typed)
    except ValidationError as error:
        return {
            ".".join(str(step) for step in one["loc"][:2]): _in_our_words(one)
            for one in reversed(error.errors())
        }
    return {}


RETIRED = (  # section and name
    ("intake", "forwarders"),
    ("queue", "days_to_rise"),
    ("queue", "same_sender_damping"),
)


def read_settings(path: Path) -> Settings:
    """Read and check survey.toml; a missing file means the defaults.

    Settings of earlier versions that are no more are passed over, so that a survey still opens.

    Raises
    ------
    SettingsError
        With the name of the first setting that is unknown, malformed or out of range.
    """
    if not path.exists():
        return Settings()
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        why = "its brackets are nested too deep" if isinstance(error, RecursionError) else error
        raise SettingsError(
            f"the file is not valid TOML ({why})",
            failing=str(path),
            next_step="Correct that line; 'triage init' in an empty folder shows a whole file.",
        ) from error
    for section, name in RETIRED:
        held = raw.get(section)
        if isinstance(held, dict):
            held.pop(name, None)
    try:
        return Settings.model_validate(raw)
    except ValidationError as error:
        first = error.errors()[0]
        name = ".".join(str(step) for step in first["loc"])
        raise SettingsError(
            f"setting {name}: {_in_our_words(first)}",
            failing=str(path),
            next_step="Correct or delete that line, then try again.",
        ) from error


def changes_of(before: Settings, after: Settings) -> list[str]:
    """What differs, from what to what, for the log."""
    return [
        f"{section}.{name}: {_said(old)} is now {_said(new)}"
        for section in type(before).model_fields
        for name, old in dict(getattr(before, section)).items()
        if old != (new := getattr(getattr(after, section), name))
    ]


def _said(value: object) -> str:
    return str(value) if value not in ("", None) else "nothing"


_HEAD = (
    "# Settings of this survey. Every value may be changed;"
    " a mistake is named when the survey opens."
)
_COLUMN = 32  # where the meaning of a setting stands beside its value


def write_default_settings(path: Path, *, title: str, identifier: str = "") -> None:
    """Write the defaults, each with its meaning, unless the file exists."""
    if path.exists():
        return
    survey = Settings().survey.model_copy(update={"title": title, "identifier": identifier})
    text = settings_text(Settings().model_copy(update={"survey": survey}))
    path.write_text(text, encoding="utf-8", newline="\n")


def replace_settings(path: Path, settings: Settings) -> None:
    """Write the settings whole in the place of the earlier file, which is kept as ``.before``."""
    with whole_files.written(path) as part:
        part.write_text(settings_text(settings), encoding="utf-8", newline="\n")
        whole_files.flush(part)
        if path.exists():
            shutil.copyfile(path, path.with_name(path.name + ".before"))


def settings_text(settings: Settings) -> str:
    """The settings as TOML: a heading for each section, a line with its meaning for each value."""
    lines = [_HEAD]
    for section in type(settings).model_fields:
        lines += ["", f"[{section}]", *_section_lines(getattr(settings, section))]
    return "\n".join(lines) + "\n"


def _section_lines(section: BaseModel) -> Iterator[str]:
    for name, field in type(section).model_fields.items():
        value = getattr(section, name)
        if value is None:  # TOML has no word for nothing: an example that counts once it is opened
            line = f"# {name} = {_toml((field.examples or [''])[0])}"
        else:
            line = f"{name} = {_toml(value)}"
        yield f"{line:<{_COLUMN - 1}} # {field.description}" if field.description else line


def _toml(value: object) -> str:
    """A value in TOML 1.0; its strings, numbers, truth values and lists are written as in JSON."""
    if isinstance(value, float) and value == int(value):
        value = int(value)
    plain = list(value) if isinstance(value, tuple) else value
    return json.dumps(plain, ensure_ascii=False).replace("\x7f", "\\u007f")
