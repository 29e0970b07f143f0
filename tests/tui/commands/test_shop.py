"""What a shop learns, as the command line says it."""

import json
import math

import numpy as np
import pytest
from making import RECORDINGS, by_hand

from fitter.units import MM_PER_THOU
from tui.entry.foundlist import load_found
from tui.errors import UsageError
from tui.main import main

SHOP = RECORDINGS / "made-shop.csv"
HEAD = "block_family,housing_family,unit,tir,high_deg,u95,date,fitted_x,fitted_y\n"


def table(tmp_path, *rows, head=HEAD):
    path = tmp_path / "jobs.csv"
    path.write_text(head + "".join(row + "\n" for row in rows))
    return path


def test_the_made_shop_tells_its_families_and_its_new_batch(capsys):
    assert main(["ledger", "--csv", str(SHOP)]) == 1
    said = capsys.readouterr().out
    assert "Housings of family north    24 jobs  3.3 +- 2.7 thou towards 4:52" in said
    assert "Blocks of family cast       30 jobs  no difference shows" in said
    assert "not what they were: since about 2026-06-06" in said


def test_the_same_in_one_json_object(capsys):
    main(["ledger", "--csv", str(SHOP), "--json"])
    found = json.loads(capsys.readouterr().out)
    assert found["ledger"]["jobs"] == 72 and len(found["ledger"]["families"]) == 5
    assert {change["family"] for change in found["changes"]} == {"west"}


def test_a_line_is_the_centre_of_the_bore_with_fitted_dowels_taken_out(tmp_path):
    job = load_found(table(tmp_path, "a,b,thou,10,90,1.96,2026-01-02,2,0"))[0]
    # A dial in a bore reads highest at 3 o'clock where the bore sits towards 9 o'clock.
    assert job.vector == pytest.approx((-7.0 * MM_PER_THOU, 0.0), abs=1e-12)
    assert job.covariance[0][0] == pytest.approx(MM_PER_THOU**2)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("a,b,feet,10,90,,,,", "line 3: unit is 'feet'"),
        ("a,b,thou,ten,90,,,,", "line 3: tir is 'ten', no number"),
        (
            "a,b,thou,10thou,90,,,,",
            "line 3: tir is '10thou', no number: the unit belongs into the column unit",
        ),
        ("a,b,thou,10,,,,,", "line 3: high_deg is empty"),
        ("a,b,thou,10,400,,,,", "line 3: high_deg is 400"),
        (",b,thou,10,90,,,,", "line 3: block_family is empty"),
        ("a,b,thou,10,90,0,,,", "line 3: u95 must be more than nothing"),
        ("a,b,thou,10,90,,yesterday,,", "line 3: date is 'yesterday'"),
        ("a,b,thou,nan,90,,,,", "line 3: tir is 'nan'"),
        ("a,b,thou,10,90,,,,,9", "line 3: there are more values than columns"),
        ("a,b,thou,10,5,90,,,,", "line 3: there are more values than columns: a decimal comma?"),
        ("a,b,in,10,90,,,,", "line 3: 5 in is farther than any housing is off: is the unit right"),
        ("a,b,thou,10,90,,,,", "line 3 is line 2 again"),
        ('a,"b,thou,10,90,,,,', "line 3: a quotation mark is never closed"),
        ("a,b", "line 3: unit is empty"),
    ],
)
def test_a_bad_line_is_named_in_one_sentence(tmp_path, row, words):
    with pytest.raises(UsageError, match=words) as refused:
        load_found(table(tmp_path, "a,b,thou,10,90,,,,", row))
    assert "\n" not in str(refused.value) and len(str(refused.value)) < 250


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("block_family,housing_family,unit,x,y,colour\n", "line 1: unknown column 'colour'"),
        ("block_family,housing_family,unit,x,y,x\n", "line 1: there are two columns x"),
        (
            "block_family,housing_family,unit,x\n",
            "line 1: the columns tir and high_deg, or x and y, are missing",
        ),
        ("made 2026;by D\n", "line 1: the column block_family is missing"),
        ("block_family,housing_family,unit,x,y\n", "holds no job"),
        ("", "is empty"),
        ("\n\n", "is empty"),
    ],
)
def test_a_table_without_proper_columns_or_jobs_is_refused(tmp_path, head, words):
    with pytest.raises(UsageError, match=words):
        load_found(table(tmp_path, head=head))


def test_a_table_as_spreadsheets_save_it_is_read(tmp_path):
    """A byte order mark, semicolons, decimal commas, or tabs, and lines that end as on other systems."""
    plain = load_found(table(tmp_path, "a,b,thou,4.5,90,,2026-01-02,,", "a,c,mm,0.1,45,,,,"))
    rows = [HEAD.strip(), "a,b,thou,4.5,90,,2026-01-02,,", "a,c,mm,0.1,45,,,,"]
    path = tmp_path / "other.csv"
    for mark, end in ((";", "\r\n"), ("\t", "\r\n"), (";", "\n")):
        text = end.join(row.replace(",", mark).replace(".", ",") for row in rows) + end
        path.write_bytes(b"\xef\xbb\xbf" + text.encode())
        read = load_found(path)
        assert [(job.vector, job.day) for job in read] == [(job.vector, job.day) for job in plain]


def test_a_table_that_is_none_is_refused_in_one_sentence(tmp_path, capsys):
    utf16, large, bytes_ = (tmp_path / name for name in ("utf16.csv", "large.csv", "bytes.csv"))
    utf16.write_text(HEAD, encoding="utf-16")
    bytes_.write_bytes(HEAD.encode() + b"a,b,thou,1,2,,,,\nZo\xeb,b,thou,1,2,,,,\n")
    with large.open("wb") as file:
        file.truncate(100 << 20)
    for path, words in (
        (utf16, "line 1: no text in UTF-8"),
        (bytes_, "line 3: no text in UTF-8"),
        (large, "larger than 16384 KiB"),
        (tmp_path, "it is a folder"),
        (tmp_path / "nowhere.csv", "No such file"),
    ):
        assert main(["ledger", "--csv", str(path)]) == 2
        err = capsys.readouterr().err
        assert words in err and len(err.strip().splitlines()) == 1, err


def test_repeated_sweeps_say_what_measuring_costs(tmp_path, capsys):
    files = []
    for k in range(6):
        # Two mountings that differ by a thou in y, three repeats that differ by a tenth of it in x.
        x, y = 0.0001 * (k % 3 - 1), 0.001 * (k // 3)
        waves = [
            5e-3 * math.cos(t) - x * math.sin(t) - y * math.cos(t) for t in np.deg2rad(np.arange(0, 360, 45))
        ]
        files.append(str(by_hand(tmp_path / f"{k}.jsonl", waves)))
    assert main(["study", *files[:3], "+", *files[3:], "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["study"]
    sizes = {one["name"]: one["sd"] / MM_PER_THOU for one in found["components"]}
    assert found["improve"] == "mountings" and found["repeatability_freedom"] == pytest.approx(8.0, rel=0.02)
    # x of each mounting scatters a tenth, y nothing: pooled, 0.1 / sqrt(2).
    assert sizes["residual"] == pytest.approx(0.1 / 2**0.5, rel=0.02)
    # Means of two mountings a thou apart in y only: 1/2 over x and y together is 1/4, less a third of the repeats.
    assert sizes["mountings"] == pytest.approx((0.25 - 0.005 / 3) ** 0.5, rel=0.02)
    assert [row["source"] for row in found["table"]] == ["mountings", "repeats"]
    main(["study", *files[:3], "+", *files[3:]])
    assert "Improve first mounting" in capsys.readouterr().out
