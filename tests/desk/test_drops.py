"""Files and folders dropped on the page by the browser's own drag and drop, received whole."""

from __future__ import annotations

import mailbox
import shutil
import zipfile
from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, served
from tests_support import DEMO

from triage.store import messages
from triage.store.connection import create_survey, open_survey

pytestmark = [
    pytest.mark.system("chromium"),
    pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed"),
]


def drop(page: Any, paths: list[Path]) -> None:
    """Drop files as the system does (Chrome DevTools Protocol, Input.dispatchDragEvent)."""
    session = page.context.new_cdp_session(page)
    data = {"items": [], "files": [str(path) for path in paths], "dragOperationsMask": 1}
    for kind in ("dragEnter", "dragOver", "drop"):
        session.send("Input.dispatchDragEvent", {"type": kind, "x": 300, "y": 400, "data": data})


def mails(count: int) -> list[bytes]:
    """The first mails of the demo."""
    box = mailbox.mbox(DEMO / "inbox.mbox", create=False)
    try:
        return [box.get_bytes(key) for key in list(box.keys())[:count]]
    finally:
        box.close()


def test_every_kind_of_file_and_a_folder_are_received_from_one_drop(tmp_path: Path, window: Window):
    first, second, third, fourth = mails(4)
    sources = tmp_path / "to drop"
    inner = sources / "folder" / "inner"
    inner.mkdir(parents=True)
    (inner / "first.eml").write_bytes(first)
    (sources / "second.eml").write_bytes(second)
    box = mailbox.mbox(sources / "box.mbox")
    box.add(third)
    box.close()
    with zipfile.ZipFile(sources / "mails.zip", "w") as archive:
        archive.writestr("fourth.eml", fourth)
    photo = next(p for p in sorted((DEMO / "photos").iterdir()) if p.suffix.lower() == ".jpg")
    shutil.copy(photo, sources / "alone.jpg")
    create_survey(tmp_path / "survey")
    with served(tmp_path / "survey") as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        drop(page, sorted(sources.iterdir()))
        page.wait_for_selector("#arrived:has-text('examined')")
        assert "Not read" not in page.locator("#arrived").inner_text()
    with open_survey(tmp_path / "survey") as survey:
        subjects = {row.subject for row in messages.every(survey)}
    assert len(subjects) == 5  # four mails and the photo that came alone


def test_what_is_no_mail_is_named_and_the_rest_is_received(tmp_path: Path, window: Window):
    [mail] = mails(1)
    (tmp_path / "good.eml").write_bytes(mail)
    (tmp_path / "broken.msg").write_bytes(b"\xd0\xcf\x11\xe0 cut off")
    create_survey(tmp_path / "survey")
    with served(tmp_path / "survey") as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        drop(page, [tmp_path / "broken.msg", tmp_path / "good.eml"])
        page.wait_for_selector("#arrived:has-text('examined')")
        assert "broken.msg" in page.locator("#arrived").inner_text()
    with open_survey(tmp_path / "survey") as survey:
        assert len(messages.every(survey)) == 1
