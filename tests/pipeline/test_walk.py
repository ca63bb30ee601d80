"""The whole walk: the same survey whatever the order, the repetition and the interruptions."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from tests_support import DEMO, NOW, dump

from triage.cli import main
from triage.demo.walk import import_tables
from triage.pipeline import audit, walk
from triage.store.connection import create_survey, open_survey


def test_a_second_run_changes_nothing(walked: Path, small_inbox: Path):
    before = dump(walked)
    outcome = walk.run([small_inbox], walked, now=NOW, processes=0)
    assert (outcome.received.received, outcome.examined.photos) == (0, 0)
    assert dump(walked) == before


def test_tables_imported_after_the_mail_give_the_same_survey(
    walked_once: Path, small_inbox: Path, tmp_path: Path
):
    late = tmp_path / "late"
    create_survey(late, title="Linnet Water Survey")
    walk.run([small_inbox], late, now=NOW, processes=0)
    with open_survey(late) as survey:
        import_tables(survey, DEMO, now=NOW)
    walk.run([small_inbox], late, now=NOW, processes=0)
    assert dump(late) == dump(walked_once)


@pytest.mark.parametrize("after", [3, 9, 20, 40])
def test_an_interrupted_run_goes_on_to_the_same_survey(
    after: int, walked_once: Path, small_inbox: Path, tmp_path: Path, stopping
):
    broken = tmp_path / "broken"
    create_survey(broken, title="Linnet Water Survey")
    with open_survey(broken) as survey:
        import_tables(survey, DEMO, now=NOW)
    with stopping(after) as progress, pytest.raises(KeyboardInterrupt):
        walk.run([small_inbox], broken, now=NOW, processes=0, progress=progress)
    walk.run([small_inbox], broken, now=NOW, processes=0)
    assert dump(broken) == dump(walked_once)


def test_mail_received_in_two_halves_gives_the_same_survey(
    walked_once: Path, small_inbox: Path, tmp_path: Path
):
    halves = tmp_path / "halves"
    create_survey(halves, title="Linnet Water Survey")
    with open_survey(halves) as survey:
        import_tables(survey, DEMO, now=NOW)
    raw = small_inbox.read_bytes()
    cut = raw.index(b"\nFrom ", len(raw) // 2) + 1
    for number, piece in enumerate((raw[:cut], raw[cut:])):
        path = tmp_path / f"half{number}.mbox"
        path.write_bytes(piece)
        walk.run([path], halves, now=NOW, processes=0)
    assert dump(halves) == dump(walked_once)


def test_a_copied_folder_is_a_whole_survey(walked: Path, tmp_path: Path):
    copy = tmp_path / "elsewhere" / "copy"
    shutil.copytree(walked, copy)
    with open_survey(copy) as survey:
        assert audit.check(survey, now=NOW).damage == ()
    assert dump(copy) == dump(walked)


def test_deleted_previews_are_made_again_where_they_are_shown(walked: Path, tmp_path: Path):
    pages = [tmp_path / "before.html", tmp_path / "after.html"]
    for page in pages:
        assert main(["queue", "--survey", str(walked), "--html", str(page)]) == 0
        shutil.rmtree(walked / "previews", ignore_errors=True)
    pictures = [page.read_text(encoding="utf-8").count("data:image/jpeg") for page in pages]
    assert pictures[0] == pictures[1] > 0
