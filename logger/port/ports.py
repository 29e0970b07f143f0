"""The serial ports of this machine."""

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from serial.tools import list_ports

_BY_ID = Path("/dev/serial/by-id")


@dataclass(frozen=True, slots=True)
class Port:
    """One port.

    by_id: a name that stays the same when it is plugged in again, or "".
    busy: whether a program that we may look at has it open; None where the system does not tell.
    """

    device: str
    by_id: str
    description: str
    usb_id: str
    serial_number: str
    busy: bool | None = None

    def to_dict(self) -> dict[str, Any]:
        """As a JSON-ready dictionary."""
        return asdict(self)


def ports() -> list[Port]:
    """Every serial port that the system knows, by name. Pseudo-terminals are not among them."""
    by_device = {link.resolve(): str(link) for link in _BY_ID.iterdir()} if _BY_ID.is_dir() else {}
    found = []
    open_files = _open_files()
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
                busy=_is_open(info.device, open_files),
            )
        )
    return sorted(found, key=lambda port: port.device)


def resolve(name: str) -> str:
    """The device of a port that is named by its serial number or USB id; any other name as it is.

    Looked up at every opening, so that a replug under another device name is found.
    """
    if "/" in name:
        return name
    for port in ports():
        if name and name in (port.serial_number, port.usb_id):
            return port.device
    return name


def _open_files() -> set[str] | None:
    """Devices that processes have open, as far as /proc shows; None where there is no /proc."""
    proc = Path("/proc")
    if not (proc / "self" / "fd").is_dir():
        return None
    found = set()
    for folder in proc.glob("[0-9]*/fd"):
        try:
            links = list(folder.iterdir())
        except OSError:
            continue
        for link in links:
            try:
                found.add(str(link.readlink()))
            except OSError:
                continue
    return found


def _is_open(device: str, open_files: set[str] | None) -> bool | None:
    return None if open_files is None else str(Path(device).resolve()) in open_files
