"""Find the mail that is signed inside an smime.p7m, or say why it cannot be read.

CMS (RFC 5652) in BER (ITU-T X.690), S/MIME (RFC 8551). Signatures are not verified: the mail is
evidence of what was sent, and the coordinator decides whom to believe.
"""

from __future__ import annotations

from dataclasses import dataclass, field

_SEQUENCE, _OCTETS, _OBJECT = 0x30, 0x04, 0x06
_DATA = bytes.fromhex("2a864886f70d010701")
_SIGNED = bytes.fromhex("2a864886f70d010702")
_ENVELOPED = bytes.fromhex("2a864886f70d010703")
_AUTH_ENVELOPED = bytes.fromhex("2a864886f70d0109100117")
_COMPRESSED = bytes.fromhex("2a864886f70d0109100109")
_DEPTH = 12
_PIECES = 500_000  # of one file; writers cut the mail into pieces of a thousand bytes and more
ENCRYPTED = "an encrypted mail, unreadable without the key; ask the sender to send it unencrypted"


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedContent:
    """What an smime.p7m holds: the signed MIME entity, or the reason why it stays closed."""

    content: bytes = field(repr=False, default=b"")
    problem: str = ""


def read_smime(content: bytes) -> SignedContent:
    """Take the signed mail out of an opaque signature."""
    try:
        outer = _value(content, 0, len(content), 0)
        kind = _value(content, outer.start, outer.stop, 1)
        identifier = content[kind.start : kind.stop]
        if outer.tag != _SEQUENCE or kind.tag != _OBJECT:
            return SignedContent(problem="not a signed mail as its label says")
        if identifier in (_ENVELOPED, _AUTH_ENVELOPED):
            return SignedContent(problem=ENCRYPTED)
        if identifier == _COMPRESSED:
            return SignedContent(problem="a compressed S/MIME mail; ask for it in the usual form")
        if identifier != _SIGNED:
            return SignedContent(problem="an S/MIME file that holds no mail")
        return _signed_content(content, kind.after, outer.stop)
    except (ValueError, IndexError) as error:
        return SignedContent(problem=f"the signed mail is damaged: {error}")


def _signed_content(content: bytes, position: int, stop: int) -> SignedContent:
    explicit = _value(content, position, stop, 1)
    signed = _value(content, explicit.start, explicit.stop, 2)
    version = _value(content, signed.start, signed.stop, 3)
    digests = _value(content, version.after, signed.stop, 3)
    inner = _value(content, digests.after, signed.stop, 3)
    kind = _value(content, inner.start, inner.stop, 4)
    if content[kind.start : kind.stop] != _DATA:
        return SignedContent(problem="the signature holds no mail")
    if kind.after >= inner.stop:
        return SignedContent(problem="a detached signature without the mail")
    wrapped = _value(content, kind.after, inner.stop, 4)
    octets = _value(content, wrapped.start, wrapped.stop, 5)
    return SignedContent(content=b"".join(_octets(content, octets, 5)))


@dataclass(frozen=True, slots=True)
class _Value:
    tag: int
    start: int
    stop: int
    after: int


def _value(content: bytes, position: int, stop: int, depth: int) -> _Value:
    """Read tag and length at a place; an indefinite length is followed to its end."""
    if depth > _DEPTH or position + 2 > stop:
        raise ValueError("it ends where something should follow")
    tag, length = content[position], content[position + 1]
    start = position + 2
    if length == 0x80:
        end = _end_of_contents(content, start, stop, depth)
        return _Value(tag, start, end, end + 2)
    if length & 0x80:
        octets = length & 0x7F
        if octets > 6:
            raise ValueError("a length of more than six bytes")
        length = int.from_bytes(content[start : start + octets], "big")
        start += octets
    if start + length > stop:
        raise ValueError("it is cut off")
    return _Value(tag, start, start + length, start + length)


def _end_of_contents(content: bytes, position: int, stop: int, depth: int) -> int:
    for _ in range(_PIECES):
        if content[position : position + 2] == b"\x00\x00":
            return position
        position = _value(content, position, stop, depth + 1).after
    raise ValueError("it is cut into too many pieces")


def _octets(content: bytes, value: _Value, depth: int) -> list[bytes]:
    """Return the pieces of an octet string, which BER may divide."""
    if value.tag == _OCTETS:
        return [content[value.start : value.stop]]
    if value.tag != _OCTETS | 0x20 or depth > _DEPTH:
        raise ValueError("the content is not an octet string")
    pieces: list[bytes] = []
    position = value.start
    while position < value.stop:
        piece = _value(content, position, value.stop, depth + 1)
        pieces.extend(_octets(content, piece, depth + 1))
        position = piece.after
    return pieces
