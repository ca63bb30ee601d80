"""A letter's words may be changed; its recipient, its thread and its pictures stay as they were."""

from __future__ import annotations

from datetime import UTC, datetime
from email import message_from_bytes, policy

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.errors import TriageError
from triage.packets.keys import is_key, key_of, read_key
from triage.replies.editing import LETTER_LENGTH, Letter, read_letter, with_words
from triage.replies.envelope import Addressee, Picture, draft, one_line
from triage.replies.marks import (
    code_in_message_id,
    codes_in_text,
    own_message_id_left,
    question_code,
)

NOW = datetime(2026, 11, 1, 12, 0, tzinfo=UTC)
PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(256))


def letter(body: str = "Dear Bo,\nwhere was it?\n", **more: object) -> bytes:
    return draft(
        Addressee(
            address="bo@example.org",
            name="Bo Świerk",
            subject="Photo",
            message_id="<m1@example.org>",
            references=("<m0@example.org>",),
        ),
        body,
        from_name="Linnet Water Survey",
        from_address="linnet@example.org",
        message_id_left="q-0123abcd.question",
        now=NOW,
        **more,  # type: ignore[arg-type]
    )


def headers(content: bytes) -> dict[str, str]:
    parsed = message_from_bytes(content, policy=policy.SMTP)
    kept = ("From", "To", "Subject", "Date", "Message-ID", "In-Reply-To", "References", "X-Unsent")
    return {name: str(parsed[name]) for name in kept}


def test_a_letter_is_shown_with_recipient_subject_and_words():
    assert read_letter(letter("Gdzie to było?\n")) == Letter(
        to="Bo Świerk <bo@example.org>", subject="Re: Photo", words="Gdzie to było?\r\n"
    )


def test_new_words_leave_the_headers_and_the_pictures_as_they_were():
    before = letter(pictures=[Picture(name="season.png", content=PNG)])
    after = with_words(before, "Dear Bo,\nthank you.")
    assert read_letter(after).words.splitlines() == ["Dear Bo,", "thank you."]
    assert headers(after) == headers(before)
    (picture,) = message_from_bytes(after, policy=policy.SMTP).iter_attachments()
    assert (picture.get_filename(), picture.get_content()) == ("season.png", PNG)


def test_more_than_ten_pages_are_cut():
    words = read_letter(with_words(letter(), "x" * (LETTER_LENGTH + 5))).words
    assert words.count("x") == LETTER_LENGTH


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")) | st.just("\n"), max_size=200))
def test_any_words_are_read_back_line_by_line_and_are_never_a_header(words: str):
    before = letter()
    after = with_words(before, words)
    assert headers(after) == headers(before)
    assert read_letter(after).words.splitlines() == (words.splitlines() or [""])


@given(st.text(max_size=60))
def test_no_name_and_no_subject_adds_a_line_to_the_head(text: str):
    content = draft(
        Addressee(address="bo@example.org", name=text, subject=text),
        "x\n",
        from_name=text,
        from_address="linnet@example.org",
        message_id_left="q-0123abcd.question",
        now=NOW,
    )
    parsed = message_from_bytes(content, policy=policy.SMTP)
    assert parsed["To"].addresses[0].addr_spec == "bo@example.org"
    assert len(parsed["To"].addresses) == 1
    assert {name.lower() for name in parsed} == {
        *("from", "to", "subject", "date", "message-id", "x-unsent"),
        *("content-type", "content-transfer-encoding", "mime-version"),
    }


@pytest.mark.parametrize(
    "address", ["", "bo", "bo@", "@example.org", "bo@example.org, x@y.org", "b o@example.org",
                "bo@example.org\nBcc: x@y.org", "<bo@example.org>"],
)  # fmt: skip
def test_what_is_no_single_address_gets_no_letter(address: str):
    with pytest.raises(TriageError, match="no reply can be drafted"):
        draft(
            Addressee(address=address),
            "x",
            from_name="",
            from_address="linnet@example.org",
            message_id_left="x",
            now=NOW,
        )


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="zone"):
        draft(
            Addressee(address="bo@example.org"),
            "x",
            from_name="",
            from_address="linnet@example.org",
            message_id_left="x",
            now=NOW.replace(tzinfo=None),
        )


@given(st.text(max_size=50))
def test_a_line_is_one_line_and_stays_as_it_is(text: str):
    line = one_line(text)
    assert line.splitlines() in ([], [line])
    assert one_line(line) == line
    assert "=?" not in line


@given(st.text("0123456789abcdef", min_size=8, max_size=8), st.integers(1, 9999))
def test_a_key_of_a_packet_is_read_back(packet: str, number: int):
    key = key_of(packet, number)
    assert read_key(key) == (packet, number)
    assert read_key(f" {key.upper()} ") == (packet, number)
    assert is_key(key)


@pytest.mark.parametrize(
    "text",
    ["", "packet-7f3a2c10", "packet-7f3a2c1-07", "packet-7f3a2c10-7", "x packet-7f3a2c10-07"],
)
def test_another_text_is_no_key(text: str):
    assert read_key(text) is None
    assert not is_key(text)


def test_a_question_is_told_by_message_matter_and_number():
    codes = [
        question_code("m1", "place"),
        question_code("m1", "date"),
        question_code("m2", "place"),
        question_code("m1", "place", number=2),
    ]
    assert len(set(codes)) == 4
    assert question_code("m1", "place", number=1) == codes[0]


@given(st.text("0123456789abcdef", min_size=8, max_size=8))
def test_the_answer_to_a_question_is_known_by_its_thread_or_its_text(digits: str):
    code = f"q-{digits}"
    assert code_in_message_id(f"<{own_message_id_left(code)}@example.org>") == code
    assert code_in_message_id(f" {own_message_id_left(code)}@example.org ".upper()) == code
    assert code_in_message_id(f"<{code}@example.org>") == ""
    assert code_in_message_id(f"<x-{own_message_id_left(code)}@example.org>") == ""
    assert codes_in_text(f"> Ref {code.upper()}, please\n{code}.") == (code, code)
    assert codes_in_text(f"a{code} {code}a x-{code} {code}-1") == ()
