from __future__ import annotations

import pytest

from triage.mail.authorship import divide_text
from triage.mail.header_words import LANGUAGES, HeaderWords
from triage.mail.written_dates import read_written_date

DAY = "2026-06-14 10:15"


def block(words: HeaderWords, *, date: str = DAY) -> str:
    return (
        f"{words.sender[0].capitalize()}: Ben Reed <ben@example.org>\n"
        f"{words.date[0].capitalize()}: {date}\n"
        f"{words.to[0].capitalize()}: ada@example.org\n"
        f"{words.subject[0].capitalize()}: Pond\n"
    )


@pytest.mark.parametrize("words", LANGUAGES, ids=lambda words: words.language)
class TestEveryLanguage:
    def test_a_marked_forward_is_opened(self, words):
        for mark in words.forwarded:
            marked = f"---------- {mark.capitalize()} ----------\n"
            text = f"Look.\n\n{marked}{block(words)}\nAt Alder Pool.\n"
            outer, inner = divide_text(text)
            assert (outer.text, inner.text) == ("Look.", "At Alder Pool.")
            assert (inner.sender_name, inner.sender_address) == ("Ben Reed", "ben@example.org")
            assert inner.subject == "Pond"
            assert str(inner.sent_at) == f"{DAY}:00"

    def test_a_bare_block_is_quoted_in_an_answer_and_opened_in_a_forward(self, words):
        text = f"My words.\n\n{block(words)}\nAt Alder Pool.\n"
        (answer,) = divide_text(text, subject="Re: Pond")
        assert answer.text == "My words."
        assert "Alder Pool" in answer.quoted_text
        for prefix in words.prefixes:
            outer, inner = divide_text(text, subject=f"{prefix.upper()}: Pond")
            assert (outer.text, inner.text) == ("My words.", "At Alder Pool.")

    def test_an_original_message_is_quoted(self, words):
        for mark in words.original:
            text = f"My words.\n\n-----{mark.capitalize()}-----\n{block(words)}\nAt Alder Pool.\n"
            (answer,) = divide_text(text, subject="Re: Pond")
            assert answer.text == "My words."

    def test_the_line_above_a_quoted_text_goes_with_it(self, words):
        opening = words.opening[0].capitalize() if words.opening else "14.6."
        for wrote in words.wrote:
            text = (
                f"Mine.\n\n{opening} 14.6.2026 10:15, Ben Reed {wrote}:\n> At Alder Pool.\n> Bye\n"
            )
            (answer,) = divide_text(text)
            assert answer.text == "Mine."
            assert "Alder Pool" in answer.quoted_text

    def test_what_a_phone_adds_is_dropped(self, words):
        for phone in words.phone:
            (only,) = divide_text(f"At Alder Pool.\n\n{phone.capitalize()} iPhone\n")
            assert only.text == "At Alder Pool."

    def test_what_stands_under_a_closing_line_is_no_place(self, words):
        for closing in words.closing:
            text = f"At Alder Pool.\n\n{closing.capitalize()},\nAda\n\nAda Finch | 53.9 N 21.7 E\n"
            (only,) = divide_text(text)
            assert only.text == f"At Alder Pool.\n\n{closing.capitalize()},"

    def test_an_address_under_a_closing_line_is_no_sentence(self, words):
        for closing in words.closing:
            signed = f"Here it is.\n\n{closing.capitalize()},\nAda\n"
            (only,) = divide_text(signed + "3 Weir Cottages, just behind Sedge Pond West\n")
            assert "Sedge" not in only.text
            (only,) = divide_text(signed + "14 June was the day, all three at Sedge Pond\n")
            assert "Sedge" in only.text
            (only,) = divide_text(f"{signed}-- \nFriends of Sedge Pond Ltd.\n")
            assert "Sedge" not in only.text

    def test_months_by_name_are_read(self, words):
        for number, month in enumerate(words.months, start=1):
            read = read_written_date(f"14. {month} 2026 10:15")
            assert read is not None, month
            assert (read.month, read.day) == (number, 14)


