from __future__ import annotations

import io

import pypdf
from mail_making import file_part, header, multipart, picture, text_part, zip_file
from PIL import Image

from triage.mail.documents import photos_in_document
from triage.mail.limits import Limits
from triage.mail.message import read_message
from triage.standards.digests import digest_of

PDF, OFFICE = "application/pdf", "application/vnd.openxmlformats-officedocument"


def docx_with(**media: bytes) -> bytes:
    files = {"[Content_Types].xml": b"<Types/>", "word/document.xml": b"<document/>"}
    files |= {f"word/media/{name.replace('_', '.')}": content for name, content in media.items()}
    return zip_file(files)


def test_photos_in_a_docx_come_out_and_icons_do_not():
    content = docx_with(image1_jpeg=picture(), image2_png=picture(40, 40, kind="PNG"))
    assert [p.content for p in photos_in_document(content, OFFICE, limits=Limits())] == [picture()]


def test_photos_in_an_opendocument_come_out():
    kind = "application/vnd.oasis.opendocument"
    content = zip_file({"mimetype": kind.encode() + b".text", "Pictures/1.jpg": picture()})
    assert len(photos_in_document(content, kind, limits=Limits())) == 1


def raw_jpeg_pdf(*photos: bytes) -> bytes:
    """A PDF whose picture objects hold JPEGs as they are (ISO 32000-1, 7.4.8 and 8.9.5)."""
    writer = pypdf.PdfWriter()
    for photo in photos:
        page = writer.add_blank_page(400, 300)
        stream = pypdf.generic.StreamObject()
        stream.set_data(photo)
        size = Image.open(io.BytesIO(photo)).size
        names = {"/Type": "/XObject", "/Subtype": "/Image", "/ColorSpace": "/DeviceRGB"}
        names["/Filter"] = "/DCTDecode"
        for key, value in names.items():
            stream[pypdf.generic.NameObject(key)] = pypdf.generic.NameObject(value)
        for key, number in {"/Width": size[0], "/Height": size[1], "/BitsPerComponent": 8}.items():
            stream[pypdf.generic.NameObject(key)] = pypdf.generic.NumberObject(number)
        reference = writer._add_object(stream)
        pictures = pypdf.generic.DictionaryObject({pypdf.generic.NameObject("/Im0"): reference})
        page[pypdf.generic.NameObject("/Resources")] = pypdf.generic.DictionaryObject(
            {pypdf.generic.NameObject("/XObject"): pictures}
        )
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_photos_in_a_pdf_are_those_that_an_independent_reader_finds():
    content = raw_jpeg_pdf(picture(), picture(seed=1), picture(800, 600, seed=2))
    reader = pypdf.PdfReader(io.BytesIO(content))
    expected = [image.data for page in reader.pages for image in page.images]
    found = photos_in_document(content, PDF, limits=Limits())
    assert [Image.open(io.BytesIO(photo.content)).size for photo in found] == [
        Image.open(io.BytesIO(data)).size for data in expected
    ]
    assert [digest_of(photo.content) for photo in found] == [
        digest_of(p) for p in (picture(), picture(seed=1), picture(800, 600, seed=2))
    ]


def test_what_a_mail_says_of_documents():
    raw = header() + multipart(
        text_part("See the document.\n"),
        file_part(docx_with(a_jpg=picture(), b_jpg=picture(seed=1)), "pond.docx"),
        file_part(raw_jpeg_pdf(picture()), "pond.pdf"),
        file_part(docx_with(), "words.docx"),
        file_part(b"%PDF-1.4 broken", "broken.pdf"),
    )
    reasons = [(part.outcome, part.reason) for part in read_message(raw).parts[1:]]
    assert reasons == [
        ("kept, other kind", "an Office document with 2 photos inside, which can be taken out"),
        ("kept, other kind", "a PDF document with 1 photo inside, which can be taken out"),
        ("kept, other kind", "an Office document without photos inside; not examined"),
        ("kept, other kind", "a PDF document without photos inside; not examined"),
    ]


def test_other_files_hold_no_photos():
    assert photos_in_document(picture(), "image/jpeg", limits=Limits()) == []
    assert photos_in_document(b"PK\x03\x04broken", OFFICE, limits=Limits()) == []
