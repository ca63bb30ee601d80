from __future__ import annotations

import struct

import oxmsg
import pytest
from mail_making import header, picture
from tnefparse import TNEF
from wrapping import compound_file, outlook_storage, properties, tnef

from triage.mail.limits import Limits
from triage.mail.message import read_message
from triage.mail.outlook import read_outlook_message, read_winmail

PHOTO = picture()


def test_an_outlook_message_is_read_as_an_independent_reader_reads_it():
    content = compound_file(
        outlook_storage(
            subject="Ważka",
            text="Seen at Alder Pool.\n" * 400,
            transport_headers=header(Subject="Seen").decode(),
            sender=("Ada Finch", "ada@example.org"),
            submitted=134_258_000_000_000_000,
            files=[("ważka.jpg", PHOTO, ""), ("small.txt", b"x", "")],
        )
    )
    reference = oxmsg.Message.load(content)
    mail = read_outlook_message(content, limits=Limits())
    assert mail.text == reference.body
    assert mail.headers.first("from") == reference.message_headers["From"]
    assert mail.headers.first("date") == reference.message_headers["Date"]
    found = [(file.unpacked.name, file.unpacked.content) for file in mail.files]
    assert found == [(one.file_name, one.file_bytes) for one in reference.attachments]
    assert found[0] == ("ważka.jpg", PHOTO)


def test_without_a_header_block_outlooks_own_fields_are_taken():
    content = compound_file(
        outlook_storage(
            subject="Pond", text="x", sender=("Ada", "ada@example.org"), submitted=10**16
        )
    )
    envelope = read_message(content).envelopes[0]
    assert (envelope.sender_name, envelope.sender_address) == ("Ada", "ada@example.org")
    assert envelope.subject == "Pond"
    assert envelope.sent_at is not None
    assert envelope.sent_at.isoformat() == "1632-09-09T01:46:40+00:00"


def test_a_file_that_is_only_referenced_says_so():
    storage = outlook_storage(text="x", files=[("a.jpg", PHOTO, "")])
    attached = storage.items["__attach_version1.0_#00000000"]
    del attached.items["__substg1.0_37010102"]  # type: ignore[union-attr]
    part = read_message(compound_file(storage)).parts[-1]
    assert (part.file_name, part.outcome) == ("a.jpg", "nothing to keep")
    assert "not the file itself" in part.reason


def test_a_message_that_unpacks_to_too_much_is_not_opened():
    content = compound_file(outlook_storage(text="x", files=[("a.jpg", PHOTO, "")]))
    message = read_message(content, limits=Limits(expanded_bytes=1000))
    assert [part.outcome for part in message.parts] == ["kept, other kind"]
    assert message.parts[0].content == content


@pytest.mark.parametrize("cut", [600, 2000, 5000])
def test_a_cut_off_message_is_kept_with_its_problem(cut):
    content = compound_file(outlook_storage(text="x", files=[("a.jpg", PHOTO, "")]))[:cut]
    message = read_message(content)
    assert message.parts[0].content == content
    assert message.problems


def named_property(kind: int) -> bytes:
    """A property whose number stands for a name, by number or in letters ([MS-OXTNEF])."""
    identity = struct.pack("<HH", 0x001F, 0x8001) + bytes(16)
    if kind == 0:
        identity += struct.pack("<II", 0, 0x8233)
    else:
        identity += struct.pack("<II", 1, 10) + "Pond\0".encode("utf-16-le") + b"\0\0"
    return identity + struct.pack("<II", 1, 4) + "a\0".encode("utf-16-le")


@pytest.mark.parametrize("kind", [0, 1])
def test_a_winmail_dat_with_named_and_many_valued_properties_is_read(kind):
    several = struct.pack("<HHI", 0x1003, 0x6000, 2) + struct.pack("<II", 1, 2)
    body = struct.pack("<HHII", 0x1E, 0x1000, 1, 5) + b"Seen\0\0\0\0"
    block = struct.pack("<I", 3) + named_property(kind) + several + body
    stream = struct.pack("<IH", 0x223E9F78, 1)
    stream += struct.pack("<BHHIII", 1, 0x9007, 6, 8, 1252, 0) + struct.pack("<H", 0xE8)
    stream += struct.pack("<BHHI", 1, 0x9003, 6, len(block)) + block
    stream += struct.pack("<H", sum(block) & 0xFFFF)
    mail = read_winmail(stream)
    assert (mail.text, mail.problems) == ("Seen", ())
    assert TNEF(stream + bytes(12)).body == mail.text


def test_the_mail_attached_in_outlooks_form_names_its_sender():
    fields = {
        (0x1E, 0x0C1A): b"Ben Reed\0",
        (0x1E, 0x5D01): b"ben@example.org\0",
        (0x1E, 0x0037): b"Pond\0",
    }
    block = properties(fields)
    stream = struct.pack("<IH", 0x223E9F78, 1)
    stream += struct.pack("<BHHIII", 1, 0x9007, 6, 8, 1252, 0) + struct.pack("<H", 0xE8)
    stream += struct.pack("<BHHI", 1, 0x9003, 6, len(block)) + block
    stream += struct.pack("<H", sum(block) & 0xFFFF)
    (inner,) = read_winmail(tnef({}, inner=stream)).mails
    assert inner.headers.first("from") == '"Ben Reed" <ben@example.org>'
    assert inner.headers.first("subject") == "Pond"


def test_noise_after_the_signature_is_damaged():
    assert read_winmail(b"\x78\x9f\x3e\x22\x01\x00" + b"\xff" * 100).problems
