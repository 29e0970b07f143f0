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
        ("a,b,thou,10,,,,,", "line 3: high_deg is empty"),
        (",b,thou,10,90,,,,", "line 3: block_family is empty"),
        ("a,b,thou,10,90,0,,,", "line 3: u95 must be more than nothing"),
        ("a,b,thou,10,90,,yesterday,,", "line 3: date is 'yesterday'"),
        ("a,b,thou,nan,90,,,,", "line 3: tir is 'nan'"),
        ("a,b,thou,10,90,,,,,9", "line 3: there are more values than columns"),
    ],
)
def test_a_bad_line_is_named_in_one_sentence(tmp_path, row, words):
    with pytest.raises(UsageError, match=words):
        load_found(table(tmp_path, "a,b,thou,10,90,,,,", row))


def test_a_column_nobody_knows_is_named(tmp_path):
    with pytest.raises(UsageError, match="unknown column 'colour'"):
        load_found(table(tmp_path, head="block_family,housing_family,unit,x,y,colour\n"))


def test_more_sizes_leave_more_engines_inside_and_are_counted(capsys):
    assert main(["stock", "--sizes", "3", "--population", "5thou", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    inside = [choice["inside"] for choice in found["curve"]]
    assert inside == sorted(inside) and len(found["keep"]) == 3
    assert main(["stock", "--sizes", "2", "--csv", str(SHOP), "--in", "mm"]) == 0
    assert "2 sizes:" in capsys.readouterr().out


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
    main(["study", *files[:3], "+", *files[3:]])
    assert "Improve first mounting" in capsys.readouterr().out
