"""Writers of the wrappings that mails bring: winmail.dat, .msg, S/MIME, AppleDouble.

Each writes the least that its published description asks for: [MS-OXTNEF], [MS-CFB] with
[MS-OXMSG], RFC 5652, RFC 1741, RFC 1740.
"""

from __future__ import annotations

import binascii
import struct
from dataclasses import dataclass, field

# -- winmail.dat -------------------------------------------------------------------------------


def tnef(files: dict[str, bytes], *, body: str = "", inner: bytes = b"") -> bytes:
    """A TNEF stream with a plain body, files, and a mail attached as ``inner`` (a TNEF stream)."""
    out = struct.pack("<IH", 0x223E9F78, 1)
    out += _attribute(1, 0x9006, 8, struct.pack("<I", 0x10000))
    out += _attribute(1, 0x9007, 6, struct.pack("<II", 1252, 0))
    if body:
        out += _attribute(1, 0x800C, 2, body.encode("cp1252") + b"\0")
    for name, content in files.items():
        out += _attribute(2, 0x9002, 6, bytes(14))
        out += _attribute(2, 0x8010, 1, name.encode("cp1252", "replace")[:12] + b"\0")
        out += _attribute(2, 0x800F, 6, content)
        out += _attribute(
            2, 0x9005, 6, properties({(0x1F, 0x3707): name.encode("utf-16-le") + b"\0\0"})
        )
    if inner:
        message = bytes.fromhex("0703020000000000c000000000000046") + inner
        out += _attribute(2, 0x9002, 6, bytes(14))
        out += _attribute(2, 0x9005, 6, properties({(0x0D, 0x3701): message}))
    return out


def properties(values: dict[tuple[int, int], bytes]) -> bytes:
    """A block of variable-length properties, {(type, number): bytes}."""
    out = struct.pack("<I", len(values))
    for (kind, number), value in values.items():
        padded = value + bytes(-len(value) % 4)
        out += struct.pack("<HHII", kind, number, 1, len(value)) + padded
    return out


def _attribute(level: int, number: int, kind: int, data: bytes) -> bytes:
    head = struct.pack("<BHHI", level, number, kind, len(data))
    return head + data + struct.pack("<H", sum(data) & 0xFFFF)


# -- .msg --------------------------------------------------------------------------------------


@dataclass
class Storage:
    """A folder of a compound file: streams and storages by name."""

    items: dict[str, bytes | Storage] = field(default_factory=dict)


def outlook_storage(
    *,
    subject: str = "",
    text: str = "",
    html: bytes = b"",
    transport_headers: str = "",
    sender: tuple[str, str] = ("", ""),
    submitted: int = 0,
    files: list[tuple[str, bytes, str]] = (),  # type: ignore[assignment]
    mails: list[Storage] = (),  # type: ignore[assignment]
    embedded: bool = False,
) -> Storage:
    """The storages and streams of one Outlook message; files are (name, content, content id)."""
    items: dict[str, bytes | Storage] = {}
    texts = {0x0037: subject, 0x1000: text, 0x007D: transport_headers}
    texts |= {0x0C1A: sender[0], 0x5D01: sender[1]}
    for number, value in texts.items():
        if value:
            items[f"__substg1.0_{number:04X}001F"] = value.encode("utf-16-le")
    if html:
        items["__substg1.0_10130102"] = html
    rows = struct.pack("<HHIQ", 0x40, 0x0039, 6, submitted) if submitted else b""
    rows += struct.pack("<HHIII", 0x03, 0x3FDE, 6, 65001, 0)
    items["__properties_version1.0"] = bytes(24 if embedded else 32) + rows + _rows(items)
    number = 0
    for name, content, content_id in files:
        inner: dict[str, bytes | Storage] = {
            "__substg1.0_3707001F": name.encode("utf-16-le"),
            "__substg1.0_37010102": content,
        }
        if content_id:
            inner["__substg1.0_3712001F"] = content_id.encode("utf-16-le")
        inner["__properties_version1.0"] = bytes(8) + _rows(inner)
        items[f"__attach_version1.0_#{number:08X}"] = Storage(inner)
        number += 1
    for mail in mails:
        attached: dict[str, bytes | Storage] = {"__substg1.0_3701000D": mail}
        attached["__properties_version1.0"] = bytes(8)
        items[f"__attach_version1.0_#{number:08X}"] = Storage(attached)
        number += 1
    return Storage(items)


def _rows(items: dict[str, bytes | Storage]) -> bytes:
    """The lines that announce the streams of variable length ([MS-OXMSG] 2.4.2.2)."""
    out = b""
    for name, content in items.items():
        if name.startswith("__substg1.0_") and isinstance(content, bytes):
            number, kind = int(name[12:16], 16), int(name[16:20], 16)
            out += struct.pack("<HHIII", kind, number, 6, len(content), 0)
    return out


