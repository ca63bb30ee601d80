from __future__ import annotations

import mailbox
import struct
import zipfile
from pathlib import Path

import pytest
from mail_making import mbox_file, photo_mail, picture, text_mail, zip_file
from wrapping import compound_file, outlook_storage

from triage.errors import SourceError
from triage.mail.limits import Limits
from triage.mail.message import read_message
from triage.mail.sources import Delivery, iter_source


def deliveries(source: Path, **limits: int) -> list[Delivery]:
    return list(iter_source(source, limits=Limits(**limits)))


def kinds(found: list[Delivery]) -> list[tuple[str, str]]:
    return [(delivery.kind, delivery.name) for delivery in found]


def test_a_source_that_is_not_there_is_named_in_the_error(tmp_path):
    with pytest.raises(SourceError, match=r"nowhere: there is no such file"):
        deliveries(tmp_path / "nowhere")


def test_a_folder_is_walked_in_order_and_says_what_each_file_is(tmp_path):
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / "one.eml").write_bytes(photo_mail())
    (tmp_path / "a.jpg").write_bytes(picture())
    (tmp_path / "list.csv").write_text("site,day\n")
    (tmp_path / "empty.eml").write_bytes(b"")
    (tmp_path / ".DS_Store").write_bytes(b"\0")
    (tmp_path / "Thumbs.db").write_bytes(b"\0")
    found = deliveries(tmp_path)
    assert kinds(found) == [
        ("file", "a.jpg"),
        ("unreadable", "empty.eml"),
        ("unreadable", "list.csv"),
        ("message", "one.eml"),
    ]
    assert found[1].problem == "the file is empty"
    assert found[2].problem == "neither a mail nor a photo"


def test_a_mail_is_recognised_by_its_header_whatever_its_name(tmp_path):
    (tmp_path / "saved.txt").write_bytes(photo_mail())
    (tmp_path / "with-mark.eml").write_bytes(b"\xef\xbb\xbf" + photo_mail())
    found = deliveries(tmp_path)
    assert [delivery.kind for delivery in found] == ["message", "message"]
    first, second = (read_message(delivery.raw) for delivery in found)
    assert first.identifier == second.identifier


def test_an_apple_mail_file_is_cut_to_its_counted_bytes(tmp_path):
    raw = photo_mail()
    (tmp_path / "1.emlx").write_bytes(b"%d\n" % len(raw) + raw + b"<?xml version='1.0'?><plist/>")
    assert deliveries(tmp_path)[0].raw == raw


def test_a_maildir_gives_the_mails_of_cur_and_new(tmp_path):
    maildir = mailbox.Maildir(tmp_path / "inbox")
    maildir.add(text_mail("One.\n"))
    maildir.add(text_mail("Two.\n"))
    (tmp_path / "inbox" / "dovecot-uidlist").write_text("3 V1 N3\n")
    (tmp_path / "inbox" / "tmp" / "half").write_bytes(photo_mail()[:1000])
    found = deliveries(tmp_path / "inbox")
    assert [delivery.kind for delivery in found] == ["message", "message", "unreadable"]
    assert found[2].problem == "still being delivered; receive again later"


def test_the_same_mail_is_the_same_message_through_every_source(tmp_path):
    raw = photo_mail("Seen this morning.\n\nFrom the bridge at Alder Pool.\n>From memory.\n")
    (tmp_path / "one.eml").write_bytes(raw)
    (tmp_path / "crlf.eml").write_bytes(raw.replace(b"\n", b"\r\n"))
    traced = b"Received: from a by b; Sun, 14 Jun 2026 18:06:00 +0200\nX-Spam: no\n" + raw
    (tmp_path / "traced.eml").write_bytes(traced)
    for form in ("mboxo", "mboxrd", "mboxcl", "mboxcl2"):
        (tmp_path / f"{form}.mbox").write_bytes(mbox_file([raw], form=form))
        crlf = mbox_file([raw], form=form, line_end=b"\r\n")
        (tmp_path / f"{form}-crlf.mbox").write_bytes(crlf)
    mailbox.Maildir(tmp_path / "maildir").add(raw)
    (tmp_path / "packed.zip").write_bytes(
        zip_file(
            {
                "in/one.eml": raw,
                "in/all.mbox": mbox_file([raw]),
                "two.zip": zip_file({"x.eml": raw}),
            }
        )
    )
    found = deliveries(tmp_path)
    assert [delivery.kind for delivery in found] == ["message"] * 15
    assert len({read_message(delivery.raw).identifier for delivery in found}) == 1


