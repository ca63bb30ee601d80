"""Letters to volunteers: what they say, what they never say, and how they open."""

from __future__ import annotations

import email
from collections import Counter
from datetime import UTC, datetime
from email import policy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.replies.editing import read_letter
from triage.replies.envelope import Addressee, Picture, draft
from triage.replies.letters import (
    LetterSighting,
    OpenQuestion,
    Season,
    Writer,
    name_words,
    plot_text,
    season_letter,
    season_of_all,
    thanks,
    wish_for,
)
from triage.replies.refusals import refuses_letters
from triage.replies.wording import LANGUAGES
from triage.report.letter_plot import months_plot
from triage.report.paper import letter_pdf
from triage.standards.cautions import cautions

NOW = datetime(2026, 11, 1, 19, 30, tzinfo=UTC)
WRITER = Writer(survey="Linnet Water Survey", name="Survey office")
FOUND = LetterSighting(
    identifier="s1",
    day="2026-06-13",
    place="Alder Pool",
    located=True,
    name="Libellula depressa (Broad-bodied Chaser)",
    short_name="Libellula depressa",
    bred_at="Alder Pool",
    bred_years=(2025, 2026),
    bred_here=True,
    searched=True,
    first="survey",
)


def letter(*sightings: LetterSighting, language: str = "en", **more: object) -> str:
    questions = more.get("questions", ())
    return thanks("Bo Wren", sightings, questions, writer=WRITER, language=language)  # type: ignore[arg-type]


def test_a_letter_says_what_was_seen_when_and_where_and_that_it_breeds_there():
    text = letter(FOUND)
    assert "- 13 June 2026, Alder Pool: Libellula depressa (Broad-bodied Chaser)" in text
    assert "Its cast skins were found at Alder Pool (2025, 2026): it breeds there." in text
    assert "It is the first Libellula depressa of the survey." in text
    assert text.startswith("Dear Bo Wren,")
    assert text.endswith("Survey office\n")


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, "Libellula depressa"),
        ({"doubtful": True}, "probably Libellula depressa"),
        ({"coarse": True, "reason": "the vein that tells the two is hidden."}, "the vein"),
        ({"coarse": True}, "these photos do not tell which"),
        ({"name": "", "reason": "wings folded"}, "from these photos: wings folded"),
        ({"name": ""}, "it could not be named from these photos"),
    ],
)
def test_doubt_is_put_in_words(changes, expected):
    from dataclasses import replace

    assert expected in name_words(replace(FOUND, **changes), "en")


@pytest.mark.parametrize(
    ("changes", "present", "absent"),
    [
        ({"place": "", "private": True, "bred_at": ""}, "the place you told us of", "Alder"),
        ({"place": "", "bred_at": ""}, "the place where your photo was taken", "Alder"),
        ({"place": "", "located": False, "bred_at": ""}, "a place we do not know yet", "Alder"),
        ({"day": ""}, "a day we do not know yet", "June"),
        ({"bred_at": "Otter Reach", "bred_here": False}, "nearest water", "breeds there"),
        ({"doubtful": True}, "may be of its kind were found at Alder Pool", "breeds there"),
        ({"bred_at": ""}, "Nobody has found its cast skins", "breeds there"),
        ({"bred_at": "", "searched": False}, "Libellula", "cast skins"),
        ({"first": "water"}, "It is the first at Alder Pool.", "of the survey."),
        ({"first": ""}, "Libellula", "It is the first"),
    ],
)
def test_each_fact_has_its_sentence_and_only_then(changes, present, absent):
    from dataclasses import replace

    lines = [line for line in letter(replace(FOUND, **changes)).splitlines() if line[:2] in "-  "]
    text = "\n".join(lines)
    assert present in text
    assert absent not in text


@pytest.mark.parametrize(
    ("given_facts", "expected"),
    [
        ((True, False, False, 100.0, 0.1), ""),
        ((False, True, True, 900.0, 0.9), ""),
        ((False, True, False, 900.0, 0.9), "lateral"),
        ((False, False, True, 900.0, 0.9), "dorsal"),
        ((False, False, True, 120.0, 0.9), "nearer"),
        ((False, False, True, 900.0, 0.2), "sharper"),
    ],
)
def test_one_picture_is_wished_for_where_it_would_have_helped(given_facts, expected):
    named, dorsal, lateral, pixels, focus = given_facts
    found = wish_for(
        named_to_species=named, has_dorsal=dorsal, has_lateral=lateral, pixels=pixels, focus=focus
    )
    assert found == expected


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("wish", ["lateral", "dorsal", "nearer", "sharper"])
def test_a_wish_comes_with_care_for_the_animal_and_the_water(language, wish):
    from dataclasses import replace

    text = letter(replace(FOUND, wish=wish), language=language)
    care = {"en": "mind the water", "de": "achten Sie auf das Wasser"}
    care |= {"pl": "uważać na wodę", "fr": "attention à l'eau"}
    assert care[language] in text