def test_german_attribution_with_the_name_after_the_verb():
    (answer,) = divide_text(
        "Ja.\n\nAm 14.06.26 um 10:15 schrieb Ben Reed <ben@example.org>:\n> alt\n"
    )
    assert answer.text == "Ja."


def test_an_attribution_over_two_lines_without_quote_marks_takes_the_rest():
    text = (
        "Yes.\n\nOn Sun, 14 Jun 2026 at 10:15, Ben <ben@example.org>\nwrote:\n\nAt Otter Reach.\n"
    )
    (answer,) = divide_text(text)
    assert answer.text == "Yes."
    assert "Otter Reach" in answer.quoted_text


@pytest.mark.parametrize(
    "answer",
    ["53.90523, 21.74213", "5.7. am Alder Pool", "2026-07-05", "On Sunday", "5 July, noon"],
)
@pytest.mark.parametrize("between", ["\n", "\n\n"])
def test_numbers_above_an_attribution_are_the_authors_own(answer, between):
    for attribution in (
        "On Sun, 5 Jul 2026, Ben <ben@example.org> wrote:",
        "Am 5.7.26 schrieb Ben:",
    ):
        (found,) = divide_text(f"{answer}{between}{attribution}\n> Where was it?\n")
        assert found.text == answer


def test_answers_between_quoted_lines_are_the_authors_own():
    text = "On 14 June 2026 Ben wrote:\n> Which pond?\nAlder Pool.\n> Which day?\nSunday.\n"
    (answer,) = divide_text(text)
    assert answer.text == "Alder Pool.\nSunday."
    assert "Which pond?" in answer.quoted_text


def test_an_answer_of_photos_alone_is_no_forward():
    text = (
        "\n\nFrom: Survey <survey@example.org>\nSent: 14 June 2026 10:15\nSubject: Pond?\n\nWhich"
    )
    assert len(divide_text(text, subject="Re: Which pond?")) == 1
    assert len(divide_text(text, subject="Pond", answers=True)) == 1
    assert len(divide_text(text, subject="Pond")) == 2


def test_a_forward_of_a_forward_gives_three_authors():
    mark = "---- Forwarded message ----"
    inner = f"{mark}\nFrom: Cleo <cleo@example.org>\nDate: 13 June 2026 9:00\n\nInner.\n"
    middle = f"{mark}\nFrom: Ben <ben@example.org>\nDate: {DAY}\n\nMiddle.\n\n{inner}"
    text = f"Outer.\n{middle}"
    assert [layer.text for layer in divide_text(text)] == ["Outer.", "Middle.", "Inner."]


def test_a_forward_that_is_wholly_quoted_is_unquoted():
    text = (
        "See.\n\n---- Forwarded message ----\n> From: Ben <ben@example.org>\n> Date: "
        + DAY
        + "\n>\n> At Alder Pool.\n"
    )
    outer, inner = divide_text(text)
    assert (outer.text, inner.text) == ("See.", "At Alder Pool.")


@pytest.mark.parametrize(
    "footer",
    [
        "-- \nAda Finch\nMill Lane 3\n53.9 N, 21.7 E",
        "--\nAda",
        "________________________________\nSurvey mailing list\nhttp://lists.example.org",
        "Virus-free. www.example.org",
        "This email has been checked for viruses by Example antivirus software.",
        "Diese E-Mail wurde von Beispiel auf Viren geprüft.",
        "To unsubscribe, write to leave@example.org",
    ],
)
def test_signatures_and_footers_are_cut(footer):
    (only,) = divide_text(f"At Alder Pool.\n\n{footer}\n")
    assert only.text == "At Alder Pool."


