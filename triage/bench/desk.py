"""What the desk's pages cost at the server in a simulated survey, and its memory.

Pages are asked for without a network, as a browser would; a page's figure is the median, in
milliseconds of processor time.
"""

from __future__ import annotations

import re
import statistics
import time
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from triage.analysis.memory import resident_bytes
from triage.checklist import Taxon
from triage.determinations import Statement, read_statement
from triage.exuviae import ExuviaeLot, Visit
from triage.pipeline import match
from triage.pipeline.determine import append
from triage.store import actions, evidence, sightings
from triage.store.connection import open_survey
from triage.store.people import determiner

ROUNDS = 15
REQUESTS = 1_000  # over which memory is watched
PLACE = "http://localhost"
PAGES = ("/inbox/", "/determine/", "/inbox/records/", "/jars/", "/sites/", "/survey/")
BEHIND = ("/sites/table", "/sites/next")  # made behind the page when much has changed
MORE_PAGES = (*BEHIND, "/sites/at?site=S05", "/survey/log", "/survey/people", "/survey/hand-on")
_GENERA, _SPECIES, _LOTS = 12, 5, 2_000
_NOW = datetime(2026, 11, 1, tzinfo=UTC)


def time_pages(app: Any, *, requests: int = REQUESTS) -> dict[str, float]:
    """Every figure of a desk by what it is of, with its unit."""
    browser = Browser(app)
    browser.come_in("Ada Moor")
    found = {f"page {path}, made behind it, s": browser.ready(path) for path in BEHIND}
    found |= {f"page {path}, ms": browser.median(path) for path in (*PAGES, *MORE_PAGES)}
    found["page one message, ms"] = browser.median(browser.leads_to("/inbox/"))
    both = [browser.determine() for _ in range(ROUNDS)]
    found["recording a determination, ms"] = statistics.median(record for record, _ in both)
    found["the next sighting, ms"] = statistics.median(following for _, following in both)
    before = resident_bytes()
    for number in range(requests):
        browser.get((*PAGES, "/determine/next")[number % (len(PAGES) + 1)])
    found[f"memory that {requests:,} more requests take, MB"] = (resident_bytes() - before) / 1e6
    return found


class Browser:
    """Asks a desk as a page of it does, and times the answers in milliseconds."""

    def __init__(self, app: Any) -> None:
        self.client = app.test_client()
        self.headers: dict[str, str] = {"Origin": PLACE}

    def come_in(self, name: str) -> None:
        """Say who is at the desk."""
        page = self.get("/determine/")[1]
        found = re.search(r'name="desk-token" content="([^"]+)"', page)
        self.headers["X-Desk-Token"] = found.group(1) if found else ""
        self.post("/who", {"name": name})

    def get(self, path: str) -> tuple[float, str]:
        """Milliseconds of an answer, and its text."""
        return _asked(path, lambda: self.client.get(path))

    def ready(self, path: str) -> float:
        """Seconds until a page stands whose figures are made behind it."""
        start = time.process_time()
        self.get(path)
        self.client.application.extensions["figures"].join(600)
        self.get(path)
        return time.process_time() - start

    def leads_to(self, path: str) -> str:
        """The page that an address leads on to, or itself."""
        return str(self.client.get(path).headers.get("Location", path))

    def post(self, path: str, said: dict[str, str]) -> float:
        """Milliseconds of an answer to what is sent."""
        return _asked(path, lambda: self.client.post(path, data=said, headers=self.headers))[0]

    def median(self, path: str) -> float:
        """The median of many answers, after one to warm up."""
        self.get(path)
        return statistics.median(self.get(path)[0] for _ in range(ROUNDS))

    def determine(self) -> tuple[float, float]:
        """Record a name for the first sighting and ask for the next."""
        page = self.get("/determine/next")[1]
        sighting = page.partition('data-sighting="')[2].partition('"')[0]
        record = self.post("/determine/record", {"sighting": sighting, "taxon": name_of(0, 0)})
        return record, self.get("/determine/next")[0]


def add_tables(folder: Path) -> None:
    """Give a simulated survey a checklist, and visits whose exuviae lots are of it."""
    with open_survey(folder) as survey, survey.transaction():
        sites = evidence.sites(survey)
        evidence.save(survey, list(_taxa()))
        days = [f"2025-{5 + n % 4:02d}-{1 + n % 28:02d}" for n in range(_LOTS)]
        where = [sites[n % len(sites)].location_id for n in range(_LOTS)]
        evidence.save(
            survey,
            [
                Visit(event_id=f"V{n}", location_id=where[n], first_day=day, last_day=day)
                for n, day in enumerate(days)
            ],
        )
        evidence.save(
            survey,
            [
                ExuviaeLot(
                    catalog_number=f"L{n}",
                    event_id=f"V{n}",
                    location_id=where[n],
                    first_day=day,
                    last_day=day,
                    scientific_name=name_of(n % _GENERA, n % _SPECIES),
                    taxon_rank="species",
                    individual_count=1 + n % 9,
                )
                for n, day in enumerate(days)
            ],
        )


def name_half(folder: Path) -> None:
    """Let one determiner have named every second sighting, and match all with the waters."""
    with open_survey(folder) as survey:
        checklist = evidence.checklist(survey)
        rows = sightings.every(survey)[::2]
        with survey.transaction():
            person = determiner(survey, "Ida Kvist", new=True)
            for n, row in enumerate(rows):
                said = Statement(taxon=name_of(n % _GENERA, n // _GENERA % _SPECIES))
                summary = f"sighting {row.identifier}"
                action = actions.record(survey, "determine", summary, by=person.name, now=_NOW)
                read = read_statement(checklist, said)
                append(survey, row, read, person=person, action=action, now=_NOW)
        match.match(survey)


def _taxa() -> Iterator[Taxon]:
    for genus in range(_GENERA):
        for species in range(_SPECIES):
            name = name_of(genus, species)
            yield Taxon(scientific_name=name, rank="species", family="Aeshnidae", season=(120, 260))


def name_of(genus: int, species: int) -> str:
    """An invented name of the checklist; the sixty of them differ in genus and species."""
    letters: Sequence[str] = "abcdefghijkl"
    return f"Imagina{letters[genus]} ficta{letters[species]}"


def _asked(path: str, ask: Callable[[], Any]) -> tuple[float, str]:
    """Milliseconds of an answer, and its text."""
    start = time.process_time()
    answer = ask()
    text = answer.get_data(as_text=True)
    spent = 1000 * (time.process_time() - start)
    if answer.status_code >= 400:
        raise ValueError(f"{path} answered {answer.status_code}: {text[:200]}")
    return spent, text
