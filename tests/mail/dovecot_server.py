"""A real mail server (Dovecot) on loopback, set up in a temporary folder for one test."""

from __future__ import annotations

import base64
import getpass
import hashlib
import hmac
import imaplib
import json
import os
import shutil
import socket
import ssl
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests_support import own_ports

DOVECOT = Path("/usr/sbin/dovecot")
USER, PASSWORD, TOKEN_KEY = "survey@example.org", 'rare "wörd" \\ here', b"k" * 32


@dataclass(frozen=True)
class Server:
    """A running server: its ports, its certificate, and the Maildir of its one user."""

    imaps_port: int
    imap_port: int
    certificate: Path
    maildir: Path


def token(*, key: bytes = TOKEN_KEY) -> str:
    """A bearer token as the server checks it by itself (RFC 7519, HS256)."""
    now = int(time.time())
    head = {"alg": "HS256", "typ": "JWT"}
    body = {"sub": USER, "email": USER, "iat": now - 10, "nbf": now - 10, "exp": now + 600}
    signed = b".".join(_url_base64(json.dumps(part).encode()) for part in (head, body))
    signature = _url_base64(hmac.new(key, signed, hashlib.sha256).digest())
    return (signed + b"." + signature).decode("ascii")


def own_client(server: Server) -> imaplib.IMAP4:
    """A client of the standard library, logged in: what the server holds, seen from outside."""
    client = imaplib.IMAP4("127.0.0.1", server.imap_port)
    client.authenticate("PLAIN", lambda _: f"\0{USER}\0{PASSWORD}".encode())
    return client


@contextmanager
def dovecot() -> Iterator[Server]:
    """Run Dovecot until the block ends, in a folder that its own users may enter."""
    with tempfile.TemporaryDirectory(prefix="dovecot-") as place:
        yield from _run(Path(place))


def _run(folder: Path) -> Iterator[Server]:
    folder.chmod(0o755)
    certificate, key = _certificate(folder)
    imaps, imap = own_ports(2)
    server = Server(imaps, imap, certificate, folder / "mail")
    for name in ("", "cur", "new", "tmp"):
        (server.maildir / name).mkdir(parents=True)
        if os.getuid() == 0:
            shutil.chown(server.maildir / name, "dovecot", "dovecot")
    keys = folder / "keys" / "default" / "HS256"
    keys.mkdir(parents=True)
    (keys / "default").write_bytes(base64.b64encode(TOKEN_KEY))
    (folder / "oauth2.conf").write_text(
        "introspection_mode = local\nusername_attribute = email\n"
        f"local_validation_key_dict = fs:posix:prefix={folder}/keys/\n"
    )
    (folder / "users").write_text(f"{USER}:{{PLAIN}}{PASSWORD}\n", encoding="utf-8")
    configuration = folder / "dovecot.conf"
    configuration.write_text(_configuration(folder, server, key))
    log = (folder / "run.log").open("wb")
    process = subprocess.Popen([DOVECOT, "-F", "-c", configuration], stdout=log, stderr=log)
    try:
        _wait_for(imaps, folder, process)
        yield server
    finally:
        process.terminate()
        process.wait(timeout=120)
        log.close()


def _configuration(folder: Path, server: Server, key: Path) -> str:
    # Root must not run the login process; anyone else can only run it as themselves.
    me = getpass.getuser()
    login, internal = ("dovenull", "dovecot") if os.getuid() == 0 else (me, me)
    group = "dovecot" if os.getuid() == 0 else ""
    return f"""
protocols = imap
listen = 127.0.0.1
base_dir = {folder}/run
state_dir = {folder}/state
log_path = {folder}/dovecot.log
default_internal_user = {internal}
default_login_user = {login}
default_internal_group = {group}
first_valid_uid = 0
ssl = yes
ssl_cert = <{server.certificate}
ssl_key = <{key}
disable_plaintext_auth = no
auth_mechanisms = plain xoauth2
mail_location = maildir:{server.maildir}
passdb {{
  driver = oauth2
  mechanisms = xoauth2
  args = {folder}/oauth2.conf
}}
passdb {{
  driver = passwd-file
  args = scheme=PLAIN {folder}/users
}}
userdb {{
  driver = static
  args = uid={internal} gid={group or os.getgid()} home={server.maildir}
}}
auth_failure_delay = 0
service anvil {{
  chroot =
  unix_listener anvil-auth-penalty {{
    mode = 0
  }}
}}
service imap-login {{
  chroot =
  inet_listener imap {{
    port = {server.imap_port}
  }}
  inet_listener imaps {{
    port = {server.imaps_port}
    ssl = yes
  }}
}}
"""


def _certificate(folder: Path) -> tuple[Path, Path]:
    """A certificate of its own making for 127.0.0.1 and localhost."""
    import ipaddress

    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec

    private = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "localhost")])
    names = [x509.DNSName("localhost"), x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]
    now = datetime.now(UTC)
    certificate = (
        x509.CertificateBuilder(name, name, private.public_key(), x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(private, hashes.SHA256())
    )
    (folder / "cert.pem").write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
    (folder / "key.pem").write_bytes(
        private.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    return folder / "cert.pem", folder / "key.pem"


def _wait_for(port: int, folder: Path, process: subprocess.Popen[bytes]) -> None:
    context = ssl.create_default_context(cafile=str(folder / "cert.pem"))
    for _ in range(1200):  # two minutes: a busy machine takes its time
        try:
            with (
                socket.create_connection(("127.0.0.1", port), timeout=5) as plain,
                context.wrap_socket(plain, server_hostname="127.0.0.1") as secured,
            ):
                if secured.recv(100).startswith(b"* OK"):
                    return
        except OSError:
            pass
        if process.poll() is not None:
            break
        time.sleep(0.1)
    logs = "".join(
        p.read_text() for p in (folder / "run.log", folder / "dovecot.log") if p.exists()
    )
    raise AssertionError(f"Dovecot did not start: {logs}")


def _url_base64(content: bytes) -> bytes:
    return base64.urlsafe_b64encode(content).rstrip(b"=")
