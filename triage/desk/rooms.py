"""The desk's rooms in the order of the work: add a room here, and it stands in the navigation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from flask import Flask

from triage.desk import (
    arrivals,
    determine,
    entrance,
    imports,
    inbox,
    jars,
    letters,
    records,
    sites,
    survey_letters,
    survey_outputs,
    survey_room,
    survey_settings,
)

if TYPE_CHECKING:
    from flask import Blueprint


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """One room: its word in the navigation and where it begins."""

    title: str
    blueprint: Blueprint

    @property
    def endpoint(self) -> str:
        """The page on which the room opens."""
        return f"{self.blueprint.name}.start"


PAGES_OF_THE_SURVEY = (
    survey_letters,
    survey_outputs,
    survey_settings,
)  # they add their pages to its room

ROOMS: tuple[Room, ...] = (
    Room(title="Inbox", blueprint=inbox.room),
    Room(title="Determine", blueprint=determine.room),
    Room(title="Jars", blueprint=jars.room),
    Room(title="Sites", blueprint=sites.room),
    Room(title="Survey", blueprint=survey_room.room),
)


def install(app: Flask) -> None:
    """Register every room and tell the navigation of them."""
    app.register_blueprint(entrance.room)
    app.register_blueprint(arrivals.room)
    app.register_blueprint(records.room)
    app.register_blueprint(imports.room)
    app.register_blueprint(letters.room)
    for one in ROOMS:
        app.register_blueprint(one.blueprint)
    app.context_processor(lambda: {"rooms": ROOMS})
