"""Draws what else people send: an empty skin, a person with a net, a logo, a screen."""

from __future__ import annotations

import io
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from triage.demo.insect import Insect, Pose, Solid, build
from triage.demo.looks import SKIN


def skin() -> Insect:
    """Build the empty larval skin: no wings but two pairs of short sheaths along the back."""
    insect = build(SKIN, Pose(droop=-2.0))
    sheaths = []
    for sign in (1.0, -1.0):
        for back in (0.0, 3.0):
            sheaths.append(
                Solid(
                    centre=np.array([-6.5 - back, sign * 2.2, 3.6 - 0.1 * back]),
                    radii=np.array([6.0, 1.5, 0.9]),
                    axes=np.eye(3),
                    paint="head",
                )
            )
    return replace(insect, solids=insect.solids + tuple(sheaths), wings=())


def figure_with_net(picture: NDArray[np.float32], *, seed: int) -> None:
    """Draw a person on the shore, facing us, an insect net over the shoulder, in place."""
    height, width = picture.shape[:2]
    rng = np.random.default_rng(seed)
    unit = height / 900

    def at(x: float, y: float) -> tuple[int, int]:
        return int(width / 2 + x * unit), int(y * unit)

    def disc(x: float, y: float, a: float, b: float, shade: tuple[float, float, float]) -> None:
        cv2.ellipse(
            picture, at(x, y), (int(a * unit), int(b * unit)), 0, 0, 360, shade, -1, cv2.LINE_AA
        )

    cv2.line(picture, at(150, 860), at(330, 150), (0.45, 0.33, 0.2), _thick(12 * unit), cv2.LINE_AA)
    cv2.ellipse(
        picture,
        at(352, 90),
        (int(80 * unit), int(60 * unit)),
        10,
        0,
        360,
        (0.3, 0.3, 0.3),
        4,
        cv2.LINE_AA,
    )
    mesh = np.array([at(280, 100), at(425, 100), at(400, 330), at(360, 390)], np.int32)
    veil = picture.copy()
    cv2.fillPoly(veil, [mesh], (0.85, 0.88, 0.84), cv2.LINE_AA)
    picture[:] = picture * 0.45 + veil * 0.55
    body = np.array(
        [at(-170, 900), at(-140, 560), at(-60, 500), at(60, 500), at(140, 560), at(170, 900)]
    )
    cv2.fillPoly(picture, [body.astype(np.int32)], (0.30, 0.36, 0.24), cv2.LINE_AA)
    cv2.line(picture, at(0, 520), at(0, 900), (0.2, 0.25, 0.16), _thick(5 * unit), cv2.LINE_AA)
    disc(0, 480, 42, 60, (0.72, 0.54, 0.44))
    _head(disc, at, picture, unit)
    grain = cv2.GaussianBlur(rng.normal(size=picture.shape[:2]).astype(np.float32), (0, 0), 2.0)
    picture *= (1 + 0.05 * grain / grain.std())[..., None]
    picture[:] = cv2.GaussianBlur(picture, (0, 0), 1.3 * unit)


def _thick(pixels: float) -> int:
    return max(1, int(pixels))


def _head(disc, at, picture, unit) -> None:  # type: ignore[no-untyped-def]
    disc(0, 330, 112, 138, (0.30, 0.20, 0.14))
    disc(0, 362, 98, 126, (0.85, 0.66, 0.55))
    for sign in (-1, 1):
        disc(sign * 40, 345, 21, 11, (0.95, 0.94, 0.92))
        disc(sign * 40, 345, 10, 10, (0.25, 0.2, 0.16))
        disc(sign * 40, 345, 5, 5, (0.03, 0.03, 0.03))
        disc(sign * 42, 318, 27, 6, (0.28, 0.18, 0.12))
        disc(sign * 56, 400, 24, 16, (0.86, 0.60, 0.52))
    disc(0, 385, 13, 26, (0.78, 0.58, 0.48))
    cv2.ellipse(
        picture,
        at(0, 428),
        (int(38 * unit), int(16 * unit)),
        0,
        10,
        170,
        (0.6, 0.28, 0.26),
        _thick(8 * unit),
        cv2.LINE_AA,
    )
    disc(0, 262, 160, 22, (0.62, 0.55, 0.36))
    disc(0, 232, 92, 48, (0.66, 0.59, 0.40))


