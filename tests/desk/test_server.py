"""The desk as a program: where it listens, what it says, what a double click starts."""

from __future__ import annotations

import shlex
import socket
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from desk.desks import PLACE, come_in, desk_of, post, token_of
from tests_support import NOW

from triage.cli import main
from triage.desk import server
from triage.errors import SurveyError
from triage.pipeline import examine
from triage.pipeline.standing import standing
from triage.store import actions, connection
from triage.store.connection import create_survey, open_survey


@pytest.mark.parametrize(
    ("system", "ending", "begins"),
    [
        ("win32", ".cmd", "@echo off"),
        ("darwin", ".command", "#!/bin/sh"),
        ("linux", ".desktop", "[Desktop Entry]"),
    ],
)
def test_a_starter_is_written_for_each_system(tmp_path, system, ending, begins):
    folder = tmp_path / "Linnet & 'Water' 100% $HOME"
    folder.mkdir()
    written = server.write_starter(folder, tmp_path, system=system)
    assert written.suffix == ending
    text = written.read_text(encoding="utf-8")
    assert text.startswith(begins)
    assert "desk" in text


def test_the_starter_of_a_strange_folder_reaches_the_desk_as_one_word(tmp_path: Path):
    folder = tmp_path / "it's $HOME & `more`"
    folder.mkdir()
    written = server.write_starter(folder, tmp_path / "start.command", system="darwin")
    line = written.read_text(encoding="utf-8").splitlines()[1]
    words = shlex.split(line)  # as a POSIX shell cuts it
    assert words[-1] == str(folder.resolve())
    assert words[-3:-1] == ["desk", "--survey"]


@pytest.mark.skipif(sys.platform == "win32", reason="runs a shell script")
def test_a_starter_starts(tmp_path: Path):
    written = server.write_starter(tmp_path, tmp_path / "start.command", system="darwin")
    ran = subprocess.run([str(written)], capture_output=True, text=True, check=False)
    assert ran.returncode == 1
    assert "this folder holds no survey" in ran.stderr


def test_a_port_that_is_taken_is_said(tmp_path: Path):
    create_survey(tmp_path / "survey")
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(SurveyError, match="another program has that port"):
            server.serve(tmp_path / "survey", port=port, browser=False)


def test_the_command_writes_a_starter(tmp_path: Path, capsys):
    create_survey(tmp_path / "survey")
    starter = tmp_path / "start"
    assert main(["desk", "--survey", str(tmp_path / "survey"), "--starter", str(starter)]) == 0
    assert starter.is_file()
    assert str(starter) in capsys.readouterr().out


def test_a_shared_desk_says_what_it_opens_and_to_whom():
    said: list[str] = []
    keys = {"k" * 22: "Ben Holm"}
    server._introduce(said.append, "Linnet", "http://127.0.0.1:8417/", keys, 8417)
    text = "\n".join(said)
    assert "open to the local network" in text
    assert "Ben Holm: http://" in text
    assert f"/?key={'k' * 22}" in text


def test_stopping_from_the_page_ends_the_server(tmp_path: Path):
    create_survey(tmp_path / "survey")
    ended = threading.Event()
    client = come_in(desk_of(tmp_path / "survey", stop=ended.set))
    assert "has stopped" in post(client, "/stop").get_data(as_text=True)
    assert ended.is_set()


def test_two_desks_and_an_examination_do_not_disturb_one_another(walked: Path):
    desks = [come_in(desk_of(walked), name) for name in ("Ada Moor", "Ben Holm")]
    problems: list[BaseException] = []

    def examine_again() -> None:
        try:
            with open_survey(walked) as survey:
                for _ in range(4):
                    examine.examine(survey, now=NOW, processes=0)
        except BaseException as error:
            problems.append(error)

    def determine(number: int) -> None:
        try:
            for _ in range(3):
                page = desks[number].get("/determine/next").get_data(as_text=True)
                sighting = page.partition('data-sighting="')[2].partition('"')[0]
                said = {"sighting": sighting, "cannot_tell": "blurred"}
                assert post(desks[number], "/determine/record", said).status_code == 200
        except BaseException as error:
            problems.append(error)

    work = [threading.Thread(target=examine_again)]
    work += [threading.Thread(target=determine, args=(number,)) for number in (0, 1)]
    for one in work:
        one.start()
    for one in work:
        one.join()
    assert problems == []
    with open_survey(walked) as survey:
        made = standing(survey).determinations
    assert sum(len(ones) for ones in made.values()) == 6
    assert all(len(ones) == 1 for ones in made.values())  # never the same sighting twice


def test_a_desk_opened_from_inside_its_own_folder_shows_pictures_and_letters(walked, monkeypatch):
    """The usual way: 'triage desk' in the survey's folder, which is then called '.'."""
    with open_survey(walked) as survey:
        photo = next(iter(survey.connection.execute("select photo from appearances")))[0]
    monkeypatch.chdir(walked)
    client = come_in(desk_of(Path(".")))
    for size in ("small", "fitting", "whole"):
        with client.get(f"/picture/{photo}/{size}") as answer:
            assert answer.status_code == 200
            assert answer.get_data().startswith(b"\xff\xd8\xff")


@pytest.mark.parametrize("stage", ["opening", "writing"])
def test_a_full_disk_is_said_and_what_was_sent_may_be_sent_again(
    stage: str, walked: Path, monkeypatch
):
    client = come_in(desk_of(walked))
    page = client.get("/determine/next").get_data(as_text=True)
    said = {
        "sighting": page.partition('data-sighting="')[2].partition('"')[0],
        "cannot_tell": "blurred",
    }
    token = token_of(client)

    def full(*_: object, **__: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    where = (connection, "connect") if stage == "opening" else (actions, "record")
    with monkeypatch.context() as patched:
        patched.setattr(*where, full)
        headers = {"Origin": PLACE, "X-Desk-Token": token}
        answer = client.post("/determine/record", data=said, headers=headers)
        assert answer.status_code == 503
        assert "disk is full" in answer.json["next_step"]
        shown = client.get("/inbox/") if stage == "opening" else None
        assert shown is None or "disk is full" in shown.get_data(as_text=True)
    assert post(client, "/determine/record", said).status_code == 200
