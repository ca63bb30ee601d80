"""Nothing in, the letters with a wrong clock, no position or poor photos out."""

from __future__ import annotations

from triage.demo.letters.views import at, dorsal, lateral, oblique
from triage.demo.scenario import Extra, Letter, Picture

_LOGO = Extra(
    file_name="logo.png",
    maker="logo",
    outcome="kept, not examined",
    reason="signature logo",
    inline=True,
)


def troubled() -> tuple[Letter, ...]:
    """Return the letters whose cameras told too little or the wrong thing."""
    return (
        Letter(
            key="yesterday",
            sender="marek",
            day=at(6, 7, 10, 15),
            subject="Red damselfly",
            text="Yesterday at Alder Pool. Came through a messenger, sorry.\n\nMarek\n",
            pictures=(
                Picture(
                    file_name="IMG-20260606-WA0003.jpg",
                    shot=lateral(
                        "Pyrrhosoma nymphula", 301, roll=18.0, share=0.6, width=1000, height=750
                    ),
                    device="quiet",
                    taken=at(6, 6, 14, 0),
                    spot="LNT-02",
                    bare=True,
                    quality=68,
                    sighting="S18",
                    place_from="message site name",
                    time_from="message text",
                    expected_date="2026-06-06",
                ),
            ),
        ),
        Letter(
            key="no-gps",
            sender="marek",
            day=at(6, 24, 20, 40),
            subject="Kingcup Marsh",
            text="Location is switched off on my phone. This was at Kingcup Marsh.\n\nMarek\n",
            pictures=(
                Picture(
                    file_name="IMG_3011.jpg",
                    shot=dorsal("Libellula quadrimaculata", 311, share=0.38, scene="reeds"),
                    device="quiet",
                    taken=at(6, 24, 13, 12, 44),
                    spot="LNT-03",
                    sighting="S19",
                    place_from="message site name",
                ),
            ),
        ),
        Letter(
            key="year-behind",
            sender="peter",
            day=at(6, 20, 22, 0),
            subject="Heron Mere, 20 June",
            text="Three frames of one animal, Heron Mere, 20 June 2026, around 14:10.\n\n-- \n"
            "Peter Rushton\nRushton Maps\n",
            pictures=tuple(
                Picture(
                    file_name=f"THM_{2101 + index}.JPG",
                    shot=shot,
                    device="tarn",
                    taken=at(6, 20, 14, 8 + index, 12),
                    spot="LNT-01",
                    sighting="S20",
                    place_from="message site name",
                    time_from="message text",
                    expected_date="2026-06-20",
                )
                for index, shot in enumerate(
                    (
                        dorsal(
                            "Orthetrum cancellatum", 321, scene="stone", perch="none", share=0.36
                        ),
                        lateral("Orthetrum cancellatum", 322, roll=-10.0, scene="reeds"),
                        lateral("Orthetrum cancellatum", 323, roll=-14.0, shake=(26.0, 20.0)),
                    )
                )
            ),
            extras=(_LOGO,),
            question="clock",
        ),
        Letter(
            key="hour-behind",
            sender="olga",
            day=at(7, 25, 19, 30),
            subject="Clock",
            text="Miller's Weir, 25 July 2026, 15:30. My camera clock runs 1 h 7 min behind, I have"
            " not set it for summer time.\n\nOlga\n",
            pictures=(
                Picture(
                    file_name="R7001288.JPG",
                    shot=oblique("Calopteryx splendens", 331, scene="water"),
                    device="slow",
                    taken=at(7, 25, 15, 30, 0),
                    spot="LNT-07",
                    sighting="S21",
                    place_from="message site name",
                    time_from="message text",
                    expected_date="2026-07-25T15:30",
                ),
            ),
            question="clock",
        ),
        Letter(
            key="unset",
            sender="jonas",
            day=at(7, 11, 20, 0),
            subject="Blue with black at Sallow Pond",
            text="Sallow Pond today, 11 July, 11:30.\n\nJonas\n",
            pictures=(
                Picture(
                    file_name="NF010012.JPG",
                    shot=dorsal(
                        "Ischnura elegans", 341, scene="reeds", share=0.5, roll=170.0, perch="leaf"
                    ),
                    device="north",
                    taken=at(7, 11, 11, 30, 0),
                    spot="LNT-06",
                    sighting="S22",
                    place_from="message site name",
                    time_from="message text",
                    expected_date="2026-07-11",
                ),
            ),
            question="clock",
        ),
        Letter(
            key="poor",
            sender="sam",
            day=at(8, 2, 21, 10),
            subject="Not my best",
            text="All from Ferry Bay today, none is good, sorry.\n\nSam\n",
            pictures=tuple(
                Picture(
                    file_name=f"20260802_17{10 + index}00.jpg",
                    shot=shot,
                    device="fern",
                    taken=at(8, 2, 17, 10 + index, 0),
                    spot="LNT-08",
                    sighting="S23",
                )
                for index, shot in enumerate(
                    (
                        oblique("Aeshna cyanea", 351, share=0.16, scene="water", perch="none"),
                        dorsal("Aeshna cyanea", 352, share=0.3, scene="dusk", gain=0.5, noise=3.0),
                        lateral(
                            "Aeshna cyanea", 353, share=0.4, shake=(34.0, -35.0), scene="reeds"
                        ),
                    )
                )
            ),
        ),
    )