@pytest.mark.parametrize(
    "text",
    [
        "From: the bridge we saw three.",
        "Date: yesterday\nPlace: Alder Pool",
        "Von: hier bis dort",
        "On Sunday Ben wrote to me about it: nothing.",
        "A line\n-- not a signature\nAlder Pool",
        "Od: rana do wieczora",
    ],
)
def test_ordinary_words_are_left_alone(text):
    (only,) = divide_text(text)
    assert only.text == text


@pytest.mark.parametrize(
    ("value", "iso"),
    [
        ("Sun, 14 Jun 2026 18:05:00 +0200", "2026-06-14T18:05:00+02:00"),
        ("Sunday, June 14, 2026 6:05 PM", "2026-06-14T18:05:00"),
        ("Sonntag, 14. Juni 2026 18:05", "2026-06-14T18:05:00"),
        ("niedziela, 14 czerwca 2026 18:05", "2026-06-14T18:05:00"),
        ("dimanche 14 juin 2026 à 18:05", "2026-06-14T18:05:00"),
        ("dim. 14 juin 2026 18h05", "2026-06-14T18:05:00"),
        ("zondag 14 juni 2026 18:05", "2026-06-14T18:05:00"),
        ("domingo, 14 de junio de 2026 18:05", "2026-06-14T18:05:00"),
        ("14.06.2026 18:05", "2026-06-14T18:05:00"),
        ("2026-06-14 18:05:09", "2026-06-14T18:05:09"),
        ("14/6/2026 18:05", "2026-06-14T18:05:00"),
        ("6/14/2026 6:05 PM", "2026-06-14T18:05:00"),
        ("14 June 2026 at 12:05:00 AM GMT+2", None),
        ("14 June 2026 at 18:05:00 GMT+02:00", "2026-06-14T18:05:00+02:00"),
        ("5/6/2026 18:05", None),
        ("14 June 2026", None),
        ("31 June 2026 10:00", None),
        ("yesterday", None),
    ],
)
def test_written_dates(value, iso):
    read = read_written_date(value)
    if iso is None and value.startswith("14 June 2026 at 12"):
        assert read is not None
        assert read.replace(tzinfo=None).isoformat() == "2026-06-14T00:05:00"
    else:
        assert (read.isoformat() if read else None) == iso


@pytest.mark.parametrize(
    ("below", "kept"),
    [
        ("-- \nAda\nMill Lane 3\nPhotos: CC BY 4.0", "Photos: CC BY 4.0"),
        ("Best wishes\nAda\nFundort: Kingcup Marsh\nMill Lane 3", "Fundort: Kingcup Marsh"),
        (
            "Best wishes\nAda\n\nPS: the second one was at Otter Reach",
            "PS: the second one was at Otter Reach",
        ),
        (
            "Best wishes\nAda\n\nThe second photo is from Otter Reach.",
            "The second photo is from Otter Reach.",
        ),
    ],
)
def test_what_a_signature_says_of_the_photos_stays(below, kept):
    (only,) = divide_text(f"At Alder Pool.\n\n{below}\n")
    assert only.text.endswith(kept)
    assert "Mill Lane" not in only.text


def test_quoted_text_on_the_line_of_its_attribution_is_quoted():
    text = "Alder Pool\n\n  On Sun, 14 Jun 2026, Survey <s@example.org> wrote:   Which pond?\nBye\n"
    (answer,) = divide_text(text)
    assert answer.text == "Alder Pool"
    assert "Which pond?" in answer.quoted_text


def test_a_polish_header_block_with_its_date_in_words():
    block = "Od: Survey <s@example.org>\nDo: ada@example.org\nWysłane: 18:05 Niedziela 2026-06-14\n"
    text = f"Przy stawie.\n\n{block}Temat: pytanie\n\nGdzie?\n"
    assert [layer.text for layer in divide_text(text, subject="Odp: x")] == ["Przy stawie."]
    inner = divide_text(text, subject="PD: x")[1]
    assert str(inner.sent_at) == "2026-06-14 18:05:00"
