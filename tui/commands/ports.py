"""`coaxly ports`: the serial ports of this machine."""

import argparse

from coaxly.logger.port.ports import ports

from .. import output


def run(arguments: argparse.Namespace) -> int:
    """List the ports."""
    found = ports()
    if arguments.json:
        output.json_object({"ports": [port.to_dict() for port in found]})
    elif not found:
        output.text(["no serial port found: plug the indicator in, or try 'coaxly demo' without one"])
    else:
        lines = []
        for port in found:
            extra = " ".join(part for part in (port.usb_id, port.serial_number, port.description) if part)
            busy = "  BUSY: another program has it" if port.busy else ""
            lines.append(f"{port.name}  ({port.device})  {extra}{busy}".rstrip())
        output.text(lines)
    return 0
