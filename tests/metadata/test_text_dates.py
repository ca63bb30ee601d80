"""Days and times in the prose of three languages, against a calendar; and what is no date.

The mail of these tests was sent on Tuesday 2026-06-16 at 20:00 in Warsaw.
"""

import re
from datetime import UTC, datetime, timedelta, timezone

import pytest

from triage.metadata.text_dates import find_times

SENT = datetime(2026, 6, 16, 20, 0, tzinfo=timezone(timedelta(hours=2)))


def read(text, sent_at=SENT):
    sites = [found.span() for found in re.finditer("Alder Pool", text)]
    return find_times(text, sent_at=sent_at, zone="Europe/Warsaw", sites=sites)


def only(text, sent_at=SENT):
    claims, questions = read(text, sent_at)
    assert len(claims) == 1, (text, claims)
    return claims[0], questions


@pytest.mark.parametrize(
    ("text", "event_date"),
    [
        # relative, English
        ("Seen yesterday at the pond", "2026-06-15"),
        ("this morning by the dam", "2026-06-16"),
        ("Today I found it", "2026-06-16"),
        ("the day before yesterday", "2026-06-14"),
        ("3 days ago", "2026-06-13"),
        ("two days ago", "2026-06-14"),
        ("last Sunday", "2026-06-14"),
        ("on Saturday", "2026-06-13"),
        ("Saturday afternoon", "2026-06-13"),
        ("last weekend", "2026-06-13/2026-06-14"),
        ("at the weekend", "2026-06-13/2026-06-14"),
        ("over the week-end", "2026-06-13/2026-06-14"),
        ("last week", "2026-06-08/2026-06-14"),
        ("a week ago", "2026-06-06/2026-06-12"),
        # relative, German
        ("gestern am Teich", "2026-06-15"),
        ("vorgestern", "2026-06-14"),
        ("heute früh", "2026-06-16"),
        ("heute Morgen", "2026-06-16"),
        ("am Sonntag", "2026-06-14"),
        ("letzten Samstag", "2026-06-13"),
        ("am Wochenende", "2026-06-13/2026-06-14"),
        ("vor zwei Tagen", "2026-06-14"),
        ("vor 3 Tagen", "2026-06-13"),
        ("letzte Woche", "2026-06-08/2026-06-14"),
        # relative, French
        ("vue hier au bord du lac", "2026-06-15"),
        ("avant-hier", "2026-06-14"),
        ("ce matin", "2026-06-16"),
        ("aujourd'hui", "2026-06-16"),
        ("il y a deux jours", "2026-06-14"),
        ("dimanche dernier", "2026-06-14"),
        ("le 13 juin", "2026-06-13"),
        ("samedi 13 juin 2026", "2026-06-13"),
        ("le 1er juin", "2026-06-01"),
        # relative, Polish
        ("wczoraj nad stawem", "2026-06-15"),
        ("przedwczoraj", "2026-06-14"),
        ("dziś rano", "2026-06-16"),
        ("dzisiaj", "2026-06-16"),
        ("w niedzielę", "2026-06-14"),
        ("w zeszłą sobotę", "2026-06-13"),
        ("w weekend", "2026-06-13/2026-06-14"),
        ("dwa dni temu", "2026-06-14"),
        ("3 dni temu", "2026-06-13"),
        ("w zeszłym tygodniu", "2026-06-08/2026-06-14"),
        # written out
        ("14 June", "2026-06-14"),
        ("14th of June 2026", "2026-06-14"),
        ("June 14th, 2026", "2026-06-14"),
        ("June 14", "2026-06-14"),
        ("14 Jun 26", "2026-06-14"),
        ("on the 2nd of May", "2026-05-02"),
        ("May 2nd", "2026-05-02"),
        ("14. Juni", "2026-06-14"),
        ("14. Juni 2025", "2025-06-14"),
        ("am 3. Mai", "2026-05-03"),
        ("2. März 2026", "2026-03-02"),
        ("14 czerwca", "2026-06-14"),
        ("14 czerwca 2026 r.", "2026-06-14"),
        ("dnia 3 maja", "2026-05-03"),
        ("14 VI 2026", "2026-06-14"),
        ("14.VI.2026", "2026-06-14"),
        ("Sunday, June 14", "2026-06-14"),
        ("Sonntag, den 14. Juni", "2026-06-14"),
        ("niedziela 14 czerwca", "2026-06-14"),
        # figures
        ("2026-06-14", "2026-06-14"),
        ("2026/06/14", "2026-06-14"),
        ("14.06.2026", "2026-06-14"),
        ("14.6.26", "2026-06-14"),
        ("14/06/2026", "2026-06-14"),
        ("06/14/2026", "2026-06-14"),
        ("14-06-2026", "2026-06-14"),
        ("14/6", "2026-06-14"),
        ("6/14", "2026-06-14"),
        ("Dragonfly 14/6", "2026-06-14"),
        ("am 14.6. gesehen", "2026-06-14"),
        ("vom 14.06.", "2026-06-14"),
        ("So., 14.06.", "2026-06-14"),
        ("dnia 14.06", "2026-06-14"),
        ("14.06. Alder Pool", "2026-06-14"),
        ("on 7/6", None),
        # ranges and parts of a month
        ("13-14 June", "2026-06-13/2026-06-14"),
        ("13 to 15 June 2026", "2026-06-13/2026-06-15"),
        ("June 13-14", "2026-06-13/2026-06-14"),
        ("between 10 and 12 June", "2026-06-10/2026-06-12"),
        ("13./14. Juni", "2026-06-13/2026-06-14"),
        ("vom 10. bis 12. Juni", "2026-06-10/2026-06-12"),
        ("od 10 do 12 czerwca", "2026-06-10/2026-06-12"),
        ("30 May to 2 June", "2026-05-30/2026-06-02"),
        ("13.-14.06.2026", "2026-06-13/2026-06-14"),
        ("13.06.-14.06.2026", "2026-06-13/2026-06-14"),
        ("2026-06-13/2026-06-14", "2026-06-13/2026-06-14"),
        ("in May", "2026-05-01/2026-05-31"),
        ("early June", "2026-06-01/2026-06-10"),
        ("Mitte Mai", "2026-05-11/2026-05-20"),
        ("pod koniec maja", "2026-05-21/2026-05-31"),
        ("w maju", "2026-05-01/2026-05-31"),
        ("in June", "2026-06-01/2026-06-16"),
        ("July 2025", "2025-07-01/2025-07-31"),
        ("Mai 2026", "2026-05-01/2026-05-31"),
        ("last month", "2026-05-01/2026-05-31"),
        ("w zeszłym roku", "2025-01-01/2025-12-31"),
        ("letztes Jahr", "2025-01-01/2025-12-31"),
        ("It was on the 12th", "2026-06-12"),
        ("on the 20th", "2026-05-20"),
        ("a few days ago", "2026-06-09/2026-06-14"),
        ("vor ein paar Tagen", "2026-06-09/2026-06-14"),
        ("kilka dni temu", "2026-06-09/2026-06-14"),
        ("vor einer Woche", "2026-06-06/2026-06-12"),
        ("tydzień temu", "2026-06-06/2026-06-12"),
        ("on 6/10", "2026-06-10"),
        # with a time
        ("yesterday around 3 pm", "2026-06-15T15:00"),
        ("yesterday at 3.30 pm", "2026-06-15T15:30"),
        ("yesterday at 15:30", "2026-06-15T15:30"),
        ("gestern gegen 15 Uhr", "2026-06-15T15:00"),
        ("am 14. Juni um 15:30 Uhr", "2026-06-14T15:30"),
        ("wczoraj o godz. 15", "2026-06-15T15:00"),
        ("wczoraj ok. 15:20", "2026-06-15T15:20"),
        ("yesterday at noon", "2026-06-15T12:00"),
        ("12 am yesterday", "2026-06-15T00:00"),
    ],
)  # fmt: skip
def test_days_are_read_as_people_write_them(text, event_date):
    if event_date is None:
        assert "2026-06-07" in only(text)[0].event_date or "/" in only(text)[0].event_date
        return
    claim, questions = only(text)
    assert (claim.event_date, claim.doubts, questions) == (event_date, (), [])


