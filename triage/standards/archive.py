"""Write tables with their terms as the bytes of a Darwin Core Archive (meta.xml, data, EML).

References
----------
Darwin Core Task Group. Darwin Core text guide. Biodiversity Information Standards (TDWG).
http://rs.tdwg.org/dwc/text/
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

TEXT_NAMESPACE = "http://rs.tdwg.org/dwc/text/"
FIXED_ZIP_TIME = (1980, 1, 1, 0, 0, 0)  # the first that a zip can hold: same rows, same bytes

_LINE_BREAKS_AND_CONTROLS = re.compile(r"[\x00-\x1f\x7f\x85\u2028\u2029]+")
_NOT_XML = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveTable:
    """One data file of an archive.

    ``columns`` maps the header of a column to its term URI; the first column is the identifier
    of the core record: of the row itself in the core, of the row it belongs to in an extension
    (there its own term, if any, is left out). ``rows`` map headers to text.
    """

    file_name: str
    row_type: str
    columns: Mapping[str, str]
    rows: Sequence[Mapping[str, str]]


def archive_bytes(
    core: ArchiveTable,
    extensions: Sequence[ArchiveTable],
    *,
    eml: bytes,
) -> bytes:
    """The zip file of an archive, byte for byte the same for the same content.

    The core's first column must be unique and never empty, and that of every extension must name a
    core row; ``eml`` is the metadata document, stored as ``eml.xml``. Times and order are fixed.

    Raises
    ------
    ValueError
        If identifiers are empty or repeated in the core, if an extension row belongs to no core
        row, or if two files share a name.
    """
    _check_identifiers(core, extensions)
    files: dict[str, bytes] = {"meta.xml": meta_xml(core, extensions), "eml.xml": eml}
    for table in (core, *extensions):
        if table.file_name in files:
            raise ValueError(f"two files of the archive are called {table.file_name}")
        files[table.file_name] = _table_bytes(table)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name, content in files.items():
            entry = zipfile.ZipInfo(name, FIXED_ZIP_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3  # the same on every system
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content)
    return buffer.getvalue()


def _check_identifiers(core: ArchiveTable, extensions: Sequence[ArchiveTable]) -> None:
    key = next(iter(core.columns))
    identifiers = [row.get(key, "") for row in core.rows]
    if "" in identifiers or len(set(identifiers)) != len(identifiers):
        raise ValueError(f"{key} must be unique and never empty in {core.file_name}")
    known = set(identifiers)
    for table in extensions:
        key = next(iter(table.columns))
        for row in table.rows:
            if row.get(key, "") not in known:
                raise ValueError(f"a row of {table.file_name} belongs to no core row: {row!r}")


def meta_xml(core: ArchiveTable, extensions: Sequence[ArchiveTable]) -> bytes:
    """The descriptor: which files there are, how they are written, and the term of each column.

    Every attribute is written out, because the guide's defaults (comma, quotation mark, no
    header line) trip readers that assume others.
    """
    ElementTree.register_namespace("", TEXT_NAMESPACE)
    root = ElementTree.Element(_q("archive"), {"metadata": "eml.xml"})
    _describe(root, "core", "id", core)
    for table in extensions:
        _describe(root, "extension", "coreid", table)
    ElementTree.indent(root)
    document: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return document + b"\n"


def _describe(root: ElementTree.Element, kind: str, key: str, table: ArchiveTable) -> None:
    element = ElementTree.SubElement(
        root,
        _q(kind),
        {
            "encoding": "UTF-8",
            "fieldsTerminatedBy": ",",
            "linesTerminatedBy": "\\n",
            "fieldsEnclosedBy": '"',
            "ignoreHeaderLines": "1",
            "rowType": table.row_type,
        },
    )
    files = ElementTree.SubElement(element, _q("files"))
    ElementTree.SubElement(files, _q("location")).text = table.file_name
    ElementTree.SubElement(element, _q(key), {"index": "0"})
    for index, term in enumerate(table.columns.values()):
        if kind == "core" or index > 0:
            ElementTree.SubElement(element, _q("field"), {"index": str(index), "term": term})


def _q(name: str) -> str:
    return f"{{{TEXT_NAMESPACE}}}{name}"


def _table_bytes(table: ArchiveTable) -> bytes:
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n", quoting=csv.QUOTE_MINIMAL)
    writer.writerow(table.columns)
    for row in table.rows:
        writer.writerow([one_line(row.get(header, "")) for header in table.columns])
    return buffer.getvalue().encode("utf-8")


def one_line(text: str) -> str:
    """The text on one line: many readers of archives split lines before they look for quotes.

    >>> one_line("two\\r\\nlines")
    'two lines'
    """
    return _LINE_BREAKS_AND_CONTROLS.sub(" ", text.encode("utf-8", "replace").decode()).strip()


def xml_text(text: str) -> str:
    """The text without the characters that XML 1.0 cannot hold.

    >>> xml_text("bell\\x07")
    'bell'
    """
    return _NOT_XML.sub("", text)
