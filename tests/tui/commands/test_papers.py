"""Readings that were written down: from a file, a pipe or a table, as recordings like any other."""

import json
import os
from pathlib import Path

import pytest
from making import THOU
from shopping import SWEEP, Shop, readings

from coaxly.job.folder.snapshot import look
from coaxly.job.steps.audit import audit
from coaxly.logger.clock import SessionClock
from coaxly.main import main

NUMBERS = [float(line) for line in readings(-5, 5).split()]
THOUS = [f"{1000 * number:.2f}" for number in NUMBERS]


@pytest.fixture
def shop(tmp_path):
    shop = Shop(tmp_path / "shop")
    assert shop("job", "open", "van", "--limit", "5thou").code == 0
    return shop


@pytest.fixture
def feed(shop, tmp_path):
    """A sweep whose standard input is a file."""

    def sweep(lines, unit="thou"):
        paper = tmp_path / "paper.txt"
        paper.write_text("\n".join(lines) + "\n")
        with paper.open() as file:
            return shop.fed(file, *(unit if word == "in" else word for word in SWEEP))

    return sweep


def vector(shop, name="found-1.jsonl"):
    done = shop("replay", shop.job("van").path / name, "--json")
    return json.loads(done.out)["eccentricity"]["vector"]


@pytest.mark.parametrize(("unit", "factor"), [("thou", 1e3), ("in", 1.0), ("mm", 25.4), ("um", 25400.0)])
def test_a_number_a_line_in_any_unit_is_the_same_sweep(shop, feed, unit, factor):
    done = feed([f"{number * factor:.6f}" for number in NUMBERS], unit=unit)
    assert done.code == 1, done.err
    assert vector(shop) == pytest.approx((-5 * THOU, 5 * THOU), abs=0.1 * THOU)
    assert look(shop.job("van")).state.next == "choose"
    path = shop.job("van").path / "found-1.jsonl"
    assert json.loads(path.read_text().splitlines()[0])["instrument"]["name"] == "typed"
    assert audit(path).state == "ok"


def test_an_angle_before_the_reading_says_where_it_was_read(shop, feed):
    rows = [f"{45 * k} {number}" for k, number in enumerate(THOUS)]
    assert feed(["# the paper of old", "", *rows[3:], *rows[:3]]).code == 1
    assert vector(shop) == pytest.approx((-5 * THOU, 5 * THOU), abs=0.1 * THOU)


def test_a_bad_row_of_a_file_is_named_and_what_came_before_it_is_kept(shop, feed):
    done = feed([*THOUS[:3], "12,x", *THOUS[4:]])
    assert done.code == 2 and done.out == ""
    said = done.err.splitlines()[-1]
    assert (
        said.startswith("coaxly: row 4: '12,x' was not taken, it is no reading")
        and "The 3 before it" in said
        and "--unit thou --resume" in said
    )
    job = shop.job("van")
    assert look(job).state.next == "sweep found"
    path = job.path / "found-1.jsonl"
    assert audit(path).state == "unfinished"
    rest = feed_on(shop, path, [THOUS[3], *THOUS[4:]])
    assert rest.code == 1, rest.err
    assert vector(shop) == pytest.approx((-5 * THOU, 5 * THOU), abs=0.1 * THOU)
    assert look(job).state.next == "choose"


def feed_on(shop, path, lines):
    reader, writer = os.pipe()
    os.write(writer, ("\n".join(lines) + "\n").encode())
    os.close(writer)
    with os.fdopen(reader) as pipe:
        return shop.fed(pipe, "sweep", "--headless", "--unit", "thou", "--resume", path)


def test_a_file_that_begins_badly_leaves_nothing_behind(shop, feed):
    done = feed(["reading", *THOUS])
    assert done.code == 2 and "row 1: 'reading'" in done.err
    assert not list(shop.job("van").path.glob("found*"))


def test_an_empty_file_is_no_sweep_and_leaves_none(shop, feed):
    empty = feed(["", "# nothing"])
    with Path(os.devnull).open() as file:
        nothing = shop.fed(file, *SWEEP)
    for done in (empty, nothing):
        assert done.code == 2 and "no reading came" in done.err
    assert not list(shop.job("van").path.glob("found*"))


