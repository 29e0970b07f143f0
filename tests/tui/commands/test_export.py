"""Stations and readings as tables that other programs read."""

import csv
import io
import json
import sys
from pathlib import Path

import pytest
from making import RECORDINGS, by_hand
from pyarrow import parquet
from shopping import SWEEP, Shop, readings

import coaxly
from coaxly.main import main
from coaxly.report.tables import csv_text

FOUND = RECORDINGS / "launch-found.jsonl"
KNOCKED = RECORDINGS / "launch-knocked.jsonl"


@pytest.fixture
def export(capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)

    def run(*words):
        code = main(["export", *map(str, words)])
        return code, *capsys.readouterr()

    return run


@pytest.mark.parametrize("what", ["stations", "readings"])
def test_a_table_holds_the_columns_of_the_library_with_all_their_digits(export, what):
    code, out, err = export(FOUND, "--what", what, "-o", "x.csv")
    assert (code, err) == (0, "") and "recording: x.csv" in out
    with Path("x.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    columns = getattr(coaxly.read(FOUND), what)()
    assert list(rows[0]) == ["file", "job", "stage", "feature", *columns]
    assert {row["file"] for row in rows} == {"launch-found.jsonl"} and rows[0]["stage"] == "found"
    for name, column in columns.items():
        kind = {"f": float, "i": int, "b": lambda text: {"true": True, "false": False}[text]}
        found = [kind.get(column.dtype.kind, str)(row[name] or "nan") for row in rows]
        assert all(a == b or (a != a and b != b) for a, b in zip(found, column.tolist(), strict=True)), name


def test_parquet_holds_the_same(export):
    assert export(KNOCKED, "-o", "x.parquet")[0] == 0
    table = parquet.read_table("x.parquet")
    for name, column in coaxly.read(KNOCKED).stations().items():
        expected = [None if x != x else x for x in column.tolist()]
        assert table[name].to_pylist() == expected


def test_parquet_without_its_package_names_the_extra_before_anything_is_read(export, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    code, out, err = export("nowhere.jsonl", "-o", "x.parquet")
    assert (code, out) == (2, "") and "pip install 'coaxly[table]'" in err and err.count("\n") == 1


def test_what_is_there_is_not_written_over(export, tmp_path):
    (tmp_path / "x.csv").write_text("kept")
    code, _, err = export(FOUND, "-o", "x.csv")
    assert code == 2 and "x.csv is there already: give another name" in err
    assert (tmp_path / "x.csv").read_text() == "kept"


def test_a_name_that_says_no_form_is_refused(export):
    code, _, err = export(FOUND, "-o", "x.xlsx")
    assert code == 2 and "end it in .csv or .parquet" in err


def test_a_dash_puts_the_table_on_standard_output(export, tmp_path):
    code, out, err = export(FOUND, "-o", "-")
    assert (code, err) == (0, "") and not list(tmp_path.iterdir())
    assert len(list(csv.reader(io.StringIO(out)))) == 10
    code, out, err = export(FOUND, "-o", "-", "--json")
    assert (code, out) == (2, "") and "leave --json out" in err


def test_json_says_what_was_written(export):
    code, out, _ = export(FOUND, "-o", "x.csv", "--json")
    said = json.loads(out)["export"]
    assert code == 0 and (said["path"], said["rows"], said["what"]) == ("x.csv", 9, "stations")
    assert said["columns"][:2] == ["file", "job"]


def test_what_was_changed_is_in_no_table_unless_asked_for(export, tmp_path):
    (tmp_path / "a.jsonl").write_bytes(FOUND.read_bytes().replace(b"+00", b"+01", 1))
    code, _, err = export("a.jsonl", "-o", "x.csv")
    assert code == 2 and "is not as it was recorded" in err and not (tmp_path / "x.csv").exists()
    code, _, err = export("a.jsonl", "-o", "x.csv", "--anyway")
    assert code == 0 and "! a.jsonl is not as it was recorded" in err


def test_what_could_not_be_read_is_said(export, tmp_path):
    whole = by_hand(tmp_path / "a.jsonl", [0.001, 0.0, -0.001, 0.0]).read_text()
    (tmp_path / "a.jsonl").write_text(whole.replace('"kind": "station", "deg": 90.0}', '"kind": "sta'))
    code, _, err = export("a.jsonl", "-o", "x.csv")
    assert code == 0 and "! a.jsonl: damaged: line 5" in err and "the rest was read" in err


def test_of_a_job_each_row_says_which_sweep_it_is_of(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shop = Shop(tmp_path / "shop")
    assert shop("job", "open", "van", "--limit", "5thou").code == 0
    assert "nothing was swept yet" in shop("export", "van", "-o", "x.csv").err
    assert shop(*SWEEP, typed=readings(3, 4)).code in (0, 1)
    assert shop("job", "fitted", "van", "5thou@217").code == 0
    assert shop(*SWEEP, "--stage", "left", typed=readings(0.1, 0.2)).code in (0, 1)
    (folder,) = (path for path in (tmp_path / "shop").iterdir() if path.is_dir())
    (folder / "left-2.jsonl").write_bytes((folder / "left-1.jsonl").read_bytes()[:3000])
    done = shop("export", "van", "-o", "x.csv")
    assert done.code == 0 and "16 stations of 2 recordings" in done.out
    assert "left-2.jsonl is no finished sweep of the job" in done.err
    rows = list(csv.DictReader((tmp_path / "x.csv").open(newline="")))
    assert [(row["file"], row["job"], row["stage"]) for row in rows[::8]] == [
        ("found-1.jsonl", "van", "found"), ("left-1.jsonl", "van", "left"),
    ]  # fmt: skip
    assert [float(row["deg"]) for row in rows] == [45.0 * k for k in range(8)] * 2


def test_text_of_a_recording_steers_nothing():
    import numpy as np

    text = csv_text({"job": np.array(['a\x1b[2J,"b"\n'])})
    assert text == 'job\n"a\\x1b[2J,""b""\\n"\n'


def test_replay_puts_its_stations_into_json(capsys):
    assert main(["replay", str(FOUND), "--json"]) == 1
    said = json.loads(capsys.readouterr().out)
    assert said["stations"] == 8 and len(said["table"]) == 9
    columns = coaxly.read(FOUND).stations()
    for k, row in enumerate(said["table"]):
        for name, value in row.items():
            expected = columns[name][k].item()
            assert value == expected or (value is None and expected != expected)


def test_of_recordings_put_together_each_row_says_which_and_what_all_of_them_make_of_it(capsys, recording):
    eight = [0.001, 0.002, 0.0, 0.0, -0.001, -0.002, 0.0, 0.0]
    a, b = recording(eight), recording([v + 0.1 + 0.0001 * (k % 3) for k, v in enumerate(eight)])
    main(["replay", str(a), str(b), "--json"])
    table = json.loads(capsys.readouterr().out)["table"]
    assert [row["recording"] for row in table] == [1] * 8 + [2] * 8
    # About the zero of the first, and beside one surface: not each by itself.
    surface = [row["corrected_mm"] - row["residual_mm"] for row in table]
    assert surface[:8] == pytest.approx(surface[8:], abs=1e-9)
    alone = coaxly.read(b).stations()["residual_mm"]
    assert any(abs(row["residual_mm"] - r) > 1e-6 for row, r in zip(table[8:], alone, strict=True))


def test_a_check_of_a_dial_has_its_steps(capsys, recording):
    rounds = [0.0, 0.5, 1.0, 1.0, 0.5, 0.0] * 2
    path = recording(rounds, list(range(12)), unit="mm", feature="steps", setup={"steps_mm": rounds})
    assert main(["replay", str(path), "--json"]) == 0
    assert [row["step_mm"] for row in json.loads(capsys.readouterr().out)["table"]] == rounds
