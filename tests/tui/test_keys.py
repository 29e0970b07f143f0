"""The table of keys: whatever is said of a sweep means the same at every door, and is refused at each."""

import contextlib
import io

import pytest

from coaxly.commands.sweep import request_of
from coaxly.entry.keys import named, read_table
from coaxly.entry.rigging import Rigging, rigging
from coaxly.errors import UsageError
from coaxly.fitter import Setup, SetupError
from coaxly.fitter.keys import (
    Calibration,
    Choice,
    Lengths,
    Number,
    Several,
    Tir,
    Whole,
    Words,
    YesNo,
    keys_of,
)
from coaxly.fitter.reading.shopstudy import OfShop
from coaxly.job.folder import details
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened
from coaxly.job.folder.newjob import check
from coaxly.job.folder.rigs import RigFile
from coaxly.job.folder.shop import Job
from coaxly.job.folder.snapshot import look
from coaxly.job.steps import jobsteps as steps
from coaxly.main import main
from coaxly.options.keys import given
from coaxly.parser import build
from coaxly.say.job.jobwords import job_lines
from coaxly.say.job.newjob import questions

SETUP = dict(named(Setup))
LASTING = {name: one for name, one in SETUP.items() if one.group.lasting}
ONCE = [one for one in SETUP.values() if not one.group.lasting]
RIGGING = dict(named(Rigging))


def good(one):
    """A value as it is kept, and as people write it."""
    match one.kind:
        case Number(least, greatest, unit):
            value = 0.25 if least < 0.25 < greatest else (least + greatest) / 2.0
            return value, f"{value}{'mm' if unit == 'mm' else ''}"
        case Whole(least):
            return least + 1, str(least + 1)
        case Choice(options):
            return options[-1], str(options[-1])
        case YesNo():
            return True, True
        case Words():
            return "that one", "that one"
        case Several(options):
            return options[:2], ",".join(options[:2]).replace("_", "-")
    raise AssertionError(one.kind)


def bad(one):
    """What cannot be meant, as people would write it."""
    match one.kind:
        case Number(_, greatest, unit):
            return f"{greatest * 2.0 + 1.0}{'mm' if unit == 'mm' else ''}"
        case Whole(_, greatest):
            return str(greatest + 1)
        case Choice() | Several():
            return "neither"
    return None


def as_option(one, text):
    """What the command line makes of it."""
    words = [f"--{one.name}"] if text is True else [f"--{one.name}={text}"]
    arguments = build().parse_args(["sweep", *words])
    return {**given(arguments, Setup), **given(arguments, Rigging)}


@pytest.mark.parametrize("name", LASTING)
def test_what_is_said_of_how_the_dial_sits_is_the_same_at_every_door(name, tmp_path):
    one = LASTING[name]
    value, text = good(one)
    path = tmp_path / "arm.toml"
    written = "true" if text is True else f'"{text}"'
    path.write_text(f'{one.name} = {written}\n[sag]\ndate = 2026-01-02\namount = "0.1mm"\nu95 = "0.01mm"\n')
    if name != "sag_mm":  # that is the table of what was measured
        assert RigFile(path).setup()[name] == pytest.approx(value)
    assert as_option(one, text) == {name: pytest.approx(value)}
    assert rigging({one.name: text}).setup == {name: pytest.approx(value)}
    assert rigging({one.name.replace("-", "_"): text}).setup == {name: pytest.approx(value)}
    assert getattr(Setup.from_header({name: value}), name) == pytest.approx(value)
    assert getattr(Setup.from_header(Setup(**{name: value}).to_header()), name) == pytest.approx(value)