@pytest.mark.parametrize(
    "text",
    [
        "Call me: 0171 12 05 26 or 089/123456",
        "tel. 12/05/26-3",
        "+48 600 12 05 26",
        "1/250 s, f/2.8, ISO 400, 105 mm",
        "shot at 1/25 s",
        "12.50 EUR and 14.06 €",
        "it cost 14.06",
        "3.5 cm long, 12.6 mm wide",
        "open 24/7",
        "a ratio of 16/9",
        "about 3/4 of them, 1/2 male",
        "version 2.6.14",
        "firmware v14.06.26",
        "192.168.1.10",
        "see https://example.org/2026/06/14/pond",
        "IMG_20260614_100512.jpg",
        "DSC 1406",
        "we may 3 times go there",
        "it may 2 or 3 weeks last",
        "14 of them in June-like weather".replace("June-like", "fine"),
        "next Sunday we go again",
        "every Sunday",
        "tomorrow",
        "jeden Sonntag",
        "nächsten Samstag",
        "w przyszłą sobotę",
        "on Sundays",
        "sun and wind",
        "the sat nav",
        "We met Mr May and June Miller",
        "Market 14",
        "13 males and 14 females",
        "10:05",
        "at 3 pm",
        "page 14/62",
        "size 10/12",
        "32.13.2026",
        "45/67",
        "2026-13-45",
        "MwSt 19.5.",
        "B 14.06 road",
        "marsh 12 north",
        "a mar 5",
        "Sunday's child",
        "Have a nice weekend",
        "the same place as yesterday's photos",
        "We met Mr May and June",
        "Schönes Wochenende",
        "Miłego weekendu",
        "Enjoy the weekend",
        "See you on Sunday",
        "On Sunday we will look again",
        "Am Sonntag werden wir wieder suchen",
        "Bis Sonntag",
        "W niedzielę będziemy szukać dalej",
        "I am sending you these photos today",
        "Heute schicke ich drei Bilder",
        "Dzisiaj wysyłam zdjęcia",
        "Es waren 3 sie flogen",
        "Seen on 31 June 2026",  # nor the whole June
        "Am 30. Februar 2026",
        "",
    ],
)
def test_other_numbers_and_words_are_no_days(text):
    assert read(text)[0] == [], text


