"""What a job's journal, its recordings and job.toml say together: who wrote it, what was cut off or put in, and
what was edited by hand. Each attack is one that somebody could try with an editor.
"""

import hashlib
import json
import shutil
from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shopping import SWEEP, Shop, finished_in, lay_in, readings

from coaxly.entry.keyring import known_keys
from coaxly.job.folder import details, journal
from coaxly.job.folder.journal import Changed, Fitted, Note, Opened, Sweep
from coaxly.job.folder.journalmarks import vouched
from coaxly.job.folder.snapshot import look
from coaxly.job.folder.sworn import edited, ruling, said
from coaxly.job.steps.audit import audit
from coaxly.logger.recording.seals import check_seals
from coaxly.main import main
from coaxly.say.job.audits import audit_words

FORGED = b'{"kind":"fitted","dowels":[[0.3,10.0],[0.3,10.0]],"marks":[10.0,10.0]}\n'


def resealed(path, lines):
    """Lines written over a file with honest seals, as anybody can who has no key."""
    data = b""
    for line in lines:
        if b'"kind":"seal"' in line:
            seal = {
                **json.loads(line),
                "lines": data.count(b"\n"),
                "sha256": hashlib.sha256(data).hexdigest(),
            }
            line = json.dumps(seal, separators=(",", ":")).encode() + b"\n"
        data += line
    path.write_bytes(data)
    assert check_seals(path).state == "ok"


def lines_of(path):
    return path.read_bytes().splitlines(keepends=True)


@pytest.fixture
def keyed(tmp_path, monkeypatch):
    """A workshop with a key, and a job that it made."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return finished_in(tmp_path / "shop", "--customer", "A. Sailor", config=tmp_path / "config")


@pytest.fixture
def bare(tmp_path, monkeypatch):
    """The same without a key."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return finished_in(tmp_path / "shop", "--customer", "A. Sailor")


def audited(shop, *words):
    """(exit code, what is said of the journal)."""
    folder = shop.job("van").path
    from contextlib import redirect_stdout
    from io import StringIO

    with redirect_stdout(out := StringIO()):
        code = main(["audit", str(folder), *words])
    return code, next(line for line in out.getvalue().splitlines() if journal.NAME in line)


def told(shop, name="r.html", *words):
    """The report's text, and its exit code."""
    path = shop.folder / name
    done = shop("report", "van", "-o", path, *words)
    return done, " ".join(path.read_text().split()) if path.exists() else ""


# Signatures of a journal -------------------------------------------------------------------------


def test_a_journal_is_signed_by_the_workshops_key_and_says_so(keyed):
    code, words = audited(keyed, "--signed")
    assert code == 0 and words.startswith("ok") and "signed by this workshop" in words
    assert "a cut at its end does not show" in words
    assert "every line is as it was written" in told(keyed)[1]


def test_a_journal_that_nobody_signed_does_not_pass_for_signed_nor_for_proved(bare):
    code, words = audited(bare)
    assert code == 0 and words.startswith("ok") and "no key has signed it" in words
    assert audited(bare, "--signed")[0] == 1
    assert "every line is as it was written" not in told(bare)[1]


@pytest.mark.parametrize("signatures", ["kept", "taken out"])
def test_a_signed_journal_that_was_edited_and_sealed_anew_is_found(keyed, signatures):
    path = keyed.job("van").written
    lines = [line.replace(b"as planned", b"mirrored") for line in lines_of(path)]
    resealed(path, [line for line in lines if signatures == "kept" or b'"kind":"signed"' not in line])
    code, words = audited(keyed, "--signed")
    assert code == 1 and not words.startswith("ok")
    assert ("is not of the key it names" in words) == (signatures == "kept")
    done, text = told(keyed, "r.html", "--anyway")
    assert done.code == 1 or signatures == "taken out"
    assert "every line is as it was written" not in text


