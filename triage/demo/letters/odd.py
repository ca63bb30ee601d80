"""Nothing in, the letters without an adult odonate, or with other things, out."""

from __future__ import annotations

from triage.demo.letters.views import at, dorsal, lateral, oblique
from triage.demo.scenario import Extra, Letter, Picture
from triage.demo.shots import Shot


def odd() -> tuple[Letter, ...]:
    """Return the letters that bring something else."""
    return (
        Letter(
            key="exuvia",
            sender="tomasz",
            day=at(6, 2, 17, 0),
            subject="Empty skin",
            text="An empty skin on a stem at Kingcup Marsh, 2 June 2026, untouched.\n\nTomasz\n",
            pictures=(
                Picture(
                    file_name="REED0044.JPG",
                    shot=Shot(
                        subject="exuvia",
                        view="dorsal",
                        azimuth=50.0,
                        elevation=40.0,
                        roll=-120.0,
                        share=0.44,
                        perch_angle=4.0,
                        seed=501,
                    ),
                    device="reed",
                    taken=at(6, 2, 9, 41, 18),
                    spot="LNT-03",
                    place_from="message site name",
                ),
            ),
        ),
        Letter(
            key="outing",
            sender="anna",
            day=at(6, 14, 19, 30),
            subject="Our outing",
            text="A snapshot from our outing to Heron Mere. Not for publication.\n\nAnna\n",
            pictures=(
                Picture(
                    file_name="IMG_20260614_151001.jpg",
                    shot=Shot(subject="figure", view="other", seed=511, width=1000, height=750),
                    taken=at(6, 14, 15, 10, 1),
                    spot="LNT-01",
                ),
            ),
            note="shows a face",
        ),
        Letter(
            key="no-insect",
            sender="sam",
            day=at(6, 13, 12, 0),
            subject="the pond this morning",
            text="Ferry Bay this morning, nothing flew.\n\nSam\n",
            pictures=(
                Picture(
                    file_name="20260613_081200.jpg",
                    shot=Shot(
                        subject="nothing",
                        view="other",
                        scene="reeds",
                        background_blur=1.6,
                        seed=521,
                    ),
                    device="fern",
                    taken=at(6, 13, 8, 12, 0),
                    spot="LNT-08",
                ),
            ),
        ),
        Letter(
            key="zip",
            sender="tomasz",
            day=at(7, 19, 21, 15),
            subject="Three in a zip",
            text="Heron Mere, 19 July 2026. All three of one animal.\n\nTomasz Brzeg\n",
            zipped="photos.zip",
            pictures=tuple(
                Picture(
                    file_name=f"REED01{20 + index}.JPG",
                    shot=shot,
                    device="reed",
                    taken=at(7, 19, 10, 20, 7 + 16 * index),
                    spot="LNT-01",
                    sighting="S34",
                    place_from="message site name",
                )
                for index, shot in enumerate(
                    (
                        dorsal("Anax imperator", 531, share=0.36),
                        lateral("Anax imperator", 532, roll=-48.0),
                        oblique("Anax imperator", 533, share=0.4),
                    )
                )
            ),
            extras=(
                Extra(
                    file_name="__MACOSX/._REED0120.JPG",
                    maker="resource fork",
                    outcome="nothing to keep",
                    reason="a file system's side file",
                ),
            ),
        ),
        Letter(
            key="link",
            sender="sam",
            day=at(7, 30, 13, 0),
            subject="Album",
            text="Too big to send, see https://photos.example.com/album/ferry-bay-july\n\nSam\n",
            question="link",
        ),
        Letter(
            key="pdf",
            sender="olga",
            day=at(8, 4, 9, 30),
            subject="My list for July",
            text="My list for July is attached.\n\nOlga\n",
            extras=(
                Extra(
                    file_name="list_july.pdf",
                    maker="pdf",
                    outcome="kept, other kind",
                    reason="document",
                ),
            ),
        ),
        Letter(
            key="video",
            sender="sam",
            day=at(8, 5, 20, 20),
            subject="Egg-laying at Ferry Bay",
            text="A film of a female laying eggs, Ferry Bay, today.\n\nSam\n",
            extras=(
                Extra(
                    file_name="MOV_0031.mp4",
                    maker="video",
                    outcome="kept, other kind",
                    reason="video",
                ),
            ),
        ),
        Letter(
            key="away",
            sender="greta",
            day=at(7, 21, 6, 0),
            subject="Automatische Antwort: Danke",
            text="Ich bin bis zum 3. August nicht erreichbar.\n\nGreta Sumpf\n",
            automatic="auto-reply",
        ),
        Letter(
            key="bounce",
            sender="ruth",
            day=at(7, 22, 6, 30),
            subject="Undelivered Mail Returned to Sender",
            text="The mail to <nobody.there@example.org> could not be delivered.\n",
            automatic="bounce",
        ),
    )
