"""Files wrapped in the old Macintosh ways in, the file inside out.

AppleSingle and AppleDouble (RFC 1740), BinHex 4.0 (RFC 1741).
"""

from __future__ import annotations

import re

from triage.mail.archives import Unpacked
from triage.mail.transfer import BASE64_ALPHABET, decode_base64

APPLE_DOUBLE = b"\x00\x05\x16\x07"
_DATA_FORK, _REAL_NAME = 1, 3  # entry numbers, RFC 1740 section B
_BINHEX_ALPHABET = b"!\"#$%&'()*+,-012345689@ABCDEFGHIJKLMNPQRSTUVXYZ[`abcdefhijklmpqr"
_BINHEX_START = re.compile(rb"\(This file must be converted with BinHex[^\r\n]{0,40}\)\s*:")
_REPEAT = 0x90


def read_apple_single(content: bytes) -> Unpacked | None:
    """Return the file in an AppleSingle wrapper, or None where there is only a resource fork."""
    count = int.from_bytes(content[24:26], "big")
    name, data = b"", None
    for number in range(min(count, 50)):
        entry = content[26 + 12 * number : 38 + 12 * number]
        kind, offset, length = (int.from_bytes(entry[i : i + 4], "big") for i in (0, 4, 8))
        if kind == _DATA_FORK:
            data = content[offset : offset + length]
        elif kind == _REAL_NAME:
            name = content[offset : offset + min(length, 255)]
    return Unpacked(name=name.decode("utf-8", "replace"), content=data) if data else None


def is_binhex(content: bytes) -> bool:
    """Tell whether a text is a BinHex file."""
    return bool(_BINHEX_START.search(content[:4096]))


def read_binhex(content: bytes, *, most: int) -> Unpacked:
    """Decode a BinHex file; ``most`` bounds the bytes that come out."""
    match = _BINHEX_START.search(content)
    stop = content.find(b":", match.end()) if match else -1
    if match is None:
        return Unpacked(name="", problem="not a BinHex file")
    letters = content[match.end() : stop if stop >= 0 else len(content)]
    octets = _six_bits(re.sub(rb"\s", b"", letters))
    plain = _expanded(octets, most)
    if not plain or len(plain) < plain[0] + 22:
        return Unpacked(name="", problem="the BinHex file is damaged at its beginning")
    name = plain[1 : 1 + plain[0]].decode("mac_roman", "replace")
    start = plain[0] + 22  # length byte, name, zero, type, creator, flags, two lengths, CRC
    length = int.from_bytes(plain[start - 10 : start - 6], "big")
    data = plain[start : start + length]
    problem = "" if len(data) == length else "the BinHex file is cut off"
    return Unpacked(name=name, content=data, problem=problem)


def _six_bits(letters: bytes) -> bytes:
    """Read the letters as base64, which differs in its alphabet alone."""
    base64 = letters.translate(bytes.maketrans(_BINHEX_ALPHABET, BASE64_ALPHABET))
    return decode_base64(base64 + b"=" * (-len(base64) % 4))[0]


def _expanded(octets: bytes, most: int) -> bytes:
    """Undo the run-length coding: a byte, 0x90, how often (0 stands for 0x90 itself)."""
    out = bytearray()
    position = 0
    while position < len(octets) and len(out) < most:
        found = octets.find(_REPEAT, position)
        if found < 0 or found + 1 >= len(octets):
            out += octets[position : found if found >= 0 else len(octets)]
            break
        out += octets[position:found]
        times = octets[found + 1]
        if times == 0:
            out.append(_REPEAT)
        elif out:
            out += out[-1:] * (times - 1)
        position = found + 2
    return bytes(out[:most])
