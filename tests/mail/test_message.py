from __future__ import annotations

import base64
from datetime import UTC, datetime, timedelta

import pytest
from mail_making import (
    base64_lines,
    file_part,
    header,
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
    encrypted_mail,
    opaque_signature,
    outlook_storage,
    tnef,
    uuencoded,
)

from triage.mail.limits import Limits
from triage.mail.message import Message, Part, file_as_message, read_message
from triage.standards.digests import digest_of

PHOTO = picture()
HEIC = picture(kind="HEIF")
CLOSED_ARCHIVE = "a RAR archive; not opened, ask the sender for the photos or a zip"
MOVIE = b"\0\0\0\x14ftypqt  \0\0\0\0qt  " + bytes(100)


def read(raw: bytes) -> Message:
    message = read_message(raw)
    paths = [part.path for part in message.parts]
    assert len(set(paths)) == len(paths)
    assert all(part.reason for part in message.parts)
    return message


def outcomes(message: Message) -> list[tuple[str, str]]:
    return [(part.file_name, part.outcome) for part in message.parts if part.file_name]


def taken(message: Message) -> list[Part]:
    return [part for part in message.parts if part.outcome == "taken in"]


def with_file(*parts: bytes, **fields: str) -> Message:
    return read(header(**fields) + multipart(text_part("Hello.\n"), *parts))


# -- kind by bytes -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "media_type"),
    [
        ("JPEG", "image/jpeg"),
        ("PNG", "image/png"),
        ("GIF", "image/gif"),
        ("WEBP", "image/webp"),
        ("TIFF", "image/tiff"),
        ("HEIF", "image/heif"),
    ],
)
@pytest.mark.parametrize(
    "declared",
    [
        "application/octet-stream",
        "image/jpg",
        "image/pjpeg",
        "text/plain",
        "application/x-download",
    ],
)
def test_a_photo_is_known_by_its_bytes_whatever_it_is_called(kind, media_type, declared):
    message = with_file(file_part(picture(kind=kind), "IMG_1.dat", content_type=declared))
    (part,) = taken(message)
    assert (part.media_type, part.file_name, part.content) == (
        media_type,
        "IMG_1.dat",
        picture(kind=kind),
    )


def test_a_file_that_only_claims_to_be_a_picture_is_kept_and_said_so():
    message = with_file(file_part(b"not a picture at all", "IMG_1.jpg"))
    assert outcomes(message) == [("IMG_1.jpg", "kept, other kind")]
    assert message.parts[-1].reason == "declared a picture, but its bytes are none that is known"


@pytest.mark.parametrize(
    ("name", "content", "reason"),
    [
        ("a.mov", MOVIE, "a video; not examined"),
        ("a.cr2", b"II*\0\x10\0\0\0CR\2\0" + bytes(100), "a raw camera file; not examined"),
        ("a.nef", b"MM\0*" + bytes(100), "a raw camera file; not examined"),
        ("a.txt", b"only words", "a text file; not examined"),
        (
            "a.rar",
            b"Rar!\x1a\x07\0" + bytes(50),
            "a RAR archive; not opened, ask the sender for the photos or a zip",
        ),
        ("a.exe", b"MZ\x90\0" + bytes(100), "a Windows program; not examined"),
    ],
)
def test_other_kinds_are_kept_with_their_reason(name, content, reason):
    declared = "text/plain" if name.endswith("txt") else "application/octet-stream"
    message = with_file(file_part(content, name, content_type=declared))
    part = message.parts[-1]
    assert (part.outcome, part.reason, part.content) == ("kept, other kind", reason, content)


def test_the_moving_half_of_a_picture_names_its_partner():
    message = with_file(
        file_part(HEIC, "IMG_7.HEIC", content_type="image/heic"),
        file_part(MOVIE, "IMG_7.MOV", content_type="video/quicktime"),
    )
    assert outcomes(message) == [("IMG_7.HEIC", "taken in"), ("IMG_7.MOV", "kept, other kind")]
    assert message.parts[-1].reason == "the moving half of the picture IMG_7.HEIC; not examined"


def test_an_empty_file_and_an_empty_mail_are_said_to_be_empty():
    assert with_file(file_part(b"", "IMG_1.jpg")).parts[-1].reason == "an empty file"
    message = read(b"")
    assert [part.reason for part in message.parts] == ["an empty text"]
    assert "the mail names no sender in From" in message.problems


