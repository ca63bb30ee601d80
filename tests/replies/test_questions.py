"""Replies: a draft that mail programs thread, that nobody can subvert, and its answer."""

from __future__ import annotations

import email
import re
from dataclasses import replace
from datetime import UTC, datetime
from email import policy
from email.message import EmailMessage
from pathlib import Path
from typing import cast

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from triage import replies
from triage.errors import SettingsError, TriageError
from triage.replies import QUESTIONS, Addressee, AskedMessage, Asker, draft_reply
from triage.standards.cautions import LANGUAGES, cautions

NOW = datetime(2026, 7, 1, 19, 30, tzinfo=UTC)
CODE = "q-0123abcd"
ASKER = Asker(
    survey="Linnet Water Survey",
    address="survey@example.org",
    name="Ida Marsh",
    licence_name="Creative Commons Attribution 4.0",
    licence_uri="https://creativecommons.org/licenses/by/4.0/",
)
ASKED = AskedMessage(
    to=Addressee(
        name="Bo Wren",
        address="bo@example.org",
        subject="Re: dragonfly",
        message_id="<m3@example.org>",
        references=("<m1@example.org>", "<m2@example.org>"),
    ),
    sent_on="2026-06-14",
    places=("Heron Mere", "Alder Pool"),
    photos=("IMG_0001.JPG",),
)


def draft(asked: AskedMessage = ASKED, what: replies.Question = "place", **more: object) -> bytes:
    options: dict[str, object] = {"code": CODE, "asker": ASKER, "now": NOW}
    return draft_reply(asked, what, **(options | more))  # type: ignore[arg-type]


def parsed(content: bytes) -> EmailMessage:
    return cast(EmailMessage, email.message_from_bytes(content, policy=policy.default))


def body_of(content: bytes) -> str:
    return str(parsed(content).get_content()).replace("\r\n", "\n")


def test_a_draft_answers_in_the_thread_as_rfc_5322_section_3_6_4_wants():
    message = parsed(draft())
    assert message["In-Reply-To"] == "<m3@example.org>"
    assert message["References"] == "<m1@example.org> <m2@example.org> <m3@example.org>"
    assert message["Subject"] == "Re: dragonfly"
    assert message["Message-ID"] == "<q-0123abcd.question@example.org>"
    assert message["To"].addresses[0].addr_spec == "bo@example.org"
    assert message["From"].addresses[0].display_name == "Ida Marsh"
    assert message["Date"].datetime == NOW
    assert message["X-Unsent"] == "1"
    assert not message.defects


def test_waters_are_told_to_be_those_we_know_and_only_where_there_are_some():
    assert "Waters that we know:\n- Heron Mere\n- Alder Pool" in body_of(draft())
    assert "Waters that we know" not in body_of(draft(replace(ASKED, places=())))
    assert "Waters that we know" not in body_of(draft(what="search"))


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_mail_without_a_subject_is_thanked_for_without_one(language):
    bare = replace(ASKED, to=replace(ASKED.to, subject=""))
    for what in QUESTIONS:
        text = body_of(draft(bare, what, language=language))
        assert not re.search('["\u201e\u201c\u00ab]\\s*["\u201c\u201d\u00bb]|\u2026', text)
        assert "$subject" not in text


def test_the_lines_of_a_draft_end_in_crlf_and_stay_within_998_bytes():
    content = draft()
    assert content.count(b"\n") == content.count(b"\r\n")
    assert max(map(len, content.split(b"\r\n"))) <= 998


@pytest.mark.parametrize("language", ["en", "de", "pl", "fr"])
@pytest.mark.parametrize("what", QUESTIONS)
def test_every_question_has_a_template_that_asks_once(what, language):
    body = body_of(draft(what=what, language=language))
    assert body.count("?") == 1
    assert "Ida Marsh" in body
    assert "$" not in body


def test_the_licence_is_in_the_question_about_publishing():
    body = body_of(draft(what="publish"))
    assert "Creative Commons Attribution 4.0 https://creativecommons.org/licenses/by/4.0/" in body


def test_consent_to_a_licence_that_is_not_named_is_never_asked():
    nameless = Asker(survey="S", address="survey@example.org")
    with pytest.raises(SettingsError, match="licence"):
        draft(what="publish", asker=nameless)


@pytest.mark.parametrize("language", ["en", "de", "pl", "xx"])
def test_an_invitation_to_a_shore_carries_every_caution_whatever_the_template(language, tmp_path):
    (tmp_path / "search.txt").write_text("Come and look?\n", encoding="utf-8")
    for templates in (None, tmp_path):
        body = body_of(draft(what="search", language=language, templates=templates))
        lines = " ".join(body.split())
        assert all(" ".join(line.split()) in lines for line in cautions(language))