@pytest.mark.parametrize("named", [False, True])
def test_an_input_without_a_reading_finishes_no_half_sweep(shop, feed, named):
    """named: the places of the first readings were written down with them."""
    feed([f"{45 * k} {row}" if named else row for k, row in enumerate(THOUS[:4])] + ["x"])
    path = shop.job("van").path / "found-1.jsonl"
    with Path(os.devnull).open() as file:
        nothing = shop.fed(file, "sweep", "--headless", "--unit", "thou", "--resume", path)
    person = shop("sweep", "--headless", "--unit", "thou", "--resume", path, typed="")
    for done in (nothing, feed_on(shop, path, ["note nothing yet"]), person):
        assert done.code == 2 and "the readings end after 4, and 4 more" in done.err and done.out == ""
        assert look(shop.job("van")).state.next == "sweep found" and audit(path).state == "unfinished"
    assert feed_on(shop, path, THOUS[4:]).code == 1


def test_a_person_whose_readings_end_early_has_not_finished_the_sweep(shop):
    """Ctrl+D at the prompt is the end of the input, as a list's is."""
    done = shop(*SWEEP, typed="".join(f"{each}thou\n" for each in THOUS[:4]))
    assert done.code == 2 and "the readings end after 4, and 4 more" in done.err and done.out == ""
    path = shop.job("van").path / "found-1.jsonl"
    assert audit(path).state == "unfinished" and feed_on(shop, path, THOUS[4:]).code == 1


def test_more_rows_than_were_due_are_no_sweep(shop, feed):
    done = feed([*THOUS, "1.0"])
    assert done.code == 2 and "row 9: '1.0' is one more than the 8 readings" in done.err


def test_a_bare_number_without_any_unit_is_refused(shop, tmp_path, feed):
    paper = tmp_path / "p.txt"
    paper.write_text("\n".join(THOUS))
    with paper.open() as file:
        done = shop.fed(file, *(word for word in SWEEP if word not in ("--unit", "in")))
    assert done.code == 2 and "row 1: " in done.err and "it has no unit" in done.err


def test_thou_are_not_for_a_dial_that_sends_its_numbers(shop):
    done = shop("sweep", "--port", "loop://", "--unit", "thou", "--headless")
    assert done.code == 2 and "scale = 0.001" in done.err


TABLES = {
    "unit in the name": "angle,reading_thou\n" + "".join(f"{45 * k},{v}\n" for k, v in enumerate(THOUS)),
    "unit in a column": "Angle (deg),unit,Reading\n" + "".join(f"{45 * k},thou,{v}\n" for k, v in enumerate(THOUS)),
    "unit behind the number": "angle;reading\n" + "".join(f"{45 * k};{v.replace('.', ',')} thou\n" for k, v in enumerate(THOUS)),
    "clock positions": "reading [in]\tangle\n" + "".join(
        f"{v:.5f}\t{(k * 3 // 2) or 12}:{'30' if k % 2 else '00'}\n" for k, v in enumerate(NUMBERS)
    ),
    "a closing reading": "\ufeffangle,reading_thou\r\n\r\n" + "".join(f"{45 * (k % 8)},{v}\r\n" for k, v in enumerate([*THOUS, THOUS[0]])),
}  # fmt: skip


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_a_table_becomes_a_recording_of_the_job(shop, tmp_path, table):
    paper = tmp_path / "old.csv"
    paper.write_bytes(table.encode())
    done = shop("sweep", "--csv", paper, "--job", "van", "--json")
    assert done.code == 1, done.err
    assert json.loads(done.out)["eccentricity"]["vector"] == pytest.approx(
        (-5 * THOU, 5 * THOU), abs=0.1 * THOU
    )
    path = shop.job("van").path / "found-1.jsonl"
    header = json.loads(path.read_text().splitlines()[0])
    assert header["instrument"]["name"] == "typed" and header["job"] == "van"
    assert header["setup"].get("closing") is ("closing" in table or "\ufeff" in table)
    assert "old.csv" in path.read_text()
    assert audit(path).state == "ok", audit(path)
    assert (
        json.loads(shop("replay", path, "--json").out)["eccentricity"]["vector"]
        == json.loads(done.out)["eccentricity"]["vector"]
    )
    assert look(shop.job("van")).state.next == "choose"


