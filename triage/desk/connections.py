"""Keep the desk open to those who ask: a connection that says nothing, or only half, is closed.

A server has room for a hundred connections. Whoever opens more and leaves them open, by a fault or
on purpose, would keep everybody else waiting outside.
"""

from __future__ import annotations

import socket
from typing import Any

from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.server import TcpWSGIServer

SILENT_SECONDS = 30  # without a byte, while nothing is being answered; browsers connect again
HEADER_SECONDS = 10  # from its first byte until a request has said what it wants
ROOM = 20  # places that are kept free of the silent: the longest silent are closed for them


class DeskServer(TcpWSGIServer):  # type: ignore[misc]  # waitress has no types
    """The server of the desk; what is being answered, or comes in byte by byte, is left alone."""

    def readable(self) -> bool:
        """Make room before it is decided whether one more connection is taken."""
        too_many = len(self._map) - (self.adj.connection_limit - ROOM)
        if too_many > 0:
            silent = sorted(self._silent(), key=lambda channel: channel.last_activity)
            for channel in silent[:too_many]:
                channel.will_close = True
        return bool(super().readable())

    def maintenance(self, now: float) -> None:
        """Close what has been silent too long, and requests whose header does not end."""
        super().maintenance(now)
        for channel in self._silent():
            if channel.request is None or channel.request.headers_finished:
                channel.header_since = now
            elif now - getattr(channel, "header_since", channel.creation_time) > HEADER_SECONDS:
                channel.will_close = True

    def _silent(self) -> list[Any]:
        """Connections that wait for their other end, and not for an answer of the desk's."""
        open_ones: list[HTTPChannel] = list(self.active_channels.values())
        return [one for one in open_ones if not one.requests and not one.total_outbufs_len]


def serve_on(listening: socket.socket, app: Any, *, threads: int, body_bytes: int) -> DeskServer:
    """A server on a socket that is bound already; ``run`` starts it."""
    adjusted = Adjustments(
        sockets=[listening],
        threads=threads,
        ident="",
        clear_untrusted_proxy_headers=True,
        max_request_body_size=body_bytes,
        channel_timeout=SILENT_SECONDS,
        cleanup_interval=1,
    )
    kind = (listening.family, listening.type, listening.proto, listening.getsockname())
    return DeskServer(app, _sock=listening, adj=adjusted, sockinfo=kind, bind_socket=False)
