"""Serve the desk on this machine until it is stopped."""

from __future__ import annotations

import secrets
import socket
import stat
import sys
import threading
import webbrowser
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from triage.desk.app import UPLOAD_BYTES, create_app
from triage.desk.security import LOOPBACK
from triage.errors import SurveyError
from triage.store.connection import open_survey

PORT = 8417  # registered to nobody (IANA list of ports, from memory); another is free to choose
THREADS = 8  # requests at once; a watcher of progress holds one


def serve(
    folder: Path,
    *,
    port: int = PORT,
    share: Sequence[str] = (),
    browser: bool = True,
    say: Callable[[str], None] = print,
) -> None:
    """Serve the desk until it is stopped from the page or the keyboard.

    Raises
    ------
    SurveyError
        If there is no survey in the folder, or the port is taken.
    """
    from triage.desk.connections import serve_on

    with open_survey(folder) as survey:
        title = survey.settings.survey.title
    keys = {secrets.token_urlsafe(16): name for name in share}
    ending = threading.Event()
    app = create_app(folder, keys=keys, hosts=_hosts(shared=bool(keys)), stop=ending.set)
    listening = _listen("0.0.0.0" if keys else "127.0.0.1", port)
    port = listening.getsockname()[1]
    server = serve_on(listening, app, threads=THREADS, body_bytes=UPLOAD_BYTES)
    address = f"http://127.0.0.1:{port}/"
    _introduce(say, title, address, keys, port)
    if browser:
        webbrowser.open(address)
    _run(server, ending, app)


def _listen(host: str, port: int) -> socket.socket:
    """The socket of the desk, bound before anything else is started."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if sys.platform != "win32":  # there it would let two programs have one port
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        raise SurveyError(
            "the desk cannot listen there: another program has that port",
            failing=f"port {port}",
            next_step="Perhaps the desk runs already; else choose another with --port.",
        ) from error
    return listening


def _run(server: Any, ending: threading.Event, app: Any) -> None:
    running = threading.Thread(target=server.run, daemon=True, name="desk server")
    running.start()
    try:
        while not ending.wait(0.5) and running.is_alive():
            pass
        ending.wait(0)
        threading.Event().wait(0.5)  # the last page is on its way
    finally:
        work = app.extensions["work"]
        work.stop()
        work.join(30)
        server.close()


def _introduce(
    say: Callable[[str], None], title: str, address: str, keys: dict[str, str], port: int
) -> None:
    say(f"The desk of {title} is at {address}")
    if keys:
        say("It is open to the local network: messages, photos, names and places can be seen and")
        say("changed by everybody who has one of these links. Give each only to its person; they")
        say("end with the desk.")
        for key, name in keys.items():
            say(f"  {name}: http://{_address_of_this_machine()}:{port}/?key={key}")
    say("Stop it with Ctrl+C here, or from the page.")


def _hosts(*, shared: bool) -> frozenset[str]:
    if not shared:
        return LOOPBACK
    return LOOPBACK | {_address_of_this_machine(), socket.gethostname().casefold()}


def _address_of_this_machine() -> str:
    """The address by which the local network knows this machine; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737: an address that leads nowhere
        except OSError:
            return "127.0.0.1"
        return str(probe.getsockname()[0])


def write_starter(folder: Path, to: Path, *, system: str = sys.platform) -> Path:
    """Write a file that starts this survey's desk by a double click, and return its path.

    ``to`` is a folder, or the file itself.
    """
    name, content = _starter(folder.resolve(), system)
    path = to / name if to.is_dir() else to
    path.write_text(content, encoding="utf-8", newline="\r\n" if system == "win32" else "\n")
    if system != "win32":
        path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return path


def _starter(folder: Path, system: str) -> tuple[str, str]:
    name = f"Desk of {''.join(c if c.isalnum() or c in ' -' else ' ' for c in folder.name).strip()}"
    python = sys.executable
    call = "from triage.cli import entry_point; entry_point()"
    if system == "win32":
        quoted = str(folder).replace("%", "%%")
        line = f'"{python}" -c "{call}" desk --survey "{quoted}"'
        return f"{name}.cmd", f"@echo off\nchcp 65001 >nul\n{line}\nif errorlevel 1 pause\n"
    line = f'{_sh(python)} -c "{call}" desk --survey {_sh(str(folder))}'
    if system == "darwin":
        return f"{name}.command", f"#!/bin/sh\nexec {line}\n"
    return f"{name}.desktop", (
        "[Desktop Entry]\nType=Application\nTerminal=true\n"
        f"Name={name}\nExec={_desktop(python)} -c {_desktop(call)} desk"
        f" --survey {_desktop(str(folder))}\n"
    )


def _sh(text: str) -> str:
    """A word for a POSIX shell."""
    return "'" + text.replace("'", "'\\''") + "'"


def _desktop(text: str) -> str:
    """A word of an Exec line (Desktop Entry Specification 1.5, "The Exec key")."""
    for character in '\\"`$':
        text = text.replace(character, "\\" + character)
    return '"' + text.replace("\\", "\\\\").replace("%", "%%") + '"'
