from __future__ import annotations

from mail_making import file_part, header, multipart, picture, text_part, zip_file

from triage.mail.explain import explain
from triage.mail.message import read_message


def test_every_part_and_every_author_has_its_line():
    inner = header(From="Ben Reed <ben@example.org>", Date="") + multipart(
        text_part("At Alder Pool.\n"), file_part(picture(), "a.jpg"), boundary="inner"
    )
    raw = header(Received="from a by b; Sun, 14 Jun 2026 18:06:00 +0200") + multipart(
        text_part("See https://photos.app.goo.gl/abc\n> old\n"),
        b"Content-Type: message/rfc822\n\n" + inner,
        file_part(zip_file({"b.jpg": b"broken"}), "b.zip"),
    )
    message = read_message(raw)
    lines = explain(message)
    assert lines == [
        f"message {message.identifier}",
        "  Message-ID: one@example.org",
        "  received: 2026-06-14T18:06:00+02:00",
        "  from: Ada Finch ada@example.org, 2026-06-14T18:05:00+02:00",
        "    subject: Seen today",
        "    wrote: See https://photos.app.goo.gl/abc",
        "    quoted, not read for place or date: 1 lines",
        "  forwarded mail 1, from: Ben Reed ben@example.org, no date",
        "    subject: Seen today",
        "    wrote: At Alder Pool.",
        "  part 1 (text/plain): nothing to keep: the message's text, read",
        "  part 2 (message/rfc822): nothing to keep: a forwarded mail, opened",
        "  part 2.1 (text/plain, of forwarded mail 1): nothing to keep: the message's text, read",
        f"  part 2.2 a.jpg (image/jpeg, {len(picture())} bytes, of forwarded mail 1): taken in: "
        "a picture of 640 x 480 pixels, attached",
        "  part 3 b.zip (application/zip): nothing to keep: a zip archive, 1 file opened",
        "  part 3/b.zip/b.jpg b.jpg (application/octet-stream, 6 bytes): kept, other kind: "
        "a file of unknown kind; not examined",
        "  link to pictures, not fetched: https://photos.app.goo.gl/abc",
    ]
