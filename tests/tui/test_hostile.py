"""Input that means harm: one clear error or a right result, in bounded time and memory."""

import ast
import io
import json
import os
import re
import shutil
from pathlib import Path

import pytest
from bench import fuzzjobs
from bench.fuzz import run
from clockwork import run as simulated
from making import RECORDINGS, by_hand, header_line
from rich.segment import Segment
from screening import rows, until

from coaxly import output
from coaxly.entry.kits import load_kits
from coaxly.entry.lengths import LengthError, parse_length
from coaxly.entry.places import parse_bolts
from coaxly.entry.preferences import load_preferences
from coaxly.errors import UsageError
from coaxly.fitter import FitterError
from coaxly.job.sweep.keeper import discard_if_empty
from coaxly.job.sweep.replayrun import ReplayRun
from coaxly.logger.errors import RecordingError
from coaxly.logger.profile import ProfileError, load
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import FORMAT, VERSION, Header
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.main import main
from coaxly.output import UNSAFE
from coaxly.screens.app import CoaxlyApp, show_replayed
from coaxly.widgets.textlines import CleanLines


def test_broken_files_and_bytes_end_in_words_or_results():
    """A smaller run of tests/bench/fuzz.py."""
    counts, kinds, _ = run(1000, seed=7)
    assert counts["words"] > 150 and counts["result"] > 150 and min(kinds.values()) > 25


def test_broken_shops_end_in_words_or_results():
    """A smaller run of tests/bench/fuzzjobs.py."""
    counts, kinds, slowest = run(250, 7, fuzzjobs.KINDS, fuzzjobs.WEIGHTS)
    assert min(counts.values()) > 50 and min(kinds.values()) > 12 and set(kinds) == set(fuzzjobs.KINDS)
    assert max(slowest.values()) < 3.0


def test_no_text_is_tried_in_every_way_that_its_digits_can_be_parted():
    """What people and files say has no bound of its length: a line of a million digits would take hours."""
    twice = re.compile(r"\\d[+*]\S{1,8}\?\\d\*")
    assert twice.search(r"(\d+\.?\d*)") and twice.search(r"\d+[.,]?\d*")
    for path in (RECORDINGS.parent / "tui").rglob("*.py"):
        assert not twice.search(path.read_text(encoding="utf-8")), path


@pytest.mark.parametrize(("parse", "text"), [
    (parse_length, "9" * 60_000 + "x"), (parse_bolts, "6@" + " " * 60_000 + "@x"),
    (parse_bolts, "6@420mm" + " " * 60_000 + "x"),
])  # fmt: skip
def test_long_words_are_refused_in_a_short_sentence(parse, text):
    with pytest.raises(LengthError) as caught:
        parse(text)
    assert len(str(caught.value)) < 120


def test_a_huge_line_is_refused_unread(tmp_path):
    path = tmp_path / "r.jsonl"
    with path.open("wb") as file:
        file.write(header_line().encode() + b"\n")
        file.seek(1 << 28, 1)  # sparse zeros
        file.write(b"\n")
    with pytest.raises(RecordingError, match="too long"):
        for _ in RecordingReader(path).blocks():
            pass
    assert main(["audit", str(path)]) == 1


def test_many_stations_are_taken_or_refused_in_time(tmp_path, capsys):
    path = tmp_path / "r.jsonl"
    with path.open("w") as file:
        file.write(header_line(angle={"mode": "entered"}) + "\n")
        for k in range(2000):
            file.write(f'{{"t":{k},"kind":"raw","port":"indicator","data":"0.{k % 7}\\n"}}\n')
            file.write(f'{{"t":{k}.1,"kind":"station","deg":{(k * 7) % 360}}}\n')
    assert main(["replay", str(path), "--json"]) in (
        0,
        1,
    )  # no bore reads like that, so a verdict may be withheld
    assert json.loads(capsys.readouterr().out)["stations"] > 1000
    with path.open("a") as file:
        for k in range(2000, 5100):
            file.write(f'{{"t":{k},"kind":"raw","port":"indicator","data":"0.{k % 7}\\n"}}\n')
            file.write(f'{{"t":{k}.1,"kind":"station","deg":{(k * 7) % 360}}}\n')
    assert main(["replay", str(path)]) == 2
    assert "more than 5000 stations" in capsys.readouterr().err


EVIL = "\x1b]0;evil\x07\x1b[2J\u202eoffset\u2028\x9b31m\x7f"


def is_clean(text):
    return not UNSAFE.search(text.replace("\n", ""))


