"""What a shop learns, as the command line says it."""

import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import RECORDINGS, by_hand
from shopmaking import job, typed

from coaxly.entry.foundlist import load_found
from coaxly.errors import UsageError
from coaxly.fitter.units import MM_PER_THOU
from coaxly.main import main
from coaxly.output import clean

SHOP = RECORDINGS / "made-shop.csv"
HEAD = "block_family,housing_family,unit,tir,high_deg,u95,date,fitted_x,fitted_y\n"


def table(tmp_path, *rows, head=HEAD):
    path = tmp_path / "jobs.csv"
    path.write_text(head + "".join(row + "\n" for row in rows))
    return path


def test_the_made_shop_tells_its_families_and_its_new_batch(capsys):
    assert main(["ledger", "--csv", str(SHOP)]) == 1
    said = capsys.readouterr().out
    assert "Housings of family north    24 jobs  3.3 +- 2.6 thou towards 4:52" in said
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
        (large, "larger than 16 MiB"),
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


CELLS = st.sampled_from(["a", "", "thou", "mm", "1", "-2.5", "1,5", "nan", "1e400", '"', "x" * 50, "\u0664", "2026-01-01",
                         "\x00", "\u2028", "\r", ";", "\ud7ff"])  # fmt: skip


@settings(max_examples=60)
@given(
    st.lists(st.lists(CELLS, min_size=1, max_size=11), max_size=5),
    st.sampled_from(",;\t"),
    st.text(max_size=30),
)
def test_any_table_is_read_or_refused_in_one_sentence(tmp_path_factory, rows, mark, tail):
    path = tmp_path_factory.mktemp("any") / "jobs.csv"
    text = "\n".join([HEAD.strip().replace(",", mark), *(mark.join(row) for row in rows)]) + tail
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        jobs = load_found(path)
    except UsageError as error:
        assert str(path) in str(error) and len(clean(str(error)).splitlines()) == 1 and len(str(error)) < 500
    else:
        assert all(math.isfinite(job.vector[0]) and job.covariance[0][0] > 0.0 for job in jobs)


def test_a_shop_speaks_through_its_own_jobs_and_beside_a_table(tmp_path, capsys):
    for k in range(12):
        job(tmp_path, f"v{k}", found=(1.0 + 3.0 * (k % 2) + 0.1 * k, k % 3), number=k + 1,
            housing={"family": "NS"[k % 2], "serial": f"h{k % 4}"}, block={"family": "K", "serial": f"b{k}"})  # fmt: skip
    job(tmp_path, "new")
    # The shop may be named before the command as well as behind it.
    assert main(["--shop", str(tmp_path), "ledger"]) == 0
    said = capsys.readouterr().out
    assert "LEDGER of 12 jobs, 2026-11-25\n" in said and "Housings of family S" in said
    assert "Not counted: 1 job (2026-11-25-new): not swept as found yet" in said
    path = table(
        tmp_path,
        "K,N,thou,5,90,,2026-11-25,,,1",
        "k,n,thou,5,80,,2026-11-26,,,",
        head=HEAD.strip() + ",job\n",
    )
    main(["ledger", "--csv", str(path), "--jobs", "--shop", str(tmp_path), "--json"])
    found = json.loads(capsys.readouterr().out)
    assert (
        found["jobs"]["of_shop"] == 12 and found["jobs"]["of_table"] == 1 and found["jobs"]["twice"] == ["1"]
    )
    assert {each["name"]: each["jobs"] for each in found["ledger"]["families"]} == {"K": 13, "N": 7, "S": 6}
    assert main(["stock", "--shop", str(tmp_path), "--sizes", "1"]) == 0
    assert "engines like those of the 12 jobs" in capsys.readouterr().out


def test_a_job_without_families_does_not_stand_in_the_way_of_the_others(tmp_path, capsys):
    for k in range(9):
        named = {"housing": {"family": "N"}, "block": {"family": "K"}} if k else {}
        job(tmp_path, f"v{k}", found=(k % 4, k % 3), **named)
    assert main(["ledger", "--shop", str(tmp_path)]) == 0
    assert "Housings of no stated family" in capsys.readouterr().out
    assert main(["stock", "--shop", str(tmp_path), "--sizes", "1"]) == 0


def test_a_shop_without_jobs_is_told_what_to_name(tmp_path, capsys):
    for words in (["ledger"], ["stock"]):
        assert main([*words, "--shop", str(tmp_path / "nowhere")]) == 2
        assert "has no jobs: name another with --shop DIR" in capsys.readouterr().err
    job(tmp_path, "new")
    assert main(["ledger", "--shop", str(tmp_path)]) == 2
    assert "none of its 1 jobs can be counted" in capsys.readouterr().err


def test_sweeps_of_a_job_are_repeats_until_something_is_fitted(tmp_path, capsys):
    folder = job(tmp_path, "van", found=(3.0, 2.0))
    for k, x in enumerate((3.1, 2.9, 3.05), 2):
        typed(folder / f"found-{k}.jsonl", (x, 2.0), stage="found")
    with (folder / "journal.jsonl").open("ab") as file:
        for k in (2, 3):
            file.write(b'{"kind":"sweep","file":"found-%d.jsonl","stage":"found"}\n' % k)
        file.write(b'{"kind":"fitted"}\n{"kind":"sweep","file":"found-4.jsonl","stage":"left"}\n')
    assert main(["study", "--job", "van", "--shop", str(tmp_path), "--json"]) in (0, 1)
    study = json.loads(capsys.readouterr().out)["study"]
    assert (study["sweeps"], study["housings"]) == (4, 2)
    assert study["repeatability"] == pytest.approx(0.1 / 2**0.5 * MM_PER_THOU, rel=0.05)
