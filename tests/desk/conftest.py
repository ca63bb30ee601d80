"""A real browser on a served desk: made once a session, a fresh window for each test."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from desk.desks import PATIENCE, come_in, desk_of
from flask.testing import FlaskClient
from tests_support import DEMO, NOW, own_ports

from triage.bench.desk_browser import chromium_program, serving
from triage.demo.walk import import_tables
from triage.desk import create_app
from triage.pipeline import walk
from triage.store.connection import create_survey, open_survey

CHROMIUM = chromium_program()


@pytest.fixture(scope="session")
def evening_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey on the evening after all mail of the demo came: every need and a long queue."""
    folder = tmp_path_factory.mktemp("evening")
    create_survey(folder / "survey", title="Linnet Water Survey")
    settings = folder / "survey" / "survey.toml"
    text = settings.read_text(encoding="utf-8")
    address = 'reply_address = "linnet@example.org"'
    settings.write_text(text.replace('reply_address = ""', address), encoding="utf-8")
    with open_survey(folder / "survey") as survey:
        import_tables(survey, DEMO, now=NOW)
    walk.run([DEMO / "inbox.mbox"], folder / "survey", now=NOW, processes=0)
    return folder / "survey"


@pytest.fixture
def evening(evening_once: Path, tmp_path: Path) -> Path:
    """A copy of that survey for one test."""
    shutil.copytree(evening_once, tmp_path / "survey")
    return tmp_path / "survey"


@pytest.fixture
def client(walked: Path) -> FlaskClient:
    """A browser on the walked survey's desk, at which somebody has said who it is."""
    return come_in(desk_of(walked))


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Serve the desk of a survey as `triage desk` does."""
    with serving(create_app(folder, now=lambda: NOW)) as place:
        yield place


def own_port() -> int:
    """A port for a desk that is to come back under it."""
    return own_ports(1)[0]


@contextmanager
def started(folder: Path, port: int) -> Iterator[str]:
    """The desk as a program of its own, killed at the end as by a power cut."""
    code = "from triage.cli import entry_point; entry_point()"
    options = ["--survey", str(folder), "--port", str(port), "--no-browser"]
    program = subprocess.Popen(
        [sys.executable, "-c", code, "desk", *options], stderr=subprocess.PIPE, text=True
    )
    assert program.stderr is not None
    reading = threading.Thread(target=program.stderr.read, daemon=True)
    try:
        assert f":{port}/" in program.stderr.readline()
        reading.start()  # so that it never waits for us
        yield f"http://127.0.0.1:{port}"
    finally:
        program.kill()
        program.wait(PATIENCE)
        if reading.ident is not None:
            reading.join(PATIENCE)
        program.stderr.close()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """The system's Chromium, without a window."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        browser = player.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox"], timeout=PATIENCE * 1000
        )
        yield browser
        browser.close()


Window = Callable[..., Any]

# How Chromium names an answer that broke off: a test's server may end, or be killed, while its
# window still loads pictures. A host that is not known or was refused by the page's policy has
# other names and still fails the test.
CUT_OFF = tuple(
    f"net::ERR_{end}"
    for end in (
        "ABORTED",
        "CONNECTION",
        "CONTENT_LENGTH_MISMATCH",
        "EMPTY_RESPONSE",
        "INCOMPLETE",
        "INVALID_HTTP_RESPONSE",
        "NETWORK",
        "SOCKET",
        "TIMED_OUT",
    )
)


@pytest.fixture
def window(chromium: Any) -> Iterator[Window]:
    """Open a window of a size and theme; whatever its console complains of fails the test."""
    opened: list[Any] = []
    complaints: list[str] = []

    def open_window(width: int = 1440, height: int = 900, theme: str = "light") -> Any:
        place = chromium.new_context(
            viewport={"width": width, "height": height},
            color_scheme=theme,
            reduced_motion="reduce",
        )
        page = place.new_page()
        page.set_default_timeout(PATIENCE * 1000)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else 0)
        opened.append(place)
        return page

    yield open_window
    for place in opened:
        place.close()
    wrong = [
        c
        for c in complaints
        if not any(end in c for end in (*CUT_OFF, "status of 4", "status of 503"))
    ]
    assert wrong == []


def come_in_by_page(page: Any, place: str, path: str, name: str = "Ada Moor") -> None:
    """Open a room and say who is there, as a person does, and if asked that it is nobody else."""
    page.goto(place + path)
    page.fill("main input[name=name]", name)
    page.click("main .who-form button")
    somebody_else = page.get_by_role("button", name=f"I am somebody else: {name}")
    known = page.locator(".menu summary")
    until(page, lambda: bool(somebody_else.count() or known.count()))
    if somebody_else.count():
        somebody_else.click()
    known.wait_for()
    page.wait_for_selector("html[data-ready]")


def to_determine(page: Any, place: str, name: str = "Ada Moor") -> None:
    """Open the determiner's room, until the first sighting is there."""
    come_in_by_page(page, place, "/determine/", name)
    page.wait_for_selector("#room:not([data-sighting='']) #pictures img")


def to_need(page: Any, need: str) -> None:
    """Open the first message of the inbox's list that has this need."""
    page.goto(
        page.locator(f"#list section:has(h2:has-text('{need}')) a").first.evaluate("n => n.href")
    )
    page.wait_for_selector("html[data-ready]")


def in_hand(page: Any) -> str:
    """The sighting that the determiner's room shows; empty where nothing waits."""
    return str(page.locator("#room").get_attribute("data-sighting"))


def until(page: Any, holds: Callable[[], bool]) -> None:
    """Wait until something holds of a page; its policy forbids the browser's own way (eval)."""
    from playwright.sync_api import Error

    end = time.monotonic() + PATIENCE
    while True:
        try:
            if holds():
                return
        except Error as error:  # asked while the page went to another
            if "context was destroyed" not in str(error) and "navigat" not in str(error):
                raise
        assert time.monotonic() < end, "it did not come to be"
        page.wait_for_timeout(40)


def drawn(page: Any) -> None:
    """Wait until every picture that the page shows is there, or has failed."""
    shown = "all => all.every(n => n.complete || !n.checkVisibility() || n.loading === 'lazy')"
    until(page, lambda: bool(page.locator("img").evaluate_all(shown)))


def photographed(page: Any, name: str) -> None:
    """Write a screenshot where a person can look at it: $TRIAGE_SCREENSHOTS, if that is set."""
    folder = os.environ.get("TRIAGE_SCREENSHOTS", "")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=Path(folder) / f"{name}.png")
