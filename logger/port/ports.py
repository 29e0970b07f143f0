"""The serial ports of this machine."""

import contextlib
import re
from dataclasses import dataclass, replace
from pathlib import Path

from serial.tools import list_ports

from ..errors import PortError

_BY_ID = Path("/dev/serial/by-id")
_BY_PATH = Path("/dev/serial/by-path")


@dataclass(frozen=True, slots=True)
class Port:
    """One port.

    by_id: a name that stays the same when it is plugged in again, or ""; also "" where another adapter here
        is so alike that the name may be that one's next time.
    by_path: a name that stays the same in the same socket, or "".
    busy: whether a program that we may look at has it open; None where the system does not tell.
    """

    device: str
    by_id: str
    description: str
    usb_id: str
    serial_number: str
    busy: bool | None = None
    by_path: str = ""

    @property
    def name(self) -> str:
        """What to remember it by: the name that lasts longest."""
        return self.by_id or self.by_path or self.device


def ports() -> list[Port]:
    """Every serial port that the system knows, by name. Pseudo-terminals are not among them."""
    by_id, by_path = _links(_BY_ID), _links(_BY_PATH)
    found = []
    open_files = _open_files()
    for info in list_ports.comports():
        usb = f"{info.vid:04X}:{info.pid:04X}" if info.vid is not None and info.pid is not None else ""
        description = info.description if info.description not in (None, "n/a") else ""
        device = Path(info.device).resolve()
        found.append(
            Port(
                device=info.device,
                by_id=by_id.get(device, ""),
                description=description,
                usb_id=usb,
                serial_number=info.serial_number or "",
                busy=None if open_files is None else str(device) in open_files,
                by_path=by_path.get(device, ""),
            )
        )
    # Of adapters that cannot be told apart only the last one has the link, whichever that is.
    linkless = {(port.usb_id, port.serial_number) for port in found if port.usb_id and not port.by_id}
    found = [
        replace(port, by_id="") if (port.usb_id, port.serial_number) in linkless else port for port in found
    ]
    return sorted(found, key=lambda port: port.device)


def _links(folder: Path) -> dict[Path, str]:
    return {link.resolve(): str(link) for link in sorted(folder.iterdir())} if folder.is_dir() else {}


def resolve(name: str) -> str:
    """The device of a port that is named by its serial number or USB id; any other name as it is.

    Looked up at every opening, so that a replug under another device name is found. Raises PortError
    where several are named so.
    """
    if "/" in name:
        return name
    name = _as_listed(name)
    alike = [port for port in ports() if name and name in (port.serial_number, port.usb_id)]
    if len(alike) > 1:
        raise PortError(name, f"{len(alike)} ports are alike: name one, {', '.join(p.name for p in alike)}")
    return alike[0].device if alike else name


def _as_listed(name: str) -> str:
    r"""A port of Windows as its system lists it: "com3:" and "\\.\COM10" are COM3 and COM10."""
    com = re.fullmatch(r"(?:\\\\[.?]\\)?(com\d+):?", name, re.IGNORECASE)
    return com[1].upper() if com else name


def is_there(name: str) -> bool:
    """Whether a port that was named once is here, and no other can have its name now. "" is none."""
    if "://" in name:
        return True
    if not name.startswith("/"):
        name = _as_listed(name)
        return sum(name in (each.device, each.serial_number, each.usb_id) for each in ports() if name) == 1
    lasting = Path(name).parent != _BY_ID or any(each.by_id == name for each in ports())
    return lasting and Path(name).exists()


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
            with contextlib.suppress(OSError):
                found.add(str(link.readlink()))
    return found
