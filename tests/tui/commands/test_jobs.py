"""A whole job by the command line, each command killed at the worst moments; and what is out of order refused."""

import json
import os
import shutil
import signal
import subprocess
import sys
import zipfile

import pytest
from making import RECORDINGS
from shopping import SWEEP, VAN, Shop, finished_in, lay_in, readings

from coaxly.job.folder import journal
from coaxly.job.folder.index import need_job
from coaxly.job.folder.journal import Answer, Sweep
from coaxly.job.folder.newjob import check
from coaxly.job.folder.snapshot import look
from coaxly.logger.recording.seals import check_seals
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.main import main
from coaxly.report.facts import rounds

UNSURE = Answer(8.4 * 0.0254, 0.05, 0.2, "unsure")


def die(*_, **__):
    os.kill(os.getpid(), signal.SIGKILL)


def before():
    """Nothing is noted."""
    journal.append = die


def half():
    """Half a line is noted."""
    write = RecordingWriter.write

    def torn(self, record):
        if isinstance(record, journal.Entry):
            self._file.write(b'{"kind":"fit')
            self._file.flush()
            die()
        write(self, record)

    RecordingWriter.write = torn


def unsealed():
    """It is noted, and not sealed."""
    write = RecordingWriter.write

    def bare(self, record):
        write(self, record)
        self._file.flush()
        if isinstance(record, journal.Entry) and not isinstance(record, journal.Unproved):
            die()

    RecordingWriter.write = bare


def do(shop, due, then, *words, typed="", code=0):
    """A command that is killed at each bad moment and given again, until its step is done."""
    for moment in (before, half, unsealed):
        if look(shop.job("van")).state.next == due:
            done = shop.killed(moment, *words, typed=typed)
            assert done.code == -signal.SIGKILL
            assert shop("job", "show", "van").code == 0  # takes up what was finished
    if look(shop.job("van")).state.next == due:
        done = shop(*words, typed=typed)
        assert done.code == code, done.err
    assert look(shop.job("van")).state.next == then


def test_a_whole_job_survives_being_killed_at_every_step(tmp_path):
    shop = Shop(tmp_path / "shop")
    assert shop("job", "open", "blue van", "--limit", "5thou", "--kit", "5thou,7thou").code == 0
    do(shop, "sweep found", "choose", *SWEEP, typed=readings(-5, 5), code=1)
    do(shop, "choose", "fit", "plan", "van", "--take", "1")
    do(shop, "fit", "sweep left", "job", "fitted", "van")
    do(shop, "sweep left", "verify", *SWEEP, "--stage", "left", typed=readings(-0.1, 0.1))
    do(shop, "verify", "report", "verify", "van")
    do(shop, "report", "done", "report", "van")
    job = need_job(shop.folder, "1")
    now = look(job).state
    assert now.proof.cause == "as planned" and now.proof.state == "inside"
    assert now.fitted.dowels[0] == pytest.approx((7 * 0.0254, 135.0), abs=0.5)
    assert now.left.answer.limit == pytest.approx(0.127)
    assert check_seals(job.written).state == "unsealed"  # killed between the last record and its seal
    assert shop("job", "note", "van", "done").code == 0
    assert check_seals(job.written).state == "ok" and look(job).state.next == "done"
    shown = json.loads(shop("job", "close", "van", "--json").out)["job"]
    assert (shown["next"], shown["title"], shown["number"]) == ("done", "blue van", "1")
    assert shown["state"]["closed"] and shown["state"]["reported"]
    listed = json.loads(shop("job", "list", "VAN", "--json").out)["jobs"]
    assert [each["folder"] for each in listed] == [job.folder] and listed[0]["state"]["state"] == "inside"


