"""Nothing in, the letters that carry one exposure again (resent, shrunk, shared) out."""

from __future__ import annotations

from triage.demo.letters.views import at, dorsal, lateral, oblique
from triage.demo.scenario import Extra, Letter, Picture

_PIXEL = Extra(
    file_name="open.gif",
    maker="pixel",
    outcome="kept, not examined",
    reason="tracking pixel",
    inline=True,
)


def copies() -> tuple[Letter, ...]:
    """Return the letters with copies, and those with what they copy."""
    html = Picture(
        file_name="IMG_2209.JPG",
        shot=oblique("Sympetrum sanguineum", 201, scene="meadow"),
        device="fern",
        taken=at(7, 18, 16, 2, 51),
        spot="LNT-06",
        sighting="S15",
        inline=True,
    )
    cyanea = Picture(
        file_name="IMG_20260808_184455.jpg",
        shot=dorsal("Aeshna cyanea", 211, share=0.36),
        taken=at(8, 8, 18, 44, 55),
        spot="LNT-02",
        sighting="S16",
        loose=True,
    )
    walk = Picture(
        file_name="IMG_2301.JPG",
        shot=lateral("Coenagrion puella", 221, roll=-20.0, scene="reeds"),
        device="fern",
        taken=at(6, 21, 11, 30, 5),
        spot="LNT-03",
        sighting="S17",
    )
    shown = "<html><body><p>Hello, this darter was at Sallow Pond on Saturday.</p>"
    return (
        Letter(
            key="html-only",
            sender="lena",
            day=at(7, 18, 20, 15),
            subject="Sallow Pond",
            html=shown + '<p><img src="cid:IMG_2209.JPG"></p><img src="cid:open.gif" width="1"'
            ' height="1"><p>Lena</p></body></html>',
            pictures=(html,),
            extras=(_PIXEL,),
        ),
        Letter(
            key="resent",
            sender="lena",
            day=at(7, 20, 7, 45),
            subject="Sallow Pond (again, did it arrive?)",
            text="I am not sure that my last mail arrived, so here it is again. Lena\n",
            pictures=(Picture(file_name="IMG_2209.JPG", copy_of="IMG_2209.JPG", sighting="S15"),),
        ),
        Letter(
            key="original",
            sender="anna",
            day=at(8, 8, 21, 0),
            subject="Southern hawker, Alder Pool",
            text="At dusk at Alder Pool. Original size. CC BY 4.0.\n\nAnna\n",
            pictures=(cyanea,),
        ),
        Letter(
            key="shrunk",
            sender="anna",
            day=at(8, 9, 12, 30),
            subject="Re: Southern hawker, Alder Pool",
            text="Sent once more from my phone, it made the picture smaller by itself.\n\nAnna\n",
            pictures=(
                Picture(
                    file_name="image001.jpg",
                    copy_of="IMG_20260808_184455.jpg",
                    shrink=640,
                    quality=70,
                    bare=True,
                    sighting="S16",
                    declared="application/octet-stream",
                ),
            ),
        ),
        Letter(
            key="walk-lena",
            sender="lena",
            day=at(6, 21, 19, 0),
            subject="Our walk",
            text="From our walk at Kingcup Marsh today.\n\nLena\n",
            pictures=(walk,),
        ),
        Letter(
            key="walk-marek",
            sender="marek",
            day=at(6, 22, 18, 20),
            subject="Kingcup Marsh, Sunday",
            text="Lena took this on our walk at Kingcup Marsh yesterday, she shared it with me."
            "\n\nMarek\n",
            pictures=(Picture(file_name="IMG_2301.JPG", copy_of="IMG_2301.JPG", sighting="S17"),),
        ),
        Letter(
            key="screenshot",
            sender="marek",
            day=at(8, 10, 8, 50),
            subject="What is this?",
            text="Anna showed me this one, I only have the screenshot. Which species?\n\nMarek\n",
            pictures=(
                Picture(
                    file_name="Screenshot_20260810-084512.png",
                    copy_of="IMG_20260808_184455.jpg",
                    kind="PNG",
                    sighting="S16",
                ),
            ),
            note="place and date come from the photo it shows",
        ),
    )
