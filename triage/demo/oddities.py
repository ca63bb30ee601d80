"""Draws what else people send: an empty skin, a person with a net, a logo, a screen."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from triage.demo.data_files import read_toml
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
    unit = picture.shape[0] / 900
    for shape in read_toml("figure.toml")["shapes"]:
        share, behind = shape.get("share", 1.0), picture.copy()
        _draw(picture, shape, unit)
        if share < 1:
            picture[:] = behind * (1 - share) + picture * share
    rng = np.random.default_rng(seed)
    grain = cv2.GaussianBlur(rng.normal(size=picture.shape[:2]).astype(np.float32), (0, 0), 2.0)
    picture *= (1 + 0.05 * grain / grain.std())[..., None]
    picture[:] = cv2.GaussianBlur(picture, (0, 0), 1.3 * unit)


def _draw(picture: NDArray[np.float32], shape: dict[str, Any], unit: float) -> None:
    """One shape of the figure; figure.toml says what each has."""

    def at(x: float, y: float) -> tuple[int, int]:
        return int(picture.shape[1] / 2 + x * unit), int(y * unit)

    colour, width = (
        shape["colour"],
        shape.get("pixels") or max(1, int(shape.get("width", 0) * unit)),
    )
    if "line" in shape:
        start, end = (at(*one) for one in shape["line"])
        cv2.line(picture, start, end, colour, width, cv2.LINE_AA)
    elif "area" in shape:
        corners = np.array([at(*corner) for corner in shape["area"]], np.int32)
        cv2.fillPoly(picture, [corners], colour, cv2.LINE_AA)
    else:
        a, b = (int(radius * unit) for radius in shape.get("disc") or shape["ring"])
        first, last = shape.get("arc", (0, 360))
        turn, width = shape.get("turn", 0), -1 if "disc" in shape else width
        middle = at(*shape["at"])
        cv2.ellipse(picture, middle, (a, b), turn, first, last, colour, width, cv2.LINE_AA)


def logo() -> NDArray[np.uint8]:
    """Return a signature logo: a bird's head of two shapes beside grey bars."""
    height = 60
    picture = np.full((height, 180, 3), 255, np.uint8)
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
