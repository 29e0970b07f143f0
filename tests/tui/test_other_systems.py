"""Windows and macOS, as far as can be shown here: letters that a terminal lacks, names that a system keeps for
itself, line ends of another editor. `test_terminal.py` works a job without the modules of POSIX."""

import io
import sys

import pytest
from making import RECORDINGS
from shopping import Shop

from coaxly.entry.foundlist import load_found
from coaxly.entry.keyring import known_keys, known_path
from coaxly.entry.kits import load_kits
from coaxly.entry.lengths import parse_length
from coaxly.entry.papers import load_table
from coaxly.entry.preferences import load_preferences, preferences_path
from coaxly.job.folder import packing
from coaxly.job.folder.ownsettings import set_setting
from coaxly.job.folder.rigs import rig_named
from coaxly.job.folder.shop import no_name_on_windows, plain
from coaxly.job.folder.snapshot import look
from coaxly.logger.profile import load
from coaxly.main import main

FOUND, LEFT = RECORDINGS / "launch-found.jsonl", RECORDINGS / "launch-left.jsonl"
TITLE = "Zoë’s ‘van’ → №7 ½ 車"


@pytest.mark.parametrize("page", ["cp1252", "cp437", "cp932", "ascii"])
def test_a_terminal_that_lacks_letters_is_told_all_the_same(tmp_path, monkeypatch, page):
    shop = tmp_path / "shop"
    Shop(shop)("job", "open", TITLE, "--customer", "Ümit Çelik")
    for words, code in (
        (["job", "list", "--shop", shop], 0),
        (["job", "show", "1", "--shop", shop], 0),
        (["job", "show", "Żuk", "--shop", shop], 2),
        (["plan", FOUND, "--kit", "5thou,10thou", "--dowels=-5in,0in 5in,0in"], 0),
        (["verify", FOUND, LEFT, "--fitted", "5thou@122"], 0),
        (["plan", FOUND, "--kit", "5thou", "--in", "um"], 0),
        (["help", "numbers"], 0),
        (["help", "×"], 2),
        (["sweep", "--help-all"], 0),
        (["settings"], 0),
    ):
        out, err = (io.TextIOWrapper(io.BytesIO(), encoding=page, newline="\r\n") for _ in "12")
        monkeypatch.setattr(sys, "stdout", out)
        monkeypatch.setattr(sys, "stderr", err)
        try:
            ended = main([str(word) for word in words])
        except SystemExit as stop:
            ended = stop.code or 0
        said = [stream.buffer.getvalue().decode(page) for stream in (out, err)]
        monkeypatch.undo()
        assert ended == code and said[code == 2] and "Traceback" not in said[1], (words, said[1])


@pytest.mark.parametrize("name", ["CON", "nul", "Aux", "com1", "LPT9", "com¹", "prn"])
def test_no_file_of_ours_has_the_name_of_a_device(tmp_path, name):
    assert plain(name).endswith("-1") and not no_name_on_windows(plain(name))
    assert not no_name_on_windows(rig_named(name, tmp_path).path.name)
    assert no_name_on_windows(f"{name}.jsonl") and plain(f"{name}sole").endswith("sole")


@pytest.mark.parametrize(
    ("name", "on_windows"),
    [("aux.jpg", False), ("found-1.jsonl.", False), ("why?.txt", False), ("console.txt", True)],
)
def test_a_packed_job_with_a_name_that_windows_has_no_file_for_stays_packed_there(
    tmp_path, monkeypatch, name, on_windows
):
    shop = Shop(tmp_path / "shop")
    assert shop("job", "open", "van").code == 0
    (shop.job("van").path / name).write_text("x", encoding="utf-8")
    assert shop("job", "pack", "van", "-o", tmp_path / "van.zip").code == 0
    assert Shop(tmp_path / "here")("job", "unpack", tmp_path / "van.zip").code == 0
    monkeypatch.setattr(packing.sys, "platform", "win32")
    there = Shop(tmp_path / "there")("job", "unpack", tmp_path / "van.zip")
    assert (there.code == 0) == on_windows and on_windows == ("that Windows keeps" not in there.err)


@pytest.fixture
def written(tmp_path, monkeypatch):
    """Writes a file as an editor of Windows does: a mark before it, CR and LF."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))

    def write(path, text):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
        return path

    return write


def test_every_file_that_people_write_may_come_from_an_editor_of_windows(tmp_path, written):
    kit = written(tmp_path / "drawer.toml", '# mine\n[[size]]\noffset = "7thou"\ncount = 2\n')
    assert [size.count for size in load_kits(str(kit)).sizes] == [2]
    profile = written(tmp_path / "dial.toml", 'pattern = "(?P<value>[-+][0-9.]+)"\nunit = "mm"\n')
    assert load(str(profile)).unit == "mm"
    rig = rig_named("bench", tmp_path)
    sag = '[sag]\ndate = 2026-11-25\namount = "2thou"\nu95 = "0.2thou"\n'
    written(rig.path, f'# mine\nname = "bench"\ntip_angle = 30\n{sag}')
    assert rig.setup()["tip_angle_deg"] == 30.0
    written(known_path(), f'me = "{"ab" * 32}"\n')
    assert list(known_keys()) == ["ab" * 32]
    paper = written(tmp_path / "paper.csv", "angle,reading,unit\n0,1.5,thou\n90,2.5,thou\n180,1.5,thou\n")
    assert len(load_table(paper, "thou", load("typed"))) == 3
    head = "block_family,housing_family,unit,x,y\n"
    assert len(load_found(written(tmp_path / "jobs.csv", f"{head}B,R,thou,1,2\n"))) == 1


def test_settings_and_job_toml_keep_the_line_ends_they_came_with(tmp_path, written):
    path = written(preferences_path(), '# mine\nunit = "mm"\n')
    set_setting("kit", "5thou")
    assert load_preferences().unit == "mm" and load_preferences().kit == "5thou"
    data = path.read_bytes()
    assert b"# mine\r\n" in data and data.count(b"\r\n") == data.count(b"\n")
    shop = Shop(tmp_path / "shop")
    assert shop("job", "open", "van").code == 0
    job = shop.job("van")
    toml = job.path / "job.toml"
    written(toml, toml.read_text(encoding="utf-8") + "# mine\n")
    job.edit(limit="3thou")
    assert (
        parse_length(look(job).details.limit) == parse_length("3thou") and b"# mine\r\n" in toml.read_bytes()
    )
