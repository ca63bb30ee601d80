"""Each threat to a page that listens on one's own machine, and what the desk does about it."""

from __future__ import annotations

from pathlib import Path

import pytest
from desk.desks import PLACE, come_in, desk_of, post, token_of
from flask.testing import FlaskClient


@pytest.fixture
def client(walked: Path) -> FlaskClient:
    """A browser of which the desk knows nothing yet."""
    return desk_of(walked)


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "localhost.evil.example:8417", "[::2]:80"]
)
def test_a_name_that_was_pointed_at_this_machine_is_refused(client: FlaskClient, host: str):
    assert client.get("/", headers={"Host": host}).status_code == 421


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1:8417", "[::1]:9", "LOCALHOST:1"])
def test_the_names_of_this_machine_are_answered(client: FlaskClient, host: str):
    assert client.get("/", headers={"Host": host}).status_code in (200, 302)


@pytest.mark.parametrize("origin", ["https://evil.example", "null", "", "http://localhost:81"])
def test_a_form_of_another_site_changes_nothing(client: FlaskClient, origin: str):
    answer = post(client, "/who", {"name": "Mallory"}, Origin=origin)
    assert answer.status_code == 403
    assert "Set-Cookie" not in answer.headers or "Mallory" not in answer.headers["Set-Cookie"]


def test_a_form_without_this_browsers_token_changes_nothing(client: FlaskClient):
    token_of(client)
    for sent in ({}, {"X-Desk-Token": "A" * 43}):
        assert (
            client.post(
                "/who", data={"name": "Vera Quill"}, headers={"Origin": PLACE, **sent}
            ).status_code
            == 403
        )


def test_another_browsers_token_is_no_token_here(client: FlaskClient, walked: Path):
    token_of(client)
    other = token_of(desk_of(walked))
    assert (
        post(client, "/who", {"name": "Vera Quill"}, **{"X-Desk-Token": other}).status_code == 403
    )


def test_every_answer_forbids_what_a_page_of_the_desk_never_does(client: FlaskClient):
    for path in ("/", "/static/paper.css", "/nowhere"):
        headers = client.get(path, buffered=True).headers
        policy = headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "http:" not in policy
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["X-Frame-Options"] == "DENY"


def test_cookies_stay_with_the_desk(client: FlaskClient):
    answers = [
        client.get("/nowhere"),
        post(client, "/who", {"name": "Vera Quill"}),
        post(client, "/theme", {"theme": "dark"}),
    ]
    cookies = [line for answer in answers for line in answer.headers.getlist("Set-Cookie")]
    assert len(cookies) == 3
    assert all("HttpOnly" in line and "SameSite=Strict" in line for line in cookies)


def test_no_page_has_inline_script_or_style(walked: Path):
    import triage.desk

    templates = Path(triage.desk.__file__).parent / "templates"
    for path in templates.glob("**/*.html"):
        if path.parent == templates / "packet":
            continue  # opened from disk, never served; its own policy names its script by digest
        text = path.read_text(encoding="utf-8")
        assert "<style" not in text, path
        assert " style=" not in text, path
        assert " on" + "click=" not in text, path
        assert text.count("<script") == text.count('<script type="module" src='), path
        assert "|safe" not in text, path


@pytest.mark.parametrize(
    "path",
    [
        "/picture/..%2f..%2fsurvey.toml/small",
        "/picture/../../survey.toml/small",
        "/picture/" + "." * 64 + "/small",
        "/picture/" + "../" * 21 + "a/small",
        "/picture/" + "0" * 64 + "/..%2f..%2fsurvey.db",
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/static/%2e%2e/app.py",
    ],
)
def test_no_path_leads_out_of_the_pictures(client: FlaskClient, path: str):
    answer = client.get(path)
    assert answer.status_code in (400, 404)
    assert b"time_zone" not in answer.data
    assert b"SQLite" not in answer.data


def test_more_than_a_form_may_bring_is_refused_before_it_is_read(client: FlaskClient):
    answer = post(client, "/who", {"name": "x" * 3_000_000})
    assert answer.status_code == 413


def test_where_to_go_back_is_a_path_of_the_desk_only(client: FlaskClient):
    for back in (
        "https://evil.example/",
        "//evil.example",
        "/\\evil.example",
        "javascript:alert(1)",
    ):
        answer = post(client, "/who", {"name": "Vera Quill", "back": back})
        assert answer.status_code == 302
        assert "evil" not in answer.headers["Location"]
        assert "javascript" not in answer.headers["Location"]


def test_a_name_is_only_ever_text(client: FlaskClient):
    come_in(client, "<script>alert(1)</script>")
    page = client.get("/nowhere").get_data(as_text=True)
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page


def test_a_shared_desk_asks_everybody_else_for_a_key(walked: Path):
    from triage.desk.security import LOOPBACK

    shared = desk_of(walked, keys={"k" * 22: "Ben Holm"}, hosts=LOOPBACK)
    away = {"REMOTE_ADDR": "192.0.2.7"}
    assert shared.get("/nowhere", environ_overrides=away).status_code == 403
    assert shared.get("/nowhere?key=wrong", environ_overrides=away).status_code == 403
    came = shared.get(f"/nowhere?key={'k' * 22}", environ_overrides=away)
    assert came.status_code == 302
    assert "key=" not in came.headers["Location"]
    page = shared.get("/nowhere", environ_overrides=away)
    assert page.status_code == 404
    assert "Ben Holm" in page.get_data(as_text=True)


def test_on_a_shared_desk_the_key_says_who_it_is(walked: Path):
    shared = desk_of(walked, keys={"k" * 22: "Ben Holm"})
    shared.get(f"/nowhere?key={'k' * 22}")
    come_in(shared, "Somebody Else")
    assert "Ben Holm" in shared.get("/nowhere").get_data(as_text=True)