# -- names -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "name"),
    [
        ('attachment; filename="=?utf-8?B?V2HFvGthIDEuanBn?="', "Ważka 1.jpg"),
        ('attachment; filename="=?iso-8859-1?Q?=DCber=20See.jpg?="', "Über See.jpg"),
        ("attachment; filename*=UTF-8''%C5%BC%C3%B3%C5%82ta.jpg", "żółta.jpg"),
        ("attachment; filename*0*=UTF-8''wa%C5; filename*1*=%BC; filename*2=ka.jpg", "ważka.jpg"),
        ('attachment; filename*0="long "; filename*1="name.jpg"', "long name.jpg"),
        ("attachment; filename=plain.jpg; filename*=UTF-8''%C5%BC.jpg", "ż.jpg"),
        ('attachment; filename="Ważka.jpg"', "Ważka.jpg"),
        ('attachment; filename="..\\..\\boot.jpg"', "boot.jpg"),
        ('attachment; filename="/etc/passwd.jpg"', "passwd.jpg"),
        ('attachment; filename="CON.jpg"', "_CON.jpg"),
        ('attachment; filename="name. . "', "name"),
        ('attachment; filename="a\u202egpj.exe"', "agpj.exe"),
        ('attachment; filename="semi;colon.jpg"', "semi;colon.jpg"),
        ("attachment; filename=two words.jpg", "two words.jpg"),
        ('attachment; filename="' + "x" * 300 + '.jpg"', "x" * 116 + ".jpg"),
    ],
)
def test_file_names_are_decoded_and_made_harmless(field, name):
    raw = f"Content-Type: image/jpeg\nContent-Disposition: {field}\n"
    raw += "Content-Transfer-Encoding: base64\n\n"
    message = with_file(raw.encode() + base64_lines(PHOTO))
    assert [part.file_name for part in taken(message)] == [name]


def test_raw_latin_bytes_in_a_name_are_read():
    raw = 'Content-Type: image/jpeg; name="M\u00fccke.jpg"\nContent-Transfer-Encoding: base64\n\n'
    message = with_file(raw.encode("latin-1") + base64_lines(PHOTO))
    assert [part.file_name for part in taken(message)] == ["Mücke.jpg"]


def test_one_name_twice_in_a_mail_stays_two_parts():
    message = with_file(file_part(PHOTO, "IMG_1.jpg"), file_part(picture(seed=1), "IMG_1.jpg"))
    assert len(taken(message)) == 2


# -- logos, pixels and photos in the text ------------------------------------------------------


def inline(content: bytes, name: str, content_type: str = "image/png") -> Message:
    html = text_part('<p>Hello <img src="cid:one@x"></p>', "text/html; charset=utf-8")
    part = file_part(
        content,
        name,
        content_type=content_type,
        disposition="inline",
        extra="Content-ID: <one@x>\n",
    )
    return read(header() + multipart(html, part, kind="related"))


@pytest.mark.parametrize(
    ("content", "name", "reason"),
    [
        (picture(1, 1, kind="GIF"), "x.gif", "a tracking pixel or spacer: 1 x 1 pixels"),
        (picture(600, 1, kind="PNG"), "line.png", "a tracking pixel or spacer: 600 x 1 pixels"),
        (picture(32, 32, kind="PNG"), "f.png", "an icon: only 32 x 32 pixels"),
        (
            picture(200, 80, kind="PNG"),
            "image001.png",
            "most likely a signature's logo, shown in the text: 200 x 80 pixels",
        ),
        (
            picture(200, 80),
            "image001.jpg",
            "most likely a signature's logo, shown in the text: 200 x 80 pixels",
        ),
        (picture(1000, 120, kind="PNG"), "b.png", "a banner shown in the text: 1000 x 120 pixels"),
        (picture(500, 300), "company-logo.jpg", "a logo by its name and size: 500 x 300 pixels"),
    ],
)
def test_logos_and_pixels_are_kept_but_not_examined(content, name, reason):
    part = inline(content, name).parts[-1]
    assert (part.outcome, part.reason) == ("kept, not examined", reason)
    assert part.content == content


@pytest.mark.parametrize(
    ("content", "name"),
    [
        (picture(320, 240), "image001.jpg"),
        (picture(240, 320), "image002.jpg"),
        (picture(1024, 768), "logo of the pond.jpg"),
        (picture(320, 240, kind="WEBP"), "image.webp"),
        (picture(640, 480, kind="PNG"), "Screenshot.png"),
        (picture(2000, 500), "panorama.jpg"),
        (HEIC, "IMG_1.HEIC"),
    ],
)
def test_a_phone_photo_in_the_text_is_taken_in(content, name):
    assert [part.content for part in taken(inline(content, name))] == [content]


def test_a_small_attached_photo_is_taken_in():
    message = with_file(file_part(picture(160, 120), "IMG_1.jpg"))
    assert len(taken(message)) == 1


# -- transfer encodings and broken structure ---------------------------------------------------


def all_quoted(content: bytes) -> bytes:
    letters = [f"={byte:02X}" for byte in content]
    lines = ["".join(letters[i : i + 25]) for i in range(0, len(letters), 25)]
    return "=\n".join(lines).encode("ascii")


def body_of(raw_body: bytes, encoding: str = "base64") -> bytes:
    return (
        f"Content-Type: image/jpeg; name=a.jpg\nContent-Transfer-Encoding: {encoding}\n\n".encode()
        + raw_body
    )