BAD = {
    "angle,reading\n0,1thou\n45,oops\n": "line 3: 'oops' is no reading",
    "angle,reading\n0,1\n45,2\n90,3\n": "line 2: '1' has no unit",
    "angle,reading_thou\n0,1\n45deg?,2\n": "line 3: angle is '45deg?'",
    "angle,reading_thou\n0,1\n45\n": "line 3: it has 1 values",
    "angle,reading_thou,unit\n0,1,furlong\n": "unit is 'furlong'",
    "angle,value\n0,1\n": "column 'value' is not understood",
    "reading_mm\n1\n": "the column angle is missing",
    "angle,reading_mm\n0,1\n0,1\n": "fewer than three places",
    "": "column",
    'angle,reading_mm\n0,"1\n': "line",
}


@pytest.mark.parametrize("table", BAD, ids=range(len(BAD)))
def test_a_bad_table_is_refused_by_its_line_and_nothing_is_begun(shop, tmp_path, table):
    paper = tmp_path / "old.csv"
    paper.write_text(table)
    done = shop("sweep", "--csv", paper, "--job", "van")
    assert done.code == 2 and BAD[table] in done.err and len(done.err.splitlines()) == 1
    assert not list(shop.job("van").path.glob("found*"))


def test_a_table_and_a_dial_do_not_go_together(shop, tmp_path):
    done = shop("sweep", "--csv", tmp_path / "no.csv", "--port", "loop://")
    assert done.code == 2 and "leave --port out" in done.err


def test_a_paper_gives_the_same_bits_however_long_the_machine_takes_to_read_it(
    shop, tmp_path, feed, monkeypatch
):
    """Of a drifting rig, whose drift is shared out by time."""
    drifting = [f"{float(v) + 0.4 * k:.2f}" for k, v in enumerate([*THOUS, THOUS[0]])]
    paper = tmp_path / "p.csv"
    paper.write_text(
        "angle,reading_thou\n" + "".join(f"{45 * k % 360},{v}\n" for k, v in enumerate(drifting))
    )
    found = []
    for job, pace in (("jan", 0.0), ("piet", 0.3)):
        slowly(monkeypatch, pace)
        shop("job", "open", job, "--limit", "5thou")
        assert shop("sweep", "--csv", paper, "--job", job).code == 1
        found.append(records(shop.job(job).path / "found-1.jsonl"))
        assert [r["t"] for r in found[-1] if r["kind"] == "station"] == [float(k) for k in range(1, 10)]
    assert found[0] == found[1]
    monkeypatch.undo()
    closing = [word for word in SWEEP if word != "--no-closing"]
    (tmp_path / "p.txt").write_text("\n".join(drifting))
    for pace in (0.0, 0.3):
        slowly(monkeypatch, pace)
        with (tmp_path / "p.txt").open() as file:
            shop.fed(file, *("thou" if word == "in" else word for word in closing))
    names = ("found-1.jsonl", "found-2.jsonl")
    first, second = (records(shop.job("van").path / name) for name in names)
    assert first == second and first[-1]["result"] == found[0][-1]["result"]


def slowly(monkeypatch, pace):
    """A machine that takes so many seconds each time that it looks at its clock, more each time."""
    real, looks = SessionClock.__call__, iter(range(10_000))
    monkeypatch.setattr(SessionClock, "__call__", lambda self: real(self) + pace * next(looks) ** 2)


def records(path):
    """Stations, raw lines and result of a recording."""
    whole = map(json.loads, path.read_text().splitlines())
    return [record for record in whole if record.get("kind") in ("raw", "station", "result")]