def test_open_questions_come_in_one_list_a_line_for_each_file():
    questions = (
        OpenQuestion(file_name="a.jpg", day="2026-06-14", kind="place", picture="photo-1.jpg"),
        OpenQuestion(file_name="a.jpg", day="2026-06-14", kind="date", picture="photo-1.jpg"),
        OpenQuestion(file_name="b.jpg", day="2026-06-15", kind="original"),
    )
    text = letter(FOUND, questions=questions)
    lines = [line for line in text.splitlines() if line.startswith(("- a.jpg", "- b.jpg"))]
    assert lines[0] == (
        "- a.jpg (14 June 2026): where was it taken? on which day was it taken? "
        "(a small copy is attached: photo-1.jpg)"
    )
    assert len(lines) == 2


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_fills_every_letter(language):
    season = Season(year=2026, months={6: 3, 7: 1}, firsts=("Libellula depressa",))
    texts = [
        letter(FOUND, language=language),
        season_letter("Bo", season, [FOUND], [], writer=WRITER, language=language),
        season_of_all(
            season,
            sightings=4,
            named=3,
            people=2,
            by_water={"Alder Pool": Counter({"Libellula depressa": 3})},
            bred=["Libellula depressa"],
            writer=WRITER,
            language=language,
        ),
    ]
    for text in texts:
        assert "$" not in text
        assert "\n\n\n" not in text
        assert "Libellula depressa" in text
    assert all(line in texts[2] for line in cautions(language))


@pytest.mark.parametrize(
    ("named", "last"),
    [(3, "- Alder Pool: Libellula depressa (3)"),
     (5, "- elsewhere, or at waters that are not named here: 2")],
)  # fmt: skip
def test_the_letter_for_all_adds_up_to_what_it_says_was_named(named, last):
    text = season_of_all(
        Season(year=2026, months={}),
        sightings=6,
        named=named,
        people=2,
        by_water={"Alder Pool": Counter({"Libellula depressa": 3})},
        bred=[],
        writer=WRITER,
        language="en",
    )
    listed = text.partition("where:\n\n")[2].partition("\n\n")[0].splitlines()
    assert listed[-1] == last
    assert listed[0] == "- Alder Pool: Libellula depressa (3)"


def test_a_season_letter_tells_in_words_what_its_plot_shows():
    season = Season(year=2026, months={7: 1, 6: 3})
    assert "June 3, July 1" in plot_text(season, "en")
    assert plot_text(Season(year=2026, months={}), "en") == ""


def test_the_plot_is_a_small_picture_and_the_same_for_the_same_counts():
    first = months_plot({6: 3, 7: 1}, title="Your dragonflies of 2026")
    assert first.startswith(b"\x89PNG")
    assert len(first) < 60_000
    assert first == months_plot({7: 1, 6: 3}, title="Your dragonflies of 2026")


def test_a_letter_can_be_printed_with_letters_of_other_languages():
    """Read back by pypdf."""
    import io

    from pypdf import PdfReader

    text = "Sezon 2026\n- ważki nad stawem: 3\n  pierwsza\nŻółw & <b>markup</b>\n"
    plot = months_plot({7: 1, 6: 3}, title="2026")
    made = letter_pdf(
        text, title="Linnet", language="en", headed=True, pictures=[("season.png", plot)]
    )
    (page,) = PdfReader(io.BytesIO(made)).pages
    read = page.extract_text()
    assert "ważki nad stawem: 3" in read
    assert "<b>markup</b>" in read
    assert "season.png" in read
    assert len(page.images) == 1


def test_a_letter_opens_as_a_draft_with_its_pictures():
    content = draft(
        Addressee(
            address="bo@example.org", name="Bo Wren", subject="dragonfly", message_id="<a@b>"
        ),
        "Dear Bo\n",
        from_name="Survey office",
        from_address="survey@example.org",
        message_id_left="thanks-0.letter",
        now=NOW,
        pictures=[Picture(name="photo-1.jpg", content=b"\xff\xd8\xff")],
    )
    message = email.message_from_bytes(content, policy=policy.default)
    assert message["X-Unsent"] == "1"
    assert message["In-Reply-To"] == "<a@b>"
    assert [name for name, _ in read_letter(content).pictures] == ["photo-1.jpg"]  # printed, too
    (attached,) = message.iter_attachments()
    assert (attached.get_content_type(), attached.get_filename()) == ("image/jpeg", "photo-1.jpg")
    assert message.get_body().get_content().replace("\r\n", "\n") == "Dear Bo\n"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("No letters, please.", True),
        ("Bitte keine Briefe mehr", True),
        ("bez listów", True),
        ("Pas de lettres s'il vous plaît", True),
        ("No more such letters", True),
        ("What a kind letter!", False),
        ('> If you would rather not receive such letters, answer "no letters"', False),
        ('If you would rather not receive such letters, answer "no letters"', False),
        ("", False),
    ],
)
def test_whoever_wants_no_letters_gets_none(text, expected):
    assert refuses_letters(text) is expected


@settings(deadline=None, max_examples=50)
@given(st.text(max_size=80), st.text(max_size=80))
def test_nothing_in_a_name_or_a_reason_breaks_a_letter(name, reason):
    from dataclasses import replace

    text = letter(replace(FOUND, name=name, short_name=name, reason=reason, coarse=True))
    assert text.startswith("Dear Bo Wren,")
    assert "\r" not in text
