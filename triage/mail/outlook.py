"""Read the mail in an Outlook .msg file or a winmail.dat (fields, texts, files).

[MS-OXMSG] for .msg in a compound file ([MS-CFB], read by olefile), [MS-OXTNEF] for winmail.dat
(read by tnefparse), [MS-OXPROPS] for the property numbers. Both libraries believe the counts and
sizes that a file states; they are checked here first.
"""

from __future__ import annotations

import io
import logging
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from typing import Any

from triage.mail.archives import Unpacked, describe
from triage.mail.charsets import decode_text
from triage.mail.headers import Headers, split_header_block
from triage.mail.limits import MEBIBYTE, Limits

_PROPERTIES = "__properties_version1.0"
_TOP_HEADER, _EMBEDDED_HEADER = 32, 24  # bytes, [MS-OXMSG] 2.4.1
_INNER_MAILS = 10  # levels of mails attached to mails

# Property numbers, [MS-OXPROPS].
_SUBJECT, _SUBMIT_TIME, _TRANSPORT_HEADERS = 0x0037, 0x0039, 0x007D
_SENDER_NAME, _SENDER_ADDRESS, _SENDER_SMTP, _FROM_SMTP = 0x0C1A, 0x0C1F, 0x5D01, 0x5D02
_DELIVERY_TIME, _BODY, _HTML = 0x0E06, 0x1000, 0x1013
_MESSAGE_ID, _REFERENCES, _IN_REPLY_TO = 0x1035, 0x1039, 0x1042
_FILE_DATA, _FILE_SHORT_NAME, _FILE_NAME, _FILE_TYPE = 0x3701, 0x3704, 0x3707, 0x370E
_FILE_CONTENT_ID, _INTERNET_CODE_PAGE, _CODE_PAGE = 0x3712, 0x3FDE, 0x3FFD

# TNEF attributes that matter here, [MS-OXTNEF] 2.1.3.3.
_TNEF_MESSAGE_LEVEL = (0x800C, 0x9003)  # body, message properties
_TNEF_FILE_LEVEL = (0x800F, 0x8010, 0x9005)  # data, title, file properties
_TNEF_NEW_FILE, _TNEF_CODE_PAGE, _TNEF_PROPERTIES = 0x9002, 0x9007, (0x9003, 0x9005)
_TNEF_FILES = 500
_TNEF_VALUES = 20_000  # property values in one block; real ones hold a few hundred


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlookFile:
    """A file attached in Outlook's way; ``shown_id`` is set where the HTML text shows it."""

    unpacked: Unpacked
    content_id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlookMail:
    """A mail as Outlook stores it, with the mails attached to it."""

    headers: Headers
    text: str = ""
    html: str = ""
    files: tuple[OutlookFile, ...] = ()
    mails: tuple[OutlookMail, ...] = ()
    problems: tuple[str, ...] = ()


def read_outlook_message(content: bytes, *, limits: Limits) -> OutlookMail:
    """Read a .msg file; what is damaged in it is named in ``problems``."""
    import olefile  # type: ignore[import-untyped, unused-ignore]

    try:
        with olefile.OleFileIO(io.BytesIO(content)) as compound:
            names = compound.listdir(streams=True, storages=True)
            sizes = [compound.get_size(name) for name in names if compound.get_type(name) == 2]
            if sum(sizes) > limits.expanded_bytes:
                allowed = limits.expanded_bytes // MEBIBYTE
                return OutlookMail(
                    headers=Headers(), problems=(f"the .msg file holds more than {allowed} MiB",)
                )
            folders = {tuple(name) for name in names}
            return _Compound(compound, folders).mail((), _TOP_HEADER, 0)
    except Exception as error:  # olefile raises many kinds on damaged files
        return OutlookMail(
            headers=Headers(), problems=(f"the .msg file cannot be read: {describe(error)}",)
        )