def test_day_and_month_either_way_become_an_interval_and_a_question():
    claim, questions = only("on 5/6 at Alder Pool")
    assert claim.event_date == "2026-05-06/2026-06-05"
    assert claim.doubts == ("day and month may stand either way: 2026-05-06 or 2026-06-05",)
    assert questions == ["Is 5/6 2026-05-06 or 2026-06-05?"]


def test_only_one_reading_before_the_mail_settles_the_order():
    # 7 June is past, 6 July of 2026 is not.
    claim, questions = only("06/07/2026")
    assert (claim.event_date, claim.doubts) == ("2026-06-07", ())
    assert questions == []


def test_a_weekday_beside_it_settles_the_order():
    claim, _ = only("Friday 5/6")  # 2026-06-05 was a Friday, 2026-05-06 a Wednesday
    assert (claim.event_date, claim.doubts) == ("2026-06-05", ())


def test_a_weekday_that_contradicts_the_date_is_doubted():
    claim, _ = only("Monday 14 June 2026")
    assert claim.event_date == "2026-06-14"
    assert claim.doubts == ("2026-06-14 was a Sunday, the text says Monday",)


@pytest.mark.parametrize(
    "text",
    [
        "Alder Pool, 14 June 2026\n\nPhotographed on Monday 14 June 2026.",
        "Photographed on Monday, 14 June. Date: 14.6.2026",
        "14 June 2026. Aufgenommen am Montag, dem 14. Juni 2026.",
        "Sunday\n\nOn Monday 14 June 2026 at Alder Pool.",
        "Zdjęcie z 14 czerwca 2026, poniedziałek 14 czerwca.",
        "Prise le lundi 14 juin 2026, le 14/6/2026.",
    ],
)
def test_a_wrong_weekday_is_doubted_where_the_day_is_named_again_without_it(text):
    claim, _ = only(text)
    assert claim.event_date == "2026-06-14"
    assert "2026-06-14 was a Sunday, the text says Monday" in claim.doubts


@pytest.mark.parametrize("text", ["17.06.2026", "20 June 2026", "2027-01-05", "today at 23:30"])
def test_what_is_after_the_mail_is_doubted(text):
    claim, _ = only(text)
    assert any("later than the mail" in doubt for doubt in claim.doubts), claim


def test_a_yearless_date_after_the_mail_is_last_years_and_doubted():
    claim, _ = only("20 June")
    assert claim.event_date == "2025-06-20"
    assert claim.doubts == ("the text names no year; in 2026 it would be after the mail",)


def test_a_yearless_date_of_december_in_a_mail_of_january_is_not_doubted():
    claim, _ = only("28 December", datetime(2026, 1, 5, 12, tzinfo=UTC))
    assert (claim.event_date, claim.doubts) == ("2025-12-28", ())


def test_the_weekday_of_the_mail_itself_is_asked():
    claim, questions = only("seen on Tuesday")
    assert claim.event_date == "2026-06-16"
    assert "2026-06-09" in claim.doubts[0]
    assert questions == ["Is on Tuesday 2026-06-09 or 2026-06-16?"]


def test_the_day_of_writing_is_not_the_day_of_the_photo():
    claim, questions = only("Today I send you photos from last weekend.")
    assert (claim.event_date, questions) == ("2026-06-13/2026-06-14", [])
    assert only("I attach photos from today")[0].event_date == "2026-06-16"
    assert only("I will send more. On Sunday I saw this one.")[0].event_date == "2026-06-14"


