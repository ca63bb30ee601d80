"""Refuse requests that come from no page of this desk or from nobody who may.

The desk listens on this machine only. A page elsewhere in the same browser could still send
requests here: so Host is checked (a name that was pointed at this machine, DNS rebinding), Origin
and a token are checked for everything that changes something (RFC 6454; double submission of a
random cookie), and cookies are SameSite=Strict and HttpOnly (RFC 6265bis). Nothing of a mail
reaches the browser but as text or as pixels that we encoded; the content security policy (W3C CSP
Level 3) allows no inline script or style and nothing from another host.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets

from flask import Flask, Response, abort, current_app, g, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from triage.desk.opened import cookie

LOOPBACK = frozenset({"127.0.0.1", "localhost", "[::1]"})
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self';"
    " font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


def install(app: Flask) -> None:
    """Check every request before it is answered, and every answer before it leaves."""
    app.before_request(_limit)
    app.before_request(_check_host)
    app.before_request(_check_key)
    app.before_request(_check_origin_and_token)
    app.after_request(_add_headers)
    app.context_processor(lambda: {"token": token()})


def token() -> str:
    """This browser's random token: in its cookie, and in every form that it may send."""
    if "token" not in g:
        sent = request.cookies.get(cookie("token"), "")
        g.token = sent if len(sent) == 43 and sent.isascii() else secrets.token_urlsafe(32)
    found: str = g.token
    return found


def browser() -> str:
    """Names this browser without giving its token away."""
    return hashlib.sha256(token().encode()).hexdigest()[:16]


def _limit() -> None:
    """Only a drop of files may be large."""
    if request.endpoint not in current_app.config["LARGE_UPLOADS"]:
        request.max_content_length = current_app.config["FORM_BYTES"]


def _check_host() -> None:
    """Refuse a name that is not ours: somebody else's may have been pointed at this machine."""
    host = request.host
    name = host[: host.index("]") + 1] if host.startswith("[") and "]" in host else host
    if name.partition(":")[0].casefold() not in current_app.config["HOSTS"] and (
        name.casefold() not in current_app.config["HOSTS"]
    ):
        abort(421, "The desk does not answer to this address. Use the one that it printed.")


def _check_key() -> AnyResponse | None:
    """On a shared desk everybody but this machine shows a key; a link brings it once."""
    keys: dict[str, str] = current_app.config["SHARE_KEYS"]
    if not keys:
        return None
    brought = request.args.get("key", "") if request.method == "GET" else ""
    shown = brought or request.cookies.get(cookie("key"), "")
    g.key_name = _name_of(keys, shown)
    if brought and g.key_name:
        answer = redirect(request.path)
        answer.set_cookie(cookie("key"), brought, httponly=True, samesite="Strict")
        return answer
    if not g.key_name and request.remote_addr not in ("127.0.0.1", "::1"):
        abort(403, "This desk asks for a key. Open the whole link that you were given.")
    return None


def _name_of(keys: dict[str, str], shown: str) -> str:
    """The person whose key was shown, compared in constant time."""
    found = ""
    for key, name in keys.items():
        if hmac.compare_digest(key.encode(), shown.encode()):
            found = name
    return found


def _check_origin_and_token() -> None:
    if request.method in SAFE:
        return
    origin = request.headers.get("Origin", "")
    if origin != f"{request.scheme}://{request.host}":
        abort(403, "This came from another page. Open the desk itself and try again.")
    # Before a form is read: the header comes first, so that a drop need not be taken in to refuse.
    sent = request.headers.get("X-Desk-Token") or request.form.get("token", "")
    held = request.cookies.get(cookie("token"), "")
    if not held or not hmac.compare_digest(held.encode(), sent.encode()):
        abort(403, "This page has grown old. Load it again: what you typed stands there then.")


def _add_headers(answer: Response) -> Response:
    for name, value in HEADERS.items():
        answer.headers[name] = value
    if "Cache-Control" not in answer.headers or request.endpoint != "pictures.show":
        answer.headers["Cache-Control"] = "no-store"
    if "token" in g and request.cookies.get(cookie("token"), "") != g.token:
        answer.set_cookie(cookie("token"), g.token, httponly=True, samesite="Strict")
    return answer
