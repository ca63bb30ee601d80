from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import Encoding, pkcs7
from mail_making import file_part, header, multipart, picture, text_part
from wrapping import DATA, SIGNED, der, opaque_signature

from triage.mail.message import read_message
from triage.mail.smime import read_smime

ENTITY = multipart(text_part("Seen.\n"), file_part(picture(), "a.jpg"), boundary="in")


@pytest.fixture(scope="module")
def signer() -> tuple[x509.Certificate, rsa.RSAPrivateKey]:
    key = rsa.generate_private_key(65537, 2048)
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "Ada Finch")])
    now = datetime.now(UTC)
    certificate = (
        x509.CertificateBuilder(name, name, key.public_key(), 1)
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .sign(key, hashes.SHA256())
    )
    return certificate, key


def test_what_an_independent_signer_wrote_is_opened(signer):
    builder = pkcs7.PKCS7SignatureBuilder().set_data(ENTITY)
    builder = builder.add_signer(*signer, hashes.SHA256())
    signed = builder.sign(Encoding.DER, [pkcs7.PKCS7Options.Binary])
    assert read_smime(signed).content == ENTITY
    part = file_part(signed, "smime.p7m", content_type="application/pkcs7-mime")
    assert read_message(header() + part).parts[-1].content == picture()


def test_what_an_independent_writer_encrypted_is_said_to_be(signer):
    builder = pkcs7.PKCS7EnvelopeBuilder().set_data(ENTITY).add_recipient(signer[0])
    encrypted = builder.encrypt(Encoding.DER, [pkcs7.PKCS7Options.Binary])
    assert "unreadable without the key" in read_smime(encrypted).problem


def test_a_detached_signature_of_an_independent_signer_holds_no_mail(signer):
    builder = pkcs7.PKCS7SignatureBuilder().set_data(ENTITY)
    builder = builder.add_signer(*signer, hashes.SHA256())
    options = [pkcs7.PKCS7Options.DetachedSignature, pkcs7.PKCS7Options.Binary]
    assert read_smime(builder.sign(Encoding.DER, options)).problem == (
        "a detached signature without the mail"
    )


COMPRESSED = bytes.fromhex("2a864886f70d0109100109")


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"", "damaged"),
        (b"\x30\x80" * 40, "damaged"),
        (b"\x30\x8a" + b"\xff" * 20, "damaged"),
        (der(0x04, b"x"), "damaged"),
        (der(0x30, der(0x04, b"x")), "not a signed mail"),
        (der(0x30, der(0x06, DATA)), "holds no mail"),
        (der(0x30, der(0x06, COMPRESSED)), "compressed"),
        (der(0x30, der(0x06, SIGNED)), "damaged"),
        (opaque_signature(ENTITY)[:-2000], "damaged"),
    ],
)
def test_what_cannot_be_opened_says_why(content, problem):
    assert problem in read_smime(content).problem
