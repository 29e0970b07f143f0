"""What a port of a recording is called."""

from ..job.sweep.faults import CALLED


def named(*ports: str) -> str:
    """Ports in words: "dial and encoder"."""
    return " and ".join(CALLED.get(port, port) for port in ports)