def test_a_zip_with_photos_and_strangers_is_accounted_for(tmp_path):
    path = tmp_path / "photos.zip"
    path.write_bytes(
        zip_file(
            {
                "trip/IMG_1.jpg": picture(),
                "../../escape.jpg": picture(seed=1),
                "__MACOSX/trip/._IMG_1.jpg": b"\0\5\x16\7",
                "notes.docx": zip_file({"[Content_Types].xml": b"<Types/>"}),
                "table.xls": b"a,b\n",
            }
        )
    )
    found = deliveries(path)
    assert kinds(found) == [
        ("file", "escape.jpg"),
        ("file", "notes.docx"),
        ("unreadable", "table.xls"),
        ("file", "IMG_1.jpg"),
    ]


def test_a_damaged_zip_costs_only_what_is_damaged(tmp_path):
    whole = zip_file({"a.jpg": picture(), "b.jpg": picture(seed=1)}, compression=0)
    broken = bytearray(whole)
    broken[200] ^= 0xFF
    (tmp_path / "broken.zip").write_bytes(bytes(broken))
    (tmp_path / "cut.zip").write_bytes(whole[:300])
    found = deliveries(tmp_path)
    assert [delivery.kind for delivery in found] == ["unreadable", "file", "unreadable"]
    assert "damaged" in found[0].problem
    assert "cannot be read" in found[2].problem


def test_entries_are_read_from_front_to_back_so_that_damage_is_found(tmp_path, monkeypatch):
    """After a step back Python 3.14.10 compares the bytes of a stored entry with nothing."""

    def step_back(*_: object) -> None:
        raise AssertionError("a step back")

    monkeypatch.setattr(zipfile.ZipExtFile, "seek", step_back)
    inner = zip_file({"c.jpg": picture(seed=2)}, compression=0)
    packed = zip_file(
        {"a.jpg": picture(), "b.eml": text_mail("One.\n"), "c.zip": inner}, compression=0
    )
    (tmp_path / "whole.zip").write_bytes(packed)
    assert [one.kind for one in deliveries(tmp_path)] == ["file", "message", "file"]


def test_an_entry_that_expands_beyond_measure_is_not_opened(tmp_path):
    (tmp_path / "bomb.zip").write_bytes(zip_file({"a.jpg": b"\xff\xd8\xff" + bytes(30_000_000)}))
    (found,) = deliveries(tmp_path)
    assert found.kind == "unreadable"
    assert "bomb" in found.problem


def test_archives_inside_archives_are_opened_to_a_depth(tmp_path):
    inner = {"a.jpg": picture()}
    for _ in range(6):
        inner = {"more.zip": zip_file(inner)}
    (tmp_path / "deep.zip").write_bytes(zip_file(inner))
    (found,) = deliveries(tmp_path)
    assert found.problem == "an archive nested too deep; unpack it first"


def test_a_mail_too_large_is_refused_and_the_next_still_read(tmp_path):
    mails = [
        text_mail("small\n"),
        text_mail("x" * 80 + "\n" + "y\n" * 3_000_000),
        text_mail("last\n"),
    ]
    (tmp_path / "in.mbox").write_bytes(mbox_file(mails))
    found = deliveries(tmp_path, message_bytes=3_000_000)
    assert [delivery.kind for delivery in found] == ["message", "unreadable", "message"]
    assert b"last" in found[2].raw


def test_an_archive_whose_files_overlap_is_refused(tmp_path):
    packed = zip_file({"a.jpg": picture(), "b.jpg": picture()}, compression=0)
    entry = packed[packed.index(b"PK\x01\x02") : packed.rindex(b"PK\x01\x02")]
    end = packed.index(b"PK\x05\x06")
    head, tail = packed[: packed.index(b"PK\x01\x02")], bytearray(packed[end:])
    tail[8:16] = struct.pack("<HHI", 50, 50, 50 * len(entry))
    (tmp_path / "overlap.zip").write_bytes(head + entry * 50 + bytes(tail))
    (found,) = deliveries(tmp_path)
    assert found.kind == "unreadable"
    assert "overlap" in found.problem


