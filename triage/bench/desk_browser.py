"""How long a determiner waits from Enter to the next picture, in a real browser.

A small survey with real picture files of twelve megapixels is served as ``triage desk`` does; its
rows are those of ``triage bench survey``. The browser is the system's Chromium, driven by
Playwright.
"""

from __future__ import annotations

import io
import os
import shutil
import statistics
import tempfile
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np

from triage.bench import scale
from triage.bench.desk import add_tables, name_of
from triage.store import evidence, originals
from triage.store.connection import create_survey, open_survey

ENTERS = 40  # determinations timed
WAITED_SECONDS = 60.0
LOOK = 1000  # milliseconds between two determinations: shorter than anybody looks at an insect


def bench(create_app: Callable[[Path], Any]) -> str:
    """How long Enter takes by the clock, and how many programs wanted to run meanwhile."""
    if not available():
        return "Enter to the next picture: not timed, which takes Chromium and playwright."
    with tempfile.TemporaryDirectory() as place:
        waited = time_enters(create_app, Path(place) / "survey", ENTERS)
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else None
    return words_of_enter(waited, load)


def words_of_enter(waited: Sequence[float], load: float | None) -> str:
    """The figure, with the machine's load where the system tells it."""
    under = "" if load is None else f", under a load of {load:.1f}"
    return (
        f"Enter to the next picture in Chromium: median {statistics.median(waited):.0f} ms"
        f" of {len(waited)} determinations, {min(waited):.0f} to {max(waited):.0f} ms{under}."
    )


def time_enters(create_app: Callable[[Path], Any], folder: Path, enters: int) -> list[float]:
    """Milliseconds from Enter to the next picture in a survey that is made in this folder."""
    make_pictured_survey(folder, 2 * enters)  # some photos are of one animal
    add_tables(folder)
    return _time_enter(create_app(folder), name_of(0, 0)[:4].lower(), enters)


def chromium_program() -> str:
    """Chromium, if installed the one without windows: it opens pages in a fifth of the time."""
    return shutil.which("chromium-headless-shell") or shutil.which("chromium") or ""


def available() -> bool:
    """Whether there is a browser to time in, and what drives it."""
    try:
        import playwright.sync_api  # noqa: F401
    except ImportError:
        return False
    return bool(chromium_program())


def make_pictured_survey(folder: Path, photos: int) -> None:
    """Make a survey whose photos are files of 4,000 by 3,000 pixels."""
    create_survey(folder)
    random = np.random.default_rng(3)
    with open_survey(folder) as survey:
        evidence.save(survey, [scale.site_of(number) for number in range(10)])

        def write(number: int) -> str:
            return originals.keep(survey.originals, picture(number), media_type="image/jpeg")

        scale.settle_in(survey, scale.fill(survey, photos, random=random, keep=write))


def picture(number: int) -> bytes:
    """A JPEG of twelve megapixels with the grain of a photo: out of focus, with one sharp body."""
    from PIL import Image, ImageDraw

    random = np.random.default_rng(number)
    ground = Image.fromarray(random.integers(60, 200, (75, 100, 3), dtype=np.uint8))
    made = ground.resize((4000, 3000), Image.Resampling.BICUBIC)
    draw = ImageDraw.Draw(made)
    draw.line((1200, 1500, 2800, 1450), fill=(40, 70, 120), width=90)
    for wing in (-600, 600):
        draw.ellipse(
            (1700, 1500 + min(wing, 0), 1950, 1500 + max(wing, 0)), outline="white", width=6
        )
    grain = np.random.default_rng(number + 1).normal(0, 4, (750, 1000, 1))
    whole = np.asarray(made, dtype=np.int16) + np.kron(grain, np.ones((4, 4, 1))).astype(np.int16)
    content = io.BytesIO()
    Image.fromarray(whole.clip(0, 255).astype(np.uint8)).save(content, "JPEG", quality=90)
    return content.getvalue()


@contextmanager
def serving(app: Any) -> Iterator[str]:
    """Serve a desk as ``triage desk`` does; gives its address."""
    from waitress import create_server

    with running(create_server(app, host="127.0.0.1", port=0, threads=6)) as place:
        yield place


@contextmanager
def running(server: Any) -> Iterator[str]:
    """Have a server answer until the end, then close what is still open; gives its address."""
    from waitress import wasyncore

    closing = threading.Event()

    def run() -> None:
        try:
            server.run()
        except (OSError, ValueError, RuntimeError, KeyError):  # closed under it at the end
            if not closing.is_set():
                raise

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        closing.set()
        server.task_dispatcher.shutdown()
        wasyncore.close_all(server._map)  # connections that the browser keeps open, too
        thread.join(WAITED_SECONDS)


def _time_enter(app: Any, letters: str, determinations: int) -> list[float]:
    from playwright.sync_api import ViewportSize, sync_playwright

    with serving(app) as place, sync_playwright() as player:
        browser = player.chromium.launch(executable_path=chromium_program(), args=["--no-sandbox"])
        page = browser.new_page(viewport=ViewportSize(width=1440, height=900))
        page.set_default_timeout(1000 * WAITED_SECONDS)
        page.goto(f"{place}/determine/")
        page.fill("main input[name=name]", "Ada Moor")
        page.click("main .who-form button")
        page.wait_for_selector("html[data-ready]")
        page.wait_for_selector("#pictures img")
        page.wait_for_load_state("networkidle")
        page.evaluate(resources.files("triage.bench").joinpath("watching.js").read_text("utf-8"))
        for number in range(determinations):
            page.wait_for_timeout(LOOK)
            for key in (*letters, "1", "Enter"):
                page.keyboard.press(key)
            _until(page, number + 1)
        waited: list[float] = page.evaluate("window.waited")
        browser.close()
    return waited


def _until(page: Any, count: int) -> None:
    """Wait in steps; the page's policy forbids the browser's own way, which evaluates text."""
    for _ in range(int(WAITED_SECONDS * 50)):
        if page.evaluate("window.waited.length") >= count:
            return
        page.wait_for_timeout(20)
    raise ValueError("no next picture came: the survey has too few sightings")
