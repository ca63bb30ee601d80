from __future__ import annotations

import struct
import subprocess
import sys
import time
import zipfile
from email import message_from_bytes, policy
from email.message import EmailMessage
from unicodedata import normalize

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from mail_making import (
    file_part,
    header,
    mbox_file,
    multipart,
    photo_mail,
    picture,
    text_mail,
    text_part,
    zip_file,
)
from wrapping import (
    apple_double,
    compound_file,
    opaque_signature,
    outlook_storage,
    tnef,
    uuencoded,
)

from triage.mail.charsets import decode_text
from triage.mail.consent import read_consent
from triage.mail.message import Message, read_message
from triage.standards.digests import digest_of

SMALL = picture(120, 100)
MEGABYTE = 1_000_000
SECONDS_A_MEGABYTE = 4  # of processor time; the slowest of these takes about a tenth of it


def checked(raw: bytes) -> Message:
    """Read a mail and everything that reads a Message after it; nothing may be raised."""
    message = read_message(raw)
    read_consent(message.envelopes[0].text)
    assert message.parts
    assert all(part.reason for part in message.parts)
    assert len({part.path for part in message.parts}) == len(message.parts)
    for part in message.parts:
        part.file_name.encode("utf-8")
        assert not set(part.file_name) & set("/\\:\0\n\u202e")
        assert (part.content == b"") or part.outcome != "nothing to keep"
    return message


# -- random damage -----------------------------------------------------------------------------

VALID = [
    photo_mail(),
    header()
    + multipart(
        text_part("Hello\n"),
        file_part(zip_file({"a.jpg": SMALL, "b.zip": zip_file({"c.jpg": SMALL})}), "a.zip"),
        file_part(tnef({"a.jpg": SMALL}, body="x", inner=tnef({"b.jpg": SMALL})), "winmail.dat"),
    ),
    compound_file(
        outlook_storage(text="Seen", transport_headers="From: a@b\n", files=[("a.jpg", SMALL, "x")])
    ),
    header()
    + file_part(
        opaque_signature(multipart(text_part("x"), file_part(SMALL, "a.jpg")), streaming=True),
        "smime.p7m",
        content_type="application/pkcs7-mime",
    ),
    text_mail(b"Hi\n" + uuencoded("a.jpg", SMALL) + b"\nbye\n"),
    header() + multipart(file_part(apple_double("c")), file_part(SMALL), kind="appledouble"),
    header()
    + multipart(text_part("<img src='cid:x'>", "text/html"), file_part(SMALL, "=?utf-8?q?a?=")),
    text_mail(
        "FYI\n\n-- Forwarded message --\nFrom: Ben <b@example.org>\nDate: 14 June 2026 9:15\n\n> x"
    ),
    header() + multipart(text_part("Hello\n"), b"Content-Type: message/rfc822\n\n" + photo_mail()),
]
TOKENS = [
    b"--frontier", b"\n\n", b"\r", b"=?", b"?=", b"\0" * 8, b"\xff" * 4, b":", b";",
    b"--frontier--", b'"', b"Content-Type: multipart/mixed; boundary=x\n",
    b"Content-Transfer-Encoding: base64\n",
    b"Content-Type: message/rfc822\n\n", b"charset=utf-7", b"charset=idna", b"charset=undefined",
    b"filename*0*=%", b"Date: Fri, 32 Foo 99999 99:99:99 +9999\n", b'From: <<<@>>>,"\n',
    b"begin 644 a\n", b"<blockquote>" * 50, b"&#99999999999;", b"PK\x03\x04", b"PK\x05\x06",
    b"\x7f\xff\xff\xff", b'boundary=""',
]  # fmt: skip


@st.composite
def damaged(draw: st.DrawFn) -> bytes:
    raw = bytearray(draw(st.sampled_from(VALID)))
    for _ in range(draw(st.integers(1, 8))):
        place = draw(st.integers(0, len(raw)))
        kind = draw(st.sampled_from(["insert", "overwrite", "remove", "repeat", "cut", "byte"]))
        token = draw(st.sampled_from(TOKENS))
        if kind == "insert":
            raw[place:place] = token
        elif kind == "overwrite":
            raw[place : place + len(token)] = token
        elif kind == "remove":
            del raw[place : place + draw(st.sampled_from([1, 10, 100, 1000]))]
        elif kind == "repeat":
            raw[place:place] = raw[place : place + 200]
        elif kind == "byte" and raw:
            raw[place % len(raw)] = draw(st.integers(0, 255))
        elif kind == "cut":
            del raw[place:]
    return bytes(raw)


@given(damaged())
@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_damaged_mail_is_read_as_far_as_it_goes(raw):
    checked(raw)


@given(st.binary(max_size=400))
@settings(max_examples=100, deadline=None)
def test_noise_is_a_message_too(raw):
    checked(raw)


# -- inputs made to be slow --------------------------------------------------------------------