def test_an_mbox_larger_than_a_file_may_be_is_streamed_out_of_a_zip(tmp_path):
    mails = [photo_mail(seed=n, Message_ID=f"<{n}@example.org>") for n in range(4)]
    (tmp_path / "all.zip").write_bytes(zip_file({"all.mbox": mbox_file(mails)}))
    found = deliveries(tmp_path, file_bytes=200_000)
    assert [delivery.kind for delivery in found] == ["message"] * 4


def test_a_link_out_of_a_folder_of_mails_is_said_and_not_followed(tmp_path):
    outside, folder = tmp_path / "elsewhere", tmp_path / "mails"
    for place in (outside, folder / "2026"):
        place.mkdir(parents=True)
    (outside / "secret.eml").write_bytes(b"Subject: not yours\n\nsecret")
    (folder / "2026" / "one.eml").write_bytes(b"Subject: here\n\nseen")
    (folder / "again.eml").symlink_to(folder / "2026" / "one.eml")
    (folder / "more").symlink_to(outside)
    (folder / "out.eml").symlink_to(outside / "secret.eml")
    (folder / "round").symlink_to(folder)
    (folder / "upwards.eml").symlink_to("../elsewhere/secret.eml")
    found = list(iter_source(folder))
    said = {Path(one.origin).name: (one.kind, one.problem) for one in found}
    told = "a link to a {0} outside of this folder, not followed; copy the {0} here to have it"
    assert said == {
        "again.eml": ("message", ""),
        "one.eml": ("message", ""),
        "more": ("unreadable", told.format("folder")),
        "out.eml": ("unreadable", told.format("file")),
        "upwards.eml": ("unreadable", told.format("file")),
    }
    assert b"secret" not in b"".join(one.raw for one in found)
    (named,) = iter_source(folder / "out.eml")  # whoever names the link itself means it
    assert named.kind == "message"


def test_a_folder_that_is_a_link_itself_is_read(tmp_path):
    (tmp_path / "mails").mkdir()
    (tmp_path / "mails" / "one.eml").write_bytes(b"Subject: here\n\nseen")
    (tmp_path / "link").symlink_to(tmp_path / "mails")
    assert [one.kind for one in iter_source(tmp_path / "link")] == ["message"]


def test_files_that_cannot_be_opened_are_reported(tmp_path):
    (tmp_path / "a.jpg").write_bytes(picture())
    (tmp_path / "gone.eml").symlink_to(tmp_path / "nowhere")
    found = deliveries(tmp_path)
    assert kinds(found) == [("file", "a.jpg"), ("unreadable", "gone.eml")]


@pytest.mark.parametrize(
    ("name", "content", "problem"),
    [
        ("a.rar", b"Rar!\x1a\x07\0" + bytes(20), "a RAR archive, neither mail nor photo"),
        ("a.pst", b"!BDN" + bytes(100), "an Outlook data file, neither mail nor photo"),
        ("a.doc", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "an old Office document"),
        ("a.txt", b"just some notes", "neither a mail nor a photo"),
    ],
)
def test_strangers_in_a_folder_have_their_reason(tmp_path, name, content, problem):
    (tmp_path / name).write_bytes(content)
    (found,) = deliveries(tmp_path)
    assert found.kind == "unreadable"
    assert found.problem.startswith(problem)


def test_an_outlook_file_is_a_mail(tmp_path):
    (tmp_path / "a.msg").write_bytes(compound_file(outlook_storage(text="Hello")))
    (found,) = deliveries(tmp_path)
    assert found.kind == "message"
    assert read_message(found.raw).envelopes[0].text == "Hello"


def test_a_photo_too_large_is_refused(tmp_path):
    (tmp_path / "a.jpg").write_bytes(picture())
    (found,) = deliveries(tmp_path, file_bytes=1000)
    assert found.kind == "unreadable"
