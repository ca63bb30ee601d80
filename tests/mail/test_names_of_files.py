"""Names of files are bytes from outside: shown safely, kept, and the batch goes on."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from mail_making import mbox_file, photo_mail, picture, zip_file
from tests_support import NOW, every_part

from triage.errors import SourceError
from triage.mail.sources import iter_source, shown_name
from triage.pipeline import receive
from triage.pipeline.examine import examine
from triage.store import messages
from triage.store.connection import create_survey, open_survey

ODD = b"pond_\xfc.jpg"
pytestmark = pytest.mark.skipif(
    sys.platform in ("win32", "darwin"), reason="file names are text there, not bytes"
)


def placed(folder: Path, name: bytes, content: bytes) -> Path:
    path = folder / os.fsdecode(name)
    path.write_bytes(content)
    return path


def test_a_name_that_is_no_utf_8_stops_no_run(tmp_path: Path):
    inside = tmp_path / os.fsdecode(b"m\xe4rz")
    inside.mkdir()
    placed(inside, ODD, picture())
    placed(inside, b"\xff.eml", photo_mail(seed=2))
    placed(inside, b"\xb3\xf3d.zip", zip_file({"a.jpg": picture(seed=3)}))
    placed(inside, b"\xe9.mbox", mbox_file([photo_mail(seed=4, Message_ID="<x@example.org>")]))
    placed(inside, b"\xe9.xyz", b"neither mail nor photo")
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as survey:
        outcome = receive.take_in(survey, [inside], now=NOW)
        assert (outcome.received, outcome.photos) == (4, 4)
        assert [origin.encode() for origin, _ in outcome.unreadable]
        examine(survey, now=NOW, processes=0)
        names = {part.file_name for part in every_part(survey)}
        assert "pond_ü.jpg" in names
        assert all(row.origin.encode() for row in messages.every(survey))


def test_the_command_line_reads_such_a_folder_and_names_a_missing_one(tmp_path: Path):
    placed(tmp_path, ODD, picture())
    command = [sys.executable, "-c", "from triage.cli import entry_point; entry_point()"]
    survey = ["--survey", str(tmp_path / "survey")]
    subprocess.run([*command, "init", *survey], check=True, capture_output=True)
    for source, code in ((os.fsencode(tmp_path) + b"/" + ODD, 0), (b"no\xfcwhere", 1)):
        done = subprocess.run([*command, "receive", source, *survey], capture_output=True)
        assert done.returncode == code, done.stderr
        assert b"Traceback" not in done.stderr


def test_a_missing_source_is_named_in_letters():
    with pytest.raises(SourceError, match="nirgends_ü"):
        list(iter_source(Path("nirgends_\udcfc")))


@given(st.binary(min_size=1, max_size=40))
def test_every_name_can_be_shown_and_a_name_in_utf_8_is_itself(name: bytes):
    path = Path(name.replace(b"\0", b"_").decode("utf-8", "surrogateescape"))
    shown_name(path).encode("utf-8")
    try:
        assert shown_name(path) == str(path)
    except AssertionError:
        with pytest.raises(UnicodeEncodeError):
            str(path).encode("utf-8")