@pytest.mark.parametrize("name", [name for name, one in LASTING.items() if bad(one)])
def test_what_cannot_be_meant_is_refused_at_every_door(name, tmp_path):
    one = LASTING[name]
    text = bad(one)
    path = tmp_path / "arm.toml"
    written, amount = ("", text) if name == "sag_mm" else (f'{one.name} = "{text}"', "0.1mm")
    path.write_text(f'{written}\n[sag]\ndate = 2026-01-02\namount = "{amount}"\nu95 = "0.01mm"\n')
    with pytest.raises(UsageError, match=one.name):
        RigFile(path).setup()
    with pytest.raises(UsageError, match=f"^{one.name}: .*must be|more than a turn"):
        rigging({one.name: text})
    said = io.StringIO()
    with pytest.raises(SystemExit), contextlib.redirect_stderr(said):
        as_option(one, text)
    assert f"--{one.name}: " in said.getvalue()
    number = float(text.removesuffix("mm")) if isinstance(one.kind, Number) else text
    with pytest.raises(SetupError, match=name):
        Setup.from_header({name: number})


@pytest.mark.parametrize("name", RIGGING)
def test_what_is_asked_of_every_sweep_is_the_same_as_option_and_in_the_job(name):
    one = RIGGING[name]
    value, text = good(one)
    assert as_option(one, text) == {name: value} and getattr(rigging({one.name: text}), name) == value
    if wrong := bad(one):
        with pytest.raises(UsageError, match=f"^{one.name}: .*must be"):
            rigging({one.name: wrong})


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"unit-sure": "false"}, "must be true or false"),
        ({"no-closing": 1}, "must be true or false"),
        ({"stage": "left"}, "'stage' is not known"),
        ({"limit": "9thou"}, "no part of a rig"),
        ({"feature": "face"}, "no part of a rig"),
        ({"steps": "0mm,1mm,2mm"}, "no part of a rig"),
        ({"tip-angel": 30}, "is tip-angle meant"),
        ({"json": True}, "'json' is not known"),
        ({"out": "x.jsonl"}, "'out' is not known"),
        ({"sag": True}, "must be from -5mm"),
        ({"sag": ["1thou"]}, "must be from -5mm"),
        ({"sag": 2}, "has no unit"),
        ({"stations": 2.5}, "from 3 to 360"),
    ],
)
def test_the_table_of_a_job_is_read_once_for_screen_and_command(table, words, tmp_path):
    """What an option would refuse, or is of one sweep, is refused there too, whoever asks."""
    job = open_job(tmp_path, "van", {"rig": table}, Opened(title="van"))
    for ask in (
        lambda: steps.setup_of(look(job), "bore"),
        lambda: request_of(build().parse_args(["sweep", "--profile", "typed", "--unit", "mm"]), look(job)),
    ):
        with pytest.raises(UsageError, match=words) as caught:
            ask()
        assert str(caught.value).startswith(f"{job.path / details.NAME}: rig: ")


@pytest.mark.parametrize("name", LASTING)
def test_screen_and_command_sweep_a_job_alike(name, tmp_path):
    value, text = good(LASTING[name])
    job = open_job(tmp_path, "van", {"rig": {LASTING[name].name: text}}, Opened(title="van"))
    asked = request_of(build().parse_args(["sweep", "--profile", "typed", "--unit", "mm"]), look(job))
    assert asked.setup == steps.setup_of(look(job), "bore")
    assert getattr(asked.setup, name) == pytest.approx(value)


def test_an_option_counts_before_the_job_even_where_it_says_what_is_usual(tmp_path):
    job = open_job(tmp_path, "van", {"rig": {"sense": "ccw", "sag": "2thou"}}, Opened(title="van"))
    words = ["sweep", "--profile", "typed", "--unit", "mm", "--sense", "cw", "--sag", "0mm"]
    asked = request_of(build().parse_args(words), look(job))
    assert (asked.setup.sense, asked.setup.sag_mm) == ("cw", 0.0)