def repeated(piece: bytes, size: int = MEGABYTE) -> bytes:
    return piece * (size // len(piece))


def hostile_tnef() -> bytes:
    """A block of properties that claims four thousand million values."""
    block = struct.pack("<IHHI", 1, 0x1003, 0x3701, 0xFFFFFFFF)
    many = struct.pack("<IHH", 0xFFFFFFFF, 0x0003, 0x3701)
    head = struct.pack("<IH", 0x223E9F78, 1)
    for data in (block, many):
        head += struct.pack("<BHHI", 1, 0x9003, 6, len(data)) + data + b"\0\0"
        head += struct.pack("<BHHI", 2, 0x9002, 6, 2) + b"\0\0\0\0"
        head += struct.pack("<BHHI", 2, 0x9005, 6, len(data)) + data + b"\0\0"
    return (
        head
        + struct.pack("<BHHI", 1, 0x8004, 1, 1) * 0
        + repeated(b"\1\4\x80\1\0\1\0\0\0x\0\0", 300_000)
    )


SLOW = {
    "boundaries": header() + multipart(repeated(b"--frontier\n\n")),
    "look-alike boundaries": header() + multipart(repeated(b"--frontierx\n")),
    "nested multiparts": header()
    + repeated(b'Content-Type: multipart/mixed; boundary="a"\n\n--a\n', 300_000),
    "nested mails": header() + repeated(b"Content-Type: message/rfc822\n\n"),
    "header fields": repeated(b"X-A: b\n") + b"\nx\n",
    "one long field": b"Subject: " + repeated(b"=?utf-8?q?a?= ") + b"\n\nx\n",
    "folded lines": b"Subject: a\n" + repeated(b" b\n") + b"\nx\n",
    "open quotes": repeated(b'Content-Type: text/plain;a="\\";b="\\";c="\\"' * 400 + b"\n")
    + b"\nx\n",
    "addresses": b"From: " + repeated(b"a@<", 100_000) + b"\n\nx\n",
    "short base64 lines": header()
    + file_part(repeated(b"QQ==\n"), "a.jpg", encoding="x").replace(
        b"Encoding: x", b"Encoding: base64"
    ),
    "dirty base64": header()
    + file_part(repeated(b"Q Q!\n"), "a.jpg", encoding="x").replace(
        b"Encoding: x", b"Encoding: base64"
    ),
    "uuencode starts": text_mail(repeated(b"begin 644 a\n")),
    "uuencode lines": text_mail(b"begin 644 a\n" + repeated(b"#86)C\n") + b"begin 644 b\n"),
    "tags": text_mail(repeated(b"<"), content_type="text/html"),
    "open comment": text_mail(repeated(b"<!-- "), content_type="text/html"),
    "quotes in html": text_mail(repeated(b"<blockquote>x"), content_type="text/html"),
    "hrefs": text_mail(b"<a " + repeated(b'href="'), content_type="text/html"),
    "links": text_mail(repeated(b"https://cloud.example.org/album/a\n")),
    "header blocks": text_mail(repeated(b"From: a\nDate: b\nTo: c\n")),
    "forward marks": text_mail(repeated(b"-- Forwarded message --\nFrom: a@b\n\nx\n")),
    "attributions": text_mail(repeated(b"On 1 a b c d e f g h i j wrote :x wrote:\n")),
    "quote marks": text_mail(repeated(b">")),
    "quoted lines": text_mail(repeated(b"> a\n")),
    "underscores": text_mail(repeated(b"_" * 40 + b"\n\n")),
    "empty lines": text_mail(repeated(b"\n")),
    "dashes": text_mail(repeated(b"-- \n")),
    "flowed": text_mail(repeated(b">> a \n"), content_type="text/plain; format=flowed"),
    "consent words": text_mail(repeated(b"you may not publish my photos if ")),
    "winmail.dat": header() + file_part(hostile_tnef(), "winmail.dat"),
    "pdf streams": header()
    + file_part(b"%PDF-1.7\n" + repeated(b"stream\n\xff\xd8\xff") + b"endstream", "a.pdf"),
    "indefinite lengths": header() + file_part(repeated(b"\x30\x80"), "smime.p7m"),
    "many files": header()
    + file_part(
        zip_file({f"{n}.x": b"" for n in range(6000)}, compression=zipfile.ZIP_STORED), "a.zip"
    ),
}


@pytest.mark.parametrize("name", SLOW)
def test_a_mail_made_to_be_slow_is_read_in_bounded_time(name):
    raw = SLOW[name]
    begin = time.process_time()
    checked(raw)
    allowed = SECONDS_A_MEGABYTE * max(len(raw) / MEGABYTE, 0.5)
    assert time.process_time() - begin < allowed


# -- memory ------------------------------------------------------------------------------------


@pytest.mark.skipif(sys.platform != "linux", reason="the memory of a process is limited on Linux")
def test_an_mbox_of_300_megabytes_is_read_in_half_of_that(tmp_path):
    photo = header(Message_ID="<NUMBER@example.org>") + multipart(
        text_part("Seen.\n"), file_part(picture(2000, 1500), "a.jpg")
    )
    path = tmp_path / "big.mbox"
    with path.open("wb") as out:
        for number in range(262):
            out.write(mbox_file([photo.replace(b"NUMBER", str(number).encode())]))
    assert path.stat().st_size > 300 * MEGABYTE
    script = (
        "import resource, sys\n"
        "resource.setrlimit(resource.RLIMIT_DATA, (150_000_000, 150_000_000))\n"
        "from pathlib import Path\n"
        "from triage.mail.message import read_message\n"
        "from triage.mail.sources import iter_source\n"
        "read = {read_message(d.raw).identifier for d in iter_source(Path(sys.argv[1]))}\n"
        "print(len(read))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(path)], capture_output=True, text=True, check=False
    )
    assert (done.stdout.strip(), done.stderr) == ("262", "")


# -- an independent reader ---------------------------------------------------------------------


def not_encoded_twice(text: str) -> bool:
    """What looks encoded twice is put right on purpose; tests/mail/test_charsets.py is for that."""
    return decode_text(text.encode("utf-8"), "utf-8") == (text, "")


@st.composite
def well_formed(draw: st.DrawFn) -> EmailMessage:
    """A mail written by the standard library, with texts, names and files of all kinds."""
    mail = EmailMessage(policy=policy.default)
    mail["From"] = "Ada Finch <ada@example.org>"
    mail["Subject"] = draw(
        st.text(st.characters(codec="utf-8", categories=["L", "N"]), max_size=40).filter(
            not_encoded_twice
        )
    )
    mail["Date"] = "Sun, 14 Jun 2026 18:05:00 +0200"
    words = st.text(
        st.characters(codec="utf-8", categories=["L", "N", "Zs"]), min_size=1, max_size=200
    ).filter(not_encoded_twice)
    charset = draw(st.sampled_from(["utf-8", "utf-8", "us-ascii"]))
    text = draw(words) if charset == "utf-8" else "plain words only"
    encoding = draw(
        st.sampled_from(["base64", "quoted-printable", "8bit" if charset == "utf-8" else "7bit"])
    )
    mail.set_content(text + "\n", charset=charset, cte=encoding)
    if draw(st.booleans()):
        mail.add_alternative(f"<p>{draw(words)}</p>", subtype="html")
    names = st.text(
        st.characters(codec="utf-8", categories=["L", "N"]), min_size=1, max_size=60
    ).filter(not_encoded_twice)
    for number in range(draw(st.integers(0, 3))):
        content = b"\xff\xd8\xff" + draw(st.binary(max_size=300))
        mail.add_attachment(
            content,
            maintype=draw(st.sampled_from(["image", "application"])),
            subtype="x-any",
            filename=f"{draw(names)}-{number}.jpg",
            cte="base64",
        )
    return mail


@given(well_formed(), st.sampled_from([policy.default, policy.SMTP, policy.SMTPUTF8]))
@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
def test_well_formed_mails_are_read_as_the_standard_library_reads_them(mail, written_by):
    raw = mail.as_bytes(policy=written_by)
    reference = message_from_bytes(raw, policy=policy.default)
    message = read_message(raw)
    expected = [
        (normalize("NFC", part.get_filename()), digest_of(part.get_content()))
        for part in reference.iter_attachments()
    ]
    found = [(part.file_name, digest_of(part.content)) for part in message.parts if part.content]
    assert found == expected
    body = reference.get_body(("plain",))
    assert body is not None
    assert message.envelopes[0].text.split() == body.get_content().split()
    assert message.envelopes[0].subject == " ".join(str(reference["Subject"]).split())
    assert message.envelopes[0].sent_at == reference["Date"].datetime


# -- what is left out is said, in words of our own ---------------------------------------------


def test_a_photo_behind_any_number_of_header_fields_is_taken_in():
    traced = b"Received: from a by b; Sun, 14 Jun 2026 18:06:00 +0200\n" * 50_000
    message = checked(traced + photo_mail())
    assert [part.outcome for part in message.parts if part.content] == ["taken in"]
    assert message.envelopes[0].sender_address


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda content: content[:-30], "it is damaged or was cut off; have it sent again"),
        (
            lambda content: content.replace(b"PK\x01\x02", b"PK\x01\x09"),
            "it is damaged or was cut off; have it sent again",
        ),
        (
            lambda content: content[:-10] + b"\xff\xff\xff\x7f" + content[-6:],
            "it lists more files than are opened",
        ),
    ],
)
def test_why_an_archive_is_not_opened_is_said_in_plain_words(spoil, said):
    packed = spoil(zip_file({"a.jpg": SMALL, "b.jpg": SMALL}))
    mail = header() + multipart(text_part("Two."), file_part(packed, "two.zip"))
    (part,) = (part for part in checked(mail).parts if part.file_name == "two.zip")
    assert part.outcome == "kept, other kind"
    assert part.reason.endswith(f"the zip archive cannot be read: {said}")