def test_every_language_has_the_same_number_of_cautions():
    assert {len(lines) for lines in LANGUAGES.values()} == {10}


hostile = st.text() | st.sampled_from(
    ["a\r\nBcc: x@example.org", "a\n\nbody", "=?utf-8?q?=0D=0ABcc:_x?=", "\u202egnp.exe", "a\x00b"]
)


@settings(deadline=None)
@given(name=hostile, subject=hostile, place=hostile)
@example(name="", subject="=??Q?=0D0:?=", place="")
@example(name="=?utf-8?q?a=0D=0ABcc:_x=40example.org?=", subject="x\r\nBcc: y", place="\nBcc: z")
def test_nothing_in_a_message_adds_a_header_or_a_recipient(name, subject, place):
    asked = AskedMessage(
        to=Addressee(
            name=name,
            address="bo@example.org",
            subject=subject,
            message_id=f"<{subject}@x>",
            references=(place,),
        ),
        places=(place,),
        photos=(name,),
    )
    message = parsed(draft(asked))
    assert set(message.keys()) <= {
        *("From", "To", "Subject", "Date", "Message-ID", "In-Reply-To", "References"),
        *("X-Unsent", "Content-Type", "Content-Transfer-Encoding", "MIME-Version"),
    }
    assert len(message.keys()) == len(set(message.keys()))
    assert [a.addr_spec for a in message["To"].addresses] == ["bo@example.org"]
    assert message["Subject"].startswith("Re:")
    assert CODE in body_of(draft(asked))


@pytest.mark.parametrize(
    "address",
    [
        "",
        "bo",
        "bo@",
        "a@b@c",
        "bo@example.org, x@example.org",
        "bo@example.org\r\nBcc: x@y",
        "<a@b>",
    ],
)
def test_an_address_that_is_none_gives_no_draft_and_says_so(address):
    with pytest.raises(TriageError, match="no reply can be drafted"):
        draft(AskedMessage(to=Addressee(address=address)))


def test_a_long_thread_keeps_its_first_and_its_last_references():
    many = tuple(f"<{number:03}.{'x' * 60}@example.org>" for number in range(300))
    message = parsed(draft(AskedMessage(to=Addressee(address="bo@example.org", references=many))))
    kept = message["References"].split()
    assert kept[0] == many[0]
    assert kept[1:] == list(many[-19:])


def test_the_surveys_own_template_comes_first_and_its_mistakes_are_named(tmp_path: Path):
    (tmp_path / "de").mkdir()
    (tmp_path / "place.txt").write_text("Hallo $recipient: where?", encoding="utf-8-sig")
    assert body_of(draft(templates=tmp_path)) == (
        "Hallo Bo Wren: where?\n\nIf you start a new mail instead, please copy this into it: "
        "q-0123abcd.\n"
    )
    (tmp_path / "de" / "place.txt").write_text("Hallo!\nWo, $pond?", encoding="utf-8")
    with pytest.raises(SettingsError, match=r"line 2 uses a word that does not exist: \$pond"):
        draft(templates=tmp_path, language="de")
    (tmp_path / "date.txt").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(SettingsError, match="UTF-8"):
        draft(what="date", templates=tmp_path)


def test_a_dollar_in_a_subject_is_a_dollar():
    asked = AskedMessage(to=Addressee(address="bo@example.org", subject="$asker costs $5"))
    assert '"$asker costs $5"' in body_of(draft(asked))


def test_the_same_question_about_the_same_message_has_the_same_code():
    code = replies.question_code("m1", "place")
    assert code == replies.question_code("m1", "place")
    others = {
        replies.question_code("m2", "place"),
        replies.question_code("m1", "date"),
        replies.question_code("m1", "place", number=2),
    }
    assert code not in others
    assert len(others) == 3


OWN = "<q-0123abcd.question@example.org>"


@pytest.mark.parametrize(
    ("in_reply_to", "references", "text", "expected"),
    [
        (OWN, (), "Re: dragonfly", CODE),
        ("<their@server>", ("<m1@x>", OWN), "something else", CODE),
        ("", (), "AW: Re: dragonfly [QUESTION Q-0123ABCD]", CODE),
        ("", (), "At Alder Pool.\n> please copy this into it: q-0123abcd.", CODE),
        ("", (), "a file called iq-0123abcd or q-0123abcdef", None),
        ("<q-ffffffff.question@example.org>", (), "Re: [question q-0123abcd]", CODE),
        ("<q-ffffffff.question@example.org>", (), "", None),
        ("", (), "[question q-99999999]", None),
        ("<m3@example.org>", ("<m1@example.org>",), "Re: dragonfly", None),
        (OWN, ("<q-aaaaaaaa.question@example.org>",), "", CODE),
        ("", ("<q-aaaaaaaa.question@x>", OWN), "[question q-aaaaaaaa]", CODE),
    ],
)
def test_an_answer_is_recognised_by_its_thread_and_else_by_its_text(
    in_reply_to, references, text, expected
):
    known = {CODE, "q-aaaaaaaa"}
    assert replies.recognise_answer(in_reply_to, references, text, known) == expected


