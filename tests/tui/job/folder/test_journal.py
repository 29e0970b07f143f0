"""A job is what its journal says: any records in any order, whatever the file holds."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.errors import UsageError
from coaxly.job.folder import journal
from coaxly.job.folder.journal import (
    Answer,
    Changed,
    Chosen,
    Closed,
    Fitted,
    Note,
    Opened,
    Photo,
    Proof,
    Reported,
    Shimmed,
    Sweep,
    Unproved,
)
from coaxly.job.folder.progress import JobState, after, state
from coaxly.logger.recording.seals import check_seals
from coaxly.say.job.jobwords import next_step, record_words
from coaxly.say.job.listwords import large_step

NEXT = {"sweep found", "choose", "fit", "sweep left", "verify", "again", "report", "done"}
PAIR = ((0.127, 40.0), (0.127, 40.0))

answers = st.one_of(
    st.none(),
    st.builds(
        Answer, st.just(0.3), st.just(0.05), st.just(0.127), st.sampled_from(["inside", "outside", "unsure"])
    ),
)
dowels = st.sampled_from([(), PAIR])
sweeps = st.builds(
    Sweep,
    file=st.sampled_from(["found-1.jsonl", "left-1.jsonl", "left-2.jsonl"]),
    stage=st.sampled_from(["found", "left", "check"]),
    feature=st.sampled_from(["bore", "face"]),
    answer=answers,
)
records = st.one_of(
    st.builds(Opened, title=st.text(max_size=5), face=st.booleans()),
    sweeps,
    st.builds(Chosen, which=st.integers(1, 3), dowels=dowels),
    st.builds(Fitted, dowels=dowels),
    st.builds(Shimmed, shims=st.sampled_from([(), ((30.0, 0.05),)])),
    st.builds(
        Proof,
        found=st.just("found-1.jsonl"),
        left=st.sampled_from(["left-1.jsonl", "left-2.jsonl"]),
        cause=st.just("as planned"),
        probability=st.just(0.9),
        state=st.sampled_from(["inside", "outside", "unsure"]),
    ),
    st.builds(Note, text=st.text(max_size=5)),
    st.builds(Photo, file=st.just("a.jpg")),
    st.builds(Changed, said=st.dictionaries(st.sampled_from(["title", "limit"]), st.text(max_size=5))),
    st.builds(Reported),
    st.builds(Closed),
    st.builds(Unproved, first=st.just(3), last=st.just(4)),
)


@given(st.lists(records, max_size=12))
def test_any_records_in_any_order_give_a_state_and_a_next_step(some):
    now = state(some)
    assert now.next in NEXT
    assert now.feature in ("face", "bore")


@given(st.lists(records, max_size=12), records)
def test_the_state_is_a_fold(some, one):
    assert state([*some, one]) == after(state(some), one)


@given(st.lists(records, max_size=8))
def test_records_read_back_as_they_were_and_so_does_the_state(some):
    data = b"".join(msgspec.json.encode(each) + b"\n" for each in some)
    assert journal.decoded(data) == some
    assert state(journal.decoded(data)) == state(some)


@given(st.lists(records, min_size=1, max_size=6), st.integers(0, 200), st.binary(max_size=30))
def test_a_torn_last_line_and_lines_of_later_versions_are_passed_over(some, cut, rubbish):
    lines = [msgspec.json.encode(each) for each in some]
    later = b'{"kind":"weather","time":"2030-01-01T00:00:00Z"}'
    torn = lines[-1][: min(cut, len(lines[-1]) - 1)]
    data = b"\n".join([later, *lines, rubbish.replace(b"\n", b""), torn])
    assert journal.decoded(data) == some


@given(st.lists(records, max_size=10), dowels)
def test_what_was_really_fitted_is_what_is_in_and_asks_for_a_sweep(some, put_in):
    now = state([Opened(title="van"), *some, Fitted(dowels=put_in)])
    assert now.fitted.dowels == put_in and now.left is None and now.proof is None and now.chosen is None
    bare = not put_in and now.found is None
    assert (
        now.next == ("sweep found" if bare and now.nudged is None else "sweep left") or now.feature == "face"
    )


WAY = [
    (Opened(title="van"), "sweep found"),
    (Sweep(file="found-1.jsonl", stage="found"), "choose"),
    (Chosen(which=1, dowels=PAIR), "fit"),
    (Fitted(dowels=PAIR), "sweep left"),
    (Sweep(file="left-1.jsonl", stage="left"), "verify"),
    (Proof(found="found-1.jsonl", left="left-1.jsonl", cause="not turned", probability=1.0, state="outside"), "again"),
    (Chosen(which=2, dowels=PAIR), "fit"),
    (Fitted(dowels=PAIR), "sweep left"),
    (Sweep(file="left-2.jsonl", stage="left"), "verify"),
    (Reported(), "verify"),
    (Proof(found="found-1.jsonl", left="left-1.jsonl", cause="stale", probability=1.0, state="inside"), "verify"),
    (Proof(found="found-1.jsonl", left="left-2.jsonl", cause="as planned", probability=1.0, state="inside"), "report"),
    (Reported(), "done"),
    (Note(text="customer told"), "done"),
    (Closed(), "done"),
    (Sweep(file="left-3.jsonl", stage="left"), "verify"),
]  # fmt: skip


def test_the_way_of_a_job_with_a_second_round():
    now = JobState()
    for record, due in WAY:
        now = after(now, record)
        assert now.next == due, record


def came(state_, stage="found", feature="bore", **more):
    name = stage if feature == "bore" else f"{feature}-{stage}"
    return Sweep(
        file=f"{name}-1.jsonl", stage=stage, feature=feature, answer=Answer(0.12, 0.03, 0.127, state_, **more)
    )


OUT, IN, UNSURE = came("outside"), came("inside"), came("unsure")
PROVED = Proof(
    found="found-1.jsonl", left="left-1.jsonl", cause="as planned", probability=0.9, state="unsure"
)
TOO_LITTLE = [
    ([UNSURE], "bore", "sweep found"),
    ([came("outside", direction=False)], "bore", "sweep found"),
    ([came("inside", direction=False)], "bore", "report"),
    ([UNSURE, OUT], "bore", "choose"),
    ([UNSURE, Chosen(which=1, dowels=PAIR)], "bore", "fit"),
    ([OUT, Fitted(dowels=PAIR), came("unsure", "left")], "bore", "sweep left"),
    ([OUT, Fitted(dowels=PAIR), came("unsure", "left"), came("inside", "left")], "bore", "verify"),
    ([OUT, Fitted(dowels=PAIR), came("unsure", "left"), PROVED], "bore", "sweep left"),
    ([OUT, Fitted(dowels=PAIR), came("unsure", "left"), msgspec.structs.replace(PROVED, cause="mirrored")], "bore", "again"),
    ([came("unsure", feature="face")], "face", "sweep found"),
    ([came("unsure", feature="face"), Shimmed(shims=((30.0, 0.05),))], "face", "sweep left"),
    ([came("outside", feature="face"), Shimmed(shims=((30.0, 0.05),)), came("unsure", "left", "face")], "face", "sweep left"),
    ([came("outside", feature="face"), Shimmed(shims=((30.0, 0.05),)), came("outside", "left", "face")], "face", "again"),
]  # fmt: skip


@pytest.mark.parametrize(("some", "feature", "due"), TOO_LITTLE)
def test_what_is_too_close_to_call_is_swept_again_unless_somebody_goes_on_on_purpose(some, feature, due):
    now = state([Opened(title="van"), *some])
    assert (now.feature, now.next) == (feature, due)


def test_the_next_step_says_the_cure_that_the_proof_found():
    turn = (("180 degrees out", (90.0,)), ("mirrored", (90.0,)))
    proof = Proof(
        found="found-1.jsonl", left="left-1.jsonl", cause="180 degrees out or mirrored", probability=0.9,
        state="outside", among=turn,
    )  # fmt: skip
    now = state([Opened(title="van"), OUT, Fitted(dowels=PAIR), came("outside", "left"), proof])
    cure = "set the high sides to 3:00 seen from behind the engine, and sweep again"
    assert next_step(now, "thou") == f"not proved: {cure}"
    old = msgspec.structs.replace(proof, among=(), cause="cannot be told")
    assert next_step(after(now, old), "thou") == "not proved: sweep again"


def test_a_job_closed_before_it_is_proved_says_that_nothing_is():
    fitted = [Opened(title="van"), OUT, Fitted(dowels=PAIR)]
    left = [*fitted, came("inside", "left")]
    for records, due in (
        ([Opened(title="van")], "sweep the bore as found"),
        ([Opened(title="van"), OUT], "choose dowels"),
        (fitted, "sweep the bore as left"),
        (left, "compare and prove it"),
    ):
        now = state([*records, Closed()])
        assert next_step(now, "thou") == f"closed, but nothing is proved; due was: {due}"
        assert (now.next, large_step(now, "thou")) == ("done", "NOT PROVED")
    for records in ([*left, msgspec.structs.replace(PROVED, state="inside")], [Opened(title="van"), IN]):
        assert next_step(state([*records, Closed()]), "thou") == "done"


def test_that_nothing_offset_is_in_is_no_change_to_prove_before_anything_was_swept():
    assert state([Opened(title="van"), Fitted()]).next == "sweep found"
    assert state([Opened(title="van"), Fitted(dowels=PAIR), Fitted()]).next == "sweep found"
    assert state([Opened(title="van"), OUT, Fitted(dowels=PAIR), Fitted()]).next == "sweep left"
    assert record_words(Fitted(), "thou") == "fitted: no offset dowels in"
    chosen = record_words(Chosen(which=2, dowels=PAIR), "thou")
    assert chosen == record_words(Fitted(dowels=PAIR), "thou").replace("fitted", "chosen, option 2")
    assert chosen.endswith(", seen from behind")


def test_what_is_inside_as_found_is_left_as_it_is():
    assert state([Opened(title="van"), IN]).next == "report"
    assert state([Opened(title="van"), IN, Reported()]).next == "done"
    face = state([Opened(title="van", face=True), came("inside", feature="face")])
    assert (face.feature, face.next) == ("bore", "sweep found")
    assert next_step(face, "thou") == "face inside, leave it: sweep the bore as found"
    assert next_step(state([Opened(title="van"), IN]), "thou") == "bore inside, leave it: write the report"
    again = "too close to call: sweep the bore as found again"
    assert next_step(state([Opened(title="van"), UNSURE]), "thou") == again


def test_the_face_comes_first_and_shims_undo_what_was_swept_of_the_bore():
    way = [
        (Opened(title="van", face=True), "face", "sweep found"),
        (Sweep(file="found-1.jsonl", stage="found"), "face", "sweep found"),
        (Sweep(file="face-found-1.jsonl", stage="found", feature="face"), "face", "fit"),
        (Shimmed(shims=((30.0, 0.05),)), "face", "sweep left"),
        (Sweep(file="face-left-1.jsonl", stage="left", feature="face"), "bore", "sweep found"),
        (Sweep(file="found-2.jsonl", stage="found"), "bore", "choose"),
    ]
    now = JobState()
    for record, feature, due in way:
        now = after(now, record)
        assert (now.feature, now.next) == (feature, due), record


def test_a_journal_is_sealed_after_every_record_and_goes_on_behind_half_a_line(tmp_path):
    path = tmp_path / journal.NAME
    journal.append(path, Opened(title="van"))
    journal.append(path, Note(text="one"))
    assert check_seals(path).state == "ok"
    with path.open("ab") as file:
        file.write(b'{"kind":"note","text":"tw')
    assert [type(each) for each in journal.read(path).records] == [Opened, Note]
    journal.append(path, Note(text="three"))
    assert [getattr(each, "text", "") for each in journal.read(path).records] == ["", "one", "three"]
    assert check_seals(path).state == "ok"
    path.write_bytes(path.read_bytes().replace(b"one", b"two"))
    assert check_seals(path).state == "changed"


def test_a_last_record_that_lacks_only_its_end_is_kept(tmp_path):
    path = tmp_path / journal.NAME
    path.write_bytes(msgspec.json.encode(Opened(title="van")))
    journal.append(path, Note(text="more"))
    assert [type(each) for each in journal.read(path).records] == [Opened, Unproved, Note]


@pytest.mark.parametrize("kind", [tuple(journal.Record.__args__)])
def test_every_kind_of_record_has_its_own_name(kind):
    assert len({each.__struct_config__.tag for each in kind}) == len(kind) == 14


FORGED = b'{"kind":"fitted","dowels":[[0.3,10.0],[0.3,10.0]],"marks":[10,10]}\n'


def begun(tmp_path):
    path = tmp_path / "journal.jsonl"
    for record in (Opened(title="van"), Note(text="one")):
        journal.append(path, record)
    return path


def unproved(path):
    return [
        (each.first, each.last, each.state)
        for each in journal.read(path).records
        if isinstance(each, Unproved)
    ]


def test_a_line_added_by_hand_is_noted_before_it_is_sealed_and_stays_noted(tmp_path):
    path = begun(tmp_path)
    path.write_bytes(path.read_bytes() + FORGED)
    assert [(each.first, each.last) for each in journal.read(path).unproved] == [(5, 5)]
    for text in "two", "three":
        journal.append(path, Note(text=text))
    assert check_seals(path).state == "ok"
    assert unproved(path) == [(5, 5, "unsealed")] and len(journal.read(path).unproved) == 1
    assert FORGED in path.read_bytes()


def test_a_broken_seal_is_noted_once_and_stays_broken(tmp_path):
    path = begun(tmp_path)
    path.write_bytes(path.read_bytes().replace(b"one", b"two"))
    for text in "two", "three":
        journal.append(path, Note(text=text))
    assert unproved(path) == [(3, 4, "changed")]
    assert check_seals(path).state == "changed"


@pytest.mark.parametrize("random", [b"\x00\xff" * 40, b"\xfe\n" * 7, FORGED, FORGED[:-1]])
def test_a_journal_replaced_by_other_bytes_is_not_sealed_as_if_it_were_its_own(tmp_path, random):
    path = begun(tmp_path)
    path.write_bytes(random)
    journal.append(path, Note(text="two"))
    assert len(unproved(path)) == 1


@pytest.mark.parametrize("cut", [1, 30, 90])
def test_a_cut_within_a_line_accuses_nobody_of_the_half_line(tmp_path, cut):
    path = begun(tmp_path)
    whole = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(whole[:2]) + b'{"kind":"note","text":"and more words than that"}'[: cut % 40])
    journal.append(path, Note(text="two"))
    assert unproved(path) == []
    assert journal.read(path).unproved == []


def test_a_journal_that_is_full_refuses_before_it_grows(tmp_path, monkeypatch):
    path = tmp_path / "journal.jsonl"
    journal.append(path, Note(text="one"))
    before = path.read_bytes()
    monkeypatch.setattr(journal, "_LARGEST", len(before) + 10)
    monkeypatch.setattr(journal, "_ROOM", 100)
    with pytest.raises(UsageError, match=r"is full.*nothing was noted"):
        journal.append(path, Note(text="two"))
    assert path.read_bytes() == before and len(journal.read(path).records) == 1
