"""Tell a file's media type by its first bytes, whatever name or label it carries.

The one table of file signatures: mail, photos and the commands for loose files read it.

Signatures: JPEG ITU-T T.81 B.1.1.3; PNG W3C REC-PNG 5.2; GIF89a; WebP and RIFF; TIFF 6.0 section 2;
ISO base media brands ISO/IEC 14496-12 and 23008-12, AV1 Image File Format 1.1; JPEG XL ISO/IEC
18181-2; zip PKWARE APPNOTE 4.3.7; OLE [MS-CFB] 2.2; TNEF [MS-OXTNEF] 2.1.3.1; AppleDouble RFC 1740.
"""

from __future__ import annotations

from collections.abc import Iterator

UNKNOWN_TYPE = "application/octet-stream"
PIECES = 10_000  # chunks, boxes or markers that are followed in one file

PICTURE_TYPES = frozenset(
    {
        "image/jpeg",
        "image/png",
        "image/gif",
        "image/webp",
        "image/tiff",
        "image/heif",
        "image/avif",
    }
)
"""The pictures that are examined."""

_SIGNATURES: tuple[tuple[bytes, str], ...] = (
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"GIF87a", "image/gif"),
    (b"GIF89a", "image/gif"),
    (b"FUJIFILMCCD-RAW", "image/x-raf"),
    (b"IIRO", "image/x-orf"),
    (b"IIRS", "image/x-orf"),
    (b"IIU\x00", "image/x-rw2"),
    (b"BM", "image/bmp"),
    (b"8BPS", "image/vnd.adobe.photoshop"),
    (b"%PDF-", "application/pdf"),
    (b"PK\x03\x04", "application/zip"),
    (b"PK\x05\x06", "application/zip"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "application/x-ole-storage"),
    (b"\x78\x9f\x3e\x22", "application/ms-tnef"),
    (b"\x00\x05\x16\x07", "application/applefile"),
    (b"Rar!\x1a\x07", "application/vnd.rar"),
    (b"7z\xbc\xaf\x27\x1c", "application/x-7z-compressed"),
    (b"\x1f\x8b", "application/gzip"),
    (b"BZh", "application/x-bzip2"),
    (b"\xfd7zXZ\x00", "application/x-xz"),
    (b"!BDN", "application/vnd.ms-outlook-pst"),
    (b"{\\rtf", "application/rtf"),
    (b"ID3", "audio/mpeg"),
    (b"OggS", "application/ogg"),
    (b"\x1aE\xdf\xa3", "video/x-matroska"),
    (b"\xff\x0a", "image/jxl"),
    (b"\x00\x00\x00\x0cJXL \r\n\x87\n", "image/jxl"),
    (b"MZ", "application/vnd.microsoft.portable-executable"),
)

_BRANDS = {
    b"heic": "image/heif",
    b"heix": "image/heif",
    b"heim": "image/heif",
    b"heis": "image/heif",
    b"hevc": "image/heif",
    b"hevx": "image/heif",
    b"hevm": "image/heif",
    b"hevs": "image/heif",
    b"mif1": "image/heif",
    b"msf1": "image/heif",
    b"avif": "image/avif",
    b"avis": "image/avif",
    b"crx ": "image/x-cr3",
    b"qt  ": "video/quicktime",
    b"M4A ": "audio/mp4",
}

_RAW_SUFFIXES = {
    "cr2": "image/x-cr2",
    "nef": "image/x-nef",
    "nrw": "image/x-nef",
    "dng": "image/x-adobe-dng",
    "arw": "image/x-arw",
    "pef": "image/x-pef",
    "srw": "image/x-srw",
    "orf": "image/x-orf",
    "rw2": "image/x-rw2",
}