def test_a_real_reply_to_a_draft_is_recognised():
    question = parsed(draft())
    answer = EmailMessage()
    answer["Subject"] = "Re: " + question["Subject"]
    answer["In-Reply-To"] = question["Message-ID"]
    answer["References"] = f"{question['References']} {question['Message-ID']}"
    found = replies.recognise_answer(
        answer["In-Reply-To"], answer["References"].split(), answer["Subject"], {CODE}
    )
    assert found == CODE


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('Yes, of course!\n\nBo\n\n> May we publish? "Yes" or "no" is all we need', "yes"),
        ("You may publish them all.", "yes"),
        ("Ja, gerne.\n\nAm 3.7.2026 schrieb Ida Marsh:\n> nein genügt", "yes"),
        ("Tak, oczywiście", "yes"),
        ("No, please don't.", "no"),
        ("Nein danke", "no"),
        ("Nie", "no"),
        ("Yes, but without my name", "unclear"),
        ("Yes, only if my house is not visible", "unclear"),
        ("Not sure. Yes for the first one", "unclear"),
        ("It was at Alder Pool", "unclear"),
        ("", "unclear"),
        ("> Yes\n> no", "unclear"),
        ("Of course not!", "unclear"),
    ],
)
def test_only_a_plain_yes_is_a_yes(text, expected):
    assert replies.read_answer(text, "publish").answer == expected


def test_a_whole_statement_counts_and_the_licence_it_names_is_kept():
    read = replies.read_answer("You may publish my photos under CC BY-SA 4.0.", "publish")
    assert read.answer == "yes"
    assert read.licence == "https://creativecommons.org/licenses/by-sa/4.0/"


def test_a_refusal_of_the_name_answers_the_question_about_the_name():
    assert replies.read_answer("Please do not publish my name.", "name").answer == "no"
    assert replies.read_answer("No. You may publish my photos.", "publish").answer == "unclear"


def test_the_wording_of_a_consent_is_kept():
    assert replies.read_answer("Hello Ida,\nyes, do.\nBo", "name").wording == "yes, do."


def test_an_answer_about_a_place_is_not_read_as_consent():
    assert replies.read_answer("Yes, Alder Pool", "place").answer == "unclear"


def test_a_question_names_the_files_and_the_day_they_came():
    body = body_of(draft(what="place and date"))
    assert "- IMG_0001.JPG, sent on 14 June 2026" in body
    assert "where was it taken, and on which day?" in body


@pytest.mark.parametrize(
    ("text", "language"),
    [
        ("Hello, I saw this dragonfly at the pond yesterday. Regards, Bo", "en"),
        ("Guten Tag, anbei ein Foto von gestern am Teich. Viele Grüße", "de"),
        ("Dzień dobry, przesyłam zdjęcie ważki, wczoraj nad stawem. Pozdrawiam", "pl"),
        ("Bonjour, voici une photo de libellule vue hier sur le lac. Merci", "fr"),
        ("IMG_1234", "pl"),
        ("", "pl"),
        ("Libellula depressa 13.6.2026 Heron Mere", "pl"),
    ],
)
def test_a_mail_is_answered_in_its_own_language_where_it_tells(text, language):
    assert replies.language_of(text, otherwise="pl") == language


def test_a_surveys_own_templates_are_checked_before_any_is_needed(tmp_path: Path):
    from triage.replies.wording import check_own

    (tmp_path / "en").mkdir()
    (tmp_path / "en" / "thanks.txt").write_text("Dear $recipient, $sightings", encoding="utf-8")
    check_own(tmp_path)
    (tmp_path / "en" / "thanks.txt").write_text("Dear\n$recipeint", encoding="utf-8")
    with pytest.raises(SettingsError, match=r"line 2 .*\$recipeint") as caught:
        check_own(tmp_path)
    assert caught.value.failing.endswith("thanks.txt")
    (tmp_path / "en" / "thanks.txt").unlink()
    (tmp_path / "tanks.txt").write_text("x", encoding="utf-8")
    with pytest.raises(SettingsError, match="no question or letter has this name"):
        check_own(tmp_path)


def test_every_language_has_the_same_sentences_with_the_same_values():
    import string

    from triage.replies.wording import LANGUAGES as OURS
    from triage.replies.wording import phrases

    english = phrases("en")
    for language in OURS:
        own = phrases(language)
        assert own.keys() == english.keys()
        for key, sentence in own.items():
            values = set(string.Template(sentence).get_identifiers())
            assert values <= set(string.Template(english[key]).get_identifiers()), (language, key)
