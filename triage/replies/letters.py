"""Puts together what goes back to a volunteer: what their sightings were, and what is still open.

Pure text: what may be said of places, and whether a determination stands, is decided before.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from triage.replies import wording
from triage.replies.envelope import one_line
from triage.standards.cautions import cautions
from triage.standards.letters import alphabetical

Wish = Literal["", "lateral", "dorsal", "nearer", "sharper"]
OpenKind = Literal["place", "date", "original", "identity"]

NEAR_ENOUGH_PIXELS = 300  # length of the insect; common practice, no source
SHARP_ENOUGH = 0.5  # focus of the insect; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterSighting:
    """One settled sighting, as its own observer may hear of it.

    ``day`` is ISO or empty. ``place`` is a name that may be said; ``private`` a place that is not
    named even to its owner, since letters are passed on; ``located`` whether the place is known at
    all. ``name`` is the accepted name as it is written, empty where the sighting could not be
    named; ``short_name`` the same without a vernacular. ``reason`` is the determiner's, without
    names. ``bred_at`` is a water where its skins were found, ``bred_here`` whether that is this
    very water, ``searched`` whether anybody looked at the nearest waters.
    """

    identifier: str
    day: str = ""
    place: str = ""
    private: bool = False
    located: bool = False
    name: str = ""
    short_name: str = ""
    doubtful: bool = False
    coarse: bool = False
    reason: str = ""
    bred_at: str = ""
    bred_years: tuple[int, ...] = ()
    bred_here: bool = False
    searched: bool = False
    first: Literal["", "survey", "water"] = ""
    wish: Wish = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenQuestion:
    """Something a photo still lacks; ``picture`` names the small copy that goes along."""

    file_name: str
    day: str
    kind: OpenKind
    picture: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """What one person saw in a year, or all of them: counts by month, firsts, waters and skins."""

    year: int
    months: Mapping[int, int]
    firsts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Writer:
    """Who writes: the survey, the name below the text, and the survey's own templates."""

    survey: str
    name: str = ""
    templates: Path | None = None


def wish_for(
    *, named_to_species: bool, has_dorsal: bool, has_lateral: bool, pixels: float, focus: float
) -> Wish:
    """The one picture that would have helped a sighting which is not named to its species.

    ``pixels`` is the length of the insect and ``focus`` that of the insect (1 sharp, 0 blurred),
    of the best photo.

    >>> wish_for(named_to_species=False, has_dorsal=True, has_lateral=False, pixels=900, focus=0.9)
    'lateral'
    """
    if named_to_species:
        return ""
    if pixels < NEAR_ENOUGH_PIXELS:
        return "nearer"
    if focus < SHARP_ENOUGH:
        return "sharper"
    if not has_lateral:
        return "lateral"
    return "" if has_dorsal else "dorsal"


def thanks(
    recipient: str,
    sightings: Sequence[LetterSighting],
    questions: Sequence[OpenQuestion],
    *,
    writer: Writer,
    language: str,
) -> str:
    """The text of a letter of thanks over sightings that were settled since the last one."""
    phrases = wording.phrases(language)
    return wording.filled(
        wording.template("thanks", language, writer.templates),
        {
            "recipient": one_line(recipient),
            "survey": one_line(writer.survey),
            "asker": one_line(writer.name) or one_line(writer.survey),
            "sightings": _sightings(sightings, phrases, language),
            "questions": _questions(questions, phrases, language),
            "wishes": _wishes(sightings, phrases, language),
        },
    )


def season_letter(
    recipient: str,
    season: Season,
    sightings: Sequence[LetterSighting],
    questions: Sequence[OpenQuestion],
    *,
    writer: Writer,
    language: str,
) -> str:
    """The text of a person's letter about a year, by date and water."""
    phrases = wording.phrases(language)
    plain = [replace(one, wish="") for one in sightings]
    firsts = wording.say(phrases["firsts"], names=", ".join(season.firsts))
    return wording.filled(
        wording.template("season", language, writer.templates),
        {
            "recipient": one_line(recipient),
            "survey": one_line(writer.survey),
            "asker": one_line(writer.name) or one_line(writer.survey),
            "year": str(season.year),
            "count": _counted("count", len(sightings), phrases),
            "sightings": _sightings(plain, phrases, language),
            "firsts": firsts if season.firsts else "",
            "plot": plot_text(season, language),
            "questions": _questions(questions, phrases, language),
        },
    )


def plot_text(season: Season, language: str) -> str:
    """What the attached plot shows, in words: its text alternative."""
    if not season.months:
        return ""
    phrases = wording.phrases(language)
    names = phrases["month_names"].split()
    months = ", ".join(
        wording.say(phrases["month"], number=str(count), month=names[month - 1])
        for month, count in sorted(season.months.items())
    )
    return wording.say(phrases["plot"], months=months)


