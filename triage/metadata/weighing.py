"""Weigh a mail's only site, or only day, by its form and by how like the mail is to plain ones."""

from __future__ import annotations

from dataclasses import replace

from triage.metadata.place_forms import OF_SOME_PHOTOS, ONLY_MENTIONED, UNSURE_OF_PLACE
from triage.metadata.place_kinds import SPEAK_AGAINST
from triage.metadata.position import PlaceClaim

DENIED = "named, but perhaps not as the photo's place: "  # how a doubt of denying words begins
NEVER_WEIGHED = ("denied", "of some", "unsure")  # forms that no likeness outweighs
# Chosen on batches of mails that neither the forms nor the weights had seen (docs/metadata.md).
LIKE_PLAIN = 0.28  # a place in a safe form stands where its mail is so like those that name theirs
MUCH_LIKE_PLAIN = 0.38  # in any other form


def form_of(doubt: str) -> str:
    """In what form a site is named, by the doubt that its words raise, "safe" for none.

    >>> form_of(""), form_of("the mail also says 'at the lock'"), form_of("'Mere Cafe' may be ...")
    ('safe', 'the mail also says', 'other')
    """
    if not doubt:
        return "safe"
    if doubt.startswith(DENIED):  # what speaks of something else further off may not deny the name
        return "further off" if " may speak of " in doubt else "denied"
    if doubt.startswith((OF_SOME_PHOTOS, f"{ONLY_MENTIONED}, perhaps")):
        return "of some"
    if doubt.startswith(UNSURE_OF_PLACE):
        return "unsure"
    return next(
        (form for form in (*SPEAK_AGAINST, ONLY_MENTIONED) if doubt.startswith(form)), "other"
    )


def weighed(claim: PlaceClaim, question: str, like: float) -> tuple[PlaceClaim, str]:
    """The claim of an only site, in a form that may be weighed: it stands, or it is asked about."""
    if like > (MUCH_LIKE_PLAIN if claim.doubts else LIKE_PLAIN):
        return replace(claim, doubts=()), ""
    doubt = f"{ONLY_MENTIONED}: such words are often of photos from elsewhere"
    return (
        replace(claim, doubts=claim.doubts or (doubt,)),
        question or f"Is the photo from {claim.verbatim}?",
    )