def test_a_line_put_in_behind_the_signatures_stays_unsigned_when_the_workshop_writes_on(keyed):
    path = keyed.job("van").written
    count = len(lines_of(path))
    resealed(path, [*lines_of(path), FORGED, lines_of(path)[-1]])
    assert audited(keyed, "--signed")[0] == 1
    assert keyed("job", "note", "van", "done").code == 0
    code, words = audited(keyed, "--signed")
    assert code == 1 and f"nobody signed line {count + 1}:" in words and words.startswith("unsigned")
    assert f"nobody signed line {count + 1}:" in told(keyed)[1]


def test_lines_written_before_there_was_a_key_are_told_from_those_after_it(bare):
    assert main(["key", "--make"]) == 0
    first = len(lines_of(bare.job("van").written))
    assert bare("job", "note", "van", "done").code == 0
    code, words = audited(bare, "--signed")
    assert code == 1 and f"nobody signed lines 1 to {first - 1}:" in words
    assert audited(bare)[0] == 0


def test_a_journal_of_another_workshop_is_signed_by_whoever_is_known(keyed, tmp_path, monkeypatch):
    (key,) = known_keys()
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "another"))
    code, words = audited(keyed, "--signed")
    assert code == 1 and "a key that is not known here" in words
    assert main(["key", "--know", key, "--name", "front bench"]) == 0
    assert audited(keyed, "--signed")[0] == 0


RECORDS = [Opened(title="van"), Note(text="one"), Fitted(dowels=((0.1, 10.0),) * 2), Note(text="two")]


@pytest.fixture(scope="module")
def signed(tmp_path_factory):
    """The lines of a signed journal, and its key as one that is known."""
    folder = tmp_path_factory.mktemp("signed")
    with pytest.MonkeyPatch.context() as here:
        here.setenv("XDG_CONFIG_HOME", str(folder / "config"))
        assert main(["key", "--make"]) == 0
        for record in RECORDS:
            journal.append(folder / journal.NAME, record)
        return lines_of(folder / journal.NAME), known_keys()


cuts = st.tuples(st.just("drop"), st.integers(0, 11), st.just(b""))
edits = st.tuples(st.just("edit"), st.integers(0, 11), st.sampled_from([b"one", b"van", b"0.1", b"1", b"2"]))
forged = st.tuples(
    st.just("add"), st.integers(0, 12), st.sampled_from([FORGED, b'{"kind":"note","text":"x"}\n'])
)
moves = st.tuples(st.just("swap"), st.integers(0, 10), st.just(b""))


@given(st.lists(st.one_of(cuts, edits, forged, moves), min_size=1, max_size=4))
def test_whatever_is_done_to_a_signed_journal_without_the_key_only_a_cut_at_its_end_passes(
    signed, tmp_path_factory, doings
):
    lines, keys = list(signed[0]), signed[1]
    for what, at, with_ in doings:
        at = min(at, max(len(lines) - 2, 0))
        if what == "drop" and lines:
            del lines[at]
        elif what == "edit" and lines:
            lines[at] = lines[at].replace(with_, b"7")
        elif what == "add":
            lines.insert(at, with_)
        elif what == "swap" and len(lines) > 1:
            lines[at : at + 2] = lines[at : at + 2][::-1]
    path = tmp_path_factory.mktemp("x") / journal.NAME
    try:
        resealed(path, lines)
    except (ValueError, AssertionError):
        return  # not even the seals hold
    found = audit(path, keys)
    if found.state == "ok" and found.signer:
        now = journal.decoded(path.read_bytes())
        assert now == RECORDS[: len(now)]


def test_records_and_signatures_are_what_a_journal_of_an_earlier_version_holds_beside_more(signed):
    assert [json.loads(line)["kind"] for line in signed[0][:3]] == ["opened", "signed", "seal"]
    assert journal.decoded(b"".join(signed[0])) == RECORDS