def test_a_sweep_that_was_killed_goes_on_in_its_job(tmp_path):
    shop = Shop(tmp_path)
    shop("job", "open", "van")
    process = subprocess.Popen(
        [sys.executable, "-m", "coaxly", *SWEEP, "--shop", str(tmp_path)],
        stdin=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    lines = readings(-5, 5).splitlines(keepends=True)
    process.stdin.write("".join(lines[:4]))
    process.stdin.flush()
    while "4:30 taken" not in process.stderr.readline():
        assert process.poll() is None
    shown = shop("job", "show", "van").out
    assert "NEXT: sweep the bore as found: running, 4 of 8 read: end it where it was begun" in shown
    assert "--resume" not in shown and "running, 4 of 8 read" in shop("job", "list").out
    said = shop(*SWEEP)
    assert said.code == 2 and "a sweep of this job is running (found-1.jsonl): end it first" in said.err
    packed = shop("job", "pack", "van", "-o", tmp_path / "van.zip")
    assert packed.code == 0 and "! found-1.jsonl is a sweep that runs" in packed.err
    process.kill()
    process.communicate()
    job = need_job(tmp_path, "van")
    assert look(job).state.next == "sweep found"
    shown = shop("job", "show", "van").out
    assert "NEXT: sweep the bore as found: broken off, 4 of 8 read: go on" in shown
    assert f"coaxly sweep --resume {job.path / 'found-1.jsonl'}" in shown
    assert "broken off, 4 of 8 read" in shop("job", "list").out
    done = shop("sweep", "--resume", str(job.path / "found-1.jsonl"), "--headless", typed="".join(lines[4:]))
    assert done.code == 1, done.err
    assert look(job).state.next == "choose" and look(job).state.found.file == "found-1.jsonl"


@pytest.fixture
def van(tmp_path, capsys):
    """A job whose bore was swept as found, and commands on it."""

    def command(*words):
        code = main([*words, "--shop", str(tmp_path)])
        out, err = capsys.readouterr()
        return code, out, err

    assert command("job", "open", "van", "--limit", "5thou")[0] == 0
    job = need_job(tmp_path, "van")
    lay_in(job, RECORDINGS / "launch-found.jsonl", "found-1.jsonl")
    return job, command


def refused(answer):
    code, out, err = answer
    assert code == 2 and out == "" and err.splitlines()[-1].startswith("coaxly: ")
    return err


def test_steps_out_of_order_are_refused_in_words(van):
    _, command = van
    assert "no dowels were chosen" in refused(command("job", "fitted", "van"))
    said = refused(command("verify", "van"))
    first, _, then = said.partition(" DOWELS, then coaxly sweep --job ")
    assert (
        "not swept as left yet: say what was put in, coaxly job fitted " in first and "--stage left" in then
    )
    assert "--take 9" in refused(command("plan", "van", "--take", "9"))
    assert "what was put in" in refused(command(*SWEEP, "--stage", "left"))
    assert command("job", "fitted", "van", "5thou@122")[0] == 0
    assert "as left yet: coaxly sweep --job " in refused(command("verify", "van"))
    assert "no sweep as found" in refused(command(*SWEEP))
    assert "names its recordings" in refused(command(*SWEEP, "--out", "x.jsonl"))


def test_what_does_not_count_any_more_and_what_is_in_no_kit_is_said(van):
    job, command = van
    shutil.copy(RECORDINGS / "launch-knocked.jsonl", job.path / "found-2.jsonl")
    assert command("job", "take", "van", "found-2.jsonl", "--stage", "found", "--anyway")[0] == 0
    shown = command("job", "show", "van")[1]
    assert "as found counts the newest sweep, found-2.jsonl, not found-1.jsonl" in shown
    assert "out of date" not in shown
    assert command("report", "van")[0] == 0 and "out of date" not in command("job", "show", "van")[1]
    job.edit(kit="5thou,7thou")
    code, _, err = command("job", "fitted", "van", "0.13mm@122,6thou@20")
    assert code == 0 and "! 6.0 thou is not in the job's kit (5.0 thou, 7.0 thou)" in err
    assert "report.html is out of date" in command("job", "show", "van")[1]


def test_a_second_round_plans_for_the_housing_as_it_was_found_and_proves_what_is_really_in(van):
    job, command = van
    assert command("plan", "van", "--take", "1")[0] == 0
    assert command("job", "fitted", "van", "5thou@302")[0] == 0  # turned the wrong way
    lay_in(job, RECORDINGS / "launch-left.jsonl", "left-1.jsonl")
    code, out, _ = command("verify", "van", "--json")
    assert code == 1 and json.loads(out)["planned"]["deg"] == pytest.approx(302.0)
    now = look(job).state
    assert now.fitted.dowels == ((5 * 0.0254, 302.0), (5 * 0.0254, 302.0)) and now.proof is not None


@pytest.mark.parametrize("how", ["--slip", "--since"])
def test_whether_dowels_were_a_slip_or_went_in_since_is_to_be_said_where_a_sweep_hangs_on_it(tmp_path, how):
    shop = Shop(tmp_path)
    shop(*VAN)
    assert shop(*SWEEP, typed=readings(-5, 5)).code == 1
    assert shop("plan", "van", "--take", "1").code == 0
    assert shop("job", "fitted", "van", "7thou@30").code == 0
    assert shop("job", "fitted", "van", "7thou@31").code == 0  # nothing hangs on it yet
    assert shop(*SWEEP, "--stage", "left", typed=readings(-0.1, 0.1)).code == 0
    assert shop("verify", "van").code == 1  # not turned to the mark, it says
    written = shop.job("van").written
    before = written.read_bytes()
    said = shop("job", "fitted", "van", "7thou@135")
    assert said.code == 2 and written.read_bytes() == before
    assert "left-1.jsonl was swept as left meanwhile" in said.err and f": {how}" in said.err
    said = shop("job", "fitted", "van", "7thou@135", how)
    known = look(shop.job("van"))
    assert said.code == 0 and known.state.proof is None
    if how == "--since":
        assert "NEXT: sweep the bore as left" in said.out and known.state.left is None
        return
    assert "NEXT: compare and prove it" in said.out and known.state.left.file == "left-1.jsonl"
    assert shop("verify", "van").code == 0 and look(known.job).state.proof.cause == "as planned"
    assert (
        rounds(known.records)[-1].left is not None
        and "counts the newest" not in shop("job", "show", "van").out
    )


def test_a_sweep_that_was_left_out_by_a_slip_counts_again(tmp_path):
    shop = Shop(tmp_path)
    shop(*VAN)
    assert shop(*SWEEP, typed=readings(-5, 5)).code == 1
    assert shop("plan", "van", "--take", "1").code == 0
    assert shop("job", "fitted", "van").code == 0
    assert shop(*SWEEP, "--stage", "left", typed=readings(-0.1, 0.1)).code == 0
    assert shop("job", "fitted", "van", "7thou@135", "--since").code == 0
    assert "seen from behind; left-1.jsonl is left out" in shop("job", "show", "van").out
    refused = shop("verify", "van")
    assert refused.code == 2 and "not swept as left yet" not in refused.err
    assert "left-1.jsonl was swept as left and is left out" in refused.err and "--slip" in refused.err
    asked = shop("job", "fitted", "van", "7thou@135")
    assert asked.code == 2 and "Were these in then" in asked.err
    said = shop("job", "fitted", "van", "7thou@135", "--slip")
    assert "NEXT: compare and prove it" in said.out and "left-1.jsonl counts" in said.out
    assert shop("verify", "van").code == 0
    known = look(shop.job("van"))
    assert known.state.proof.cause == "as planned" and len(rounds(known.records)) == 1
    assert rounds(known.records)[0].proof == known.state.proof


def test_once_it_is_swept_again_what_was_left_out_stays_out(tmp_path):
    shop = finished_in(tmp_path / "shop")
    assert shop("job", "fitted", "van", "7thou@100", "--since").code == 0
    assert shop(*SWEEP, "--stage", "left", typed=readings(-1, 1)).code == 0
    assert shop("job", "fitted", "van", "7thou@135", "--slip").code == 0
    assert look(shop.job("van")).state.left.file == "left-2.jsonl"


@pytest.mark.parametrize("said", ["none", "5thou@12:00,10thou@12:00", "5thou@135"])
def test_other_dowels_than_were_chosen_are_remarked_on(tmp_path, said):
    shop = Shop(tmp_path)
    shop(*VAN)
    assert shop(*SWEEP, typed=readings(-5, 5)).code == 1
    assert shop("plan", "van", "--take", "1").code == 0
    noted = shop("job", "fitted", "van", said)
    assert noted.code == 0
    assert "! other dowels than were chosen: chosen 2 x 7.0 thou, high sides to 4:30" in noted.err
    assert "if it was mistyped" in noted.err
    assert "other dowels than" not in shop("job", "fitted", "van", "7thou@135").err


def test_where_it_is_too_close_to_call_no_dowels_are_offered(tmp_path):
    shop = Shop(tmp_path)
    shop(*VAN)
    assert shop(*SWEEP, typed=readings(-5, 5)).code == 1
    assert shop("job", "fitted", "van", "5thou@135").code == 0
    shop(*SWEEP, "--stage", "left", typed=readings(-1.75, 1.75))
    said = shop("verify", "van")
    assert said.code == 1 and "TOO CLOSE TO CALL" in said.out
    assert "in place of the dowels" not in said.out and "sweep again as left before other dowels" in said.out
    assert json.loads(shop("verify", "van", "--json").out)["next"] is None


@pytest.mark.parametrize("face", [True, False])
def test_a_face_that_was_swept_and_is_inside_is_not_asked_for_once_more(tmp_path, face):
    shop = Shop(tmp_path)
    shop(*VAN)
    if face:
        swept = shop(*SWEEP, "--feature", "face", "--face-radius", "6in", typed=readings(-1, 1))
        assert swept.code == 0
    assert shop(*SWEEP, typed=readings(-5, 5)).code == 1
    assert ("sweep the face before" in shop("plan", "van").out) is not face


def test_where_nothing_was_said_there_is_no_slip(tmp_path):
    shop = Shop(tmp_path)
    shop(*VAN)
    said = shop("job", "fitted", "van", "5thou@90", "--slip")
    assert said.code == 2 and "nothing was said to be in yet: leave --slip out" in said.err


def test_what_other_dowels_would_have_done_is_answered_and_nothing_of_it_noted(tmp_path):
    shop = finished_in(tmp_path / "shop")
    written = shop.job("van").written
    before = written.read_bytes()
    asked = shop("verify", "van", "--fitted", "5thou@1:19")
    assert asked.code == 1 and "nothing is noted" in asked.err and "as planned" not in asked.out
    assert written.read_bytes() == before
    assert shop("job", "note", "van", "a word").code == 0
    assert shop(*SWEEP, "--stage", "left", typed=readings(-0.1, 0.1)).code == 0
    said = shop("verify", "van", "--fitted", "7.01thou@4:30")  # the same but for rounding
    assert said.code == 0 and "nothing is noted" not in said.err
    assert look(shop.job("van")).state.proof is not None


def test_a_job_closed_before_it_is_proved_is_not_said_to_be_done(van):
    job, command = van
    assert "closed, but nothing is proved" in command("job", "close", "van")[1]
    assert "NEXT: closed, but nothing is proved" in command("job", "show", "van")[1]
    assert "next: closed, nothing proved" in command("job", "list")[1]
    assert command("report", "van")[0] == 0
    assert "Closed, but nothing is proved" in (job.path / "report.html").read_text()


def test_dowels_said_to_be_turned_from_what_was_chosen_are_remarked_on_until_they_are_said_again(van):
    job, command = van
    assert command("plan", "van", "--kit", "5thou,7thou", "--take", "1")[0] == 0
    (offset, deg), _ = look(job).state.chosen.dowels
    near, far = (f"{offset / 0.0254:.2f}thou@{(deg + off) % 360:.0f}" for off in (10, 78))
    _, _, err = command("job", "fitted", "van", far)
    assert "turned 78 deg from what was chosen: chosen 2 x" in err and "; said 2 x" in err
    assert "turned" not in command("job", "fitted", "van", near)[2]
    assert "turned" in command("job", "fitted", "van", far)[2]
    code, out, err = command("job", "fitted", "van")  # as chosen, after a slip
    assert code == 0 and "turned" not in err and "fitted: 2 x" in out
    assert look(job).state.fitted.dowels[0] == (offset, deg)
    assert "that they are in as chosen is noted already (2 x" in refused(command("job", "fitted", "van"))
    lay_in(job, RECORDINGS / "launch-left.jsonl", "left-1.jsonl")
    assert "more was done since dowels were chosen" in refused(command("job", "fitted", "van"))
    assert "turned" not in command("job", "fitted", "van", far)[2]  # by what the sweep as left told


def test_the_rig_of_a_job_serves_its_sweeps_unless_an_option_says_otherwise(van, monkeypatch):
    import io

    job, command = van
    job.edit(rig={"sag": "1thou", "polarity": -1, "profile": "typed", "unit": "in", "no_closing": True})
    monkeypatch.setattr("sys.stdin", io.StringIO(readings(3, 0)))
    command("sweep", "--job", "van", "--headless", "--polarity", "-1", "--stage", "check")
    header = json.loads((job.path / "check-1.jsonl").read_text().splitlines()[0])
    assert header["setup"]["sag_mm"] == pytest.approx(0.0254) and header["setup"]["polarity"] == -1
    assert header["setup"]["limit_mm"] == pytest.approx(0.127) and header["job"] == "van"
    job.edit(rig={"sag": 3})
    said = refused(command("sweep", "--job", "van", "--headless"))
    assert "job.toml: rig: sag: '3' has no unit" in said


def test_a_name_that_no_job_has_is_kept_in_the_recording_as_ever(tmp_path, monkeypatch, capsys, van):
    import io

    _, command = van
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.stdin", io.StringIO(readings(3, 0)))
    _, _, err = command(*("tram" if word == "van" else word for word in SWEEP))
    assert "no job 'tram'" in err
    assert json.loads((tmp_path / "tram-found-1.jsonl").read_text().splitlines()[0])["job"] == "tram"


def test_the_hole_of_a_job_says_which_of_its_kits_are_planned_with(van, tmp_path):
    job, command = van
    for name, pin, offset in (("half", "12.7mm", "5thou"), ("large", "16mm", "6thou")):
        (job.path / f"{name}.toml").write_text(f'pin = "{pin}"\n[[size]]\noffset = "{offset}"\n')
    job.edit(kit="half.toml,large.toml", hole="16mm")
    planned = json.loads(command("plan", "van", "--json")[1])
    assert [option["dowels"][0]["offset"] for option in planned["options"] if option["dowels"]] == [
        pytest.approx(6 * 0.0254)
    ]
    planned = json.loads(command("plan", "van", "--json", "--hole", "12.7mm")[1])
    assert planned["kit"]["left_aside"][0]["kit"] == "large"
    job.edit(hole="14mm")
    assert "no kit fits a dowel hole of 14 mm" in refused(command("plan", "van"))


def test_a_choice_can_only_be_noted_in_a_job(van):
    _, command = van
    assert "name the job" in refused(
        command("plan", str(RECORDINGS / "launch-found.jsonl"), "--kit", "5thou", "--take", "1")
    )


def test_what_a_choice_was_made_with_is_kept_in_the_job_beside_what_people_wrote(van):
    job, command = van
    path = job.path / "job.toml"
    path.write_text("# mine\n" + path.read_text())
    holes = "-5.5in,-1in 5.5in,-1in"
    assert command("plan", "van", "--kit", "7thou,10thou", "--dowels", holes, "--limit", "9thou")[0] == 0
    assert look(job).details.kit == "" and look(job).details.dowels == ""
    code, _, _ = command(
        "plan", "van", "--kit", "7thou,10thou", "--dowels", holes, "--limit", "9thou", "--take", "1"
    )
    known = look(job).details
    assert code == 0 and path.read_text().startswith("# mine\n")
    assert (known.kit, known.dowels) == ("7thou,10thou", holes)
    assert known.limit == "5thou"  # said when the job was opened


def test_the_shop_may_be_said_before_the_command_as_well(van, tmp_path, capsys):
    assert main(["--shop", str(tmp_path), "job", "list"]) == 0
    assert "van" in capsys.readouterr().out
    assert main(["--shop", str(tmp_path), "job", "list", "--shop", str(tmp_path / "other")]) == 0
    assert "no such job" in capsys.readouterr().out


def test_what_was_done_is_said_and_then_what_comes_next(van, tmp_path):
    job, command = van
    job.note(Sweep(file="face-found-1.jsonl", stage="found", feature="face", answer=UNSURE))
    _, said, _ = command("job", "note", "van", "a word")
    assert said.splitlines()[0] == "van: noted" and "NEXT: " in said
    _, said, _ = command("job", "pack", "van", "-o", str(tmp_path / "van.zip"))
    assert said.startswith(f"van: packed in {tmp_path / 'van.zip'}, ")


def test_the_list_tells_a_face_before_the_bore_was_swept_and_keeps_its_columns(tmp_path, capsys):
    for title in ("van", "pickup"):
        assert main(["job", "open", title, "--shop", str(tmp_path)]) == 0
    need_job(tmp_path, "van").note(
        Sweep(file="face-found-1.jsonl", stage="found", feature="face", answer=UNSURE)
    )
    (need_job(tmp_path, "van").path / "face-found-1.jsonl").touch()
    capsys.readouterr()
    assert main(["job", "list", "--shop", str(tmp_path)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert any("face TOO CLOSE 8.4 thou" in line for line in lines)
    assert len({line.index("next: ") for line in lines}) == 1


def test_a_sweep_of_a_closed_job_says_that_it_opens_it_again(tmp_path):
    shop = Shop(tmp_path)
    shop("job", "open", "van")
    assert shop("job", "close", "van").out.startswith("van: closed")
    done = shop(*SWEEP, typed=readings(-5, 5))
    assert "was closed: this sweep opens it again" in done.err and not look(shop.job("van")).state.closed


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('limti = "1thou"', "job.toml: 'limti' is not understood; did you mean 'limit'?"),
        ('colour = "red"', "job.toml: 'colour' is not understood: left alone"),
    ],
)
def test_a_key_that_nobody_reads_is_named_and_kept(van, line, words):
    job, command = van
    path = job.path / "job.toml"
    path.write_text(f"{line}\n{path.read_text()}")
    for asked in ("job show van", "plan van --kit 5thou,10thou", "verify van"):
        assert words in command(*asked.split())[2]
    job.edit(title="blue van")
    assert line in path.read_text()


def test_a_misspelt_key_of_a_block_is_named(van):
    job, command = van
    path = job.path / "job.toml"
    path.write_text(path.read_text().replace("serial", "seriel"))
    assert (
        "'block.seriel' is not understood; did you mean 'block.serial'?" in command("job", "show", "van")[2]
    )


@pytest.mark.parametrize("option", ["--limit", "--pilot-limit", "--flywheel-limit"])
def test_a_limit_that_no_sweep_takes_is_refused_when_a_job_is_opened(van, capsys, tmp_path, option):
    _, command = van
    with pytest.raises(SystemExit) as refusal:
        command("job", "open", "lorry", option, "127mm")
    assert refusal.value.code == 2
    assert f"{option}: '127mm' must be more than 0mm, up to 25mm" in capsys.readouterr().err
    code, out, _ = command("job", "list")
    assert code == 0 and "van" in out and "lorry" not in out
    with pytest.raises(ValueError, match="up to 25mm"):  # as it is asked for on the screen
        check(option[2:].replace("-", "_"), "127mm", tmp_path)


@pytest.mark.parametrize("limit", ["5", "-5thou", "0thou", "127mm"])
def test_a_limit_that_cannot_be_meant_is_refused_and_shown_as_such(van, limit):
    job, command = van
    job.edit(limit=limit)
    code, out, err = command("job", "show", "van")
    assert code == 0 and "NEXT" in out and "job.toml: limit: " in err
    lay_in(job, RECORDINGS / "launch-left.jsonl", "left-1.jsonl")
    for words in (("plan", "van", "--kit", "5thou"), ("verify", "van"), SWEEP):
        assert "job.toml: limit: " in refused(command(*words))


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (f"mileage = {'9' * 5000}", "more digits than any that could be meant"),
        ("mileage = 1e400", "mileage is inf, but must be"),
        ("rig = { stations = [nan] }", "rig is nan, but must be"),
        ("customer = 3", "customer must be text (in quotes), not a whole number"),
    ],
)
def test_what_a_library_says_of_job_toml_is_said_as_people_would(van, line, words):
    job, command = van
    path, key = job.path / "job.toml", line.split()[0]
    others = [old for old in path.read_text().splitlines() if not old.startswith(key)]
    path.write_text("\n".join([line, *others]))
    assert words in refused(command("job", "show", "van"))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('limit = "5thou"\nkit = ""\nlimit = "6thou"\n', "limit stands twice (again in line 3)"),
        ('limit = "5thou"\nlimit = "6thou"', "limit stands twice (again in line 2)"),
        ("limit = \n", "not proper TOML: Invalid value (at line 1, column 9)"),
    ],
)
def test_a_job_toml_that_cannot_be_read_is_said_once(van, text, words):
    job, command = van
    (job.path / "job.toml").write_text(text)
    code, out, err = command("job", "show", "van")
    assert code == 2 and words in err and not out
    assert err.count("job.toml") == 1


@pytest.mark.parametrize(
    ("name", "words"), [("journal.jsonl", "! no journal was in it"), ("job.toml", "! no job.toml was in it")]
)
def test_a_packed_job_that_has_lost_one_of_its_two_files_says_so(name, words, van, tmp_path):
    _, command = van
    whole, without = tmp_path / "whole.zip", tmp_path / "without.zip"
    assert command("job", "pack", "van", "-o", str(whole))[0] == 0
    with zipfile.ZipFile(whole) as packed, zipfile.ZipFile(without, "w") as bare:
        for entry in packed.infolist():
            if not entry.filename.endswith(name):
                bare.writestr(entry, packed.read(entry))
    assert words in command("job", "unpack", str(without))[2]
    assert words not in command("job", "unpack", str(whole))[2]


def test_a_title_with_a_slip_names_the_one_that_may_be_meant(tmp_path):
    shop = Shop(tmp_path / "shop")
    assert shop("job", "open", "Blue van").code == 0
    done = shop("job", "show", "bleu van")
    assert done.code == 2 and "is 'Blue van' meant?" in done.err
    assert "meant" not in shop("job", "show", "saw-mill").err
