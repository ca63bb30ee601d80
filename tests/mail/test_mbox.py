from __future__ import annotations

import io
import mailbox

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mail_making import mbox_file, photo_mail, text_mail

from triage.mail.limits import Limits
from triage.mail.mbox import iter_mbox, unquote_from

FORMS = ["mboxo", "mboxrd", "mboxcl", "mboxcl2"]


def mails_of(content: bytes) -> list[bytes]:
    return [mail.raw for mail in iter_mbox(io.BytesIO(content), limits=Limits())]


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("line_end", [b"\n", b"\r\n"])
def test_every_form_gives_back_the_mails_that_went_in(form, line_end):
    raws = [photo_mail(seed=n, Message_ID=f"<{n}@example.org>") for n in range(3)]
    raws.append(text_mail("\nFrom the bridge.\n\nFrom here to there\n"))
    found = mails_of(mbox_file(raws, form=form, line_end=line_end))
    bodies = [raw.partition(b"\n\n")[2] for raw in raws]
    assert [raw.replace(b"\r\n", b"\n").partition(b"\n\n")[2] for raw in found] == bodies


@pytest.mark.parametrize("length", [0, 5, 10_000_000])
def test_a_wrong_content_length_is_not_believed(length):
    raws = [text_mail(f"Mail {n}.\n", Content_Length=str(length)) for n in range(3)]
    found = mails_of(mbox_file(raws, form="mboxrd"))
    assert [raw.partition(b"\n\n")[2] for raw in found] == [
        b"Mail 0.\n",
        b"Mail 1.\n",
        b"Mail 2.\n",
    ]


def test_a_sentence_that_begins_with_from_is_no_separator():
    text = (
        "Hello,\n\nFrom 10:30 on Sunday we saw\nmany: twelve.\n\nFrom Ada with love\nP.S.: more\n"
    )
    content = b"From - Sun Jun 14 18:05:00 2026\n" + text_mail(text) + b"\n"
    assert len(mails_of(content)) == 1


@pytest.mark.parametrize(
    "separator",
    [
        b"From ada@example.org Sun Jun 14 18:05:00 2026",
        b"From - Sun Jun 14 18:05:00 2026",
        b"From MAILER-DAEMON Sun Jun  7 18:05:00 2026",
        b"From 1867@xxx Sun Jun 14 18:05:00 +0000 2026",
        b'From "Ada Finch" Sun, 14 Jun 2026 18:05:00 +0200',
        b"From ada@example.org",
        b"From ",
    ],
)
def test_the_separators_of_known_writers_are_seen(separator):
    content = b"".join(separator + b"\n" + text_mail(f"{n}\n") + b"\n" for n in range(3))
    assert len(mails_of(content)) == 3


def test_splitting_agrees_with_the_standard_library(tmp_path):
    raws = [photo_mail(seed=n % 3, Message_ID=f"<{n}@example.org>") for n in range(20)]
    path = tmp_path / "in.mbox"
    path.write_bytes(mbox_file(raws, form="mboxo"))
    reference = mailbox.mbox(path, create=False)
    expected = [reference.get_bytes(key) for key in reference.keys()]  # noqa: SIM118
    reference.close()
    assert mails_of(path.read_bytes()) == [raw.removesuffix(b"\n") + b"\n" for raw in expected]


@given(st.lists(st.text("From >ab:\n", max_size=60), min_size=1, max_size=5))
@settings(max_examples=60, deadline=None)
def test_mboxrd_is_reversible(texts):
    raws = [text_mail(text.rstrip("\n") + "\n") for text in texts]
    assert mails_of(mbox_file(raws, form="mboxrd")) == raws


@given(st.binary(max_size=300), st.integers(1, 40))
@settings(max_examples=100, deadline=None)
def test_the_size_of_the_reading_steps_does_not_matter(noise, step):
    class Slow(io.BytesIO):
        def read(self, size: int | None = -1, /) -> bytes:
            return super().read(step)

    content = mbox_file([text_mail("one\n"), text_mail(noise), text_mail("two\n")])
    slow = [mail.raw for mail in iter_mbox(Slow(content), limits=Limits())]
    assert slow == mails_of(content)


def test_one_quote_mark_is_taken_off():
    assert unquote_from(b">From a\n>>From b\n> From c\n") == b"From a\n>From b\n> From c\n"
