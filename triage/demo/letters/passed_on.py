"""Nothing in, the letters that the coordinator passed on out."""

from __future__ import annotations

from triage.demo.letters.views import at, dorsal, front, lateral, oblique
from triage.demo.scenario import Letter, Picture


def passed_on() -> tuple[Letter, ...]:
    """Return the forwarded letters."""
    emperor = Letter(
        key="olga-emperor",
        sender="olga",
        day=at(7, 1, 19, 10),
        subject="Emperor",
        text="Seen today at Heron Mere, near the jetty. You may publish photo and name (CC BY 4.0)."
        "\n\nOlga Trzcina\n",
        pictures=(
            Picture(
                file_name="IMG_7120.jpg",
                shot=dorsal("Anax imperator", 101, share=0.36, scene="water"),
                device="quiet",
                taken=at(7, 1, 14, 20, 31),
                spot="LNT-01",
                sighting="S11",
                place_from="message site name",
            ),
        ),
    )
    pair = (
        Letter(
            key="fwd-a",
            sender="sam",
            day=at(7, 4, 10, 0),
            subject="Four spots",
            text="Kingcup Marsh, Saturday morning.\n\nSam\n",
            pictures=(
                Picture(
                    file_name="20260704_091533.jpg",
                    shot=oblique("Libellula quadrimaculata", 111, scene="reeds"),
                    device="fern",
                    taken=at(7, 4, 9, 15, 33),
                    spot="LNT-03",
                    sighting="S12",
                ),
            ),
        ),
        Letter(
            key="fwd-b",
            sender="jonas",
            day=at(7, 4, 12, 30),
            subject="White legs",
            text="Taken at the weir this morning. The clock of my camera may be off.\n\nJonas\n",
            pictures=(
                Picture(
                    file_name="NF010007.JPG",
                    shot=lateral("Platycnemis pennipes", 121, scene="water", roll=12.0),
                    device="north",
                    taken=at(7, 4, 10, 48, 0),
                    spot="LNT-07",
                    sighting="S13",
                    place_from="message site name",
                    time_from="message text",
                    expected_date="2026-07-04",
                ),
            ),
            question="clock",
        ),
    )
    return (
        Letter(
            key="forward",
            sender="ruth",
            day=at(7, 2, 8, 5),
            subject="Fwd: Emperor",
            text="This came to my own address.\n\nRuth\n",
            forwards=(emperor,),
        ),
        Letter(
            key="forward-two",
            sender="ruth",
            day=at(7, 5, 9, 0),
            subject="Fwd: two more",
            text="Two more that were sent to me.\n\nRuth Fenner, coordinator\n",
            forwards=pair,
        ),
        Letter(
            key="forward-inline",
            sender="ruth",
            day=at(7, 8, 20, 0),
            subject="Fwd: at the pit",
            text="From Sam, again to me.\n\n---------- Forwarded message ---------\n"
            "From: Sam Ferry <sam.ferry@example.com>\nDate: Tue, 7 Jul 2026 at 21:14\n"
            "Subject: at the pit\nTo: Ruth Fenner <ruth.fenner@example.org>\n\n"
            "Hi Ruth, from Bulrush Pit this afternoon. Sam\n",
            pictures=(
                Picture(
                    file_name="20260707_154420.jpg",
                    shot=front("Anax imperator", 131, scene="meadow"),
                    device="fern",
                    taken=at(7, 7, 15, 44, 20),
                    spot="LNT-05",
                    sighting="S14",
                ),
            ),
        ),
    )