# Cut, or made anew -------------------------------------------------------------------------------


def at_seal(lines, number):
    """As many lines as the first so many seals speak for."""
    ends = [k + 1 for k, line in enumerate(lines) if b'"kind":"seal"' in line]
    return lines[: ends[number - 1]]


@pytest.mark.parametrize("key", ["keyed", "bare"])
def test_a_journal_cut_at_a_seal_lacks_what_the_recordings_know(key, request):
    shop = request.getfixturevalue(key)
    path = shop.job("van").written
    path.write_bytes(b"".join(at_seal(lines_of(path), 2)))  # opened, swept as found
    assert check_seals(path).state == "ok"
    code, words = audited(shop)
    assert code == 1 and words.startswith("changed")
    assert "it lacks what was in it when left-1.jsonl began" in words
    done = shop("report", "van")
    assert done.code == 2 and "put back a copy that has them" in done.err


def test_a_journal_cut_back_to_before_the_note_of_the_last_sweep_is_incomplete(bare):
    path = bare.job("van").written
    until = next(k for k, line in enumerate(lines_of(path)) if b"left-1.jsonl" in line)
    path.write_bytes(b"".join(lines_of(path)[:until]))
    code, words = audited(bare)
    assert code == 1 and words.startswith("incomplete") and "no line of it notes left-1.jsonl" in words
    assert audited(bare, "--allow-unsealed")[0] == 0


def test_a_journal_deleted_and_made_anew_is_not_the_one_that_the_recordings_know(bare):
    job = bare.job("van")
    job.written.unlink()
    journal.append(job.written, Opened(time=journal.now(), title="blue van"))
    code, words = audited(bare)
    assert code == 1 and words.startswith("changed") and "found-1.jsonl, left-1.jsonl began" in words
    done = bare("job", "show", "van")
    assert done.err.count("begun when the journal held lines that are not in it now") == 2
    assert not any(isinstance(record, Sweep) for record in look(job).records)


def test_a_journal_made_anew_does_not_know_recordings_of_earlier_versions_either(bare):
    """Their headers say nothing of a journal; the day they were begun does."""
    job = bare.job("van")
    lines = lines_of(job.path / "found-1.jsonl")
    head = {key: value for key, value in json.loads(lines[0]).items() if key not in ("journal", "ends")}
    head["created"] = "2026-01-01T00:00:00Z"
    for path in job.recordings():
        path.unlink()
    (job.path / "found-1.jsonl").write_bytes(b"")
    bare_lines = [line for line in lines[1:] if b'"kind":"end"' not in line and b'"kind":"seal"' not in line]
    seal = b'{"kind":"seal","t":%s,"lines":0,"sha256":""}\n' % str(json.loads(bare_lines[-1])["t"]).encode()
    resealed(job.path / "found-1.jsonl", [json.dumps(head).encode() + b"\n", *bare_lines, seal])
    job.written.unlink()
    journal.append(job.written, Opened(time=journal.now(), title="blue van"))
    code, words = audited(bare)
    assert code == 1 and words.startswith("incomplete") and "no line of it notes found-1.jsonl" in words


def test_a_noted_recording_that_is_gone_or_is_another_is_told_of_the_journal(bare):
    job = bare.job("van")
    shutil.copy(job.path / "found-1.jsonl", job.path / "left-1.jsonl")
    assert "left-1.jsonl there: NOT the recording that it noted" in audited(bare)[1]
    (job.path / "left-1.jsonl").unlink()
    code, words = audited(bare)
    assert code == 1 and words.startswith("incomplete") and "though it notes that: left-1.jsonl" in words


def test_what_was_taken_in_by_hand_is_no_sign_of_a_cut(bare, tmp_path):
    other = finished_in(tmp_path / "other").job("van")
    lay_in(bare.job("van"), other.path / "found-1.jsonl", "found-9.jsonl")
    assert audited(bare)[0] == 0


