"""Nothing in, the letters whose place or day stands only in their words out."""

from __future__ import annotations

from datetime import datetime

from triage.demo.letters.views import at, dorsal, lateral, oblique
from triage.demo.scenario import Letter, Picture
from triage.demo.shots import Shot


def _bare(
    file_name: str,
    shot: Shot,
    spot: str,
    taken: datetime,
    sighting: str,
    *,
    place_from: str = "message site name",
    expected_date: str | None = None,
) -> Picture:
    """Return a picture without any Exif: place and day must come from the words."""
    return Picture(
        file_name=file_name,
        shot=shot,
        device="quiet",
        taken=taken,
        spot=spot,
        bare=True,
        sighting=sighting,
        place_from=place_from,
        time_from="message text",
        expected_date=taken.date().isoformat() if expected_date is None else expected_date,
    )


def spoken() -> tuple[Letter, ...]:
    """Return the letters whose words must be read."""
    return (
        Letter(
            key="alias",
            sender="tomasz",
            day=at(6, 10, 19, 0),
            subject="Olszynka",
            text="Olszynka, 10 June 2026, two hours of sun.\n\nTomasz Brzeg\n",
            pictures=(
                _bare(
                    "olszynka.jpg",
                    lateral("Coenagrion puella", 401, roll=-15.0),
                    "LNT-02",
                    at(6, 10, 13, 0),
                    "S24",
                ),
            ),
        ),
        Letter(
            key="misspelt",
            sender="olga",
            day=at(6, 18, 20, 0),
            subject="at Bullrush Pitt",
            text="I saw this skimmer at Bullrush Pitt on 18 June.\n\nOlga\n",
            pictures=(
                _bare(
                    "skimmer.jpg",
                    oblique("Orthetrum cancellatum", 411, scene="sand", perch="none", share=0.42),
                    "LNT-05",
                    at(6, 18, 12, 0),
                    "S25",
                ),
            ),
        ),
        Letter(
            key="typed-coordinates",
            sender="peter",
            day=at(7, 3, 21, 0),
            subject="Coordinates",
            text="Position 53.9195 N, 21.6713 E, on 3 July 2026. No notes.\n\nPeter Rushton\n",
            pictures=(
                _bare(
                    "find.jpg",
                    dorsal("Libellula depressa", 421, share=0.34, scene="reeds"),
                    "LNT-05",
                    at(7, 3, 11, 0),
                    "S26",
                    place_from="message coordinates",
                ),
            ),
        ),
        Letter(
            key="decimal-comma",
            sender="greta",
            day=at(7, 9, 18, 0),
            subject="Fundpunkt",
            text="Guten Tag,\n\nFundpunkt 53,9052; 21,7421 am 9. Juli 2026.\n\nViele Grüße\n"
            "Greta Sumpf\n",
            pictures=(
                _bare(
                    "fundpunkt.jpg",
                    lateral("Ischnura elegans", 431, roll=-6.0, scene="water"),
                    "LNT-06",
                    at(7, 9, 12, 0),
                    "S27",
                    place_from="message coordinates",
                ),
            ),
        ),
        Letter(
            key="quoted-place",
            sender="sam",
            day=at(7, 14, 19, 40),
            subject="Re: your photo from Alder Pool",
            text="Thanks! A new one, from Ferry Bay on 13 July.\n\nSam\n\n"
            "On Sun, 12 Jul 2026 at 09:11, Linnet Water Survey <linnet.water@example.org> wrote:\n"
            "> Thank you for the photo from Alder Pool of 28 May.\n> Was it near the bridge?\n",
            pictures=(
                _bare(
                    "new_one.jpg",
                    dorsal("Anax imperator", 441, share=0.36, scene="reeds"),
                    "LNT-08",
                    at(7, 13, 15, 0),
                    "S28",
                ),
            ),
            note="the quoted place and date must not be used",
        ),
        Letter(
            key="date-range",
            sender="olga",
            day=at(7, 6, 21, 30),
            subject="Between 3 and 5 July",
            text="Heron Mere, taken between 3 and 5 July 2026, not sure which day.\n\nOlga\n",
            pictures=(
                _bare(
                    "mere_a.jpg",
                    dorsal("Libellula quadrimaculata", 451, share=0.36),
                    "LNT-01",
                    at(7, 4, 12, 0),
                    "S29",
                    expected_date="2026-07-03/2026-07-05",
                ),
            ),
        ),
        Letter(
            key="german",
            sender="greta",
            day=at(7, 15, 9, 10),
            subject="Libelle vom Alder Pool",
            text="Guten Tag,\n\ndiese Libelle saß gestern am Alder Pool im Schilf, Rücken und Seite"
            " desselben Tieres. Die Fotos dürfen Sie mit meinem Namen unter CC BY-SA 4.0"
            " verwenden.\n\nViele Grüße\nGreta Sumpf\n",
            pictures=(
                Picture(
                    file_name="IMG_5511.HEIC",
                    shot=dorsal("Aeshna mixta", 461, share=0.38),
                    device="fern",
                    taken=at(7, 14, 17, 20, 11),
                    spot="LNT-02",
                    kind="HEIF",
                    sighting="S30",
                ),
                Picture(
                    file_name="IMG_5512.HEIC",
                    shot=lateral("Aeshna mixta", 462, roll=-55.0),
                    device="fern",
                    taken=at(7, 14, 17, 20, 39),
                    spot="LNT-02",
                    kind="HEIF",
                    sighting="S30",
                ),
            ),
        ),
        Letter(
            key="polish",
            sender="tomasz",
            day=at(8, 16, 18, 45),
            subject="Ważka znad Bagna Kaczeniec",
            text="Dzień dobry,\n\nprzesyłam zdjęcie z 15 sierpnia 2026, Bagno Kaczeniec, około"
            " godziny 12.\n\nPozdrawiam\nTomasz Brzeg\n",
            pictures=(
                _bare(
                    "ważka_sierpień.jpg",
                    oblique("Sympetrum sanguineum", 471, scene="reeds"),
                    "LNT-03",
                    at(8, 15, 12, 0),
                    "S31",
                ),
            ),
        ),
        Letter(
            key="ambiguous",
            sender="marek",
            day=at(7, 27, 20, 0),
            subject="Mill Pond",
            text="Mill Pond, 26 July 2026.\n\nMarek\n",
            pictures=(
                _bare(
                    "mill.jpg",
                    lateral("Platycnemis pennipes", 481, roll=-25.0, scene="reeds"),
                    "",
                    at(7, 26, 14, 0),
                    "S32",
                ),
            ),
            question="place",
            note="two waters share this name",
        ),
        Letter(
            key="no-place",
            sender="jonas",
            day=at(8, 20, 20, 0),
            subject="Hawker",
            text="Found this one the other day. What is it?\n\nJonas\n",
            pictures=(
                Picture(
                    file_name="hawker.jpg",
                    shot=dorsal("Aeshna cyanea", 491, share=0.36, scene="dusk", gain=2.2),
                    bare=True,
                    sighting="S33",
                    place_from="",
                    time_from="",
                    expected_date="",
                ),
            ),
            question="place and date",
        ),
        Letter(
            key="answer",
            sender="jonas",
            day=at(8, 23, 18, 30),
            subject="Re: Hawker",
            text="It was at Sundew Mire, on 19 August 2026.\n\nJonas\n\n"
            "On Fri, 21 Aug 2026 at 08:00, Linnet Water Survey <linnet.water@example.org> wrote:\n"
            "> Where and when did you take the photo hawker.jpg?\n",
            in_reply_to="<no-place.20260820@example.org>",
            note="answers the question of the letter it replies to",
        ),
    )
