"""Decode the body of a part as it was sent (base64, quoted-printable, uuencode)."""

from __future__ import annotations

import binascii
import re

_BASE64_ALPHABET = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
_NOT_BASE64 = bytes(set(range(256)) - set(_BASE64_ALPHABET + b"="))
_URL_SAFE = bytes.maketrans(b"-_", b"+/")  # RFC 4648 section 5
_UU_BEGIN = re.compile(rb"(?m)^begin(?:-base64)? [0-7]{3,4} ([^\r\n]{1,300})\r?\n")


def decode_transfer(body: bytes, encoding: str) -> tuple[bytes, str]:
    """Undo a Content-Transfer-Encoding; return the bytes with a problem in words, or empty.

    An unknown encoding leaves the bytes as they are (RFC 2045 section 6.4).
    """
    encoding = encoding.strip().strip("\"'").lower().partition(";")[0].strip()
    if encoding == "base64":
        return decode_base64(body)
    if encoding == "quoted-printable":
        # RFC 2045 6.7 (3): blanks at the end of an encoded line were added in transport.
        return binascii.a2b_qp(re.sub(rb"[ \t]+(?=\r?\n|\Z)", b"", body)), ""
    if encoding in ("x-uuencode", "uuencode", "x-uue", "uue"):
        files, _ = split_uuencoded(body)
        return (
            (files[0][1], files[0][2]) if files else (body, "the uuencoded file has no begin line")
        )
    if encoding in ("", "7bit", "8bit", "binary", "7-bit", "8-bit"):
        return body, ""
    return body, f"unknown transfer encoding {encoding[:40]}; the bytes are kept as they came"


def decode_base64(body: bytes) -> tuple[bytes, str]:
    """Decode base64, fast when it is clean and forgiving when it is not.

    Characters outside the alphabet are passed over (RFC 2045 section 6.8), lines of words are left
    out, padding in the middle is no end, the URL-safe alphabet is read, and an incomplete end costs
    at most its last three bytes.
    """
    padding = len(body[-8:]) - len(body[-8:].replace(b"=", b""))
    try:
        decoded = binascii.a2b_base64(body)
    except binascii.Error:
        return _forgiving_base64(body)
    for line_ends in (_even_line_ends, _line_ends):
        if len(decoded) == (len(body) - line_ends(body) - padding) * 3 // 4:
            return decoded, ""
    return _forgiving_base64(body)


def _even_line_ends(body: bytes) -> int:
    """Bytes that end lines, if all but the last line are as long as the first.

    Only where lines would end is looked at, which costs nothing beside a look at every byte.
    """
    line = body.find(b"\n") + 1
    end = b"\r\n" if body[: line - 1].endswith(b"\r") else b"\n"
    if line <= len(end):
        return 0
    stop = len(body) // line * line
    for back in range(1, len(end) + 1):
        if body[line - back : stop : line] != end[-back : len(end) - back + 1] * (stop // line):
            return 0
    return stop // line * len(end) + _line_ends(body[stop:])


def _line_ends(body: bytes) -> int:
    return body.count(b"\n") + body.count(b"\r")


def split_uuencoded(body: bytes) -> tuple[list[tuple[bytes, bytes, str]], bytes]:
    """Take the uuencoded files out of a text: ((name, content, problem) ..., the text left)."""
    files: list[tuple[bytes, bytes, str]] = []
    left: list[bytes] = []
    position = 0
    while match := _UU_BEGIN.search(body, position):
        decoded, stop, problem = _uu_lines(body, match.end())
        if not decoded:
            left.append(body[position : match.end()])
            position = match.end()
            continue
        left.append(body[position : match.start()])
        files.append((match[1].strip(), decoded, problem))
        position = stop
    left.append(body[position:])
    return files, b"".join(left)


def _forgiving_base64(body: bytes) -> tuple[bytes, str]:
    lines = [line.strip(b" \t\x00") for line in body.splitlines()]
    spaced = sum(b" " in line or b"\t" in line for line in lines)
    # Words between lines without blanks were put there on the way; blanks in most lines were not.
    words_out = 0 < 2 * spaced < len(lines)
    kept = [line for line in lines if not (words_out and (b" " in line or b"\t" in line))]
    text = b"\n".join(kept)
    if (b"-" in text or b"_" in text) and b"+" not in text and b"/" not in text:
        text = text.translate(_URL_SAFE)
    letters = text.translate(None, _NOT_BASE64)
    decoded, unpadded = _letters_decoded(letters), letters.rpartition(b"=")[2]
    if words_out:
        return decoded, f"{spaced} lines in the base64 text are not base64 and were left out"
    if len(unpadded) % 4:
        return decoded, "the base64 text ends early; the file may be cut off"
    if len(letters) + len(kept) - 1 < len(text):
        return decoded, "characters in the base64 text that are not base64 were passed over"
    return decoded, ""


def _letters_decoded(text: bytes) -> bytes:
    out = []
    for piece in re.split(rb"=+", text):
        piece = piece[: len(piece) - (len(piece) % 4 == 1)]
        out.append(binascii.a2b_base64(piece + b"=" * (-len(piece) % 4)))
    return b"".join(out)


def _uu_lines(body: bytes, start: int) -> tuple[bytes, int, str]:
    out: list[bytes] = []
    position = start
    while position < len(body):
        stop = body.find(b"\n", position)
        stop = len(body) if stop < 0 else stop + 1
        line = body[position:stop].rstrip(b"\r\n")
        if line in (b"end", b"===="):
            return b"".join(out), stop, ""
        if len(line) > 200:
            break
        try:
            out.append(binascii.a2b_uu(line) if line else b"")
        except binascii.Error:
            # Some encoders count wrongly and pad the line; the count in its first byte rules.
            wanted = (((line[0] - 32) & 63) * 4 + 5) // 3
            try:
                out.append(binascii.a2b_uu(line[:wanted]))
            except binascii.Error:
                break
        position = stop
    return b"".join(out), position, "the uuencoded file has no end line; it may be cut off"
