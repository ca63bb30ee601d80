"""A desk that many connections are opened to and left open still answers whoever asks."""

from __future__ import annotations

import http.client
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest

from triage.bench.desk_browser import running
from triage.desk.connections import HEADER_SECONDS, SILENT_SECONDS, DeskServer, serve_on

LONG = 60  # seconds that a test may wait
ASKED = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"


class Desk:
    """A server that answers 'here', at /slow only when it is told to."""

    def __init__(self) -> None:
        self.may_answer = threading.Event()
        self.asked = threading.Event()
        listening = socket.socket()
        listening.bind(("127.0.0.1", 0))
        self.address = listening.getsockname()
        self.server: DeskServer = serve_on(listening, self.answer, threads=4, body_bytes=10_000)

    def answer(self, environ: dict[str, str], start: Callable[..., object]) -> list[bytes]:
        if environ["PATH_INFO"] == "/slow":
            self.asked.set()
            self.may_answer.wait(LONG)
        start("200 OK", [("Content-Type", "text/plain"), ("Content-Length", "4")])
        return [b"here"]

    def connect(self, said: bytes = b"") -> socket.socket:
        made = socket.create_connection(self.address, timeout=LONG)
        made.sendall(said)
        return made

    def seen(self, count: int) -> None:
        """Wait until the server has so many connections, all that they sent read."""
        end = time.monotonic() + LONG
        while len(self.server.active_channels) < count and time.monotonic() < end:
            time.sleep(0.01)
        time.sleep(0.1)


@pytest.fixture
def desk() -> Iterator[Desk]:
    made = Desk()
    with running(made.server):
        yield made
        made.may_answer.set()


@pytest.mark.parametrize("said", [b"", b"GET / HTTP/1.1\r\nHos", b"POST / HTTP/1.1\r\nContent-"])
def test_hundreds_of_connections_that_ask_nothing_keep_nobody_out(desk: Desk, said: bytes, caplog):
    with ExitStack() as left_open:
        for _ in range(350):
            left_open.enter_context(desk.connect(said))
        for _ in range(3):
            asking = http.client.HTTPConnection(*desk.address, timeout=LONG)
            asking.request("GET", "/")
            assert asking.getresponse().read() == b"here"
            asking.close()
    assert caplog.text == ""  # the server's own words would stand on the screen


def test_an_answer_under_way_is_not_cut_off_by_others_who_connect(desk: Desk):
    with ExitStack() as left_open:
        waiting = left_open.enter_context(desk.connect(ASKED.replace(b"/ ", b"/slow ")))
        assert desk.asked.wait(LONG)
        for _ in range(150):
            left_open.enter_context(desk.connect())
        desk.server.maintenance(time.time() + 10 * SILENT_SECONDS)
        desk.may_answer.set()
        answer = b""
        while not answer.endswith(b"here"):  # head and body may come in two parts
            part = waiting.recv(1000)
            assert part, answer
            answer += part


def closed(connection: socket.socket, desk: Desk) -> bool:
    """Whether the server has closed its end; what it keeps answers one more request."""
    desk.server.pull_trigger()
    connection.settimeout(LONG)
    try:
        connection.sendall(b"\r\n\r\n")
        return connection.recv(1000) == b""
    except ConnectionError:
        return True


@pytest.mark.parametrize(
    ("said", "seconds", "ends"),
    [
        (b"", SILENT_SECONDS + 1, True),
        (b"GET / HTTP/1.1\r\nHost: a", SILENT_SECONDS + 1, True),
        (b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 4\r\n\r\n", SILENT_SECONDS + 1, True),
        (b"GET / HTTP/1.1\r\nHost: a", HEADER_SECONDS + 1, True),
        (b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 4\r\n\r\n", HEADER_SECONDS + 1, False),
        (b"GET / HTTP/1.1\r\nHost: a", HEADER_SECONDS - 5, False),
    ],
)
def test_a_connection_may_be_silent_for_some_seconds(
    desk: Desk, said: bytes, seconds: int, ends: bool
):
    with desk.connect(said) as connection:
        desk.seen(1)
        desk.server.maintenance(time.time() + seconds)
        assert closed(connection, desk) is ends
