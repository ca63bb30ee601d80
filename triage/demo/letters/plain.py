"""Nothing in, the letters that bring all they should (time, place, views) out."""

from __future__ import annotations

from triage.demo.letters.views import at, dorsal, lateral, oblique
from triage.demo.scenario import Letter, Picture


def plain() -> tuple[Letter, ...]:
    """Return the letters without a difficulty."""
    broad = "Libellula depressa"
    club = "Gomphus vulgatissimus"
    skimmer = "Orthetrum cancellatum"
    return (
        Letter(
            key="depressa-pair",
            sender="anna",
            day=at(5, 30, 18, 40),
            subject="Broad one at Alder Pool",
            text="Hello,\n\nback and side of the same animal, Alder Pool this morning. It kept"
            " returning to its perch.\n\nYou may use my photos under CC BY 4.0 and print my name."
            "\n\nAnna Wilga\n",
            pictures=(
                Picture(
                    file_name="IMG_20260530_103112.jpg",
                    shot=dorsal(broad, 11, share=0.36),
                    taken=at(5, 30, 10, 31, 12),
                    spot="LNT-02",
                    sighting="S01",
                    loose=True,
                ),
                Picture(
                    file_name="IMG_20260530_103141.jpg",
                    shot=lateral(broad, 11),
                    taken=at(5, 30, 10, 31, 41),
                    spot="LNT-02",
                    sighting="S01",
                    loose=True,
                ),
            ),
        ),
        Letter(
            key="gomphus-three",
            sender="ida",
            day=at(5, 31, 21, 5),
            subject="Three views, Otter Reach",
            text="A club-tail on the stones at Otter Reach, photographed from three sides. Same"
            " animal. I let it be. CC BY-NC 4.0, name may be shown.\n\nIda\n",
            pictures=tuple(
                Picture(
                    file_name=f"DSC_04{number}.JPG",
                    shot=shot,
                    taken=at(5, 31, 11, 12, second),
                    spot="LNT-04",
                    sighting="S02",
                    loose=number == 17,
                )
                for number, second, shot in (
                    (17, 4, dorsal(club, 21, scene="stone", perch="none", share=0.4)),
                    (18, 31, lateral(club, 22, scene="reeds", roll=-12.0)),
                    (19, 55, oblique(club, 23, scene="stone", perch="none", share=0.42)),
                )
            ),
        ),
        Letter(
            key="burst",
            sender="ida",
            day=at(6, 15, 20, 30),
            subject="Bulrush Pit, four frames",
            text="Held the button down. Bulrush Pit, the sandy side.\n\nIda\n",
            pictures=tuple(
                Picture(
                    file_name=f"DSC_0{500 + index}.JPG",
                    shot=dorsal(
                        skimmer,
                        31,
                        scene="sand",
                        perch="none",
                        share=0.33,
                        roll=168.0,
                        pan=(
                            (0.0, 0.0, 1.0, 0.0),
                            (0.07, -0.05, 1.06, 2.0),
                            (-0.06, 0.08, 1.16, -3.0),
                            (-0.12, -0.04, 1.24, 5.0),
                        )[index],
                        subject_blur=(0.0, 2.6, 0.0, 1.2)[index],
                        width=1000,
                        height=750,
                    ),
                    taken=at(6, 15, 13, 2, 10 + index),
                    spot="LNT-05",
                    sighting="S03",
                )
                for index in range(4)
            ),
        ),
        Letter(
            key="two-animals",
            sender="ida",
            day=at(6, 16, 19, 55),
            subject="Two at Sallow Pond",
            text="Two different ones within a minute at Sallow Pond: a bluetail, then an azure."
            "\n\nIda\n",
            pictures=(
                Picture(
                    file_name="DSC_0561.JPG",
                    shot=lateral("Ischnura elegans", 41, scene="reeds", roll=-8.0),
                    taken=at(6, 16, 15, 20, 2),
                    spot="LNT-06",
                    sighting="S04",
                ),
                Picture(
                    file_name="DSC_0562.JPG",
                    shot=lateral("Coenagrion puella", 42, scene="meadow", azimuth=-92.0, roll=9.0),
                    taken=at(6, 16, 15, 20, 34),
                    spot="LNT-06",
                    sighting="S05",
                ),
            ),
        ),
        Letter(
            key="splendens",
            sender="ida",
            day=at(6, 20, 22, 10),
            subject="Miller's Weir",
            text="Banded ones everywhere at Miller's Weir. Here is a male.\n\nIda\n",
            pictures=(
                Picture(
                    file_name="DSC_0610.JPG",
                    shot=lateral("Calopteryx splendens", 51, scene="water", roll=5.0),
                    taken=at(6, 20, 16, 41, 9),
                    spot="LNT-07",
                    sighting="S06",
                    orientation=1,
                ),
                Picture(
                    file_name="DSC_0614.JPG",
                    shot=oblique("Calopteryx splendens", 52, scene="water", subject_blur=4.5),
                    taken=at(6, 20, 16, 43, 50),
                    spot="LNT-07",
                    sighting="S06",
                ),
            ),
        ),
        Letter(
            key="autumn",
            sender="anna",
            day=at(9, 12, 17, 15),
            subject="Late ones at Heron Mere",
            text="A darter and a hawker, Heron Mere, today. CC BY 4.0 as always.\n\nAnna\n",
            pictures=(
                Picture(
                    file_name="IMG_20260912_121500.jpg",
                    shot=dorsal("Sympetrum sanguineum", 61, share=0.38, scene="reeds"),
                    taken=at(9, 12, 12, 15, 0),
                    spot="LNT-01",
                    sighting="S07",
                    orientation=6,
                ),
                Picture(
                    file_name="IMG_20260912_134210.jpg",
                    shot=lateral("Aeshna mixta", 62, roll=-62.0, share=0.5),
                    taken=at(9, 12, 13, 42, 10),
                    spot="LNT-01",
                    sighting="S08",
                ),
            ),
        ),
        Letter(
            key="protected",
            sender="tomasz",
            day=at(7, 12, 18, 30),
            subject="Green snaketail?",
            text="Otter Reach, 12 July 2026, about 15:10. I am not sure whether the place should"
            " be shown. No publication of my name, please.\n\nTomasz Brzeg\n",
            pictures=(
                Picture(
                    file_name="REED0107.JPG",
                    shot=dorsal("Ophiogomphus cecilia", 71, scene="sand", perch="none", share=0.4),
                    device="reed",
                    taken=at(7, 12, 15, 8, 20),
                    spot="LNT-04",
                    sighting="S09",
                    place_from="message site name",
                ),
                Picture(
                    file_name="REED0108.JPG",
                    shot=lateral("Ophiogomphus cecilia", 72, subject_blur=6.0, background_blur=2.0),
                    device="reed",
                    taken=at(7, 12, 15, 8, 44),
                    spot="LNT-04",
                    sighting="S09",
                    place_from="message site name",
                    orientation=8,
                ),
            ),
        ),
        Letter(
            key="pair",
            sender="ida",
            day=at(6, 27, 20, 0),
            subject="A pair",
            text="Two azure ones side by side, Kingcup Marsh, this afternoon.\n\nIda\n",
            pictures=(
                Picture(
                    file_name="DSC_0655.JPG",
                    shot=lateral(
                        "Coenagrion puella",
                        95,
                        share=0.42,
                        centre=(0.56, 0.36),
                        second=("Coenagrion puella", 0.5, 0.68),
                    ),
                    taken=at(6, 27, 14, 31, 20),
                    spot="LNT-03",
                    sighting="S35",
                ),
            ),
        ),
        Letter(
            key="garden",
            sender="lena",
            day=at(6, 28, 9, 20),
            subject="In our garden",
            text="This one sat on the iris in our garden this morning. Please do not show where we"
            " live.\n\nLena\n",
            pictures=(
                Picture(
                    file_name="PXL_20260628_063015120.jpg",
                    shot=lateral("Pyrrhosoma nymphula", 81, roll=-35.0),
                    taken=at(6, 28, 8, 30, 15),
                    spot="LNT-09",
                    sighting="S10",
                ),
            ),
        ),
    )