def compound_file(root: Storage) -> bytes:
    """Write a compound file of version 3 with 512-byte sectors, all streams in full sectors.

    Streams are padded past the mini stream's cutoff by declaring a cutoff of zero bytes, which
    readers accept ([MS-CFB] 2.2 asks for 4096; see ``mini`` below for those below it).
    """
    entries: list[
        tuple[str, int, int, int, int, bytes]
    ] = []  # name, kind, left, right, child, data

    def add(name: str, item: bytes | Storage) -> int:
        index = len(entries)
        if isinstance(item, bytes):
            entries.append((name, 2, -1, -1, -1, item))
            return index
        entries.append((name, 5 if not index else 1, -1, -1, -1, b""))
        children = [add(child, inner) for child, inner in item.items.items()]
        for here, after in zip(children, [*children[1:], -1], strict=True):
            n, k, left, _, child, data = entries[here]
            entries[here] = (n, k, left, after, child, data)
        n, k, left, right, _, data = entries[index]
        entries[index] = (n, k, left, right, children[0] if children else -1, data)
        return index

    add("Root Entry", root)
    mini, mini_fat = b"", []
    sectors: list[bytes] = []
    fat: list[int] = []

    def store(data: bytes) -> int:
        if not data:
            return -2
        start = len(sectors)
        pieces = [data[i : i + 512].ljust(512, b"\0") for i in range(0, len(data), 512)]
        sectors.extend(pieces)
        fat.extend(range(start + 1, start + len(pieces)))
        fat.append(-2)
        return start

    starts: list[int] = []
    for _, kind, _, _, _, data in entries:
        if kind == 2 and 0 < len(data) < 4096:
            start = len(mini) // 64
            count = (len(data) + 63) // 64
            mini += data.ljust(count * 64, b"\0")
            mini_fat += [*range(start + 1, start + count), -2]
            starts.append(start)
        else:
            starts.append(store(data))
    starts[0] = store(mini)
    mini_fat_start = store(b"".join(struct.pack("<i", n) for n in mini_fat))
    directory = b""
    for number, (name, kind, left, right, child, data) in enumerate(entries):
        wide = name.encode("utf-16-le") + b"\0\0"
        size = len(mini) if number == 0 else len(data)
        directory += wide.ljust(64, b"\0") + struct.pack("<HBB", len(wide), kind, 1)
        directory += struct.pack("<iii", left, right, child) + bytes(16 + 4 + 16)
        directory += struct.pack("<iQ", starts[number], size)
    directory += (bytes(64) + bytes(4) + struct.pack("<iii", -1, -1, -1) + bytes(48)) * (
        -len(entries) % 4
    )
    directory_start = store(directory)
    fat_count = 1
    while fat_count * 128 < len(sectors) + fat_count:
        fat_count += 1
    fat_starts = list(range(len(sectors), len(sectors) + fat_count))
    table = [*fat, *([-3] * fat_count)]
    table += [-1] * (fat_count * 128 - len(table))
    sectors += [
        b"".join(struct.pack("<i", n) for n in table[i * 128 : (i + 1) * 128])
        for i in range(fat_count)
    ]
    head = bytes.fromhex("d0cf11e0a1b11ae1") + bytes(16)
    head += struct.pack("<HHHHH6x", 0x3E, 3, 0xFFFE, 9, 6)
    head += struct.pack("<IIiII", 0, fat_count, directory_start, 0, 4096)
    head += struct.pack("<iIiI", mini_fat_start, (len(mini_fat) * 4 + 511) // 512, -2, 0)
    head += b"".join(struct.pack("<i", n) for n in [*fat_starts, *([-1] * 109)][:109])
    return head + b"".join(sectors)


# -- S/MIME ------------------------------------------------------------------------------------

DATA = bytes.fromhex("2a864886f70d010701")
SIGNED = bytes.fromhex("2a864886f70d010702")
ENVELOPED = bytes.fromhex("2a864886f70d010703")


def der(tag: int, content: bytes) -> bytes:
    if len(content) < 128:
        return bytes([tag, len(content)]) + content
    length = len(content).to_bytes((len(content).bit_length() + 7) // 8, "big")
    return bytes([tag, 0x80 | len(length)]) + length + content


def ber(tag: int, content: bytes) -> bytes:
    return bytes([tag, 0x80]) + content + b"\0\0"


def opaque_signature(entity: bytes, *, streaming: bool = False) -> bytes:
    """An smime.p7m of signed data without signers; streaming writers use indefinite lengths."""
    wrap = ber if streaming else der
    octets = der(0x04, entity)
    if streaming:
        pieces = [entity[i : i + 1000] for i in range(0, len(entity), 1000)]
        octets = ber(0x24, b"".join(der(0x04, piece) for piece in pieces))
    inner = wrap(0x30, der(0x06, DATA) + wrap(0xA0, octets))
    signed = wrap(0x30, der(0x02, b"\x01") + der(0x31, b"") + inner + der(0x31, b""))
    return wrap(0x30, der(0x06, SIGNED) + wrap(0xA0, signed))


def encrypted_mail() -> bytes:
    body = der(0x30, der(0x02, b"\0") + der(0x31, b"") + der(0x30, der(0x06, DATA)))
    return der(0x30, der(0x06, ENVELOPED) + der(0xA0, body))


# -- Macintosh ---------------------------------------------------------------------------------


def apple_double(name: str) -> bytes:
    """The header file of AppleDouble (RFC 1740), which goes beside the content."""
    parts = [(3, name.encode()), (2, b"resource fork")]
    head = b"\0\5\x16\7" + struct.pack(">I16xH", 0x00020000, len(parts))
    offset = len(head) + 12 * len(parts)
    table = data = b""
    for kind, piece in parts:
        table += struct.pack(">III", kind, offset + len(data), len(piece))
        data += piece
    return head + table + data


def uuencoded(name: str, content: bytes) -> bytes:
    lines = [binascii.b2a_uu(content[i : i + 45]) for i in range(0, len(content), 45)]
    return f"begin 644 {name}\n".encode() + b"".join(lines) + b"`\nend\n"
