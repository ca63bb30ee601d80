"""Decide how coarsely held records may be released, and search for leaks.

``generalising`` policies, categories, places and dates · ``redaction`` texts and pictures ·
``leaks`` the search through what is about to be handed on. docs/privacy.md states the rules and
what they do not protect against.
"""

from triage.privacy.generalising import (
    CATEGORY_PRECISION,
    HIDING_CATEGORIES,
    ReleasedPoint,
    ReleasePolicy,
    Sensitivity,
    day_only,
    month_only,
    release_point,
    sensitivity,
)
from triage.privacy.leaks import Leak, Secrets, leaks_in
from triage.privacy.redaction import clean_photo, has_metadata, redact
