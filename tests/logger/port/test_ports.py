import os
import pty
from types import SimpleNamespace

import pytest
from serial import SerialException

from coaxly.logger.errors import PortError
from coaxly.logger.port import ports as module
from coaxly.logger.port import serialport
from coaxly.logger.port.ports import Port, is_there, ports, resolve
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


@pytest.fixture
def plugged(monkeypatch, tmp_path):
    """Plug adapters in, each as (device, serial number): links by id as the system makes them, the last one
    of a name having it, and links by socket."""
    for folder in ("by-id", "by-path"):
        (tmp_path / folder).mkdir()
    monkeypatch.setattr(module, "_BY_ID", tmp_path / "by-id")
    monkeypatch.setattr(module, "_BY_PATH", tmp_path / "by-path")

    def plug(*adapters):
        infos = []
        for folder in ("by-id", "by-path"):
            for link in (tmp_path / folder).iterdir():
                link.unlink()
        for socket, (device, serial) in enumerate(adapters):
            path = tmp_path / device
            path.touch()
            link = tmp_path / "by-id" / f"usb-adapter{serial}"
            link.unlink(missing_ok=True)
            link.symlink_to(path)
            (tmp_path / "by-path" / f"socket{socket}").symlink_to(path)
            info = {"vid": 1, "pid": 2, "description": "adapter", "serial_number": serial or None}
            infos.append(SimpleNamespace(device=str(path), **info))
        monkeypatch.setattr(module.list_ports, "comports", lambda: infos)
        return [port.name for port in ports()]

    return plug


def test_two_alike_adapters_are_remembered_by_their_sockets(plugged, tmp_path):
    assert plugged(("a", ""), ("b", "")) == [str(tmp_path / "by-path" / f"socket{k}") for k in (0, 1)]
    with pytest.raises(PortError, match=r"2 ports are alike: name one, .*socket0, .*socket1"):
        resolve("0001:0002")
    assert not is_there("0001:0002")


def test_adapters_with_serial_numbers_are_told_apart_wherever_they_are_plugged_in(plugged, tmp_path):
    names = plugged(("a", "S1"), ("b", "S2"))
    assert names == [str(tmp_path / "by-id" / f"usb-adapterS{k}") for k in (1, 2)]
    plugged(("b", "S1"), ("a", "S2"))
    assert all(map(is_there, names)) and resolve("S1") == str(tmp_path / "b")


def test_a_name_that_a_twin_may_have_taken_is_not_believed(plugged):
    (name,) = plugged(("a", ""))
    assert is_there(name)
    by_socket = plugged(("a", ""), ("b", ""))
    assert not is_there(name) and all(map(is_there, by_socket))
    plugged(("a", ""))
    assert is_there(by_socket[0]) and not is_there(by_socket[1])


def test_a_port_of_windows_is_remembered_by_its_name(monkeypatch):
    info = SimpleNamespace(device="COM3", vid=1, pid=2, description="dial", serial_number=None)
    monkeypatch.setattr(module.list_ports, "comports", lambda: [info])
    assert [port.name for port in ports()] == ["COM3"] and resolve("COM3") == "COM3"
    assert is_there("COM3") and not is_there("COM4") and not is_there("")
    assert resolve(r"\\.\COM3") == resolve("com3:") == "COM3" and is_there("com3") and is_there(r"\\.\com3")


def test_where_no_group_of_ports_is_nobody_is_sent_to_one(monkeypatch):
    """pyserial says on Windows only in words what the system said, and there a port that is open is denied."""
    monkeypatch.setattr(serialport.sys, "platform", "win32")
    lost = "could not open port 'COM9': FileNotFoundError(2, 'not found', None, 2)"
    held = "could not open port 'COM3': PermissionError(13, 'Access is denied.', None, 5)"
    assert "no such port" in explain(SerialException(lost))
    assert "in use by another program" in explain(SerialException(held))
    monkeypatch.setattr(serialport.sys, "platform", "darwin")
    denied = explain(PermissionError(13, "no"), "/dev/cu.usbserial-1")
    assert "no permission" in denied and "usermod" not in denied
