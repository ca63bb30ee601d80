"""Make the pictures of the desk in docs/ anew: walks the demo's mail and photographs the rooms.

    python tools/pictures.py                 # writes docs/pictures/desk-*.jpg
    python tools/pictures.py --to FOLDER     # writes them elsewhere, to be compared first

Needs the system's Chromium and the extra `dev`. Every room is opened as its user opens it; what is
typed for a picture is typed with the keyboard.
"""

from __future__ import annotations

import argparse
import io
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import sync_playwright
from waitress import create_server

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from triage.bench.desk_browser import chromium_program  # noqa: E402
from triage.demo.walk import determine_some, import_tables  # noqa: E402
from triage.desk import create_app  # noqa: E402
from triage.pipeline import match, queueing, walk  # noqa: E402
from triage.store.connection import create_survey, open_survey  # noqa: E402

DEMO = ROOT / "demo_photos"
NOW = datetime(2026, 11, 1, 12, 0, tzinfo=UTC)  # an evening after the demo's season
WIDE = 1200  # pixels of a picture in docs, at most
MOST_BYTES = 150_000
WINDOW = {"width": 1440, "height": 900}
NARROW = {"width": 390, "height": 844}


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--to", type=Path, default=ROOT / "docs" / "pictures")
    to = options.parse_args().to
    to.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "survey"
        make_survey(folder)
        with served(folder) as place, sync_playwright() as player:
            browser = player.chromium.launch(
                executable_path=chromium_program(), args=["--no-sandbox"]
            )
            coordinator(Visitor(browser, place, "Ada Moor"), to)
            determiner(Visitor(browser, place, "Ida Kvist"), to)
            name_some(folder)
            analyst(Visitor(browser, place, "Ada Moor"), to)
            browser.close()


def make_survey(folder: Path) -> None:
    """The demo's survey on the evening after all its mail came."""
    create_survey(folder, title="Linnet Water Survey")
    settings = folder / "survey.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(
        text.replace('reply_address = ""', 'reply_address = "linnet@example.org"'), encoding="utf-8"
    )
    with open_survey(folder) as survey:
        import_tables(survey, DEMO, now=NOW)
    walk.run([DEMO / "inbox.mbox"], folder, now=NOW)


