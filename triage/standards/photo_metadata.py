"""Writes what is known of a photo as Exif, XMP and IPTC, so that the file carries its own facts.

References
----------
CIPA DC-008 (Exif 2.32). ISO 16684-1 (XMP). IPTC Photo Metadata Standard and IPTC-IIM 4.2.
Metadata Working Group 2010. Guidelines for handling image metadata 2.0 (regions: MWG-RS).
Darwin Core Maintenance Group. http://rs.tdwg.org/dwc/terms/
(All from memory; what is written is read back by exiftool in the tests.)
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from xml.etree import ElementTree

from triage.analysis.view import Box
from triage.standards import darwin_core
from triage.standards.archive import xml_text
from triage.standards.darwin_core import DWC

NAMESPACES = {
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "xmpRights": "http://ns.adobe.com/xap/1.0/rights/",
    "photoshop": "http://ns.adobe.com/photoshop/1.0/",
    "mwg-rs": "http://www.metadataworkinggroup.com/schemas/regions/",
    "stArea": "http://ns.adobe.com/xmp/sType/Area#",
    "stDim": "http://ns.adobe.com/xap/1.0/sType/Dimensions#",
    "dwc": DWC,
}
_EXIF_MOMENT = re.compile(
    r"(\d{4})-(\d{2})-(\d{2})T(\d{2}):(\d{2})(?::(\d{2}))?(?:\.\d+)?(Z|[+-]\d{2}:\d{2})?"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoFacts:
    """What a photo that is handed on says of itself.

    ``creator`` is a name or a code; ``event_date`` ISO 8601, as exact as it is known; the place
    is the released one, in decimal degrees, with its uncertainty in metres, or None; ``box`` the
    region of the insect as x0, y0, x1, y1 of the upright picture; ``orientation`` the Exif value
    (1 to 8) that turns the stored pixels upright; width and height are of the upright picture.
    """

    identifier: str
    occurrence_id: str
    caption: str
    creator: str
    credit: str
    licence_uri: str
    usage_terms: str
    scientific_name: str
    event_date: str = ""
    locality: str = ""
    decimal_latitude: float | None = None
    decimal_longitude: float | None = None
    uncertainty_metres: float | None = None
    box: Box | None = None
    width: int = 0
    height: int = 0
    orientation: int = 1
    qualifier: str = ""

    @property
    def name(self) -> str:
        """The name with its doubt, as a person reads it."""
        return darwin_core.name_with_qualifier(self.scientific_name, self.qualifier)


def exif_block(facts: PhotoFacts) -> bytes:
    """A TIFF structure with creator, rights, time and released place.

    A date that is not known to the minute has no place in Exif and stands in XMP alone.
    """
    from PIL import Image

    exif = Image.Exif()
    exif[0x010E] = _ascii(facts.caption)  # ImageDescription
    exif[0x0112] = facts.orientation
    exif[0x013B] = _ascii(facts.creator)  # Artist
    exif[0x8298] = _ascii(facts.usage_terms)  # Copyright
    moment = _EXIF_MOMENT.fullmatch(facts.event_date)
    if moment:
        year, month, day, hour, minute, second, offset = moment.groups()
        inner = exif.get_ifd(0x8769)
        inner[0x9003] = f"{year}:{month}:{day} {hour}:{minute}:{second or '00'}"
        if offset:
            inner[0x9011] = "+00:00" if offset == "Z" else offset
    if facts.decimal_latitude is not None and facts.decimal_longitude is not None:
        exif.get_ifd(0x8825).update(
            _gps(facts.decimal_latitude, facts.decimal_longitude, facts.uncertainty_metres)
        )
    block: bytes = exif.tobytes()
    return block.removeprefix(b"Exif\x00\x00")


def _gps(latitude: float, longitude: float, uncertainty: float | None) -> dict[int, object]:
    tags: dict[int, object] = {
        0: b"\x02\x03\x00\x00",
        1: "N" if latitude >= 0 else "S",
        2: _sexagesimal(abs(latitude)),
        3: "E" if longitude >= 0 else "W",
        4: _sexagesimal(abs(longitude)),
        18: "WGS-84",
    }
    if uncertainty is not None:
        tags[31] = _rational(round(uncertainty))
    return tags


def _sexagesimal(degrees: float) -> tuple[object, ...]:
    """Degrees, minutes and seconds as rationals, to a ten-thousandth of a second (3 mm)."""
    whole = Fraction(round(degrees * 36_000_000), 10_000)  # seconds
    minutes, seconds = divmod(whole, 60)
    return (_rational(minutes // 60), _rational(minutes % 60), _rational(seconds))


def _rational(value: Fraction | int) -> object:
    from PIL.TiffImagePlugin import IFDRational

    fraction = Fraction(value)
    return IFDRational(fraction.numerator, fraction.denominator)


def _ascii(text: str) -> str:
    """Exif text is ASCII; letters outside it are named as XMP has them, here as a question mark."""
    return text.encode("ascii", "replace").decode("ascii")


def xmp_packet(facts: PhotoFacts) -> bytes:
    """An XMP packet with rights, names, date, place, the insect's region and the occurrence."""
    for prefix, uri in NAMESPACES.items():
        ElementTree.register_namespace(prefix, uri)
    ElementTree.register_namespace("x", "adobe:ns:meta/")
    root = ElementTree.Element("{adobe:ns:meta/}xmpmeta")
    rdf = ElementTree.SubElement(root, _q("rdf", "RDF"))
    about = ElementTree.SubElement(rdf, _q("rdf", "Description"), {_q("rdf", "about"): ""})
    _alternative(about, "dc", "description", facts.caption)
    _alternative(about, "dc", "rights", facts.usage_terms)
    _alternative(about, "xmpRights", "UsageTerms", facts.usage_terms)
    _list(about, "dc", "creator", "Seq", [facts.creator])
    _list(about, "dc", "subject", "Bag", [facts.name])
    for prefix, name, value in (
        ("dc", "identifier", facts.identifier),
        ("xmpRights", "Marked", "True"),
        ("xmpRights", "WebStatement", facts.licence_uri),
        ("photoshop", "Credit", facts.credit),
        ("photoshop", "DateCreated", _xmp_date(facts.event_date)),
        ("dwc", "occurrenceID", facts.occurrence_id),
        ("dwc", "scientificName", facts.scientific_name),
        (
            "dwc",
            "identificationQualifier",
            darwin_core.identification_qualifier(facts.qualifier, facts.scientific_name),
        ),
        ("dwc", "eventDate", facts.event_date),
        ("dwc", "locality", facts.locality),
        ("dwc", "decimalLatitude", _number(facts.decimal_latitude)),
        ("dwc", "decimalLongitude", _number(facts.decimal_longitude)),
        ("dwc", "coordinateUncertaintyInMeters", _number(facts.uncertainty_metres)),
    ):
        if value:
            ElementTree.SubElement(about, _q(prefix, name)).text = xml_text(value)
    if facts.box is not None and facts.width and facts.height:
        _region(about, facts.box, facts)
    body: bytes = ElementTree.tostring(root, encoding="utf-8")
    return (
        b'<?xpacket begin="\xef\xbb\xbf" id="W5M0MpCehiHzreSzNTczkc9d"?>\n'
        + body
        + b'\n<?xpacket end="r"?>'
    )


