"""A mail that lost its thread is linked where our words or its subject tell, else offered."""

import pytest

from triage.replies.threads import AskedQuestion, ThreadFound, recognise_without_thread

PLACE = AskedQuestion(
    code="q-1",
    subject="Blue one",
    words="Dear Bo,\n\nTo use your photo we need one more thing: where was it taken?\n\nThanks",
)
DAY = AskedQuestion(
    code="q-2",
    subject="Red one",
    words="Dear Bo,\n\nTo use your photo we need one more thing: on which day was it?\n\nThanks",
)


@pytest.mark.parametrize(
    ("subject", "quoted", "waiting", "found"),
    [
        (
            "Blue",
            "> we need one more thing: where\n> was it taken?",
            [PLACE],
            ThreadFound(offered="q-1"),
        ),
        (
            "",
            "> To use your photo we need one more thing:\n> where was it taken?",
            [PLACE, DAY],
            ThreadFound(code="q-1"),
        ),
        (
            "",
            "To use your photo we need one more thing: on which day was it?",
            [PLACE, DAY],
            ThreadFound(code="q-2"),
        ),
        ("AW: Blue one", "", [PLACE, DAY], ThreadFound(code="q-1")),
        ("Odp: RE: blue ONE", "", [PLACE], ThreadFound(code="q-1")),
        ("Blue one", "", [PLACE], ThreadFound(offered="q-1")),
        ("Re: Blue one", "", [PLACE, PLACE], ThreadFound(offered="q-1")),
        ("Re:", "", [PLACE], ThreadFound(offered="q-1")),
        ("Hello", "> With thanks", [PLACE, DAY], ThreadFound(offered="q-2")),
        ("Re: Blue one", "", [], ThreadFound()),
    ],
)
def test_the_question_is_told_by_our_words_or_the_only_subject(subject, quoted, waiting, found):
    assert recognise_without_thread(subject, quoted, waiting) == found