def test_nothing_of_a_journal_is_vouched_for_where_there_is_none(tmp_path):
    assert vouched(b"").unsigned() == []


# job.toml ----------------------------------------------------------------------------------------


def by_hand(shop, old, new):
    path = shop.job("van").path / "job.toml"
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def test_the_journal_keeps_what_was_said_at_the_opening_and_what_the_program_changed(bare):
    job = bare.job("van")
    first = said(look(job).records)
    assert (first["limit"], first["customer"], first["title"]) == ("5thou", "A. Sailor", "blue van")
    assert first["limit_source"] == "" and edited(look(job)) == []
    job.edit(limit="4thou", kit="5thou")
    assert [record.said for record in look(job).records if isinstance(record, Changed)] == [
        {"limit": "4thou", "kit": "5thou"}
    ]
    assert said(look(job).records)["limit"] == "4thou" and edited(look(job)) == []


EDITS = {
    "block": {"family": "", "serial": "x9"},
    "housing": {"family": "x9", "serial": ""},
    "rig": {"arm": "x9"},
}
"""Of keys that are no text."""


def test_every_key_of_job_toml_that_is_edited_is_named_however_it_came_to_be_one(keyed):
    job = keyed.job("van")
    job.edit(**{field.name: EDITS.get(field.name, "was") for field in fields(details.Details)})
    assert edited(look(job)) == []
    for field in fields(details.Details):
        value = EDITS.get(field.name)
        details.edit(job.path / details.NAME, {field.name: {"serial": "y7"} if value else "y7"})
        (one,) = edited(look(job))
        assert (one.key, "y7" in one.now) == (field.name, True) and one.before
        code, words = audited(keyed, "--signed")
        assert code == 1 and "edited by hand" in words and "y7" in words, field.name
        details.edit(job.path / details.NAME, {field.name: value or "was"})
    assert edited(look(job)) == []


def test_a_report_names_on_the_terminal_what_it_prints_and_nobody_said(keyed):
    by_hand(keyed, 'limit = "5thou"', 'limit = "40thou"')
    by_hand(keyed, 'notes = ""', 'notes = "a word"')
    shown, done = keyed("job", "show", "van").err, told(keyed)[0].err
    assert shown.count("! job.toml was edited by hand") == 2 and shown in done
    assert "limit of 40.0 thou was put into job.toml by hand" in done


def test_a_rig_whose_keys_only_changed_places_was_not_edited(keyed):
    job = keyed.job("van")
    job.edit(rig={"stations": 8, "sense": "cw"})
    details.edit(job.path / details.NAME, {"rig": {"sense": "cw", "stations": 8}})
    assert edited(look(job)) == []


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('title = "blue van"', 'title = "red van"', "title is 'red van' now, the journal says 'blue van'"),
        ('"A. Sailor"', '"B. Sailor"', "customer is 'B. Sailor' now, the journal says 'A. Sailor'"),
    ],
)
def test_a_title_or_customer_edited_under_signed_sweeps_is_named(keyed, old, new, words):
    by_hand(keyed, old, new)
    assert words in keyed("job", "show", "van").err
    code, line = audited(keyed)
    assert code == 0 and words in line
    code, line = audited(keyed, "--signed")
    assert code == 1 and line.startswith("unsigned") and "no key that is known here" not in line
    _, text = told(keyed)
    assert text.replace("&#x27;", "'").replace("&#39;", "'").count(words) == 2  # on both pages


