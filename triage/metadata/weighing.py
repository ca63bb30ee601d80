"""Weigh the form in which a mail names its only site against how like the mail is to plain ones."""

from __future__ import annotations

from dataclasses import replace

from triage.metadata.place_forms import ONLY_MENTIONED
from triage.metadata.place_kinds import SPEAK_AGAINST
from triage.metadata.position import PlaceClaim

# Chosen on batches of mails that neither the forms nor the weights had seen (docs/metadata.md).
LIKE_PLAIN = 0.58  # a mail at least so like those that name their place needs no known form
UNLIKE = -0.1  # in a known form, too, a mail less like them is asked about
_FURTHER_OFF = " may speak of "  # in a doubt of words that stand further off


def weighed(
    claim: PlaceClaim, question: str, like: float, *, short: bool
) -> tuple[PlaceClaim, str]:
    """A claim of the only site, its form weighed against how like the mail is to plain ones.

    A ``short`` mail has too few words to be unlike others.
    """
    if not claim.doubts:
        if like > UNLIKE or short or not claim.location_id:
            return claim, question
        doubt = f"{ONLY_MENTIONED}: such words are often of photos from elsewhere"
        return replace(claim, doubts=(doubt,)), f"Is the photo from {claim.verbatim}?"
    (doubt, *others) = claim.doubts
    # What speaks of something else further off may not speak of the name: "my old leaflet".
    of_form = doubt.startswith((*SPEAK_AGAINST, f"{ONLY_MENTIONED}:")) or _FURTHER_OFF in doubt
    endless = doubt == f"{ONLY_MENTIONED}: '{claim.verbatim}'"  # no sentence to be weighed
    plain = of_form and not endless and not others and like > LIKE_PLAIN
    return (replace(claim, doubts=()), "") if plain else (claim, question)