def read_winmail(content: bytes, *, depth: int = 0) -> OutlookMail:
    """Read a winmail.dat; what is damaged in it is named in ``problems``."""
    from tnefparse import TNEF

    # The library logs what it skips; the reasons are given in the outcome instead.
    logging.getLogger("tnefparse").setLevel(logging.CRITICAL)
    text = html = ""
    fields: tuple[tuple[str, str], ...] = ()
    files: list[OutlookFile] = []
    mails: list[OutlookMail] = []
    problems: list[str] = []
    streams = _tnef_streams(content)
    for stream in streams:
        try:
            tnef = TNEF(stream, do_checksum=False)
            text, html = text or _as_text(tnef.body), html or _as_text(tnef.htmlbody)
            fields = fields or tuple(_tnef_fields(tnef.mapiprops))
            for attachment in tnef.attachments:
                name, embedded = str(attachment.long_filename()), hasattr(attachment, "embed")
                if embedded and depth < _INNER_MAILS:
                    mails.append(read_winmail(bytes(attachment.data), depth=depth + 1))
                else:
                    unpacked = Unpacked(name=name, content=bytes(attachment.data))
                    files.append(OutlookFile(unpacked=unpacked))
        except Exception as error:  # the library raises many kinds on damaged files
            problems.append(f"a part of winmail.dat cannot be read: {describe(error)}")
    if not streams:
        problems.append("winmail.dat is damaged from its beginning")
    elif sum(len(whole) for _, whole in _tnef_attributes(content)) + 6 < len(content):
        problems.append("winmail.dat is cut off; files at its end may be missing")
    return OutlookMail(
        headers=Headers(fields),
        text=text,
        html=html,
        files=tuple(files),
        mails=tuple(mails),
        problems=tuple(problems),
    )