def _region(parent: ElementTree.Element, box: Box, facts: PhotoFacts) -> None:
    """The insect as an MWG region: centre and size as fractions of the picture as it is stored.

    The dimensions that it applies to say the same, so that no reader has to guess.
    """
    turned = facts.orientation in range(5, 9)
    width, height = (facts.height, facts.width) if turned else (facts.width, facts.height)
    resource = {_q("rdf", "parseType"): "Resource"}
    regions = ElementTree.SubElement(parent, _q("mwg-rs", "Regions"), resource)
    ElementTree.SubElement(
        regions,
        _q("mwg-rs", "AppliedToDimensions"),
        {
            _q("stDim", "w"): str(width),
            _q("stDim", "h"): str(height),
            _q("stDim", "unit"): "pixel",
        },
    )
    bag = ElementTree.SubElement(
        ElementTree.SubElement(regions, _q("mwg-rs", "RegionList")), _q("rdf", "Bag")
    )
    item = ElementTree.SubElement(bag, _q("rdf", "li"), resource)
    x0, y0, x1, y1 = stored_box(box, facts.orientation)
    ElementTree.SubElement(
        item,
        _q("mwg-rs", "Area"),
        {
            _q("stArea", "x"): f"{(x0 + x1) / 2:.6f}",
            _q("stArea", "y"): f"{(y0 + y1) / 2:.6f}",
            _q("stArea", "w"): f"{x1 - x0:.6f}",
            _q("stArea", "h"): f"{y1 - y0:.6f}",
            _q("stArea", "unit"): "normalized",
        },
    )
    ElementTree.SubElement(item, _q("mwg-rs", "Name")).text = xml_text(facts.name)
    ElementTree.SubElement(item, _q("mwg-rs", "Type")).text = "Focus"


