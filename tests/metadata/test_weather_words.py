"""What a mail tells of the weather: its own words, and no others."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.metadata.weather_words import LONGEST, MOST, weather_told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("It was overcast and about 17 °C when I saw it.", "It was overcast and about 17 °C"),
        ("Alder Pool\nhot, no wind at all\nAnna", "hot, no wind at all"),
        ("A male, 28 degrees Celsius in the shade, on a reed.", "28 degrees Celsius in the shade"),
        ("Wind: Beaufort 4, from the west", "Wind: Beaufort 4"),
        ("Sonnig bei 24 Grad Celsius, windstill.", "Sonnig bei 24 Grad Celsius, windstill"),
        ("Am Weiher, leicht bewölkt, 19,5 °C", "leicht bewölkt, 19,5 °C"),
        ("Staw, słonecznie, lekki wiatr, 2 samce", "słonecznie, lekki wiatr"),
        ("Vu ce matin, ciel couvert, sans vent.", "ciel couvert, sans vent"),
        ("It perched in the sun!", "It perched in the sun"),
    ],
)
def test_the_words_about_the_weather_are_given_as_written(text: str, told: str):
    [piece] = weather_told(text)
    assert told in piece
    assert piece in text


@pytest.mark.parametrize(
    "text",
    [
        "Warm regards, Ruth",
        "On Sunday we went to Sundew Mire and Sunley.",
        "53.9° N, 21.7° E",
        "I have a cold.",
        "Window seat, windscreen, the rainbow one",
        "A mistake of mine.",
        "Le couvert végétal au nord",
        "",
    ],
)
def test_words_that_only_look_like_weather_are_passed_over(text: str):
    assert weather_told(text) == ()


@given(st.text(max_size=600))
def test_any_text_gives_few_short_pieces(text: str):
    told = weather_told(text)
    assert len(told) <= MOST
    assert all(0 < len(piece) <= LONGEST and piece in text for piece in told)


def test_clauses_that_both_tell_stand_together_and_sentences_apart():
    assert weather_told("Hot. Nobody there. Then rain - and wind, at last") == (
        "Hot",
        "Then rain - and wind",
    )


@pytest.mark.parametrize("piece", ["a ", "sun, ", "1", "- ", "\n", "wind "])
def test_a_long_text_takes_no_long_time(piece: str):
    """Ten times as much takes about ten times as long: no pattern goes back over the text."""

    def taken(count: int) -> float:
        begun = time.process_time()
        weather_told(piece * count)
        return time.process_time() - begun

    assert taken(100_000) < 60 * max(taken(10_000), 0.02)