def test_a_list_that_ends_early_is_kept_as_broken_off_and_goes_on(shop, feed):
    done = feed(THOUS[:4])
    assert done.code == 2 and done.out == ""
    said = done.err.splitlines()[-1]
    assert "the readings end after 4, and 4 more stations were due" in said
    job = shop.job("van")
    path = job.path / "found-1.jsonl"
    assert f"coaxly sweep --headless --unit thou --resume {path}" in said
    assert look(job).state.next == "sweep found" and audit(path).state == "unfinished"
    assert feed_on(shop, path, THOUS[4:]).code == 1
    assert look(job).state.next == "choose"
    times = [r["t"] for r in records(path) if r["kind"] == "station"]
    assert times == [float(k) for k in range(1, 9)]


def test_an_audit_of_a_shop_passes_its_journals_by_their_seals(shop, feed, capsys):
    feed(THOUS)
    code, out = main(["audit", str(shop.folder)]), capsys.readouterr().out
    assert code == 0, out
    assert "the journal of a job, 2 seals of it hold" in out and out.endswith("3 files: 3 ok\n")
    journal = shop.job("van").path / "journal.jsonl"
    journal.write_text(journal.read_text().replace('"van"', '"car"', 1))
    assert main(["audit", str(shop.job("van").path)]) == 1
    said = capsys.readouterr().out
    assert said.startswith("changed") or "\nchanged" in said
    assert "3 files:" in said


def test_an_audit_tells_for_good_what_stood_unsealed_in_a_journal(shop, feed, capsys):
    feed(THOUS)
    journal = shop.job("van").path / "journal.jsonl"
    with journal.open("a") as file:
        file.write('{"kind":"note","text":"agreed to 8 thou","time":"2026-11-25T19:33:15Z"}\n')
    assert shop("job", "note", "van", "phoned").code == 0  # its seal covers the line from here on
    for _ in range(2):
        assert main(["audit", str(journal)]) == 1
        said = capsys.readouterr().out
        assert said.startswith("unsealed") and "was not sealed: a crash, or added by hand" in said
        shop("job", "note", "van", "phoned again")


def test_nudging_by_a_sweep_that_was_typed_asks_for_the_dial_and_not_for_its_port(shop, feed):
    feed(THOUS)
    done = shop("nudge", "van", "--port", "loop://", "--headless")
    assert done.code == 2 and "the last sweep was typed" in done.err and "--profile" in done.err


def test_a_list_is_whole_once_it_says_done_or_names_its_places(shop, feed):
    assert feed([*THOUS[:4], "done"]).code == 1
    assert feed([f"{90 * k} {THOUS[2 * k]}" for k in range(4)]).code == 1
    job = shop.job("van")
    for name in ("found-1.jsonl", "found-2.jsonl"):
        assert audit(job.path / name).state == "ok"


def test_a_list_without_its_closing_reading_is_whole(shop, tmp_path):
    paper = tmp_path / "paper.txt"
    paper.write_text("\n".join(THOUS))
    with paper.open() as file:
        words = [word for word in SWEEP if word != "--no-closing"]
        done = shop.fed(file, *("thou" if word == "in" else word for word in words))
    assert done.code == 1 and audit(shop.job("van").path / "found-1.jsonl").state == "ok"


@pytest.mark.parametrize(
    ("first", "row"),
    [
        ("angle,reading_mm,unit", "0,0,thou"),
        ("angle,reading_mm", "0,1thou"),
        ("angle,reading,unit", "0,1mm,in"),
    ],
)
def test_units_that_contradict_each_other_are_refused_by_their_row(shop, tmp_path, first, row):
    table = tmp_path / "old.csv"
    table.write_text(f"{first}\n{row}\n")
    done = shop("sweep", "--job", "van", "--csv", table)
    assert done.code == 2 and "line 2: two units" in done.err and "contradict each other" in done.err


def test_a_unit_that_is_said_twice_is_taken(shop, tmp_path):
    table = tmp_path / "old.csv"
    rows = "".join(f"{45 * k},{thou}thou,thou\n" for k, thou in enumerate(THOUS))
    table.write_text(f"angle,reading_thou,unit\n{rows}")
    assert shop("sweep", "--job", "van", "--csv", table).code == 1
