"""No test reaches the network: connections to anything but this machine are refused."""

from __future__ import annotations

import ipaddress
import os
import socket
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Callable

LOCAL_NAMES: Final = frozenset({"", "localhost", "ip6-localhost", socket.gethostname()})


if "PYTEST_XDIST_WORKER" in os.environ:
    # Workers share the cores; were each to use them all for its matrices, they would wait for each other.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

sys.path.insert(0, str(Path(__file__).parent / "trust"))  # helpers of tests/trust import each other


def _local(address: Any) -> bool:  # noqa: ANN401 - an address is whatever its family has it be
    if not isinstance(address, tuple):
        return True  # a socket file
    host = address[0]
    if host is None or host in LOCAL_NAMES:
        return True
    try:
        return ipaddress.ip_address(host).is_loopback or _is_own(host)
    except ValueError:
        return False


def _is_own(host: str) -> bool:
    """Return whether it is this machine's own address, as a local cluster of processes uses."""
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.bind((host, 0))
        except OSError:
            return False
    return True


def pytest_configure() -> None:
    """Guard every way out of a socket."""

    def guarded(way: Callable[..., Any]) -> Callable[..., Any]:
        def connect(self: socket.socket, address: Any) -> Any:  # noqa: ANN401 - as the socket's own
            if not _local(address):
                raise PermissionError(f"a test tried to reach {address!r}; no test uses the network")
            return way(self, address)

        return connect

    for name in ("connect", "connect_ex"):
        setattr(socket.socket, name, guarded(getattr(socket.socket, name)))
