"""The sun's altitude against a published example and against the solstice's own geometry."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from triage.metadata.daylight import sun_altitude


def test_the_altitude_agrees_with_the_published_example():
    # Reda, I. & Andreas, A. (2004), Solar position algorithm, Solar Energy 76: 577-589, example:
    # topocentric zenith 50.11162 degrees, which includes 0.02 degree of refraction (from memory).
    moment = datetime(2003, 10, 17, 12, 30, 30, tzinfo=timezone(timedelta(hours=-7)))
    assert 90 - sun_altitude(39.742476, -105.1786, moment) == pytest.approx(50.11162, abs=0.05)


def test_the_noon_sun_of_the_solstice_stands_at_colatitude_plus_obliquity():
    times = [datetime(2026, 6, 21, 10, tzinfo=UTC) + timedelta(minutes=n) for n in range(120)]
    highest = max(sun_altitude(53.9, 21.7, moment) for moment in times)
    assert highest == pytest.approx(90 - 53.9 + 23.44, abs=0.02)


def test_a_moment_without_offset_is_refused():
    with pytest.raises(ValueError, match="no offset"):
        sun_altitude(0, 0, datetime(2026, 6, 21, 12))
