"""Says in sentences which detection the absences rest on."""

from __future__ import annotations

from triage.estimates.detection import FEWEST_CASES, WIDEST_INTERVAL, Detection
from triage.report.parts import number, with_interval
from triage.report.wording import written
from triage.standards.counting import counted


def detection_sentences(detection: Detection) -> tuple[str, ...]:
    """Which detection was used, the survey's own, and what the published one covers."""
    words = written("words.toml")["detection"]
    estimated = detection.own.value == detection.own.value
    low, high = number(detection.low), number(detection.high)
    used = words["used"].format(
        value=number(detection.value),
        bounds=f" ({low} to {high})" if detection.low < detection.high else "",
        source=detection.source,
    )
    own = words["own" if estimated else "none"].format(
        own=with_interval(detection.own),
        cases=counted(detection.cases, "case"),
        fewest=FEWEST_CASES,
        widest=f"{WIDEST_INTERVAL:g}",
    )
    return f"{used} {own}", words["published"]
