"""A sweep that measured nothing says so wherever it is judged: the result, the plan, the proof, the job."""

import json
import math

import pytest
from making import by_hand, header_line
from shopping import Shop

from coaxly.job.folder.snapshot import look
from coaxly.job.recorded.pipeline import Pipeline, replay, together
from coaxly.job.steps.audit import audit
from coaxly.job.steps.jobsteps import note_vouched
from coaxly.main import main
from coaxly.say.sweep.finished import way

OFF = [2.7, 0.7, 0, 0, 0, 0, 2.1, 3.3, 2.7]
SWITCHED = [0, 1.1, 2.7, 5.1 / 25.4, 6.3 / 25.4, 5.4 / 25.4, 3.0 / 25.4, 1.0 / 25.4, 0]
UNTURNED = [30, 30.05, 30, 30, 30.05, 30, 30.05, 30.05, 30]
FOUND = [
    round(12.0 * math.cos(math.radians(45 * k - 30)) + 1.0 * math.cos(math.radians(90 * k)), 2)
    for k in range(9)
]
GOOD = [
    round(1.0 * math.cos(math.radians(45 * k - 30)) + 0.4 * math.cos(math.radians(90 * k)), 2)
    for k in range(9)
]


def swept(path, thou, **setup):
    angles = [45.0 * k for k in range(9)]
    return by_hand(path, [v / 1000 for v in thou], angles, setup={"closing": True, **setup})