def logo(width: int = 180, height: int = 60) -> NDArray[np.uint8]:
    """Return a signature logo: a bird's head of two shapes beside grey bars."""
    picture = np.full((height, width, 3), 255, np.uint8)
    cv2.circle(picture, (height // 2, height // 2), height // 3, (40, 110, 120), -1, cv2.LINE_AA)
    cv2.circle(picture, (height // 2 + 5, height // 2 - 6), 4, (255, 255, 255), -1, cv2.LINE_AA)
    beak = np.array(
        [[height - 12, height // 2 - 4], [height + 6, height // 2], [height - 12, height // 2 + 5]]
    )
    cv2.fillPoly(picture, [beak.astype(np.int32)], (220, 150, 40), cv2.LINE_AA)
    for row, wide in ((16, 80), (30, 60), (42, 70)):
        cv2.rectangle(
            picture, (height + 14, row), (height + 14 + wide, row + 5), (150, 150, 150), -1
        )
    return picture


def screen(pixels: NDArray[np.uint8], width: int = 540, height: int = 1170) -> NDArray[np.uint8]:
    """Return a phone's screen that shows a picture between two dark bars."""
    picture = np.full((height, width, 3), 18, np.uint8)
    shown = cv2.resize(
        pixels,
        (width, int(width * pixels.shape[0] / pixels.shape[1])),
        interpolation=cv2.INTER_AREA,
    )
    top = (height - shown.shape[0]) // 2
    picture[top : top + shown.shape[0]] = shown
    cv2.putText(
        picture, "9:41", (24, 40), cv2.FONT_HERSHEY_SIMPLEX, 0.7, (240, 240, 240), 2, cv2.LINE_AA
    )
    cv2.rectangle(picture, (width - 70, 24), (width - 26, 42), (240, 240, 240), 2)
    cv2.rectangle(picture, (width - 66, 28), (width - 38, 38), (240, 240, 240), -1)
    for index in range(4):
        centre = (int(width * (index + 0.5) / 4), height - 70)
        cv2.circle(picture, centre, 16, (200, 200, 200), 3, cv2.LINE_AA)
    return picture


def extra_file(maker: str) -> tuple[bytes, str]:
    """Return the bytes and the media type of an attachment that is no photo of an insect."""
    target = io.BytesIO()
    if maker == "logo":
        Image.fromarray(logo()).save(target, "PNG", optimize=True)
        return target.getvalue(), "image/png"
    if maker == "pixel":
        Image.new("P", (1, 1)).save(target, "GIF")
        return target.getvalue(), "image/gif"
    if maker == "video":
        head = b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom"
        return head + b"\x00\x00\x08\x08mdat" + bytes(2048), "video/mp4"
    if maker == "resource fork":
        return b"\x00\x05\x16\x07\x00\x02\x00\x00Mac OS X        " + bytes(
            64
        ), "application/applefile"
    if maker == "pdf":
        return _pdf("Linnet Water Survey, list for July: see my letters."), "application/pdf"
    raise ValueError(f"no such attachment: {maker}")


def _pdf(line: str) -> bytes:
    """Write a PDF of one page with one line of text (ISO 32000-1, the least that opens)."""
    stream = f"BT /F1 14 Tf 72 720 Td ({line}) Tj ET".encode("ascii")
    bodies = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R"
        b" /Resources << /Font << /F1 5 0 R >> >> >>",
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(stream), stream),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>",
    ]
    content = b"%PDF-1.4\n"
    places = []
    for number, body in enumerate(bodies, start=1):
        places.append(len(content))
        content += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    start = len(content)
    content += b"xref\n0 6\n0000000000 65535 f \n"
    content += b"".join(b"%010d 00000 n \n" % place for place in places)
    return content + b"trailer\n<< /Size 6 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % start
