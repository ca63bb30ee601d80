"""Whatever Python's own email package delivers whole, we deliver: it is the independent reader.

Photos are sent through what servers and programs do to mails on the way; where the standard
library still gets the photo out, so must we. (It need not hold the other way round.)
"""

from __future__ import annotations

import base64
import email
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mail_making import picture

from triage.mail.message import Message, read_message
from triage.mail.transfer import decode_base64

PHOTO = picture(120, 100)
LETTERS = base64.b64encode(PHOTO)


def delivered_by_python(raw: bytes) -> set[bytes]:
    found = set()
    for part in email.message_from_bytes(raw).walk():
        content = part.get_payload(decode=True)
        if isinstance(content, bytes):
            found.add(content)
    return found


def delivered(message: Message) -> set[bytes]:
    return {part.content for part in message.parts}


def cut(letters: bytes, every: int, between: bytes) -> bytes:
    return between.join(letters[i : i + every] for i in range(0, len(letters), every))


LINE_ENDS = [b"\n", b"\r\n", b"\r"]
BOUNDARIES = {
    "plain": (b"frontier", b'"frontier"'),
    "dashes": (b"----=_NextPart_000_01", b'"----=_NextPart_000_01"'),
    "only dashes and figures": (b"------------090807", b"------------090807"),
    "unquoted with a blank after it": (b"frontier", b"frontier "),
    "like an encoded word": (b"=?utf-8?Q?x?=", b'"=?utf-8?Q?x?="'),
    "escaped": (b'a"b', b'"a\\"b"'),
    "letters of latin-1": (b"grenze-\xfc", b'"grenze-\xfc"'),
    "in pieces": (b"frontier", b"ignored"),
    "named otherwise": (b"----frontier", b'"another"'),
    "none": (b"----frontier", b""),
}
NOISE = {
    "none": lambda text: text,
    "exclamation marks": lambda text: cut(text, 990, b"!\r\n "),
    "blanks": lambda text: cut(text, 60, b" "),
    "stars and control characters": lambda text: cut(text, 77, b"*\x00\x7f\n"),
    "empty lines": lambda text: cut(text, 40, b"\n\n\n"),
    "eight bits": lambda text: cut(text, 76, b"\xa0\n"),
    "quoted": lambda text: b"> " + cut(text, 76, b"\n> "),
    "one line": lambda text: text,
    "even lines": lambda text: cut(text, 76, b"\n"),
    "even lines but one": lambda text: cut(text, 76, b"\n").replace(b"\n", b"\n\n", 1),
}


@st.composite
def mails(draw: st.DrawFn) -> bytes:
    in_use, named = BOUNDARIES[draw(st.sampled_from(sorted(BOUNDARIES)))]
    ends = st.sampled_from(LINE_ENDS)
    usual = draw(ends)

    def line(text: bytes) -> bytes:
        return text + (draw(ends) if draw(st.integers(0, 4)) == 0 else usual)

    kind = b"Content-Type: multipart/mixed"
    kind += b"; boundary=" + named if named else b""
    if named == b"ignored":
        kind = b"Content-Type: multipart/mixed; boundary*0=fron; boundary*1=tier"
    body = NOISE[draw(st.sampled_from(sorted(NOISE)))](LETTERS)
    padded = draw(st.booleans())
    return b"".join(
        [
            line(b"From: ada@example.org"),
            line(b"MIME-Version: 1.0"),
            line(kind),
            line(b""),
            line(b"--" + in_use),
            line(b"Content-Type: text/plain"),
            line(b""),
            line(b"At Alder Pool."),
            line(b"--" + in_use),
            line(b'Content-Type: image/jpeg; name="a.jpg"'),
            line(b"Content-Disposition: attachment"),
            line(b"Content-Transfer-Encoding: base64"),
            line(b""),
            line(body if padded else body.rstrip(b"=")),
            line(b"--" + in_use + b"--"),
        ]
    )


@given(mails())
@settings(deadline=None, max_examples=300)
def test_what_python_delivers_we_deliver(raw: bytes):
    if PHOTO in delivered_by_python(raw):
        assert PHOTO in delivered(read_message(raw))


@pytest.mark.parametrize("noise", NOISE)
def test_characters_that_are_no_base64_are_passed_over(noise: str):
    assert decode_base64(NOISE[noise](LETTERS))[0] == PHOTO


@given(st.binary(min_size=1, max_size=3000), st.randoms(use_true_random=False))
@settings(deadline=None)
def test_base64_reads_as_python_reads_it(content: bytes, chance: random.Random):
    letters = bytearray(base64.b64encode(content))
    for _ in range(chance.randrange(1, 20)):
        letters.insert(chance.randrange(len(letters)), chance.choice(b"!*#$%&.,;<>\x00\r\n\xff"))
    if base64.b64decode(bytes(letters)) == content:
        assert decode_base64(bytes(letters))[0] == content


@given(st.binary(min_size=1, max_size=3000), st.integers(1, 100), st.sampled_from([b"\n", b"\r\n"]))
@settings(deadline=None)
def test_clean_base64_in_lines_of_any_length_is_read_without_a_remark(
    content: bytes, every: int, end: bytes
):
    letters = cut(base64.b64encode(content), every, end)
    assert decode_base64(letters) == decode_base64(letters + end) == (content, "")


def test_url_safe_base64_is_read():
    content = bytes(range(256)) * 40
    letters = base64.urlsafe_b64encode(content)
    assert b"-" in letters
    assert decode_base64(cut(letters, 76, b"\n"))[0] == content
    assert decode_base64(letters.rstrip(b"="))[0] == content


def test_words_of_a_list_under_the_photo_are_no_part_of_it():
    lines = cut(LETTERS, 76, b"\n") + b"\n____________\nThe survey mailing list\n"
    content, problem = decode_base64(lines)
    assert content.startswith(PHOTO)
    assert "not base64" in problem


@pytest.mark.parametrize("name", BOUNDARIES)
def test_a_boundary_that_cannot_be_used_costs_no_photo(name: str):
    in_use, named = BOUNDARIES[name]
    raw = b"From: a@example.org\nContent-Type: multipart/mixed; boundary=" + named + b"\n\n"
    raw += b"--" + in_use + b"\nContent-Type: image/jpeg\nContent-Transfer-Encoding: base64\n\n"
    raw += LETTERS + b"\n--" + in_use + b"--\n"
    assert PHOTO in delivered(read_message(raw))


def test_a_header_that_ends_in_a_bare_carriage_return_costs_no_photo():
    raw = (
        b"From: a@example.org\r\nContent-Type: image/jpeg\rContent-Transfer-Encoding: base64\r\r\n"
    )
    assert PHOTO in delivered(read_message(raw + LETTERS))
