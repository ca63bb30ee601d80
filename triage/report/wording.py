"""The words of a report: those of words.toml, and names of sites, days and taxa."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from triage.report.material import Material
from triage.standards.data_files import toml_of

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def written(name: str) -> dict[str, Any]:
    """What a file of words in this package holds, words.toml or tables.toml."""
    return toml_of("triage.report", name)


def plot_words(plot: str, **told: object) -> dict[str, str]:
    """Title and caption of a plot, with what it tells of the survey."""
    words = written("words.toml")["plots"][plot]
    return {part: words[part].format(**told) for part in ("title", "caption")}


def site_labels(material: Material) -> dict[str, str]:
    """The labels of all sites that are shown; a locality that two share carries its identifier."""
    names = {
        site.location_id: material.release.place_text(site.locality) or site.location_id
        for site in material.content.sites
    }
    shared = {name for name in names.values() if list(names.values()).count(name) > 1}
    return {key: f"{name} ({key})" if name in shared else name for key, name in names.items()}


PLOT_LETTERS = 30  # of a site's name beside a plot; the plot's file has the whole name


def plot_labels(material: Material) -> dict[str, str]:
    """Labels of sites where room is short, cut in the middle; two that look alike differ."""
    labels = site_labels(material)
    short = {key: shortened(label) for key, label in labels.items()}
    shown = list(short.values())
    return {
        key: f"{shortened(labels[key], PLOT_LETTERS - len(key) - 3)} ({key})"
        if shown.count(label) > 1
        else label
        for key, label in short.items()
    }


def shortened(name: str, most: int = PLOT_LETTERS) -> str:
    """A name in at most so many letters, an ellipsis for its middle.

    >>> shortened("Alder Pool"), shortened("The old brickworks pond by the railway", 20)
    ('Alder Pool', 'The old bric…railway')
    """
    most = max(most, 9)
    if len(name) <= most:
        return name
    end = (most - 1) * 2 // 5
    return f"{name[: most - 1 - end].rstrip()}\N{HORIZONTAL ELLIPSIS}{name[-end:]}"


def day_of_year(day: float) -> str:
    """A day of the year for people, also of the next year; an en dash where there is none.

    >>> day_of_year(152.0), day_of_year(366.0), day_of_year(380.0)
    ('1 Jun', '31 Dec', '15 Jan')
    """
    if day != day:
        return "\N{EN DASH}"
    whole = round(day)
    return _in_words(date(2025, 1, 1) + timedelta(days=364 if whole == 366 else whole - 1))


def month_and_day(text: str) -> str:
    """A month and day such as 05-20 for people.

    >>> month_and_day("05-20")
    '20 May'
    """
    if not text:
        return ""
    return _in_words(date.fromisoformat(f"2025-{text}"))


def _in_words(when: date) -> str:
    return f"{when.day} {MONTHS[when.month - 1]}"


def days(first: str, last: str) -> str:
    """A stretch of days of the year such as 05-20 and 06-10.

    >>> days("05-20", "06-10")
    '20 May to 10 Jun'
    """
    if not first:
        return "not known"
    return f"{month_and_day(first)} to {month_and_day(last)}"


def dates(first: str, last: str) -> str:
    """One ISO day, or two."""
    return first if first == last or not last else f"{first} to {last}"