@pytest.mark.parametrize(
    "fields",
    [
        {"setup": {"surface": EVIL}},
        {"setup": {EVIL: 1}},
        {"feature": EVIL},
        {"instrument": {"name": EVIL, "pattern": "x"}},
        {"instrument": {"profile": EVIL, "baud": EVIL}},
        {"angle": {"mode": EVIL}},
        {"angle": {"wrap": EVIL}},
        {"angle": {"mode": "encoder", "direction": EVIL}},
        {"format": EVIL},
        {"software": EVIL, "job": EVIL, "stage": EVIL},
    ],
    ids=lambda fields: "-".join(fields),
)
def test_no_character_of_a_file_steers_the_terminal(tmp_path, capsys, fields):
    path = tmp_path / "r.jsonl"
    result = json.dumps({"t": 9, "kind": "result", "result": {EVIL: EVIL, "tir": {"swept": EVIL}}})
    link = json.dumps({"t": 9, "kind": "link", "port": EVIL, "state": EVIL})
    readings = by_hand(tmp_path / "h.jsonl", [0, 0.001, 0.002, 0.001]).read_text().split("\n", 1)[1]
    head = json.dumps({**json.loads(header_line()), **fields})
    bad = json.dumps({"t": 9, "kind": EVIL, "deg": EVIL}) + json.dumps({"t": EVIL, "kind": "raw" + EVIL})
    path.write_text("\n".join([head, readings, link, result, bad]) + "\n", encoding="utf-8")
    for command in ("audit", "replay", "plan", "verify"):
        extra = {"plan": ["--kit", "5thou"], "verify": [str(path)]}.get(command, [])
        for form in ([], ["--json"]):
            main([command, str(path), *extra, *form])
            said = capsys.readouterr()
            assert said.out + said.err and is_clean(said.out + said.err), (command, said)


def test_the_screen_shows_a_hostile_name_without_obeying_it(tmp_path):
    path = by_hand(tmp_path / "r.jsonl", [0, 0.001, 0.002, 0.001])
    first, rest = path.read_text().split("\n", 1)
    path.write_text(json.dumps({**json.loads(first), "job": "[red]van" + EVIL}) + "\n" + rest)

    async def watched():
        app = CoaxlyApp(lambda app: show_replayed(app, ReplayRun(path, 50.0)), "thou")
        async with app.run_test(size=(100, 30)) as pilot:
            await until(lambda: any("[red]van" in row for row in rows(app)))
            seen = rows(app)
            filters = [f for f in app.get_line_filters() if isinstance(f, CleanLines)]
            await pilot.press("q")
        return seen, filters

    seen, filters = simulated(watched())
    assert all(is_clean(row) for row in seen)
    shown = filters[0].apply([Segment(f"a{EVIL}b"), Segment("c")], None)
    assert "".join(segment.text for segment in shown) == "a]0;evil[2Joffset31mbc"