def test_a_sag_that_is_said_is_not_as_sure_as_the_one_that_was_measured(tmp_path):
    (tmp_path / "rigs").mkdir()
    path = tmp_path / "rigs" / "arm.toml"
    path.write_text('[sag]\ndate = 2026-01-02\namount = "0.1mm"\nu95 = "0.01mm"\n')
    job = open_job(tmp_path, "van", {"rig": {"rig": "arm", "sag": "0.3mm"}}, Opened(title="van"))
    assert steps.setup_of(look(job), "bore").sag_uncertainty_mm == pytest.approx(0.03)
    job.edit(rig="arm")
    assert steps.setup_of(look(job), "bore").sag_uncertainty_mm == pytest.approx(0.01 / 1.96)


@pytest.mark.parametrize("line", ['tip_angel = "30"', "[sag]\namuont = 1", "[dial]\nhysteresys = 1"])
def test_a_slip_in_a_rig_file_is_not_passed_over(line, tmp_path):
    path = tmp_path / "arm.toml"
    path.write_text(f"{line}\n")
    with pytest.raises(UsageError, match=r"arm\.toml: .*(is tip-angle|is amount|is hysteresis) meant"):
        RigFile(path).setup()


def test_every_key_has_a_kind_that_is_tried_here():
    known = Number | Whole | Choice | YesNo | Words | Lengths | Calibration | Tir | Several | OfShop
    assert all(isinstance(one.kind, known) for kind in (Setup, Rigging) for one in keys_of(kind).values())
    assert {one.name for one in ONCE} == {"feature", "limit", "steps", "steps-error"}
    with pytest.raises(UsageError, match="is port meant"):
        read_table({"prot": "x"}, Rigging)


JOB = {name: one for name, one in keys_of(details.Details).items() if one.group is not None}
SAID_OF_A_JOB = {"limit": "9thou", "pins": "-5in,0in 5in,0in", "bolts": "6@420mm", "shims": "2thou,5thou",
                 "kit": "5thou", "length": "7.5mm", "text": "that one"}  # fmt: skip


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """A job of which everything is said on the command line."""
    shop = tmp_path_factory.mktemp("shop")
    words = [f"--{one.name}={SAID_OF_A_JOB[one.kind.what]}" for one in JOB.values()]
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["job", "open", "van", "--shop", str(shop), *words]) == 0
    return look(Job(next(path for path in shop.iterdir() if path.is_dir())))


@pytest.mark.parametrize("name", JOB)
def test_a_key_of_a_job_is_kept_as_it_was_said_and_has_its_place_in_the_report(name, told):
    """A new one is declared in job/details.py and nowhere else; it needs its group, and with it its page."""
    kept, one = getattr(told.details, name), JOB[name]
    assert SAID_OF_A_JOB[one.kind.what] in (kept, getattr(kept, "serial", None))
    assert one.group.page in ("front", "back") and one.says
    assert (name, SAID_OF_A_JOB[one.kind.what]) in told.details.said(one.group.page)
    shown = "5.0 thou" if name == "kit" else SAID_OF_A_JOB[one.kind.what]
    assert any(
        shown in line
        for line in job_lines(told, "thou")
        if name.replace("_source", "").replace("_", " ") in line
    )


@pytest.mark.parametrize("name", [name for name, one in JOB.items() if one.kind.what not in ("text",)])
def test_what_cannot_be_meant_of_a_job_is_refused_on_the_screen_and_the_command_line(name, tmp_path):
    with pytest.raises(ValueError):
        check(name, "neither", tmp_path)
    said = io.StringIO()
    with pytest.raises(SystemExit), contextlib.redirect_stderr(said):
        main(["job", "open", "van", "--shop", str(tmp_path / "shop"), f"--{JOB[name].name}=neither"])
    assert f"--{JOB[name].name}: " in said.getvalue() and not (tmp_path / "shop").exists()


def test_every_question_of_a_new_job_is_one_of_its_keys():
    others = {"title", "face", "stations", "rig"}
    assert {each.key for each in questions("5thou", [])} - others <= set(JOB)