def test_a_limit_edited_under_sweeps_does_not_judge_them(keyed):
    before = json.loads(keyed("verify", "van", "--json").out)
    by_hand(keyed, 'limit = "5thou"', 'limit = "40thou"')
    done, text = told(keyed)
    assert done.code == 0 and "40.0 thou was put into job.toml by hand" in text
    assert "found-1.jsonl was swept for 5.0 thou" in text and "limit is &#39;40thou&#39; now" in text
    front = text.partition("For the shop")[0]
    assert "40" not in front.partition("by hand")[0].rpartition("Limit")[2][:60]
    again = keyed("verify", "van", "--json")
    assert json.loads(again.out)["left"]["decision"] == before["left"]["decision"] and "by hand" in again.err
    assert "by hand" in keyed("plan", "van").err
    ruled = ruling(look(keyed.job("van")))
    assert ruled.limit is None and ruled.by_hand.tir == pytest.approx(40 * 0.0254)


@pytest.mark.parametrize("way", ["agreed", "screen"])
def test_a_limit_changed_through_the_program_judges_and_both_are_said(keyed, way):
    if way == "agreed":
        by_hand(keyed, 'limit = "5thou"', 'limit = "40thou"')
        assert "limit 40thou" in keyed("job", "changed", "van", "--operator", "B").out
        assert keyed("job", "changed", "van").code == 2
    else:
        keyed.job("van").edit(limit="40thou")
    assert ruling(look(keyed.job("van"))).limit.tir == pytest.approx(40 * 0.0254)
    _, text = told(keyed)
    assert (
        "was swept for 5.0 thou; left-1.jsonl was swept for 5.0 thou, and is judged by the limit of now, 40.0 thou"
        in text
    )
    assert "by hand" not in text and audited(keyed, "--signed")[0] == 0


def test_a_limit_edited_between_two_sweeps_holds_as_the_second_was_made_for_it(tmp_path):
    shop = Shop(tmp_path)
    assert shop("job", "open", "blue van", "--limit", "5thou", "--kit", "5thou,7thou").code == 0
    assert shop(*SWEEP, typed=readings(-5, 5)).code == 1
    by_hand(shop, 'limit = "5thou"', 'limit = "6thou"')
    assert ruling(look(shop.job("van"))).limit is None
    assert shop("job", "fitted", "van", "7thou@135").code == 0
    assert shop(*SWEEP, "--stage", "left", typed=readings(-0.1, 0.1)).code == 0
    ruled = ruling(look(shop.job("van")))
    assert ruled.limit.tir == pytest.approx(6 * 0.0254) and [file for file, _ in ruled.made_for] == [
        "found-1.jsonl"
    ]


def test_a_job_of_an_earlier_version_is_held_against_its_recordings(bare):
    job = bare.job("van")
    old = [json.loads(line) for line in lines_of(job.written)]
    noted = old[0].pop("said")
    old[0].pop("id")
    resealed(job.written, [json.dumps(entry, separators=(",", ":")).encode() + b"\n" for entry in old])
    assert edited(look(job)) == []
    by_hand(bare, '"A. Sailor"', '"B. Sailor"')
    assert edited(look(job)) == []  # nobody knows what it was
    by_hand(bare, 'limit = "5thou"', 'limit = "40thou"')
    assert ruling(look(job)).limit is None
    by_hand(bare, 'title = "blue van"', 'title = "red van"')
    assert [(each.key, each.before) for each in edited(look(job))] == [("title", "blue van")]
    old[0]["said"] = {
        key: noted[key] for key in ("title", "number", "limit", "customer")
    }  # those that were filled in
    resealed(job.written, [json.dumps(entry, separators=(",", ":")).encode() + b"\n" for entry in old])
    by_hand(bare, 'mileage = ""', 'mileage = "9 km"')
    by_hand(bare, 'notes = ""', 'notes = "a word"')  # which was not kept then
    assert {each.key for each in edited(look(job))} == {"title", "limit", "customer", "mileage"}


def test_what_is_wrong_with_job_toml_is_not_the_journals_fault(bare):
    (bare.job("van").path / "job.toml").write_text("title = [")
    found = audit(bare.folder / next(iter(bare.folder.glob("*-van"))).name / journal.NAME)
    assert found.state == "ok" and "edited" not in audit_words(found)