@pytest.mark.parametrize(
    ("body", "encoding"),
    [
        (base64_lines(PHOTO), "base64"),
        (base64_lines(PHOTO), "BASE64 "),
        (base64.b64encode(PHOTO), "base64"),
        (base64_lines(PHOTO).replace(b"\n", b"\r\n"), "base64"),
        (base64_lines(PHOTO).replace(b"\n", b" \n"), "base64"),
        (base64_lines(PHOTO[:300]) + base64_lines(PHOTO[300:]), "base64"),
        (base64_lines(PHOTO[:301]) + base64_lines(PHOTO[301:]), "base64"),
        (base64_lines(PHOTO) + b"\n-- \nList footer, http://example.org\n", "base64"),
        (base64_lines(PHOTO).rstrip(b"=\n"), "base64"),
        (all_quoted(PHOTO), "quoted-printable"),
        (all_quoted(PHOTO).replace(b"=\n", b"=  \r\n"), "quoted-printable"),
        (PHOTO, "binary"),
        (PHOTO, "8bit"),
        (PHOTO, "x-strange"),
        (uuencoded("a.jpg", PHOTO), "x-uuencode"),
    ],
    ids=range(15),
)
def test_a_photo_survives_every_transfer_encoding(body, encoding):
    (part,) = taken(with_file(body_of(body, encoding)))
    assert digest_of(part.content) == digest_of(PHOTO)


def test_text_embedded_in_base64_is_left_out_and_said_so():
    lines = base64_lines(PHOTO).split(b"\n")
    lines.insert(10, b"[ the mail gateway: checked ]")
    message = with_file(body_of(b"\n".join(lines)))
    assert taken(message)[0].content == PHOTO
    assert "part 2: 1 lines in the base64 text are not base64 and were left out" in message.problems


def test_a_cut_off_attachment_is_kept_as_far_as_it_came():
    message = with_file(body_of(base64_lines(PHOTO)[:5003]))
    assert PHOTO.startswith(taken(message)[0].content)
    assert any("cut off" in problem for problem in message.problems)


def test_a_missing_end_boundary_costs_nothing():
    raw = header() + multipart(text_part("Hello.\n"), file_part(PHOTO, "a.jpg"), closed=False)
    message = read(raw)
    assert taken(message)[0].content == PHOTO
    assert "the end boundary is missing; the last part may be cut off" in message.problems


def test_boundaries_with_trailing_blanks_and_look_alikes_are_told_apart():
    inner = multipart(file_part(PHOTO, "a.jpg"), boundary="frontier2")
    raw = header() + multipart(text_part("--frontier is not a boundary here: x\n"), inner)
    raw = raw.replace(b"--frontier\n", b"--frontier  \t\n")
    message = read(raw)
    assert [part.path for part in taken(message)] == ["2.1"]


def test_a_wrong_boundary_in_the_header_is_found_in_the_body():
    raw = header() + multipart(text_part("Hello.\n"), file_part(PHOTO, "a.jpg"))
    message = read(raw.replace(b'boundary="frontier"', b'boundary="other"'))
    assert taken(message)[0].content == PHOTO
    assert any("boundary named in the header" in problem for problem in message.problems)


def test_a_multipart_without_any_boundary_is_read_as_text():
    message = read(text_mail("Only words.\n", content_type="multipart/mixed"))
    assert message.envelopes[0].text == "Only words."


def test_text_right_after_the_header_is_read():
    message = read(header() + b"Seen at Alder Pool today, twelve of them.\n\nAda\n")
    assert message.envelopes[0].text.startswith("Seen at Alder Pool")
    assert any("blank line" in problem for problem in message.problems)


@pytest.mark.parametrize("line_end", [b"\n", b"\r\n", b"\r"])
def test_line_ends_do_not_matter(line_end):
    message = read(photo_mail().replace(b"\n", line_end))
    assert message.identifier == read(photo_mail()).identifier
    assert len(taken(message)) == 1


def test_nesting_and_number_of_parts_are_bounded():
    part = file_part(PHOTO, "a.jpg")
    for level in range(30):
        part = multipart(part, boundary=f"b{level}x")
    message = read(header() + part)
    assert any("nested deeper" in problem for problem in message.problems)
    many = multipart(*[text_part(f"{n}\n") for n in range(50)])
    message = read_message(header() + many, limits=Limits(parts=20))
    assert len(message.parts) <= 21
    assert any("more than 20 parts" in problem for problem in message.problems)


# -- texts -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "content_type", "text"),
    [
        ("Ważka".encode(), "text/plain; charset=utf-8", "Ważka"),
        ("Ważka".encode(), "text/plain", "Ważka"),
        ("Ważka".encode(), "text/plain; charset=us-ascii", "Ważka"),
        ("Ważka".encode(), "text/plain; charset=iso-8859-1", "Ważka"),
        ("Ważka".encode("iso-8859-2"), "text/plain; charset=iso-8859-2", "Ważka"),
        (
            "See\u2019s \u201cPool\u201d".encode("cp1252"),
            "text/plain; charset=iso-8859-1",
            "See\u2019s \u201cPool\u201d",
        ),
        ("Über".encode("cp1252"), "text/plain; charset=utf-8", "Über"),
        ("Über".encode("cp1252"), "text/plain; charset=unknown-8bit", "Über"),
        ("Über".encode("cp1252"), "text/plain; charset=no-such-thing", "Über"),
        ("トンボ".encode("iso-2022-jp"), "text/plain; charset=iso-2022-jp", "トンボ"),
        ("トンボ".encode("iso-2022-jp"), "text/plain", "トンボ"),
        ("Über +1".encode("utf-7"), "text/plain; charset=utf-7", "Über +1"),
        ("Über See".encode().decode("cp1252").encode(), "text/plain; charset=utf-8", "Über See"),
        (b"\xef\xbb\xbfhello", "text/plain; charset=utf-8", "hello"),
        ("hello".encode("utf-16"), "text/plain; charset=utf-16", "hello"),
        (b"abc", "text/plain; charset=zlib", "abc"),
        (b"abc", 'text/plain; charset="utf-8', "abc"),
    ],
)
def test_texts_are_read_in_spite_of_their_labels(content, content_type, text):
    assert read(text_mail(content, content_type=content_type)).envelopes[0].text == text