def sniff_media_type(content: bytes, *, file_name: str = "") -> str:
    """Name the media type of a file by its bytes; the name only tells raw TIFFs from plain ones.

    Examples
    --------
    >>> sniff_media_type(b"\\xff\\xd8\\xff\\xe1rest", file_name="holiday.txt")
    'image/jpeg'
    >>> sniff_media_type(b"plain words")
    'application/octet-stream'
    """
    head = bytes(content[:64])
    if head[:4] in (b"II*\x00", b"MM\x00*"):
        return _tiff_or_raw(head, file_name)
    if head[4:8] == b"ftyp":
        return _base_media(head, bytes(content[8:256]))
    if head[4:8] in (b"moov", b"mdat", b"wide") and head[:1] == b"\x00":
        return "video/quicktime"
    if head[:4] == b"RIFF":
        kinds = {b"WEBP": "image/webp", b"AVI ": "video/x-msvideo", b"WAVE": "audio/wav"}
        return kinds.get(head[8:12], UNKNOWN_TYPE)
    for signature, media_type in _SIGNATURES:
        if head.startswith(signature) and not (signature in (b"BM", b"MZ") and _is_text(content)):
            return media_type
    return UNKNOWN_TYPE


def is_picture(media_type: str) -> bool:
    """Tell whether photos of this type are examined."""
    return media_type in PICTURE_TYPES


def describe_media_type(media_type: str) -> str:
    """Say in plain words what a file of this type is.

    Examples
    --------
    >>> describe_media_type("image/x-nef")
    'a raw camera file'
    """
    if media_type in _WORDS:
        return _WORDS[media_type]
    if media_type.startswith("image/x-"):
        return "a raw camera file"
    kinds = {
        "video": "a video",
        "audio": "a sound recording",
        "image": "a picture",
        "text": "a text file",
    }
    return kinds.get(media_type.partition("/")[0], "a file of unknown kind")


_WORDS = {
    "application/pdf": "a PDF document",
    "application/rtf": "a document",
    "application/vnd.openxmlformats-officedocument": "an Office document",
    "application/vnd.oasis.opendocument": "an OpenDocument file",
    "application/x-ole-storage": "an old Office document",
    "application/vnd.ms-outlook": "an Outlook message",
    "application/zip": "a zip archive",
    "application/vnd.rar": "a RAR archive",
    "application/x-7z-compressed": "a 7z archive",
    "application/gzip": "a gzip archive",
    "application/x-bzip2": "a bzip2 archive",
    "application/x-xz": "an xz archive",
    "application/vnd.ms-outlook-pst": "an Outlook data file",
    "application/vnd.microsoft.portable-executable": "a Windows program",
    "application/ms-tnef": "an Outlook winmail.dat",
    "application/ogg": "a sound or video file",
    "image/avif": "an AVIF picture",
    "image/bmp": "a BMP picture",
    "image/jxl": "a JPEG XL picture",
    "image/vnd.adobe.photoshop": "a layered picture",
}


def _tiff_or_raw(head: bytes, file_name: str) -> str:
    if head[8:10] == b"CR":
        return "image/x-cr2"
    return _RAW_SUFFIXES.get(file_name.lower().rpartition(".")[2], "image/tiff")


def _base_media(head: bytes, brands: bytes) -> str:
    major = head[8:12]
    box_length = int.from_bytes(head[:4], "big")
    compatible = [brands[i : i + 4] for i in range(8, min(box_length - 8, len(brands) - 3), 4)]
    if major in (b"mif1", b"msf1") and (b"avif" in compatible or b"avis" in compatible):
        return "image/avif"
    if major in _BRANDS:
        return _BRANDS[major]
    for brand in compatible:
        if _BRANDS.get(brand, "").startswith("image/"):
            return _BRANDS[brand]
    return "video/mp4"


def _is_text(content: bytes) -> bool:
    return not any(byte < 9 or 13 < byte < 32 for byte in content[:64])


def riff_chunks(content: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Name and data of each chunk of a WebP (RFC 9649 2.3), as many as are followed."""
    position = 12
    for _ in range(PIECES):
        length = int.from_bytes(content[position + 4 : position + 8], "little")
        if position + 8 > len(content):
            return
        yield content[position : position + 4], content[position + 8 : position + 8 + length]
        position += 8 + length + length % 2