# -- .msg --------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Compound:
    """An open compound file, and which streams and storages it has."""

    file: Any
    names: set[tuple[str, ...]]

    def mail(self, storage: tuple[str, ...], header: int, depth: int) -> OutlookMail:
        fixed = self.fixed_properties(storage, header)
        charset = _charset(fixed)
        problems: list[str] = []
        files: list[OutlookFile] = []
        mails: list[OutlookMail] = []
        for folder in sorted(self.children(storage, "__attach_version1.0_#")):
            embedded = (*folder, f"__substg1.0_{_FILE_DATA:04X}000D")
            if embedded in self.names and depth < _INNER_MAILS:
                mails.append(self.mail(embedded, _EMBEDDED_HEADER, depth + 1))
                continue
            files.append(self.attached_file(folder, charset))
        return OutlookMail(
            headers=self.headers(storage, fixed, charset),
            text=self.text(storage, _BODY, charset),
            html=self.html(storage, charset),
            files=tuple(files),
            mails=tuple(mails),
            problems=tuple(problems),
        )

    def attached_file(self, folder: tuple[str, ...], charset: str) -> OutlookFile:
        name = self.text(folder, _FILE_NAME, charset) or self.text(
            folder, _FILE_SHORT_NAME, charset
        )
        path = (*folder, f"__substg1.0_{_FILE_DATA:04X}0102")
        problem, content = "", b""
        if path not in self.names:
            problem = "only a reference to the file is in the message, not the file itself"
        else:
            try:
                content = self.stream(path)
            except Exception as error:  # olefile raises many kinds on damaged files
                problem = f"the file is damaged in the message: {describe(error)}"
        return OutlookFile(
            unpacked=Unpacked(
                name=name,
                content=content,
                declared_type=self.text(folder, _FILE_TYPE, charset).lower(),
                problem=problem,
            ),
            content_id=self.text(folder, _FILE_CONTENT_ID, charset).strip("<> "),
        )

    def headers(self, storage: tuple[str, ...], fixed: dict[int, bytes], charset: str) -> Headers:
        """Return the header block that came with the mail, completed from Outlook's own fields."""
        block = self.text(storage, _TRANSPORT_HEADERS, charset).encode("utf-8", "replace")
        fields = list(split_header_block(block, 0, len(block))[0].fields)
        present = {name for name, _ in fields}
        for name, value in self.own_fields(storage, fixed, charset):
            if value and name not in present:
                fields.append((name, value))
        return Headers(tuple(fields))

    def own_fields(
        self, storage: tuple[str, ...], fixed: dict[int, bytes], charset: str
    ) -> Iterator[tuple[str, str]]:
        name = self.text(storage, _SENDER_NAME, charset).replace('"', "")
        addresses = (
            self.text(storage, n, charset) for n in (_SENDER_SMTP, _FROM_SMTP, _SENDER_ADDRESS)
        )
        address = next((address for address in addresses if "@" in address), "")
        yield "from", f'"{name}" <{address}>' if address else name
        moment = _file_time(fixed.get(_SUBMIT_TIME)) or _file_time(fixed.get(_DELIVERY_TIME))
        yield "date", format_datetime(moment) if moment else ""
        yield "subject", self.text(storage, _SUBJECT, charset)
        yield "message-id", self.text(storage, _MESSAGE_ID, charset)
        yield "in-reply-to", self.text(storage, _IN_REPLY_TO, charset)
        yield "references", self.text(storage, _REFERENCES, charset)

    def html(self, storage: tuple[str, ...], charset: str) -> str:
        path = (*storage, f"__substg1.0_{_HTML:04X}0102")
        if path in self.names:
            return decode_text(self.stream(path), charset)[0]
        return self.text(storage, _HTML, charset)

    def text(self, storage: tuple[str, ...], number: int, charset: str) -> str:
        wide = (*storage, f"__substg1.0_{number:04X}001F")
        narrow = (*storage, f"__substg1.0_{number:04X}001E")
        try:
            if wide in self.names:
                return self.stream(wide).decode("utf-16-le", "replace").rstrip("\x00")
            if narrow in self.names:
                return decode_text(self.stream(narrow), charset)[0].rstrip("\x00")
        except Exception:  # olefile raises many kinds; a damaged field counts as absent
            return ""
        return ""

    def fixed_properties(self, storage: tuple[str, ...], header: int) -> dict[int, bytes]:
        path = (*storage, _PROPERTIES)
        if path not in self.names:
            return {}
        stream = self.stream(path)[header : header + 16 * 2000]
        rows = (stream[i : i + 16] for i in range(0, len(stream) - 15, 16))
        return {int.from_bytes(row[2:4], "little"): row[8:16] for row in rows}

    def children(self, storage: tuple[str, ...], prefix: str) -> list[tuple[str, ...]]:
        depth = len(storage) + 1
        return [
            name
            for name in self.names
            if len(name) == depth and name[:-1] == storage and name[-1].startswith(prefix)
        ]

    def stream(self, path: tuple[str, ...]) -> bytes:
        with self.file.openstream(list(path)) as stream:
            content: bytes = stream.read()
        return content


def _charset(fixed: dict[int, bytes]) -> str:
    for number in (_INTERNET_CODE_PAGE, _CODE_PAGE):
        page = int.from_bytes(fixed.get(number, b"")[:4], "little")
        if page:
            return {65001: "utf-8", 20127: "ascii", 28591: "iso-8859-1", 28592: "iso-8859-2"}.get(
                page, f"cp{page}"
            )
    return ""


def _file_time(value: bytes | None) -> datetime | None:
    """Read 100-nanosecond steps since 1601 ([MS-DTYP] 2.3.3)."""
    if not value or not any(value):
        return None
    try:
        seconds = int.from_bytes(value, "little") // 10_000_000
        return datetime(1601, 1, 1, tzinfo=UTC) + timedelta(seconds=seconds)
    except OverflowError:
        return None


# -- winmail.dat -------------------------------------------------------------------------------