def name_some(folder: Path) -> None:
    """Name every second sighting, as the demo does, so that there is something on the map."""
    with open_survey(folder) as survey:
        determine_some(survey, DEMO / "truth.csv", now=NOW)
        match.match(survey)
        queueing.queue(survey, now=NOW)


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The desk of a survey, for as long as it is photographed."""
    server: Any = create_server(create_app(folder, now=lambda: NOW), host="127.0.0.1", port=0)
    threading.Thread(target=server.run, daemon=True).start()
    yield f"http://127.0.0.1:{server.effective_port}"


class Visitor:
    """A person at a browser of their own."""

    def __init__(self, browser: Any, place: str, name: str) -> None:
        context = browser.new_context(
            viewport=WINDOW, color_scheme="light", reduced_motion="reduce"
        )
        self.page, self.place = context.new_page(), place
        self.page.set_default_timeout(300_000)
        self.page.goto(place + "/survey/")
        self.page.fill("main input[name=name]", name)
        with self.page.expect_navigation():
            self.page.click("main .who-form button")

    def go(self, path: str, wait_for: str = "main") -> None:
        self.page.goto(self.place + path)
        self.page.wait_for_selector(wait_for)

    def photograph(self, path: Path) -> None:
        """Write the window as it is seen, as the finest JPEG that keeps within the bound."""
        self.page.wait_for_load_state("networkidle")
        self.page.wait_for_timeout(500)  # the last picture is decoded
        with Image.open(io.BytesIO(self.page.screenshot())) as shot:
            picture = shot.convert("RGB")
        picture.thumbnail((WIDE, 10_000), Image.Resampling.LANCZOS)
        for quality in range(90, 30, -4):
            held = io.BytesIO()
            picture.save(held, "JPEG", quality=quality, optimize=True, progressive=True)
            if held.tell() < MOST_BYTES:
                break
        path.write_bytes(held.getvalue())
        print(f"{path.name}: {picture.width} x {picture.height}, {held.tell():,} bytes")


def coordinator(visitor: Visitor, to: Path) -> None:
    """The inbox: a name that two waters share, and a clock that the mail itself calls wrong."""
    visitor.go("/inbox/", "#decision")
    for subject, name in (("Mill Pond", "desk-inbox.jpg"), ("Clock", "desk-inbox-clock.jpg")):
        message = visitor.page.locator("#list [data-message]", has_text=subject)
        visitor.page.goto(message.first.evaluate("n => n.href"))
        visitor.photograph(to / name)


def determiner(visitor: Visitor, to: Path) -> None:
    """Two views beside each other with a name half typed; the keys; the other theme; two heaps."""
    page = visitor.page
    to_two_views(visitor)
    page.keyboard.type("anim")
    page.wait_for_selector("#candidates li")
    page.keyboard.press("Enter")  # no name is chosen for anybody: the page says how
    visitor.photograph(to / "desk-determine.jpg")
    page.keyboard.press("Escape")
    page.keyboard.press("?")
    visitor.photograph(to / "desk-keys.jpg")
    page.keyboard.press("Escape")
    page.emulate_media(color_scheme="dark")
    page.keyboard.press("F9")
    visitor.photograph(to / "desk-determine-dark.jpg")
    page.keyboard.press("Escape")
    page.emulate_media(color_scheme="light")
    page.set_viewport_size(NARROW)
    visitor.go("/determine/", "#pictures img")
    visitor.photograph(to / "desk-narrow.jpg")


def to_two_views(visitor: Visitor) -> None:
    """Put off sightings until one with a back view and one from aside stands there."""
    page = visitor.page
    visitor.go("/determine/", "#pictures img")
    views = "all => all.slice(0, 2).map(n => n.dataset.view).join(' ')"
    wanted = {"dorsal lateral", "dorsal oblique"}
    while page.locator("#pictures .pane").evaluate_all(views) not in wanted:
        before = page.locator("#room").get_attribute("data-sighting")
        page.keyboard.press("/")
        page.wait_for_selector(f"#room:not([data-sighting='{before}']):not([hidden])")


def analyst(visitor: Visitor, to: Path) -> None:
    """A jar's label half typed, a site with what speaks of it, and the survey as it stands."""
    page = visitor.page
    visitor.go("/jars/", "#room")
    for field, words in (
        ("site", "Heron Mere"), ("day", "2026-06-13"), ("collector", "Ruth Fenner"),
        ("number", "EX-0023"), ("effort", "60 min, 100 m"), ("passes", "2"),
    ):  # fmt: skip
        page.fill(f"[name={field}]", words)
    for number, (name, count) in enumerate((("Anax imperatr", "9"), ("Aeshna cf. mixta", "2"))):
        page.fill(f"[name=name-{number}]", name)
        page.fill(f"[name=count-{number}]", count)
    page.keyboard.press("Enter")
    page.wait_for_selector("[role=alert].wrong")
    visitor.photograph(to / "desk-jars.jpg")
    visitor.go("/sites/?site=LNT-01", "#site h2")
    visitor.photograph(to / "desk-sites.jpg")
    visitor.go("/survey/", ".cards")
    visitor.photograph(to / "desk-survey.jpg")
    visitor.go("/survey/letters", "html[data-ready]")
    page.click("text=Show the season letters")
    page.wait_for_selector("pre.letter")
    page.locator("main details[open] > summary").click()
    page.locator("summary", has_text="Ida Kvist").click()
    visitor.photograph(to / "desk-letters.jpg")


if __name__ == "__main__":
    main()
