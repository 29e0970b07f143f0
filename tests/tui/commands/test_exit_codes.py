"""One table of exit codes for every command: 0 fine, 1 a finding, 2 what was asked for, 3 hardware or disk."""

import io
import math
import shutil

import pytest
from making import RECORDINGS, by_hand
from shopping import lay_in

from coaxly import errors
from coaxly.fitter import errors as fitter_errors
from coaxly.job.folder.shop import Job
from coaxly.logger import errors as logger_errors
from coaxly.main import main
from coaxly.parser import COMMANDS

GOOD = [0.001 * math.cos(math.radians(45 * k)) for k in range(8)]  # 2 thou TIR
BAD = [0.010 * math.cos(math.radians(45 * k)) for k in range(8)]  # 20 thou TIR
CLOSE = [
    v + d
    for v, d in zip([2.5 * g for g in GOOD], [0, 0.0006, -0.0005, 0, 0.0007, -0.0006, 0, 0], strict=True)
]

CASES = [
    (0, "replay GOOD"),
    (1, "replay BAD"),
    (1, "replay CLOSE"),
    (1, "replay FEW"),
    (2, "replay nowhere.jsonl"),
    (0, "plan BAD --kit 10thou"),
    (1, "plan FEW --kit 10thou"),
    (2, "plan BAD"),
    (2, "plan BAD --kit 10thou --bolts 6@420mm"),
    (0, "verify BAD GOOD"),
    (0, "verify BAD GOOD --fitted 9thou@0"),
    (1, "verify BAD GOOD --fitted 9thou@180"),
    (1, "verify GOOD BAD"),
    (2, "verify BAD BAD"),
    (2, "verify BAD GOOD --fitted 9thou@400"),
    (0, "audit SEALED"),
    (1, "audit ALTERED"),
    (2, "audit EMPTY"),
    (1, "audit GOOD"),
    (0, "audit GOOD --allow-unsealed"),
    (1, "audit SEALED --signed"),
    (2, "nudge"),
    (2, "nudge BAD --engine 1"),
    (2, "nudge nowhere --port NOPORT"),
    (3, "nudge BAD --port NOPORT --headless"),
    (2, "study BAD"),
    (2, "study BAD BAD CLOSE"),
    (0, "study BAD CLOSE GOOD"),
    (1, "ledger --csv SHOP"),
    (2, "ledger --csv nowhere.csv"),
    (0, "stock --sizes 2 --population 5thou"),
    (2, "stock --sizes 2"),
    (2, "stock --sizes 0 --population 5thou"),
    (0, "key"),
    (2, "key --know 00"),
    (0, "job list"),
    (0, "job open van"),
    (2, "job show nowhere"),
    (2, "job fitted nowhere"),
    (2, "job unpack GOOD"),
    (2, "verify nowhere"),
    (2, "plan BAD --kit 10thou --take 1"),
    (0, "print wheel --diameter 100mm -o w.svg"),
    (2, "print wheel --diameter 1mm"),
    (2, "print card"),
    (2, "print shims BAD --bolts 6@420mm --shims 1thou"),
    (0, "report JOB"),
    (2, "report JOB --out GOOD"),
    (2, "report SPOILT"),
    (1, "report SPOILT --anyway"),
    (2, "report nowhere"),
    (0, "export GOOD -o x.csv"),
    (0, "export FEW -o -"),
    (2, "export GOOD"),
    (2, "export GOOD -o GOOD"),
    (2, "export ALTERED -o x.csv"),
    (0, "export ALTERED -o x.csv --anyway"),
    (0, "export JOB -o x.parquet"),
    (2, "export SPOILT -o x.csv"),
    (2, "export nowhere -o x.csv"),
    (0, "ports"),
    (0, "settings"),
    (0, "help"),
    (2, "help encodr"),
    (2, "settings --in mm"),
    (2, "ports --loud"),
    (3, "listen NOPORT --seconds 0.01"),
    (2, "listen NOPORT --out GOOD"),
    (3, "sweep --headless --unit in --port NOPORT"),
    (2, "sweep --headless --unit in"),
    (2, "sweep --headless --unit in --port NOPORT --out GOOD"),
    (2, "sweep --headless --unit in --port NOPORT --zero 400"),
    (2, "sweep --headless --unit in --port NOPORT --limit -5thou"),
    (2, "demo --speed 0"),
    (2, "demo --keep USED"),
    (2, "demo --keep GOOD"),
    *((2, f"{line} --shop GOOD") for line in (
        "job list", "job open van", "job unpack ZIP", "job show van", "ledger", "stock", "study --job van",
        "report van", "verify van", "plan van", "nudge van", "export van -o x.csv", "settings",
        "sweep --job van --profile typed --unit mm --headless",
        "sweep --rig arm --feature sag --profile typed --unit mm --headless",
    )),
]  # fmt: skip


