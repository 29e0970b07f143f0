"""What a command said is on the disk when it returns: the plug is pulled after each, and nothing of it is missing."""

import pytest
from PIL import Image
from powercut import PowerCut, there
from shopping import SWEEP, Shop, readings

from coaxly.entry.preferences import Memory
from coaxly.main import main


@pytest.fixture
def cut(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    with PowerCut(tmp_path) as cut:
        yield cut


def lost(cut):
    """Names of files that would not be there, or not whole."""
    kept = cut.survived()
    return [name for name, data in there(cut.root).items() if kept.get(name) != data]


def test_nothing_that_was_said_is_missing_after_a_power_cut(cut, tmp_path):
    shop = Shop(tmp_path / "new" / "shop")
    pictures = tmp_path.parent / f"{tmp_path.name}-pictures"
    pictures.mkdir()
    Image.new("RGB", (40, 30), "red").save(pictures / "dial.png")
    steps = [
        (("job", "open", "blue van", "--limit", "5thou", "--kit", "5thou,7thou"), ""),
        (SWEEP, readings(-5, 5)),
        (("plan", "van", "--take", "1"), ""),
        (("job", "fitted", "van"), ""),
        ((*SWEEP, "--stage", "left"), readings(-0.1, 0.1)),
        (("verify", "van"), ""),
        (("job", "note", "van", "a word"), ""),
        (("job", "photo", "van", pictures / "dial.png"), ""),
        (("report", "van"), ""),
        (("report", "van", "-o", tmp_path / "r.pdf"), ""),
        (("job", "close", "van"), ""),
        (("job", "pack", "van", "-o", tmp_path / "van.zip"), ""),
        (("job", "unpack", tmp_path / "van.zip"), ""),
    ]
    for words, typed in steps:
        assert shop(*words, typed=typed).code in (0, 1), words
        assert lost(cut) == [], words
    assert len(there(tmp_path)) == 14


def test_keys_are_not_lost(cut, tmp_path):
    assert main(["key", "--make"]) == 0
    assert lost(cut) == []
    assert main(["key", "--know", "ab" * 32, "--name", "front bench"]) == 0
    assert main(["key", "--know", "cd" * 32, "--name", "back bench"]) == 0
    assert lost(cut) == [] and len(there(tmp_path)) == 2


def test_what_a_screen_remembers_is_never_half_there(cut, tmp_path):
    memory = Memory(tmp_path / "state" / "last.json")
    for port in ("one", "two" * 100, "three"):
        memory.keep(port=port)
        assert lost(cut) == []


def test_the_bench_itself_tells_what_was_not_forced(cut, tmp_path):
    (tmp_path / "x").write_text("never forced")
    assert lost(cut) == ["x"]
