"""Mails, pictures and mail files made in code, as senders and their programs make them."""

from __future__ import annotations

import base64
import functools
import io
import textwrap
import zipfile

import numpy as np
from PIL import Image

DATE = "Sun, 14 Jun 2026 18:05:00 +0200"
SENDER = "Ada Finch <ada@example.org>"


@functools.cache
def picture(
    width: int = 640, height: int = 480, *, kind: str = "JPEG", seed: int = 0, noise: int = 40
) -> bytes:
    """A picture of soft noise, so that it is as large in bytes as a photo of its size."""
    generator = np.random.default_rng(seed)
    coarse = generator.integers(0, 255, (8, 8, 3), dtype=np.uint8)
    image = Image.fromarray(coarse).resize((width, height), Image.Resampling.BICUBIC)
    pixels = np.asarray(image, dtype=np.int16)
    pixels = pixels + generator.integers(-noise, noise + 1, pixels.shape, dtype=np.int16)
    image = Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))
    out = io.BytesIO()
    if kind == "HEIF":
        import pillow_heif

        pillow_heif.from_pillow(image).save(out, quality=50)
    else:
        image.save(out, kind)
    return out.getvalue()


def header(**fields: str) -> bytes:
    """The usual header fields; a field given replaces the usual one, an empty one removes it."""
    usual = {
        "Message-ID": "<one@example.org>",
        "Date": DATE,
        "From": SENDER,
        "To": "survey@example.org",
        "Subject": "Seen today",
        "MIME-Version": "1.0",
    }
    named = {name.replace("_", "-"): value for name, value in fields.items()}
    for name in list(usual):
        if name in named:
            usual[name] = named.pop(name)
    lines = [f"{name}: {value}" for name, value in {**usual, **named}.items() if value]
    return ("\n".join(lines) + "\n").encode("utf-8")


def text_mail(
    text: str | bytes, *, content_type: str = "text/plain; charset=utf-8", **fields: str
) -> bytes:
    """A mail of one text part in 8bit."""
    body = text.encode("utf-8") if isinstance(text, str) else text
    return header(**fields) + f"Content-Type: {content_type}\n".encode() + b"\n" + body


def text_part(text: str | bytes, content_type: str = "text/plain; charset=utf-8") -> bytes:
    body = text.encode("utf-8") if isinstance(text, str) else text
    return f"Content-Type: {content_type}\n\n".encode() + body


def file_part(
    content: bytes,
    name: str = "",
    *,
    content_type: str = "image/jpeg",
    disposition: str = "attachment",
    encoding: str = "base64",
    extra: str = "",
) -> bytes:
    named = f'; filename="{name}"' if name else ""
    head = f"Content-Type: {content_type}\n"
    head += f"Content-Disposition: {disposition}{named}\n" if disposition else ""
    head += f"Content-Transfer-Encoding: {encoding}\n" + extra + "\n"
    body = base64_lines(content) if encoding == "base64" else content
    return head.encode("utf-8") + body


def base64_lines(content: bytes) -> bytes:
    return "\n".join(textwrap.wrap(base64.b64encode(content).decode("ascii"), 76)).encode() + b"\n"


def multipart(
    *parts: bytes,
    kind: str = "mixed",
    boundary: str = "frontier",
    extra: str = "",
    closed: bool = True,
) -> bytes:
    """A multipart with its own Content-Type, to stand in a mail or in another multipart."""
    out = f'Content-Type: multipart/{kind}; boundary="{boundary}"{extra}\n\n'.encode()
    for part in parts:
        out += f"--{boundary}\n".encode() + part + b"\n"
    return out + (f"--{boundary}--\n".encode() if closed else b"")


def photo_mail(text: str = "At Alder Pool.\n", *, seed: int = 0, **fields: str) -> bytes:
    """The plainest mail: a text and one attached photo."""
    return header(**fields) + multipart(
        text_part(text), file_part(picture(seed=seed), f"IMG_{seed:04}.jpg")
    )


def zip_file(files: dict[str, bytes], *, compression: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", compression) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name), content, compression)
    return out.getvalue()


def mbox_file(mails: list[bytes], *, form: str = "mboxrd", line_end: bytes = b"\n") -> bytes:
    """Mails in one of the four forms of mbox."""
    out = b""
    for number, mail in enumerate(mails):
        head, _, body = mail.partition(b"\n\n")
        if form in ("mboxo", "mboxcl"):
            body = _quoted(body, only_bare=True)
        elif form == "mboxrd":
            body = _quoted(body, only_bare=False)
        head, body = head.replace(b"\n", line_end), body.replace(b"\n", line_end)
        if form in ("mboxcl", "mboxcl2"):
            head += line_end + b"Content-Length: %d" % len(body)
        out += b"From ada@example.org Sun Jun 14 18:%02d:00 2026" % (number % 60) + line_end
        out += (
            head + 2 * line_end + body + (b"" if body.endswith(line_end) else line_end) + line_end
        )
    return out


def _quoted(body: bytes, *, only_bare: bool) -> bytes:
    lines = []
    for line in body.split(b"\n"):
        bare = line if only_bare else line.lstrip(b">")
        lines.append(b">" + line if bare.startswith(b"From ") else line)
    return b"\n".join(lines)