def test_soft_breaks_inside_numbers_are_closed():
    raw = header() + b"Content-Type: text/plain\nContent-Transfer-Encoding: quoted-printable\n\n"
    assert read(raw + b"At 51.5=\n074, 21=2E7=\r\n1\n").envelopes[0].text == "At 51.5074, 21.71"


@pytest.mark.parametrize(
    ("delsp", "body", "text"),
    [
        ("", "Seen at \nAlder Pool.\n", "Seen at Alder Pool."),
        ("; delsp=yes", "Alder P \nool.\n", "Alder Pool."),
        ("", "Hi. \n> old \n> words\nbye\n-- \nAda\n", "Hi.\nbye"),
        ("", " From stuffed\n", "From stuffed"),
    ],
)
def test_flowed_text_is_joined(delsp, body, text):
    message = read(text_mail(body, content_type=f"text/plain; format=flowed{delsp}"))
    assert message.envelopes[0].text == text


def test_html_alone_is_read_as_text():
    html = (
        "<html><head><title>no</title><style>p {x: y}</style></head><body><p>Seen at <b>Alder&nbsp;"
        "Pool</b>,<br>53&deg;54&prime;N</p><script>alert(1)</script><!-- no --><table><tr><td>a"
        "</td><td>b</td></tr></table><blockquote>old words</blockquote></body></html>"
    )
    envelope = read(text_mail(html, content_type="text/html; charset=utf-8")).envelopes[0]
    assert envelope.text == "Seen at Alder Pool,\n53°54′N\n\na b"
    assert envelope.quoted_text == "> old words"


def test_the_plain_form_of_an_alternative_is_read_unless_it_is_a_stub():
    html = text_part(
        "<p>Seen at <i>Alder Pool</i>, twelve of them, in the reeds by the bridge.", "text/html"
    )
    both = multipart(text_part("Seen at Alder Pool\n"), html, kind="alternative")
    assert read(header() + both).envelopes[0].text == "Seen at Alder Pool"
    stub = multipart(text_part("Needs HTML.\n"), html, kind="alternative")
    assert read(header() + stub).envelopes[0].text.startswith("Seen at Alder Pool, twelve")
    empty = multipart(text_part("\n"), html, kind="alternative")
    assert read(header() + empty).envelopes[0].text.startswith("Seen at Alder Pool, twelve")


def test_a_mail_without_a_picture_lists_every_web_link():
    text = (
        "Too large: https://photos.app.goo.gl/AbC123. And <https://cloud.example.org/s/album/9>\n"
        "http://www.example.org/about\n"
    )
    html = (
        '<a href="https://www.dropbox.com/s/xyz/IMG_1.jpg?dl=0">here</a> <a href="mailto:x@y">m</a>'
    )
    parts = multipart(text_part(text), text_part(html, "text/html"), kind="alternative")
    assert read(header() + parts).links == (
        "https://photos.app.goo.gl/AbC123",
        "https://cloud.example.org/s/album/9",
        "http://www.example.org/about",
        "https://www.dropbox.com/s/xyz/IMG_1.jpg?dl=0",
    )


# -- containers --------------------------------------------------------------------------------


def test_a_zip_with_photos_is_opened():
    inner = zip_file({"deeper/b.jpg": picture(seed=1)})
    packed = zip_file(
        {
            "a.jpg": PHOTO,
            "__MACOSX/._a.jpg": b"x",
            "more.zip": inner,
            "../../c.png": picture(kind="PNG"),
        }
    )
    message = with_file(file_part(packed, "photos.zip", content_type="application/zip"))
    assert [(part.path, part.outcome) for part in message.parts[1:]] == [
        ("2", "nothing to keep"),
        ("2/photos.zip/__MACOSX/._a.jpg", "nothing to keep"),
        ("2/photos.zip/a.jpg", "taken in"),
        ("2/photos.zip/more.zip", "nothing to keep"),
        ("2/photos.zip/more.zip/more.zip/deeper/b.jpg", "taken in"),
        ("2/photos.zip/c.png", "taken in"),
    ]