def stored_box(box: Box, orientation: int) -> Box:
    """A box of the upright picture as a box of the pixels as stored.

    Parameters
    ----------
    box : tuple of float
        x0, y0, x1, y1 in [0, 1] of the upright picture.
    orientation : int
        The Exif value, 1 to 8, that turns the stored pixels upright.

    Examples
    --------
    >>> stored_box((0.0, 0.0, 0.5, 0.25), 6)
    (0.0, 0.5, 0.25, 1.0)
    """
    x0, y0, x1, y1 = box
    if orientation in range(5, 9):
        x0, y0, x1, y1 = y0, x0, y1, x1
    if orientation in (2, 3, 7, 8):
        x0, x1 = 1 - x1, 1 - x0
    if orientation in (3, 4, 6, 7):
        y0, y1 = 1 - y1, 1 - y0
    return x0, y0, x1, y1


def iptc_block(facts: PhotoFacts) -> bytes:
    """Photoshop image resources with the IPTC-IIM datasets of the same facts, in UTF-8."""
    day = re.match(r"(\d{4})-(\d{2})-(\d{2})", facts.event_date)
    datasets = [
        (1, 90, b"\x1b%G"),  # the character set: UTF-8
        (2, 0, b"\x00\x04"),
        (2, 25, _within(64, facts.name)),
        (2, 55, "".join(day.groups()).encode() if day else b""),
        (2, 80, _within(32, facts.creator)),
        (2, 110, _within(32, facts.credit)),
        (2, 116, _within(128, facts.usage_terms)),
        (2, 120, _within(2000, facts.caption)),
    ]
    data = b"".join(
        bytes((0x1C, record, number)) + len(value).to_bytes(2, "big") + value
        for record, number, value in datasets
        if value
    )
    padding = b"\x00" if len(data) % 2 else b""
    return b"8BIM\x04\x04\x00\x00" + len(data).to_bytes(4, "big") + data + padding


def _within(most: int, text: str) -> bytes:
    """The text, or nothing where it is longer than its dataset may be: XMP has it whole."""
    data = text.encode("utf-8", "replace")
    return data if len(data) <= most else b""


def _xmp_date(event_date: str) -> str:
    """A date as XMP can have it; the first day of an interval would say too much."""
    return "" if "/" in event_date else event_date


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.7f}".rstrip("0").rstrip(".")


def _q(prefix: str, name: str) -> str:
    return f"{{{NAMESPACES[prefix]}}}{name}"


def _list(
    parent: ElementTree.Element, prefix: str, name: str, kind: str, values: list[str]
) -> None:
    if not any(values):
        return
    items = ElementTree.SubElement(
        ElementTree.SubElement(parent, _q(prefix, name)), _q("rdf", kind)
    )
    for value in values:
        ElementTree.SubElement(items, _q("rdf", "li")).text = xml_text(value)


def _alternative(parent: ElementTree.Element, prefix: str, name: str, value: str) -> None:
    if not value:
        return
    items = ElementTree.SubElement(
        ElementTree.SubElement(parent, _q(prefix, name)), _q("rdf", "Alt")
    )
    language = {"{http://www.w3.org/XML/1998/namespace}lang": "x-default"}
    ElementTree.SubElement(items, _q("rdf", "li"), language).text = xml_text(value)
