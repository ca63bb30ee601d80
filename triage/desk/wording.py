"""What the pages call things: the filters and words that every template may use."""

from __future__ import annotations

from flask import Flask, request

from triage.desk import keys, opened


def install(app: Flask) -> None:
    """Give every page its person, theme, keys and the survey's title."""
    app.jinja_env.filters["count"] = count
    app.jinja_env.filters["metres"] = metres

    @app.context_processor
    def everywhere() -> dict[str, object]:
        return {
            "person": opened.person(),
            "theme": request.cookies.get(opened.cookie("theme"), ""),
            "keys_everywhere": keys.EVERYWHERE,
            "survey_title": opened.survey().settings.survey.title,
        }


def count(number: int, one: str, many: str = "") -> str:
    """A number with its noun, such as "1 photo" and "2 photos".

    Examples
    --------
    >>> count(1, "photo"), count(2, "photo"), count(0, "visit")
    ('1 photo', '2 photos', '0 visits')
    """
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def metres(distance: float) -> str:
    """A distance as said: metres below a kilometre, kilometres above.

    Examples
    --------
    >>> metres(8.4), metres(1407.0)
    ('8 m', '1.4 km')
    """
    return f"{distance:.0f} m" if distance < 1000 else f"{distance / 1000:.1f} km"
