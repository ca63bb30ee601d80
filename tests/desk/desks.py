"""A desk on the walked survey, and a browser of it that sends what an honest page would."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient
from tests_support import NOW

from triage.desk import create_app
from triage.desk.work import Stand
from triage.mail.consent import Consent
from triage.store import actions, consents, people
from triage.store.connection import open_survey

PLACE = "http://localhost"
PATIENCE = 300.0  # seconds for anything that must come: only a failure takes so long


def desk_of(folder: Path, **options: Any) -> FlaskClient:
    """A client of the desk; ``options`` go to create_app."""
    return create_app(folder, now=lambda: NOW, **options).test_client()


def token_of(client: FlaskClient) -> str:
    """The token that this browser's pages carry, got as a browser gets it."""
    page = client.get("/who-is-this", headers={"Accept": "text/html"}).get_data(as_text=True)
    found = re.search(r'name="desk-token" content="([^"]+)"', page)
    assert found is not None
    return found.group(1)


def post(
    client: FlaskClient,
    path: str,
    data: dict[str, Any] | None = None,
    *,
    page: str = "",
    **headers: str,
) -> Any:
    """Send a form as a page of the desk does; of a ``page`` with what that shows just now."""
    sent = {"Origin": PLACE, "X-Desk-Token": token_of(client), **headers}
    told = {"seen": seen(client, page, path, data or {})} if page else {}
    return client.post(path, data={**told, **(data or {})}, headers=sent)


def seen(client: FlaskClient, page: str, path: str, data: dict[str, Any]) -> str:
    """What the form of a page that sends this holds as what it showed; empty for none."""
    text = client.get(page, follow_redirects=True).get_data(as_text=True)
    named = [
        f'name="{name}" value="{data[name]}"'
        for name in ("key", "code", "first", "second", "number", "current")
        if name in data
    ]
    for form in re.findall(rf'<form[^>]* action="{re.escape(path)}".*?</form>', text, re.DOTALL):
        if all(one in form for one in named):
            return re.findall(r'name="seen" value="([^"]*)"', form)[0]
    return ""


def come_in(client: FlaskClient, name: str = "Ada Moor") -> FlaskClient:
    """Say who is at the desk, and that it is nobody of a like name whom the survey knows."""
    assert post(client, "/who", {"name": name, "sure": "yes"}).status_code == 302
    return client


def ended(client: FlaskClient) -> Stand:
    """What came of the work beside the server, once it has ended."""
    work = client.application.extensions["work"]
    work.join(PATIENCE)
    stand: Stand = work.stand()
    assert not stand.running
    return stand


def person_with_words(folder: Path) -> str:
    """Somebody whose mail seems to grant something."""
    with open_survey(folder) as survey, survey.transaction():
        row = people.by_address(survey, "nell@example.org", name="Nell Reedwater")
        assert row is not None
        said = Consent(publish="yes", name_shown="yes", wording="You may <i>publish</i> it.")
        consents.add(survey, row, said)
        return next(one.code for one in people.all_people(survey) if one.row == row)


def done(folder: Path) -> list[str]:
    """What was done in a survey, by its command, the newest first."""
    with open_survey(folder) as survey:
        return [one.command for one in actions.log(survey)]
