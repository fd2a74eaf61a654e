"""The guard of tests/conftest.py holds."""

from __future__ import annotations

import socket

import pytest


@pytest.mark.parametrize("address", [("192.0.2.1", 80), ("example.invalid", 443)])
def test_the_network_is_out_of_reach(address: tuple[str, int]) -> None:
    """192.0.2.0/24 is set aside for documentation (RFC 5737); the guard refuses before anything is sent."""
    with socket.socket() as end, pytest.raises(PermissionError, match="no test uses the network"):
        end.connect(address)


def test_this_machine_is_in_reach() -> None:
    """Clusters of processes on this machine work."""
    with socket.socket() as server, socket.socket() as client:
        server.bind(("127.0.0.1", 0))
        server.listen()
        client.connect(server.getsockname())