def season_of_all(
    season: Season,
    *,
    sightings: int,
    named: int,
    people: int,
    by_water: Mapping[str, Counter[str]],
    bred: Sequence[str],
    writer: Writer,
    language: str,
) -> str:
    """The text of the letter for everybody: what was found where, with released places alone.

    What is not in ``by_water`` of the ``named`` lies elsewhere, or at waters that are not told.
    """
    phrases = wording.phrases(language)
    lines = [
        wording.say(
            "- " + phrases["water"],
            water=one_line(water),
            names=", ".join(f"{name} ({number})" for name, number in sorted(names.items())),
        )
        for water, names in sorted(by_water.items(), key=lambda one: alphabetical(one[0]))
    ]
    untold = named - sum(names.total() for names in by_water.values())
    if untold:  # so that the list adds up to what the letter says before it
        lines.append(wording.say("- " + phrases["elsewhere"], number=str(untold)))
    proof = wording.say(phrases["breeding"], names=", ".join(bred))
    return wording.filled(
        wording.template("season-of-all", language, writer.templates),
        {
            "survey": one_line(writer.survey),
            "asker": one_line(writer.name) or one_line(writer.survey),
            "year": str(season.year),
            "count": _counted("count", sightings, phrases),
            "people": _counted("people", people, phrases),
            "named": _counted("named", named, phrases),
            "waters": "\n".join(lines),
            "exuviae": proof if bred else phrases["no_breeding"],
            "cautions": "\n".join(f"- {line}" for line in cautions(language)),
        },
    )


def name_words(one: LetterSighting, language: str) -> str:
    """What a sighting was determined as, and how surely, in words."""
    phrases = wording.phrases(language)
    name, reason = one_line(one.name), one_line(one.reason).rstrip(".")
    if not name:
        key = "undeterminable" if reason else "undeterminable_plain"
        return wording.say(phrases[key], reason=reason)
    if one.doubtful:
        return wording.say(phrases["doubt"], name=name)
    if one.coarse:
        key = "coarse" if reason else "coarse_plain"
        return wording.say(phrases[key], name=name, reason=reason)
    return name


def _sightings(
    sightings: Sequence[LetterSighting], phrases: Mapping[str, str], language: str
) -> str:
    ordered = sorted(sightings, key=lambda one: (one.day, one.place, one.identifier))
    return "\n".join(line for one in ordered for line in _lines(one, phrases, language))


def _lines(one: LetterSighting, phrases: Mapping[str, str], language: str) -> list[str]:
    place = phrases["private_place"] if one.private else one_line(one.place)
    unnamed = phrases["photo_place" if one.located else "unknown_place"]
    lines = [
        wording.say(
            phrases["sighting"],
            day=wording.day_words(one.day, language) or phrases["unknown_day"],
            place=place or unnamed,
            name=name_words(one, language),
        )
    ]
    if one.bred_at:
        key = "bred" if one.bred_here else "bred_nearby"
        key = "bred_perhaps" if one.doubtful else key
        years = ", ".join(map(str, one.bred_years))
        lines.append(wording.say(phrases[key], water=one_line(one.bred_at), years=years))
    elif one.name and one.searched:
        lines.append(phrases["not_bred"])
    if one.first == "survey":
        lines.append(wording.say(phrases["first"], name=one_line(one.short_name)))
    elif one.first == "water" and place and not one.private:
        lines.append(wording.say(phrases["first_at"], water=place))
    return lines


def _wishes(sightings: Sequence[LetterSighting], phrases: Mapping[str, str], language: str) -> str:
    """One sentence for each sighting that a picture would have helped, and how to take it."""
    lines = []
    for one in sightings:
        if one.wish:
            which = ", ".join(
                filter(None, (wording.day_words(one.day, language), one_line(one.place)))
            )
            which = which or phrases["unknown_day"]
            lines.append(wording.say(phrases[f"wish_{one.wish}"], which=which))
    return "\n".join([*lines, phrases["wish_care"]]) if lines else ""


def _questions(questions: Sequence[OpenQuestion], phrases: Mapping[str, str], language: str) -> str:
    if not questions:
        return ""
    lines = [phrases["questions" if len(questions) == 1 else "questions_many"]]
    asked: dict[OpenQuestion, list[str]] = {}
    for one in questions:
        about = replace(one, kind="place")  # one line for a file, whatever it lacks
        asked.setdefault(about, []).append(phrases[f"q_{one.kind}"])
    for one, whats in asked.items():
        line = wording.say(
            phrases["question"],
            file=one_line(one.file_name),
            day=wording.day_words(one.day, language) or phrases["unknown_day"],
            what=" ".join(whats),
        )
        picture = wording.say(phrases["picture"], name=one.picture) if one.picture else ""
        lines.append(" ".join(filter(None, (line, picture))))
    return "\n".join(lines)


def _counted(what: str, number: int, phrases: Mapping[str, str]) -> str:
    key = f"{what}_one" if number == 1 else f"{what}_many"
    return wording.say(phrases[key], number=str(number))