def _tnef_streams(content: bytes) -> list[bytes]:
    """Cut a TNEF stream into small ones: the message's own, then one for each file.

    The library copies the rest of the stream for every attribute; whole, a hostile stream of
    many small ones would take hours.
    """
    head, page = content[:6], b""
    message: list[bytes] = []
    files: list[list[bytes]] = []
    for number, whole in _tnef_attributes(content):
        if number in _TNEF_PROPERTIES and not _is_bounded(whole[9:-2]):
            continue
        if number == _TNEF_CODE_PAGE:
            page = whole
        elif number == _TNEF_NEW_FILE and len(files) < _TNEF_FILES:
            files.append([whole])
        elif number in _TNEF_FILE_LEVEL and files and len(files[-1]) < 8:
            files[-1].append(whole)
        elif number in _TNEF_MESSAGE_LEVEL:
            message.append(whole)
    groups = ([message[:8]] if message else []) + files
    # The library stops 12 bytes before the end; an empty attribute keeps the last one in reach.
    return [head + page + b"".join(group) + bytes(12) for group in groups]


def _tnef_attributes(content: bytes) -> Iterator[tuple[int, bytes]]:
    position = 6
    while position + 11 <= len(content):
        length = int.from_bytes(content[position + 5 : position + 9], "little")
        stop = position + 9 + length + 2
        if stop > len(content) + 2:
            return
        yield int.from_bytes(content[position + 1 : position + 3], "little"), content[position:stop]
        position = stop


def _is_bounded(block: bytes) -> bool:
    """Tell whether the counts in a block of properties fit its length ([MS-OXTNEF] 2.1.3.4).

    The library would otherwise follow a count of four thousand million.
    """
    sizes = {0x02: 2, 0x0B: 2, 0x03: 4, 0x04: 4, 0x0A: 4, 0x48: 16}
    sizes |= dict.fromkeys((0x05, 0x06, 0x07, 0x14, 0x40), 8)
    try:
        (count,) = struct.unpack_from("<I", block)
        position, total = 4, 0
        if count > _TNEF_VALUES:
            return False
        for _ in range(count):
            kind, number = struct.unpack_from("<HH", block, position)
            position += 4
            if number >= 0x8000:
                position = _after_name(block, position)
            several = 1
            if kind & 0x1000 or kind & 0xFFF not in sizes:
                (several,) = struct.unpack_from("<I", block, position)
                position += 4
            total += several
            if total > _TNEF_VALUES:
                return False
            position = _after_values(block, position, sizes.get(kind & 0xFFF, 0), several)
    except struct.error:
        return True  # it ends early: the library stops there by itself
    return True


def _after_name(block: bytes, position: int) -> int:
    (named,) = struct.unpack_from("<I", block, position + 16)
    if named == 0:
        return position + 24
    (length,) = struct.unpack_from("<I", block, position + 20)
    return int(position + 24 + (length + 3) // 4 * 4)


def _after_values(block: bytes, position: int, size: int, several: int) -> int:
    if size:
        return position + (several * size + 3) // 4 * 4
    for _ in range(several):
        (length,) = struct.unpack_from("<I", block, position)
        position += 4 + (length + 3) // 4 * 4
    return position


def _tnef_fields(properties: list[Any]) -> Iterator[tuple[str, str]]:
    """Return the header fields of a mail that was attached in Outlook's own form."""
    values = {item.name: item.data for item in properties}
    address = next((str(values[n]) for n in (_SENDER_SMTP, _SENDER_ADDRESS) if n in values), "")
    name = str(values.get(_SENDER_NAME, "")).replace('"', "")
    if address or name:
        yield "from", f'"{name}" <{address}>' if "@" in address else name
    moment = values.get(_SUBMIT_TIME)
    if isinstance(moment, datetime):
        yield "date", format_datetime(moment.replace(tzinfo=UTC))
    if _SUBJECT in values:
        yield "subject", str(values[_SUBJECT])


def _as_text(value: object) -> str:
    if isinstance(value, list):
        value = b"".join(piece for piece in value if isinstance(piece, bytes))
    if isinstance(value, bytes):
        return decode_text(value, "")[0].rstrip("\x00")
    return value.rstrip("\x00") if isinstance(value, str) else ""
