import os
import pty
from types import SimpleNamespace

import pytest

from coaxly.logger.port import ports as module
from coaxly.logger.port import serialport
from coaxly.logger.port.ports import Port, ports, resolve
from coaxly.logger.port.serialport import explain


@pytest.fixture
def one_port(monkeypatch):
    ours, theirs = pty.openpty()
    device = os.ttyname(theirs)
    info = SimpleNamespace(device=device, vid=0x1234, pid=0xABCD, description="dial", serial_number="SN42")
    monkeypatch.setattr(module.list_ports, "comports", lambda: [info])
    yield device, theirs
    os.close(ours)
    os.close(theirs)


def test_a_port_is_found_by_what_stays_the_same(one_port):
    device, _ = one_port
    (port,) = ports()
    assert (port.usb_id, port.serial_number, port.description) == ("1234:ABCD", "SN42", "dial")
    assert resolve("SN42") == device and resolve("1234:ABCD") == device
    assert resolve("/dev/other") == "/dev/other" and resolve("socket://x:1") == "socket://x:1"
    assert resolve("SN43") == "SN43"


def test_a_port_that_is_open_is_busy(one_port):
    (port,) = ports()
    assert port.busy is True
    assert Port("a", "", "", "", "").busy is None


def test_no_such_port_lists_those_there_are(one_port):
    device, _ = one_port
    assert device in explain(FileNotFoundError(2, "no"), "/dev/nope")


@pytest.mark.parametrize(
    ("group", "said"), [("dialout", "usermod -aG dialout"), ("root", "only root may use it")]
)
def test_no_permission_names_the_group_and_the_command_but_never_makes_anybody_root(monkeypatch, group, said):
    monkeypatch.setattr(serialport, "_group_of", lambda url: group)
    words = explain(PermissionError(13, "no"), "/dev/port")
    assert said in words and ("usermod" in words) is (group != "root")