def test_one_module_writes_to_the_terminal():
    """All others hand it their lines, so that nothing reaches the terminal as a file or a line holds it."""
    root = Path(main.__code__.co_filename).parent.parent
    writing = set()
    for path in (path for package in ("fitter", "logger", "tui") for path in (root / package).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            name = ast.unparse(node.func) if isinstance(node, ast.Call) else ""
            streams = name.startswith(("sys.stdout.write", "sys.stderr.write", "sys.__std", "os.write"))
            if streams or name in ("print", "Console", "pprint", "notify", "self.notify", "app.notify"):
                writing.add(path.relative_to(root).as_posix())
    assert writing <= {"tui/output.py", "logger/rig/rigport.py"}, writing


def test_a_terminal_of_few_letters_is_written_to_all_the_same(monkeypatch):
    stream = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr("sys.stderr", stream)
    output.message("caf\u00e9 \udcff \x1b")
    stream.seek(0)
    assert stream.read() == "caf\\xe9 \\udcff \\x1b\n"


# Files of people: profiles, kits, settings --------------------------------------------------------

HUGE = "9" * 5000
TABLES = {
    "digits": f"baud = {HUGE}\ncount = {HUGE}\nunit = {HUGE}\n",
    "hexadecimal": f"baud = 0x{HUGE}\nmark_deg = 0x{HUGE}\ntake_keys = 0x{HUGE}\n",
    "within": f"[[size]]\noffset = '5thou'\ncount = 0x{HUGE}\n",
    "nines": f"tolerance = '{'9' * 300}thou'\n[[size]]\noffset = '5thou'\n",
    "offset": f"[[size]]\noffset = '{'9' * 400}thou'\n",
    "negative": "tolerance = '-1thou'\n[[size]]\noffset = '5thou'\n",
    "sizes": "[[size]]\noffset = '5thou'\n" * 101,
    "brackets": "x = " + "[" * 5000,
    "bytes": "name = '\udcff'",
    "large": "# " + "x" * (1 << 17),
    "keys": f"'{EVIL}' = 1",
    "nothing": "[",
}


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("what", ["profile", "kit", "settings"])
def test_a_hostile_table_is_refused_in_one_sentence(tmp_path, what, table):
    path = tmp_path / "x.toml"
    path.write_bytes(TABLES[table].encode("utf-8", "surrogateescape"))
    loader = {"profile": lambda: load(str(path)), "kit": lambda: load_kits(str(path)),
              "settings": lambda: load_preferences(path)}[what]  # fmt: skip
    with pytest.raises((ProfileError, FitterError, LengthError, UsageError)) as caught:
        loader()
    said = str(caught.value)
    assert str(path) in said or "x:" in said
    assert len(said.replace(str(path), "")) < 300 and "set_int_max_str_digits" not in said


@pytest.mark.parametrize("what", ["profile", "kit", "settings"])
def test_a_pipe_in_the_place_of_a_table_does_not_wait(tmp_path, what):
    path = tmp_path / "x.toml"
    os.mkfifo(path)
    loader = {"profile": lambda: load(str(path)), "kit": lambda: load_kits(str(path)),
              "settings": lambda: load_preferences(path)}[what]  # fmt: skip
    with pytest.raises((ProfileError, FitterError, UsageError), match="pipe"):
        loader()


def test_a_pipe_among_recordings_does_not_stop_an_audit(tmp_path, capsys):
    os.mkfifo(tmp_path / "a.jsonl")
    shutil.copy(RECORDINGS / "launch-left.jsonl", tmp_path / "b.jsonl")
    assert main(["audit", str(tmp_path)]) == 1
    said = capsys.readouterr().out
    assert "a pipe or a device" in said and "2 recordings: 1 ok" in said
    assert main(["replay", str(tmp_path / "a.jsonl")]) == 2


@pytest.mark.parametrize("t", ["-1e308", "1e308", "-1", "1e9999"])
def test_a_time_that_cannot_be_meant_costs_its_own_line_only(tmp_path, capsys, t):
    path = by_hand(tmp_path / "a.jsonl", [0, 0.001, 0.002, 0.001])
    odd = f'{{"t":{t},"kind":"raw","port":"indicator","data":"+0.1\\r\\n"}}\n'
    path.write_text(path.read_text() + odd + '{"t":9,"kind":"result","result":{"tir":{}}}\n')
    shutil.copy(RECORDINGS / "launch-left.jsonl", tmp_path / "b.jsonl")
    assert main(["audit", str(tmp_path)]) == 1
    assert "damaged: line 10 " in (said := capsys.readouterr().out) and "1 ok" in said
    main(["replay", "--json", str(path)])
    assert json.loads(capsys.readouterr().out)["stations"] == 4


def test_words_that_are_no_text_are_refused_in_one_sentence(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for option in ("--job", "--stage", "--operator"):
        assert main(["sweep", "--profile", "typed", "--unit", "mm", option, "a\udcff"]) == 2
        assert f"{option} holds bytes that are no text" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_number_of_many_digits_is_refused_without_all_of_them(capsys):
    with pytest.raises(SystemExit) as caught:
        main(["listen", "/dev/null", "--baud", HUGE])
    assert caught.value.code == 2 and len(capsys.readouterr().err) < 400


def test_a_file_with_a_hole_is_never_thrown_away(tmp_path):
    path = tmp_path / "r.jsonl"
    for rest in ("rubbish\n", '{"t":1,"ki'):
        RecordingWriter(path, Header(FORMAT, VERSION)).close()
        with path.open("a") as file:
            file.write(rest)
        discard_if_empty(path)
        assert path.exists()
        path.unlink()


def test_a_job_name_cannot_leave_the_folder(tmp_path, monkeypatch):
    from coaxly.job.sweep.begin import free_path

    monkeypatch.chdir(tmp_path)
    path = free_path("../../etc/pass wd\x00", "/x")
    assert path.parent == path.parent.__class__(".") and "/" not in path.name


def test_a_profile_that_would_explode_is_refused(tmp_path):
    path = tmp_path / "p.toml"
    path.write_text("pattern = '''(?P<value>(x{900}){900})'''\n")
    with pytest.raises(ProfileError):
        load(str(path))
