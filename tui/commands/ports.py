"""`coaxly ports`: the serial ports of this machine."""

import argparse
from dataclasses import asdict

from coaxly.logger.port.ports import ports

from .. import output


def run(arguments: argparse.Namespace) -> int:
    """List the ports."""
    found = ports()
    lines = []
    for port in found:
        extra = " ".join(filter(None, (port.usb_id, port.serial_number, port.description)))
        busy = "  BUSY: another program has it" if port.busy else ""
        device = f"({port.device})" if port.device != port.name else ""
        lines.append("  ".join(filter(None, (port.name, device, f"{extra}{busy}".rstrip()))))
    none = ["no serial port found: plug the indicator in, or try 'coaxly demo' without one"]
    output.answer({"ports": [asdict(port) for port in found]}, lines or none, as_json=arguments.json)
    return 0