def test_a_short_word_before_a_date_is_no_wrong_weekday():
    assert only("So, 12 June it was")[0].doubts == ()
    assert only("So., 14.06.2026")[0].doubts == ()


def test_last_tuesday_in_a_mail_of_tuesday_is_a_week_ago():
    assert only("last Tuesday")[0].event_date == "2026-06-09"


def test_a_weekend_in_progress_ends_with_the_mail():
    saturday = datetime(2026, 6, 13, 12, tzinfo=UTC)
    assert only("this weekend", saturday)[0].event_date == "2026-06-13"
    assert only("last weekend", saturday)[0].event_date == "2026-06-06/2026-06-07"


def test_days_are_counted_in_the_surveys_zone():
    late = datetime(2026, 6, 15, 23, 30, tzinfo=UTC)  # already Tuesday in Warsaw
    assert only("yesterday", late)[0].event_date == "2026-06-15"


def test_several_days_are_all_claimed_doubted_and_asked():
    claims, questions = read("The first on 12 June, the second on 14 June.")
    assert [claim.event_date for claim in claims] == ["2026-06-12", "2026-06-14"]
    assert all("several days" in claim.doubts[-1] for claim in claims)
    assert questions == ["Which day was the photo taken: 2026-06-12, 2026-06-14?"]


def test_a_day_within_a_named_span_says_it_more_exactly():
    claim, questions = only("Last weekend, on Sunday 14 June, we saw this.")
    assert (claim.event_date, claim.doubts, questions) == ("2026-06-14", (), [])


@pytest.mark.parametrize(
    ("words", "time"),
    [
        ("yesterday evening at 6:30", "18:30"),
        ("yesterday around six in the evening", "18:00"),
        ("yesterday at 3:15 in the afternoon", "15:15"),
        ("yesterday at 6 o'clock in the morning", "06:00"),
        ("gestern um 6 Uhr abends", "18:00"),
        ("gestern Abend gegen 8 Uhr", "20:00"),
        ("gestern gegen sechs abends", "18:00"),
        ("gestern um 5 Uhr morgens", "05:00"),
        ("hier soir vers 19 heures", "19:00"),
        ("wczoraj wieczorem o godz. 8", "20:00"),
        ("yesterday at 10:30 in the morning, in the afternoon it rained", "10:30"),
        # a greeting says nothing of the photo, nor does another sentence
        ("Good evening, yesterday at 8:30", "08:30"),
        ("Guten Abend, gestern um 8 Uhr", "08:00"),
        ("It rained all evening. Yesterday at 8:30", "08:30"),
    ],
)
def test_the_part_of_the_day_beside_a_time_tells_its_half(words, time):
    assert read(f"Seen {words}.")[0][0].event_date == f"2026-06-15T{time}"


def test_about_is_less_certain_than_a_time_off_the_watch():
    about, exact = only("yesterday around 3 pm")[0], only("yesterday at 3 pm")[0]
    assert about.uncertainty_seconds > exact.uncertainty_seconds > 0


def test_two_times_are_not_pinned_to_the_day():
    assert only("yesterday between 10:30 and 11:15")[0].event_date == "2026-06-15"


def test_the_words_are_kept():
    claim, _ = only("We saw it last Sunday around 3 pm, fine weather")
    assert claim.verbatim == "last Sunday, around 3 pm"
    assert claim.source == "message text"


@pytest.mark.parametrize("text", ["yesterday", "last Sunday", "14 June", "am Wochenende", "14/6"])
def test_without_the_mails_date_a_person_is_asked(text):
    claims, questions = read(text, None)
    assert claims == []
    assert len(questions) == 1
    assert "no date" in questions[0]


def test_a_full_date_needs_no_mail():
    claims, questions = read("14.06.2026", None)
    assert [claim.event_date for claim in claims] == ["2026-06-14"]
    assert questions == []


def test_a_leap_day_is_found_in_its_year():
    assert only("29 February")[0].event_date == "2024-02-29"


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("On 12 June I saw this. B. Carr, naturalist of the Sunday kind", ["2026-06-12"]),
        ("Date: 12 June 2026\nA. Fenner, secretary, the Thursday Shutter Group", ["2026-06-12"]),
        ("Seen on 12 June, and the pair on 13 June.", ["2026-06-12", "2026-06-13"]),
        ("Seen on Sunday, and the pair on Saturday.", ["2026-06-13", "2026-06-14"]),
        ("I saw this on Sunday next to my bicycle.", ["2026-06-14"]),
        ("I saw this. Next Sunday I go again.", []),
    ],
)
def test_beside_a_date_a_day_that_is_only_mentioned_is_no_second_one(text: str, days: list[str]):
    assert sorted(claim.event_date for claim in read(text)[0]) == days
