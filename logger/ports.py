"""The serial ports of this machine."""

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from serial.tools import list_ports

_BY_ID = Path("/dev/serial/by-id")


@dataclass(frozen=True, slots=True)
class Port:
    """One port. by_id: a name that stays the same when it is plugged in again, or ""."""

    device: str
    by_id: str
    description: str
    usb_id: str
    serial_number: str

    def to_dict(self) -> dict[str, Any]:
        """As a JSON-ready dictionary."""
        return asdict(self)


def ports() -> list[Port]:
    """Every serial port that the system knows, by name. Pseudo-terminals are not among them."""
    by_device = {link.resolve(): str(link) for link in _BY_ID.iterdir()} if _BY_ID.is_dir() else {}
    found = []
    for info in list_ports.comports():
        usb = f"{info.vid:04X}:{info.pid:04X}" if info.vid is not None and info.pid is not None else ""
        description = info.description if info.description not in (None, "n/a") else ""
        found.append(
            Port(
                device=info.device,
                by_id=by_device.get(Path(info.device).resolve(), ""),
                description=description,
                usb_id=usb,
                serial_number=info.serial_number or "",
            )
        )
    return sorted(found, key=lambda port: port.device)
