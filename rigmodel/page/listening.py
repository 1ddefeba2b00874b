"""The socket that a server of ours listens on."""

from __future__ import annotations

import socket


def listen(host: str, port: int) -> socket.socket:
    """A socket that listens; what is written to its connections is sent at once.

    Args:
        host: address, IPv6 in brackets or without.
        port: port, or 0 for any that is free.

    Raises:
        OSError: the address cannot be bound to.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listening = socket.create_server((host.strip("[]"), port), family=family)
    # Connections take this over. Without it the body of an answer waits some 40 ms for the
    # other side to say that it has the head.
    listening.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return listening