def test_the_result_says_why_in_words_in_json_and_by_its_exit_code(tmp_path, capsys):
    path = str(swept(tmp_path / "s.jsonl", OFF))
    assert main(["replay", path]) == 1
    out = capsys.readouterr().out
    assert "no verdict" in out and "INSIDE" not in out and "Set the preload" in out and "ust move" not in out
    assert main(["replay", path, "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["decision"]["withheld"] == ["tip_off"] and told["decision"]["state"] == "unsure"


def test_a_plan_from_it_is_shown_but_not_to_go_by_and_nothing_is_taken(tmp_path, capsys):
    path = str(swept(tmp_path / "s.jsonl", OFF))
    assert main(["plan", path, "--kit", "5thou,10thou"]) == 1
    out = capsys.readouterr().out
    assert "fit nothing by this sweep" in out and "eave it" not in out and "SETTING" not in out
    assert out.count("not known") == 3 and " % " not in out.partition("ends inside")[2]
    assert main(["plan", path, "--kit", "5thou,10thou", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["remarks"][0]["kind"] == "tip_off"
    assert all("sweep again" in o["note"] and o["probability"] is None for o in told["options"])


def test_nothing_is_proved_by_it(tmp_path, capsys):
    found, left = swept(tmp_path / "f.jsonl", FOUND), swept(tmp_path / "l.jsonl", UNTURNED)
    words = ["verify", str(found), str(left), "--fitted", "12thou@210"]
    assert main(words) == 2
    assert "as if nothing had moved" in capsys.readouterr().err
    assert main([*words, "--anyway"]) == 1
    assert "NOTHING MOVED" in capsys.readouterr().out


def test_out_of_round_that_is_gone_was_not_read_again(tmp_path, capsys):
    """Dowels do not make a bore round: left reads round to a twentieth of what was found, sure or not."""
    found = swept(tmp_path / "f.jsonl", FOUND)
    left = swept(tmp_path / "l.jsonl", UNTURNED, sure=["not_turned", "dead_dial"])
    words = ["verify", str(found), str(left), "--fitted", "12thou@210"]
    assert main(words) == 2
    assert "no dowel cures that" in capsys.readouterr().err
    assert main([*words, "--anyway"]) == 1


def test_several_put_together_are_withheld_as_each_is(tmp_path):
    good, off = (replay(swept(tmp_path / f"{k}.jsonl", thou)) for k, thou in enumerate((GOOD, OFF)))
    inches = by_hand(
        tmp_path / "u.jsonl", [0.0048 * math.cos(math.radians(45 * k)) for k in range(8)], unit="mm"
    )
    for pair in ([good, off], [off, good]):
        assert together(pair).decision.withheld == ("tip_off",)
    decision = together([replay(inches), replay(inches)]).decision
    assert (decision.state, decision.withheld) == ("unsure", ("other_unit",))


def thou_lines(thou):
    return "".join(f"{v}thou\n" for v in thou)


def test_a_job_asks_for_the_sweep_again_and_its_report_says_why(tmp_path):
    shop = Shop(tmp_path)
    shop("job", "open", "van", "--kit", "5thou,10thou")
    sweep = ("sweep", "--job", "van", "--profile", "typed", "--unit", "in", "--headless")
    assert shop(*sweep, typed=thou_lines(OFF)).code == 1
    shown = shop("job", "show", "van").out
    assert "NEXT: tip off or plunger at its stop: sweep the bore as found again" in shown
    assert "TIP OFF" in shop("job", "list").out and "INSIDE" not in shop("job", "list").out
    told = json.loads(shop("job", "show", "van", "--json").out)["job"]
    assert told["next"] == "sweep found" and told["state"]["found"]["answer"]["doubts"] == ["tip_off"]
    assert shop("plan", "van", "--take", "1").code == 2
    page = tmp_path / "r.html"
    shop("report", "van", "-o", page)
    text = page.read_text()
    assert "TIP OFF OR PLUNGER AT ITS STOP" in text and "Set the preload" in text


def held_as_left(folder):
    """A job whose dowels are in, and whose sweep as left is of a crank that was not turned."""
    shop = Shop(folder)
    shop("job", "open", "van", "--kit", "5thou,12thou")
    sweep = ("sweep", "--job", "van", "--profile", "typed", "--unit", "in", "--headless")
    shop(*sweep, typed=thou_lines(FOUND))
    shop("job", "fitted", "van", "12thou@210,12thou@210")
    assert shop(*sweep, "--stage", "left", typed=thou_lines(UNTURNED)).code == 1
    return shop


def test_no_run_out_is_told_of_a_sweep_without_a_verdict(tmp_path):
    shop = held_as_left(tmp_path)
    left = json.loads(shop("replay", next(tmp_path.glob("*/left-1.jsonl")), "--json").out)
    wrong = f"{left['tir']['fitted'] / 0.0254:.1f}"
    assert left["decision"]["withheld"] == ["not_turned"] and left["decision"]["probability"] is None
    page, pdf = tmp_path / "r.html", tmp_path / "r.pdf"
    told = json.loads(shop("report", "van", "-o", page, "--json").out)["report"]
    assert told["left"]["decision"]["probability"] is None
    assert 0.0 <= told["found"]["decision"]["probability"] <= 1.0  # of the other one it is known
    front = page.read_text().partition('class="sheet shop"')[0]
    assert "after it not known (NOTHING MOVED)" in front and "was 24" not in front
    assert f"{wrong} ±" not in page.read_text() and "bore, left" not in front
    assert "run-out</td>" not in front and ".verdict.withheld" in front
    assert shop("report", "van", "-o", pdf).code == 0
    assert pdf.read_bytes()[:4] == b"%PDF"
    for listed in (shop("job", "list").out, shop("job", "show", "van").out.rpartition("left-1.jsonl")[2]):
        assert "NOTHING MOVED" in listed and f"{wrong} thou" not in listed


def test_nothing_is_named_by_a_sweep_in_doubt_and_nothing_is_noted(tmp_path):
    shop = held_as_left(tmp_path)
    done = shop("verify", "van", "--anyway")
    assert done.code == 1 and "Nothing is proved by a sweep in doubt" in done.out
    assert "NOTHING MOVED" in done.out and "Finding" not in done.out and "mirror" not in done.out
    told = json.loads(shop("verify", "van", "--anyway", "--json").out)
    assert told["finding"] is None and told["left"]["decision"]["withheld"] == ["not_turned"]
    known = look(shop.job("van"))
    assert known.state.proof is None and known.state.next == "sweep left"


def test_a_sweep_as_found_in_doubt_leaves_the_one_as_left_to_say_how_it_is(tmp_path):
    shop = Shop(tmp_path)
    shop("job", "open", "van", "--kit", "5thou")
    sweep = ("sweep", "--job", "van", "--profile", "typed", "--unit", "in", "--headless")
    shop(*sweep, typed=thou_lines(UNTURNED))
    shop("job", "fitted", "van", "5thou@210,5thou@210")
    assert shop(*sweep, "--stage", "left", typed=thou_lines(GOOD)).code == 0
    assert look(shop.job("van")).state.next == "report"
    assert "Nothing is proved" in shop("verify", "van", "--anyway").out


def test_a_job_that_is_closed_before_it_is_proved_says_so(tmp_path):
    shop = held_as_left(tmp_path)
    done = shop("job", "close", "van")
    assert done.code == 0 and "closed before it is proved" in done.err and "sweep the bore" in done.err


def test_an_option_says_that_it_is_so_and_the_recording_keeps_it(tmp_path, monkeypatch):
    shop = Shop(tmp_path)
    shop("job", "open", "van")
    sweep = ("sweep", "--job", "van", "--profile", "typed", "--unit", "in", "--headless", "--sure", "tip-off")
    done = shop(*sweep, typed=thou_lines(OFF))
    assert done.code == 0 and "somebody made sure" in done.out
    path = next(tmp_path.glob("*/found-1.jsonl"))
    assert json.loads(path.read_text().splitlines()[0])["setup"]["sure"] == ["tip_off"]
    assert shop(*sweep[:-1], "tipoff").code == 2


def test_a_job_whose_sweep_was_made_sure_of_goes_on(tmp_path):
    shop = Shop(tmp_path)
    shop("job", "open", "van")
    shop("sweep", "--job", "van", "--profile", "typed", "--unit", "in", "--headless", typed=thou_lines(OFF))
    job = shop.job("van")
    assert look(job).state.next == "sweep found"
    result = note_vouched(job, job.path / "found-1.jsonl", job.free_recording("found", "bore"))
    assert result.decision.state == "inside" and look(job).state.next == "report"


def test_a_proof_by_a_sweep_that_measured_nothing_ends_no_job(tmp_path):
    shop = Shop(tmp_path)
    shop("job", "open", "van", "--kit", "5thou,12thou")
    sweep = ("sweep", "--job", "van", "--profile", "typed", "--unit", "in", "--headless")
    shop(*sweep, typed=thou_lines(FOUND))
    shop("job", "fitted", "van", "12thou@210,12thou@210")
    assert shop(*sweep, "--stage", "left", typed=thou_lines(UNTURNED)).code == 1
    assert look(shop.job("van")).state.next == "sweep left"
    assert shop("verify", "van").code == 2
    assert shop("verify", "van", "--anyway").code == 1
    assert look(shop.job("van")).state.next not in ("report", "done")


def test_a_verdict_that_an_older_version_gave_is_no_tampering(tmp_path):
    path = swept(tmp_path / "s.jsonl", SWITCHED)
    result = replay(path).result().to_dict()
    decision = result["decision"]
    del decision["withheld"]
    decision |= {"state": "inside", "doubt": ""}
    result["remarks"] = []
    old = path.read_text() + json.dumps({"t": 99.0, "kind": "result", "result": result}) + "\n"
    path.write_text(old)
    assert not audit(path).differences
    path.write_text(old.replace('"state": "inside"', '"state": "outside"'))
    assert [each.key for each in audit(path).differences] == ["decision.state"]


def streamed(path, flicker, turned):
    """A dial that sends ten times a second; whether the crank is turned between the stations."""
    lines, t = (
        [header_line(setup={"closing": True}, instrument={"unit": "in"}, angle={"mode": "entered"})],
        0.0,
    )
    for k in range(9):
        for step in range(-10, 6):
            t += 0.1
            way = 0.003 * math.sin(math.pi * step / 10.0) if turned and k and step < 0 else 0.0
            value = way + 0.00005 * ((k + step) % 2 if flicker else 0)
            lines.append(
                json.dumps({"t": round(t, 3), "kind": "raw", "port": "indicator", "data": f"{value:+.5f}\n"})
            )
        lines.append(json.dumps({"t": round(t + 0.01, 3), "kind": "station", "deg": 45.0 * (k % 8)}))
    path.write_text("\n".join(lines) + "\n")
    return path


@pytest.mark.parametrize("flicker", [False, True])
def test_what_the_dial_showed_on_the_way_tells_whether_the_crank_was_turned(flicker, tmp_path):
    still = replay(streamed(tmp_path / "still.jsonl", flicker, turned=False))
    turned = replay(streamed(tmp_path / "turned.jsonl", flicker, turned=True))
    assert still.result().decision.withheld and not turned.result().decision.withheld
    moved = turned.fitter.stations().moved
    assert math.isnan(moved[0]) and all(value > 0.07 for value in moved[1:])


def test_the_motion_is_the_same_record_by_record(tmp_path):
    from coaxly.logger.recording.reader import RecordingReader

    path = streamed(tmp_path / "s.jsonl", True, turned=True)
    whole = replay(path)
    with RecordingReader(path) as reader:
        single = Pipeline(reader.header)
        for block in reader.blocks():
            for record in block:
                single.feed((record,))
    assert single.result() == whole.result()
    assert single.fitter.stations().moved[1:].tolist() == whole.fitter.stations().moved[1:].tolist()


def test_what_is_inside_need_not_move(tmp_path):
    inside, outside = (
        replay(swept(tmp_path / f"{k}.jsonl", t)).result() for k, t in enumerate((GOOD, FOUND))
    )
    assert inside.decision.state == "inside" and way(inside, "thou").head[0] == "LEAVE IT"
    assert way(outside, "thou").head[0] == "HOUSING MUST MOVE"


SET_WELL = [20.1, 19.95, 20.0, 20.1, 19.95, 19.85, 19.95, 20.05, 20.15]


def as_found(thou):
    """A bore 12 thou off whose oval is of so many thou, by a display of .05 thou."""
    rad = [math.radians(45 * k) for k in range(9)]
    off = [12 * math.cos(a - 0.52) + thou * (math.cos(2 * a + 1) + 0.4 * math.cos(3 * a)) for a in rad]
    return [round(round((20 + each) / 0.05) * 0.05, 2) for each in off]


def test_a_bore_that_is_set_to_next_to_nothing_is_known_again_by_its_form(tmp_path, capsys):
    found = swept(tmp_path / "f.jsonl", as_found(0.1), limit_mm=0.254)
    left = swept(tmp_path / "l.jsonl", SET_WELL, limit_mm=0.254)
    assert main(["replay", str(left), "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["decision"]["withheld"] == ["not_turned"]
    main(["verify", str(found), str(left), "--fitted", "12thou@210", "--json"])
    assert json.loads(capsys.readouterr().out)["left"]["decision"]["state"] == "inside"


def test_a_jobs_sweep_as_left_holds_what_the_one_as_found_read(tmp_path):
    shop = Shop(tmp_path)
    shop("job", "open", "van", "--kit", "5thou,12thou", "--limit", "10thou")
    sweep = ("sweep", "--job", "van", "--profile", "typed", "--unit", "in", "--headless", "--json")
    shop(*sweep, typed=thou_lines(as_found(0.1)))
    shop("job", "fitted", "van", "12thou@210,12thou@210")
    done = shop(*sweep, "--stage", "left", typed=thou_lines(SET_WELL))
    assert json.loads(done.out)["decision"]["withheld"] == [] and done.code == 0
    again = replay(next(tmp_path.glob("*/left-1.jsonl")))
    assert again.fitter.earlier.file == "found-1.jsonl" and again.before is None
    assert again.result().decision.state == "inside"


def test_a_sweep_in_doubt_is_nothing_to_know_a_bore_by(tmp_path):
    shop = held_as_left(tmp_path)
    shop("sweep", "--job", "van", "--profile", "typed", "--unit", "in", "--headless", "--stage", "left",
         typed=thou_lines(GOOD))  # fmt: skip
    assert replay(next(tmp_path.glob("*/left-2.jsonl"))).fitter.earlier.file == "found-1.jsonl"
