"""Open the survey for the length of a request, and know the person who asks."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import replace
from datetime import datetime
from typing import TypedDict, get_args
from urllib.parse import unquote

from flask import Flask, current_app, g, request

from triage.desk.work import BusyError, Work
from triage.errors import ChangedMeanwhileError, UnknownError
from triage.pipeline import sites, undo, walk
from triage.pipeline.tables import Kind
from triage.standards.digests import short_digest_of
from triage.store import people
from triage.store.actions import Action, Undone, newest_of
from triage.store.connection import Survey, open_survey

NAME_LENGTH = 80  # characters of a person's name
LONGEST = 5000  # characters of one field; more is no remark, but something pasted by mistake


def install(app: Flask) -> None:
    """Have each request's connection closed at its end."""

    @app.teardown_request
    def close(_: BaseException | None) -> None:
        stack = g.pop("opened", None)
        if stack is not None:
            stack.close()


def survey() -> Survey:
    """The survey, opened once for this request."""
    if "survey" not in g:
        g.opened, g.closed = ExitStack(), True
        g.survey = g.opened.enter_context(open_survey(current_app.config["SURVEY_FOLDER"]))
        g.closed = False
    found: Survey = g.survey
    return found


def title() -> str:
    """The survey's title; nothing on a page that says why the survey cannot be opened."""
    return "" if g.get("closed") else survey().settings.survey.title


def now() -> datetime:
    """The desk's one clock."""
    moment: datetime = current_app.config["NOW"]()
    return moment


def work() -> Work:
    """The desk's one piece of long work."""
    found: Work = current_app.extensions["work"]
    return found


def renew() -> None:
    """What rests on tables follows them: at once in a small survey, else beside the server."""
    if sites.places_are_long_work(survey()):
        with suppress(BusyError):
            work().begin(())
    else:
        walk.renew(survey(), now=now())


def typed(name: str, most: int = LONGEST) -> str:
    """What stands in a field of the form, whole.

    Raises
    ------
    UnknownError
        If it is too long: it is never cut.
    """
    text = request.form.get(name, "").replace("\r\n", "\n")
    if len(text) > most:
        raise UnknownError(
            f"this has {len(text):,} characters, and a field takes {most:,}",
            failing=f"{text[:60]} …",
            next_step="Nothing of it is recorded. Shorten it, then press the button again.",
        )
    return text


def person() -> str:
    """The name for the log: a shared desk's key names it, else what was typed in this browser."""
    by_key: str = g.get("key_name", "")
    if by_key:
        return by_key
    return clean_name(unquote(request.cookies.get(cookie("who"), "")))


def known_person() -> str:
    """The name for the log, which an action needs.

    Raises
    ------
    UnknownError
        If nobody said who is at the desk.
    """
    name = person()
    if not name:
        raise UnknownError(
            "nobody has said who is at the desk",
            failing="your name",
            next_step="Type it at the top of the page; it is logged with what you do.",
        )
    return name


class Signed(TypedDict):
    """Who acts, and when, as every action takes it."""

    by: str
    now: datetime


def signed() -> Signed:
    """Signs an action with the person at the desk, who must be known."""
    return {"by": known_person(), "now": now()}


def state_of(*shown: object) -> str:
    """What a page showed, short, for its form's field "seen" (``unchanged``)."""
    return short_digest_of(repr(shown))


@contextmanager
def unchanged(stands: Callable[[], Container[str]]) -> Iterator[None]:
    """Do what a form says of what its page showed, with nothing in between; else refuse.

    ``stands`` gives what the form's field "seen" may hold as things stand now.

    Raises
    ------
    ChangedMeanwhileError
        If somebody, or another tab, changed since what the page shows.
    """
    with survey().transaction():
        refuse_an_old_page(stands())
        yield


def refuse_an_old_page(stands: Container[str]) -> None:
    """Refuse what a form says of what is no longer so: its field "seen" must be one of these.

    Raises
    ------
    ChangedMeanwhileError
        If somebody, or another tab, changed since what the page shows.
    """
    if request.form.get("seen", "") not in stands:
        raise ChangedMeanwhileError(
            "what the page showed was changed meanwhile, by somebody else or in another tab",
            failing="nothing more was recorded",
            next_step="Load the page again: what you typed will stand beside what is there.",
        )


def last_action() -> Action | None:
    """What undoing would take back, with people's names; nothing while nobody is known here."""
    last = newest_of(survey(), by=person()) if person() else None
    return last and replace(last, summary=people.with_names(survey(), last.summary)[0])


def take_back() -> Undone:
    """Take back this person's action of the number sent, or bring back what their undo took."""
    return renewed(undo.take_back(survey(), request.form.get("number", ""), **signed()))


def renewed(undone: Undone) -> Undone:
    """What was taken back; what rests on a table that it was follows."""
    if undone.taken.command in (*get_args(Kind), "undo"):
        renew()
    return undone


def clean_name(text: str) -> str:
    """A name without characters that cannot be seen, and not too long."""
    seen = "".join(one if one.isprintable() else " " for one in text)
    return " ".join(seen.split())[:NAME_LENGTH]


def blind() -> bool:
    """Whether this browser, or the survey, wants determinations without names and places."""
    if survey().settings.determinations.blind:
        return True
    return request.cookies.get(cookie("blind"), "") == "yes"


def cookie(name: str) -> str:
    """A cookie's name: cookies are shared by all ports of a host, so the port is in it."""
    port = request.host.rpartition(":")[2] if ":" in request.host.rpartition("]")[2] else "80"
    return f"desk_{port}_{name}"