def test_an_encrypted_zip_is_kept_and_says_what_to_ask():
    packed = bytearray(zip_file({"a.jpg": PHOTO}))
    for signature, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        packed[packed.index(signature) + offset] |= 1
    message = with_file(file_part(bytes(packed), "photos.zip"))
    assert outcomes(message) == [("photos.zip", "kept, other kind")]
    assert "needs a password; ask the sender" in message.parts[-1].reason


def test_a_zip_bomb_is_kept_closed():
    message = with_file(file_part(zip_file({"a.jpg": bytes(50_000_000)}), "photos.zip"))
    assert outcomes(message) == [("photos.zip", "kept, other kind")]
    assert "bomb" in message.parts[-1].reason


def test_all_archives_of_a_message_share_one_budget():
    packed = zip_file({f"{n}.jpg": picture(seed=n) for n in range(4)}, compression=0)
    raw = header() + multipart(file_part(packed, "a.zip"), file_part(packed, "b.zip"))
    message = read_message(raw, limits=Limits(expanded_bytes=3 * len(PHOTO) // 2))
    assert sum(len(part.content) for part in message.parts if "/" in part.path) <= 1.5 * len(PHOTO)
    assert any("more than is allowed" in problem for problem in message.problems)


def test_a_winmail_dat_gives_its_photos_and_text():
    packed = tnef(
        {"ważka IMG_1.jpg": PHOTO, "b.png": picture(kind="PNG")}, body="Seen at Alder Pool."
    )
    message = read(
        header() + multipart(file_part(packed, "winmail.dat", content_type="application/ms-tnef"))
    )
    assert [(part.path, part.file_name, part.outcome) for part in message.parts] == [
        ("1", "winmail.dat", "nothing to keep"),
        ("1/text", "", "nothing to keep"),
        ("1/1", "ważka IMG_1.jpg", "taken in"),
        ("1/2", "b.png", "taken in"),
    ]
    assert message.parts[2].content == PHOTO
    assert message.envelopes[0].text == "Seen at Alder Pool."


def test_a_mail_inside_a_winmail_dat_is_a_layer_of_its_own():
    packed = tnef({}, inner=tnef({"a.jpg": PHOTO}, body="Inner words."))
    message = with_file(file_part(packed, "winmail.dat"))
    assert [part.file_name for part in taken(message)] == ["a.jpg"]
    assert [envelope.text for envelope in message.envelopes] == ["Hello.", "Inner words."]
    assert taken(message)[0].envelope == 1


def file_time(moment: datetime) -> int:
    return (moment - datetime(1601, 1, 1, tzinfo=UTC)) // timedelta(microseconds=1) * 10


def test_an_outlook_message_is_read_like_a_mail():
    headers = header().decode()
    inner = outlook_storage(
        subject="Inner",
        text="From me.",
        sender=("Ben Reed", "ben@example.org"),
        submitted=file_time(datetime(2026, 6, 8, 12, tzinfo=UTC)),
        files=[("c.jpg", picture(seed=2), "")],
        embedded=True,
    )
    storage = outlook_storage(
        text="Seen at Alder Pool.",
        html=b"<p>Seen <img src='cid:x1'>",
        transport_headers=headers,
        files=[("IMG_1.jpg", PHOTO, ""), ("image001.png", picture(200, 80, kind="PNG"), "x1")],
        mails=[inner],
    )
    message = read(compound_file(storage))
    assert message.message_id == "one@example.org"
    assert [(part.path, part.file_name, part.outcome) for part in message.parts] == [
        ("text", "", "nothing to keep"),
        ("html", "", "nothing to keep"),
        ("1", "IMG_1.jpg", "taken in"),
        ("2", "image001.png", "kept, not examined"),
        ("3/text", "", "nothing to keep"),
        ("3/1", "c.jpg", "taken in"),
    ]
    outer, forwarded = message.envelopes
    assert (outer.sender_address, outer.text) == ("ada@example.org", "Seen at Alder Pool.")
    assert (forwarded.sender_name, forwarded.sender_address) == ("Ben Reed", "ben@example.org")
    assert forwarded.sent_at is not None
    assert forwarded.sent_at.isoformat() == "2026-06-08T12:00:00+00:00"


def test_an_outlook_message_attached_to_a_mail_is_a_forwarded_mail():
    storage = outlook_storage(
        text="Inner.", sender=("Ben", "ben@example.org"), files=[("a.jpg", PHOTO, "")]
    )
    message = with_file(
        file_part(compound_file(storage), "old.msg", content_type="application/octet-stream")
    )
    assert [envelope.sender_address for envelope in message.envelopes] == [
        "ada@example.org",
        "ben@example.org",
    ]
    assert [(part.path, part.envelope) for part in taken(message)] == [("2/1", 1)]


def test_uuencoded_photos_in_the_text_come_out():
    raw = text_mail(
        b"Two photos:\n\n"
        + uuencoded("a.jpg", PHOTO)
        + b"\n"
        + uuencoded("b.jpg", picture(seed=1))
        + b"\nbye\n"
    )
    message = read(raw)
    assert [(part.file_name, part.content) for part in taken(message)] == [
        ("a.jpg", PHOTO),
        ("b.jpg", picture(seed=1)),
    ]
    assert message.envelopes[0].text == "Two photos:\n\nbye"


def test_the_resource_fork_beside_a_photo_is_nothing_to_keep():
    double = multipart(
        file_part(apple_double("a.jpg"), "a.jpg", content_type="application/applefile"),
        file_part(PHOTO, "a.jpg"),
        kind="appledouble",
        boundary="inner",
    )
    message = with_file(double)
    assert [(part.path, part.content == PHOTO) for part in taken(message)] == [("2.2", True)]
    assert message.parts[-2].reason == "the Macintosh resource fork of the file beside it"
    assert message.parts[-2].outcome == "nothing to keep"


@pytest.mark.parametrize("streaming", [False, True])
def test_a_signed_mail_is_opened(streaming):
    entity = multipart(text_part("Seen at Alder Pool.\n"), file_part(PHOTO, "a.jpg"), boundary="in")
    part = file_part(
        opaque_signature(entity, streaming=streaming),
        "smime.p7m",
        content_type="application/pkcs7-mime; smime-type=signed-data",
    )
    message = read(header() + part)
    assert [(part.path, part.content) for part in taken(message)] == [("1/signed.2", PHOTO)]
    assert message.envelopes[0].text == "Seen at Alder Pool."


def test_an_encrypted_mail_says_so():
    part = file_part(encrypted_mail(), "smime.p7m", content_type="application/pkcs7-mime")
    assert "ask the sender to send it unencrypted" in read(header() + part).parts[0].reason
    pgp = multipart(
        text_part("Version: 1\n", "application/pgp-encrypted"),
        file_part(
            b"-----BEGIN PGP MESSAGE-----\n\nabc\n-----END PGP MESSAGE-----\n",
            "encrypted.asc",
            content_type="application/octet-stream",
            encoding="7bit",
        ),
        kind="encrypted",
    )
    assert "unreadable without the key" in read(header() + pgp).parts[-1].reason


def test_a_detached_signature_is_nothing_to_keep():
    signed = multipart(
        text_part("Hello.\n"),
        file_part(b"\x30\x03abc", "smime.p7s", content_type="application/pkcs7-signature"),
        kind="signed",
    )
    part = read(header() + signed).parts[-1]
    assert (part.outcome, part.reason) == ("nothing to keep", "a digital signature")


# -- forwarded mails ---------------------------------------------------------------------------


def test_forwarded_mails_are_opened_to_their_senders():
    inner = photo_mail(
        "Inner words.\n", From="Ben Reed <ben@example.org>", Date="Sat, 13 Jun 2026 10:00:00 +0200"
    )
    middle = header(From="cleo@example.org") + multipart(
        text_part("Middle.\n"), b"Content-Type: message/rfc822\n\n" + inner, boundary="m"
    )
    message = read(
        header()
        + multipart(
            text_part("Outer.\n"), file_part(middle, "old.eml", content_type="message/rfc822")
        )
    )
    assert [(e.sender_address, e.text) for e in message.envelopes] == [
        ("ada@example.org", "Outer."),
        ("cleo@example.org", "Middle."),
        ("ben@example.org", "Inner words."),
    ]
    (part,) = taken(message)
    assert (part.path, part.envelope) == ("2.2.2", 2)
    assert message.envelopes[2].sent_at is not None
    assert message.envelopes[2].sent_at.isoformat() == "2026-06-13T10:00:00+02:00"


def test_an_eml_file_attached_under_a_wrong_type_is_opened():
    message = with_file(
        file_part(
            photo_mail(From="ben@example.org"), "fwd.eml", content_type="application/octet-stream"
        )
    )
    assert [part.envelope for part in taken(message)] == [1]


@pytest.mark.parametrize(
    ("words", "author"),
    [
        ("FYI", 1),
        ("Look what my sister sent me!", 1),
        ("A friend of mine took it.", 1),
        ("The photo is not mine.", 1),
        ("I took this one at Alder Pool, see what Ben wrote below.", 0),
        ("Mein Foto ist vom Erlenteich, Bens steht unten.", 0),
        ("Moje zdjęcie jest znad Olszynki.", 0),
        ("La mienne est de ce matin.", 0),
    ],
)
def test_an_inline_forward_gives_its_photos_to_the_inner_author_unless_called_own(words, author):
    text = (
        f"{words}\n\n---------- Forwarded message ---------\nFrom: Ben Reed <ben@example.org>\n"
        "Date: Sun, 14 Jun 2026 at 10:15\nSubject: Pond\nTo: <ada@example.org>\n\nAt Alder Pool.\n"
    )
    message = read(photo_mail(text, Subject="Fwd: Pond"))
    assert [(e.sender_address, e.text) for e in message.envelopes] == [
        ("ada@example.org", words),
        ("ben@example.org", "At Alder Pool."),
    ]
    assert taken(message)[0].envelope == author


# -- automatic mails ---------------------------------------------------------------------------


def test_a_bounce_is_recognised_and_its_photos_stay_out():
    report = multipart(
        text_part("Could not be delivered.\n"),
        text_part("Reporting-MTA: dns; mx.example.org\n", "message/delivery-status"),
        b"Content-Type: message/rfc822\n\n" + photo_mail(),
        kind="report",
        extra="; report-type=delivery-status",
    )
    message = read(header(From="MAILER-DAEMON@example.org", Subject="Undelivered Mail") + report)
    assert message.automatic == "bounce"
    assert taken(message) == []
    assert message.parts[-1].reason == "part of a mail that came back undelivered"


@pytest.mark.parametrize(
    ("fields", "automatic"),
    [
        ({"Auto-Submitted": "auto-replied (vacation)"}, "auto-reply"),
        ({"Auto-Submitted": "no"}, ""),
        ({"Auto-Submitted": "auto-generated"}, ""),
        ({"Subject": "Abwesenheitsnotiz: Re: your photos"}, "auto-reply"),
        ({"Subject": "Odpowiedź automatyczna: pytanie"}, "auto-reply"),
        ({"X-Autoreply": "yes"}, "auto-reply"),
        ({"Subject": "Out of office: a dragonfly at lunch"}, ""),
        ({"Return-Path": "<>", "Subject": "failure notice"}, "bounce"),
        ({"Subject": "Delivery of my photos failed?"}, ""),
    ],
)
def test_automatic_answers_are_told_from_people(fields, automatic):
    assert (
        read(text_mail("x\n", **{k.replace("-", "_"): v for k, v in fields.items()})).automatic
        == automatic
    )


@pytest.mark.parametrize(
    ("fields", "distribution"),
    [
        ({"List-Id": "Fen News <news.fen.example.org>"}, "list Fen News <news.fen.example.org>"),
        ({"Precedence": "bulk"}, "precedence bulk"),
        ({"Precedence": "first-class"}, ""),
        ({"List-Unsubscribe": "<mailto:x@example.org>"}, "whoever no longer wants it can leave"),
        ({"List-Id": "x", "Auto-Submitted": "auto-replied"}, ""),
    ],
)
def test_a_mail_to_many_is_told_by_its_list(fields, distribution):
    found = read(text_mail("x\n", **{k.replace("-", "_"): v for k, v in fields.items()}))
    assert found.distribution == distribution


def test_a_person_who_writes_like_a_machine_and_sends_a_picture_is_a_person():
    machine = read(text_mail("Away.\n", Subject="Automatic reply: photos"))
    person = read(photo_mail(Subject="Automatic reply: photos"))
    assert (machine.automatic, person.automatic) == ("auto-reply", "")


# -- identity ----------------------------------------------------------------------------------


def test_a_reused_message_id_with_other_content_is_another_message():
    assert read(photo_mail()).identifier != read(photo_mail("Other words.\n")).identifier
    assert read(photo_mail()).identifier != read(photo_mail(seed=1)).identifier


def test_without_message_id_sender_and_date_decide():
    plain = read(photo_mail(Message_ID=""))
    again = read(photo_mail(Message_ID="", Received="from a; Sun, 14 Jun 2026 18:06:00 +0200"))
    assert plain.identifier == again.identifier
    assert "the mail has no Message-ID" in plain.problems
    same_instant = read(photo_mail(Message_ID="", Date="Sun, 14 Jun 2026 16:05:00 +0000"))
    assert plain.identifier == same_instant.identifier
    for change in ({"From": "ben@example.org"}, {"Date": "Sun, 14 Jun 2026 18:06:00 +0200"}):
        assert read(photo_mail(Message_ID="", **change)).identifier != plain.identifier


def test_the_encoding_chosen_in_transport_does_not_matter():
    text = "Ważka at Alder Pool, seen from the bridge.\n"
    plain = read(text_mail(text))
    encoded = (
        header() + b"Content-Type: text/plain; charset=utf-8\nContent-Transfer-Encoding: base64\n\n"
    )
    assert read(encoded + base64_lines(text.encode())).identifier == plain.identifier


def test_a_list_footer_does_not_make_another_message():
    footer = (
        "_" * 47
        + "\nSurvey mailing list\nSurvey@lists.example.org\nhttp://lists.example.org/survey\n"
    )
    assert read(text_mail("Seen.\n" + footer)).identifier == read(text_mail("Seen.\n")).identifier
    with_part = header() + multipart(text_part("Seen.\n"), text_part(footer))
    assert read(with_part).identifier == read(header() + multipart(text_part("Seen.\n"))).identifier


def test_a_loose_photo_is_a_message_without_sender():
    message = file_as_message("../IMG_1.jpg", PHOTO)
    assert (message.envelopes[0].sender_address, message.message_id) == ("", "")
    assert [(part.file_name, part.outcome) for part in message.parts] == [("IMG_1.jpg", "taken in")]
    assert message.raw_sha256 == digest_of(PHOTO)
    assert message.identifier != file_as_message("IMG_2.jpg", PHOTO).identifier
    assert message.identifier == file_as_message("IMG_1.jpg", PHOTO).identifier


def test_the_header_is_read():
    message = read(
        photo_mail(
            Subject="=?utf-8?q?Wa=C5=BCka?=",
            Date="Sun, 14 Jun 2026 18:05:00 -0000",
            In_Reply_To="<a@b>",
            References="<z@b> <a@b>",
            Received="from x by y; Sun, 14 Jun 2026 18:06:00 +0200",
            From="=?iso-8859-2?Q?=A3ucja?= <LU@Example.ORG>",
        )
    )
    envelope = message.envelopes[0]
    assert (envelope.subject, envelope.sender_name, envelope.sender_address) == (
        "Ważka",
        "Łucja",
        "LU@example.org",
    )
    assert envelope.sent_at is not None
    assert envelope.sent_at.tzinfo is None
    assert (message.in_reply_to, message.references) == ("a@b", ("z@b", "a@b"))
    assert message.received_at is not None
    assert message.received_at.isoformat() == "2026-06-14T18:06:00+02:00"


def test_the_author_behind_a_mailing_list_is_the_sender():
    message = read(
        photo_mail(
            From="'Ben Reed' via Survey <survey@lists.example.org>",
            Reply_To="Ben Reed <ben@example.org>",
            List_Id="<survey.lists.example.org>",
        )
    )
    envelope = message.envelopes[0]
    assert (envelope.sender_name, envelope.sender_address) == ("Ben Reed", "ben@example.org")
    plain = read(photo_mail(From="Ben via bus <ben@example.org>", Reply_To="x@example.org"))
    assert plain.envelopes[0].sender_address == "ben@example.org"


@pytest.mark.parametrize(
    ("date", "iso"),
    [
        ("Sun, 14 Jun 26 18:05 EDT", "2026-06-14T18:05:00-04:00"),
        ("Sun, 14 Jun 2026 18:05:00 +0200 (CEST)", "2026-06-14T18:05:00+02:00"),
        ("2026-06-14T18:05:00+02:00", "2026-06-14T18:05:00+02:00"),
        ("14. Juni 2026 18:05", "2026-06-14T18:05:00"),
        ("Sun, 14 Jun 2026 18:05:00 +0200 (unclosed", "2026-06-14T18:05:00+02:00"),
    ],
)
def test_dates_in_old_and_odd_forms_are_read(date, iso):
    sent_at = read(photo_mail(Date=date)).envelopes[0].sent_at
    assert sent_at is not None
    assert sent_at.isoformat() == iso


@pytest.mark.parametrize(
    "date",
    [
        "",
        "yesterday",
        "Fri, 32 Foo 99999 99:99:99 +9999",
        "Fri, 31 Dec 9999 23:59:59 -1200",  # in other zones a day of no calendar
        "31. Dezember 9999 um 23:59 Uhr",
        "0001-01-01 00:00 +14:00",
    ],
)
def test_a_date_that_cannot_be_read_is_a_problem(date):
    message = read(photo_mail(Date=date))
    assert message.envelopes[0].sent_at is None
    assert any("Date" in problem for problem in message.problems)


def test_texts_that_servers_made_files_of_are_read():
    message = with_file(
        file_part(PHOTO, "a.jpg"),
        file_part(b"At Alder Pool.\n", "ATT00001.txt", content_type="text/plain"),
        file_part(b"x,y\n", "list.csv", content_type="text/plain", disposition="inline"),
    )
    assert message.envelopes[0].text == "Hello.\n\nAt Alder Pool."
    assert message.parts[-1].reason == "a text file; not examined"


@pytest.mark.parametrize(
    ("content_type", "reason"),
    [
        ("application/smil", "the layout of a picture message"),
        ("text/calendar", "a calendar entry"),
        ("text/vcard", "a contact card"),
    ],
)
def test_what_nobody_needs_is_nothing_to_keep(content_type, reason):
    part = with_file(file_part(b"BEGIN", "x", content_type=content_type)).parts[-1]
    assert (part.outcome, part.reason) == ("nothing to keep", reason)


def test_links_in_quoted_text_are_not_listed_again():
    text = "Here.\n> https://photos.app.goo.gl/old\n"
    assert read(text_mail(text)).links == ()
    html = '<p>Here.<blockquote><a href="https://photos.app.goo.gl/old">old</a></blockquote>'
    assert read(text_mail(html, content_type="text/html")).links == ()


def test_a_photo_called_a_mail_is_a_photo():
    message = with_file(file_part(PHOTO, "a.jpg", content_type="message/rfc822"))
    assert [part.file_name for part in taken(message)] == ["a.jpg"]


def test_a_mail_that_is_one_photo_and_nothing_else():
    message = read(header() + file_part(PHOTO, "a.jpg"))
    assert [(part.path, part.outcome) for part in message.parts] == [("1", "taken in")]


def test_a_cut_off_winmail_dat_is_kept_whole():
    packed = tnef({"a.jpg": PHOTO, "b.jpg": picture(seed=1)})[:-5000]
    message = with_file(file_part(packed, "winmail.dat"))
    assert outcomes(message)[:2] == [("winmail.dat", "kept, other kind"), ("a.jpg", "taken in")]
    assert "cut off" in message.parts[1].reason