@pytest.fixture(scope="module")
def laid_out(tmp_path_factory):
    """Recordings and jobs, sound and spoilt."""
    home = tmp_path_factory.mktemp("laid out")
    by_hand(home / "good.jsonl", GOOD)
    by_hand(home / "bad.jsonl", BAD)
    by_hand(home / "close.jsonl", CLOSE)
    by_hand(home / "few.jsonl", [0.0, 0.001], [0, 90])
    sealed = (RECORDINGS / "launch-found.jsonl").read_bytes()
    (home / "sealed.jsonl").write_bytes(sealed)
    (home / "altered.jsonl").write_bytes(sealed.replace(b"+00", b"+01", 1))
    (home / "empty").mkdir()
    (home / "used").mkdir()
    (home / "used" / "found.jsonl").write_text("")
    for job, recording in (("job", "sealed"), ("spoilt", "altered")):
        (home / job).mkdir()
        (home / job / "job.toml").write_text('title = "van"')
        lay_in(Job(home / job), home / "sealed.jsonl", "found-1.jsonl")
        (home / job / "found-1.jsonl").write_bytes((home / f"{recording}.jsonl").read_bytes())
    return home


@pytest.fixture
def words(laid_out, tmp_path):
    """What the words of a case stand for: a copy of it all, which the command may change."""
    shutil.copytree(laid_out, tmp_path, dirs_exist_ok=True)
    files = {
        f"{name.upper()}": f"{name}.jsonl" for name in ("good", "bad", "close", "few", "sealed", "altered")
    }
    return {
        **files,
        "EMPTY": "empty",
        "USED": "used",
        "JOB": "job",
        "SPOILT": "spoilt",
        "NOPORT": str(tmp_path / "no-such-port"),
        "SHOP": str(RECORDINGS / "made-shop.csv"),
    }


def test_the_table_leaves_no_command_out():
    assert {line.split()[0] for _, line in CASES} == set(COMMANDS)
    assert (errors.FINE, errors.FINDING, errors.MISUSE, errors.FAILURE) == (0, 1, 2, 3)


@pytest.mark.parametrize(("code", "line"), CASES)
def test_every_command_ends_by_the_table(tmp_path, monkeypatch, capsys, words, code, line):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.stdin", io.StringIO())
    try:
        ended = main([words.get(word, word) for word in line.split()])
    except SystemExit as stop:
        ended = stop.code
    out, err = capsys.readouterr()
    assert ended == code, out + err
    assert "Traceback" not in err
    if code in (2, 3):
        # One sentence, and what stands on standard output is nothing.
        assert out == "" and err.splitlines()[-1].startswith("coaxly: ") and "usage:" not in err


@pytest.mark.parametrize(
    ("line", "where"),
    [
        ("plan BAD --loud", "coaxly plan --help"),
        ("job list --loud", "coaxly job list --help"),
        ("plan BAD --limit 3", "coaxly plan --help"),
        ("--loud", "coaxly --help"),
    ],
)
def test_a_mistaken_option_is_sent_to_the_help_of_its_command(capsys, line, where):
    with pytest.raises(SystemExit):
        main(line.split())
    assert capsys.readouterr().err.endswith(f"Options: {where}\n")


@pytest.mark.parametrize("root", [fitter_errors.FitterError, logger_errors.LoggerError, errors.CommandError])
def test_each_error_of_a_package_has_its_code(root):
    kinds = [root]
    for kind in kinds:
        kinds += kind.__subclasses__()
    assert len(kinds) > 2 and all(kind.exit_code in (1, 2, 3) for kind in kinds)


def test_a_name_that_is_taken_is_misuse_and_a_full_disk_is_failure():
    taken, full = FileExistsError(17, "File exists"), OSError(28, "No space left on device")
    assert logger_errors.WriteError("x", taken).exit_code == 2
    assert logger_errors.WriteError("x", full).exit_code == 3
