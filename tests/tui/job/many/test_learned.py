"""The bores of a shop's jobs as found: what dowels had moved is taken out, what cannot count is said, and only
what changed is read again."""

import shutil

import pytest
from shopmaking import job, typed
from shopping import SWEEP, Shop, readings

from coaxly.fitter import MODEL
from coaxly.fitter.shop.ledger import Found
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.folder.index import Index
from coaxly.job.folder.journal import Answer, Fitted, Shimmed, Sweep
from coaxly.job.folder.packing import pack, unpack
from coaxly.job.folder.shop import Job
from coaxly.job.many.learned import learned, one_shop, same_names
from coaxly.job.recorded.bore import bore_of

PAIR = Fitted(dowels=((5 * THOU, 90.0), (5 * THOU, 90.0)))


class Many:
    """Computes anew, and counts what was asked of it."""

    def __init__(self):
        self.asked = []

    def __call__(self, paths):
        self.asked += [path.parent.name for path in paths]
        return map(bore_of, paths)


def by_name(shop, many=None):
    return {each.folder.removeprefix("2026-11-25-"): each for each in learned(shop, many or Many())}


def thou(vector):
    return pytest.approx(tuple(v * THOU for v in vector), abs=0.1 * THOU)


def test_dowels_that_were_in_are_taken_out_and_how_surely_they_were_set_is_counted(tmp_path):
    job(tmp_path, "bare", found=(3.0, -4.0))
    job(tmp_path, "dowelled", PAIR, found=(8.0, -4.0))
    found = by_name(tmp_path)
    assert found["bare"].vector == thou((3.0, -4.0)) and found["dowelled"].vector == thou((3.0, -4.0))
    # Set to 5 degrees each: across their high side 5 thou wander by 5 * 5 deg / sqrt(2); made to 0.3 thou.
    swept = bore_of(tmp_path / "2026-11-25-dowelled" / "found-1.jsonl").result["eccentricity"]["covariance"]
    (xx, _), (_, yy) = found["dowelled"].covariance
    assert yy - swept[1][1] == pytest.approx((5 * THOU * 0.08727) ** 2 / 2, rel=0.01)
    assert xx - swept[0][0] == pytest.approx((0.3 * THOU) ** 2 / 2, rel=0.01)


def test_unlike_dowels_need_their_holes(tmp_path):
    split = Fitted(dowels=((10 * THOU, 90.0), (5 * THOU, 90.0)))
    job(tmp_path, "where", split, found=(8.0, 0.0))
    job(tmp_path, "holes", split, found=(8.0, 0.0), dowels="-5in,0in 5in,0in")
    found = by_name(tmp_path)
    assert found["where"].left_out == "holes_unknown"
    assert found["holes"].vector == thou((0.5, 0.0))  # the mean of the two, on the line through the crank


def test_a_job_swept_only_as_left_tells_with_what_is_in_it_taken_out(tmp_path):
    folder = job(tmp_path, "late", PAIR)
    typed(folder / "left-1.jsonl", (5.0, 2.0), stage="left")
    with (folder / "journal.jsonl").open("ab") as file:
        file.write(b'{"kind":"sweep","time":"2026-11-26T10:00:00Z","file":"left-1.jsonl","stage":"left"}\n')
    assert by_name(tmp_path)["late"].vector == thou((0.0, 2.0))


def test_the_bore_counts_as_it_came_before_shims_moved_it(tmp_path):
    folder = job(tmp_path, "shimmed", Sweep(file="found-0.jsonl", stage="found"),
                 Shimmed(shims=((0.0, 0.1),)), found=(9.0, 9.0))  # fmt: skip
    typed(folder / "found-0.jsonl", (1.0, 2.0), stage="found")
    both = job(tmp_path, "both", PAIR, Sweep(file="found-0.jsonl", stage="found"),
               Shimmed(shims=((0.0, 0.1),)), Fitted(), found=(9.0, 9.0))  # fmt: skip
    typed(both / "found-0.jsonl", (6.0, 2.0), stage="found")
    found = by_name(tmp_path)
    assert found["shimmed"].vector == thou((1.0, 2.0)) and found["both"].vector == thou((1.0, 2.0))


def test_the_sense_of_turning_is_that_of_the_stations(recording):
    waves = [0.005, 0.003, 0.0, -0.003, -0.005, -0.003, 0.0, 0.003]
    angles = [45.0 * k for k in range(8)]
    mixed = [0.0, 90.0, 45.0, *angles[3:]]
    senses = [bore_of(recording(waves, turned)).sense for turned in (angles, angles[::-1], mixed)]
    assert senses == [1, -1, 0]


def test_what_cannot_count_is_left_out_with_its_reason(tmp_path):
    job(tmp_path, "unswept")
    broken = job(tmp_path, "broken", found=(1.0, 1.0))
    (broken / "job.toml").write_text("title = [")
    gone = job(tmp_path, "gone", found=(1.0, 1.0))
    (gone / "found-1.jsonl").unlink()
    changed = job(tmp_path, "changed", found=(1.0, 1.0)) / "found-1.jsonl"
    changed.write_bytes(changed.read_bytes().replace(b'"deg":45', b'"deg":55'))
    inches = job(tmp_path, "inches")
    typed(inches / "found-1.jsonl", (3.0, 4.0), unit="mm", stage="found")
    with (inches / "journal.jsonl").open("ab") as file:
        file.write(b'{"kind":"sweep","file":"found-1.jsonl","stage":"found"}\n')
    why = {name: each.left_out for name, each in by_name(tmp_path).items()}
    assert why == {
        "unswept": "not_swept", "broken": "job_unreadable", "gone": "unreadable", "changed": "changed",
        "inches": "unit",
    }  # fmt: skip


def test_only_what_changed_is_read_again_and_a_known_seal_never(tmp_path):
    shop = tmp_path / "shop"
    first = job(shop, "one", found=(1.0, 1.0))
    job(shop, "two", found=(2.0, 2.0))
    many = Many()
    before = by_name(shop, many)
    assert len(many.asked) == 2 and by_name(shop, many) == before and len(many.asked) == 2
    # Another family is written into job.toml: the recording is still the same.
    with (first / "job.toml").open("a") as file:
        file.write('[block]\nfamily = "cast"\n')
    assert by_name(shop, many)["one"].block == ("cast", "") and len(many.asked) == 2
    # The whole shop is carried elsewhere, index and all: times and places differ, seals do not.
    shutil.copytree(shop, tmp_path / "there", copy_function=shutil.copy)
    assert by_name(tmp_path / "there", many)["two"].vector == before["two"].vector and len(many.asked) == 2
    shutil.rmtree(tmp_path / "there" / "2026-11-25-one")
    assert list(by_name(tmp_path / "there", many)) == ["two"]
    with Index(tmp_path / "there") as index:
        assert list(index.learned(str(MODEL))) == ["2026-11-25-two"]
    typed(first / "found-2.jsonl", (7.0, 7.0), stage="found")
    (first / "found-2.jsonl").replace(first / "found-1.jsonl")
    assert by_name(shop, many)["one"].vector == thou((7.0, 7.0)) and many.asked[2:] == [first.name]


def test_a_recording_that_several_jobs_have_counts_once(tmp_path):
    """A job that was packed and unpacked beside itself; one whose recording says another job, sealed anew."""
    shop = tmp_path / "shop"
    first = job(shop, "one", found=(1.0, 1.0))
    job(shop, "two", found=(2.0, 2.0))
    job(shop, "under-another-name", found=(1.0, 1.0))
    many = Many()
    by_name(shop, many)
    pack(Job(first), tmp_path / "one.zip")
    unpack(tmp_path / "one.zip", shop)
    for known in (many, Many()):
        found = by_name(shop, known)
        assert {name: each.left_out for name, each in found.items()} == {
            "one": "", "one-2": "copy", "two": "", "under-another-name": "copy",
        }  # fmt: skip
    assert one_shop(list(found.values()), []).of_jobs == 2 and len(many.asked) == 3
    shutil.rmtree(first)
    assert by_name(shop)["one-2"].left_out == ""


def test_of_two_jobs_that_have_a_recording_the_one_that_it_was_made_in_counts(tmp_path):
    """The folder of the other comes first: the order of names says nothing."""
    shop = Shop(tmp_path)
    for title in ("a lorry", "blue van"):
        assert shop("job", "open", title, "--limit", "5thou").code == 0
    assert shop(*SWEEP, typed=readings(-5, 5)).code == 1
    shutil.copy(shop.job("van").path / "found-1.jsonl", shop.job("lorry").path / "other.jsonl")
    assert shop("job", "take", "lorry", "other.jsonl", "--anyway").code == 0
    found = {each.title: each.left_out for each in learned(tmp_path, Many())}
    assert found == {"a lorry": "copy", "blue van": ""}
    shutil.rmtree(shop.job("van").path)
    assert [each.left_out for each in learned(tmp_path, Many())] == [""]


def test_what_was_computed_before_somebody_stopped_it_is_kept(tmp_path):
    for k, name in enumerate(("one", "two", "three")):
        job(tmp_path, name, found=(1.0, 1.0 + k))
    done = []

    def stopped(paths):
        for path in paths[:2]:
            done.append(path)
            yield bore_of(path)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        learned(tmp_path, stopped)
    many = Many()
    assert all(not each.left_out for each in learned(tmp_path, many)) and len(many.asked) == 1


def of(family, block, job=""):
    return Found(family, block, "h", "", (0.0, 0.0), ((1.0, 0.0), (0.0, 1.0)), None, job)


def test_the_same_name_is_the_same_piece_however_it_is_written():
    named = same_names([of("Cast", "B 12"), of(" cast ", "b  12"), of("", "B 12"), of("", "b9"), of("", "")])
    assert [(each.block_family, each.block) for each in named] == [
        ("Cast", "B 12"), ("Cast", "B 12"), ("Cast", "B 12"), ("", "b9"), ("", ""),
    ]  # fmt: skip
    # Two families have a B 12: which of them the nameless one is nobody knows.
    named = same_names([of("cast", "B 12"), of("bored", "B 12"), of("", "B 12")])
    assert named[2].block_family == ""


def test_a_line_of_the_table_that_is_a_job_of_the_shop_counts_once(tmp_path):
    job(tmp_path, "van", found=(1.0, 2.0), number=7)
    both = one_shop(
        learned(tmp_path, Many()), [of("cast", "b1", "VAN"), of("cast", "b2", "7"), of("cast", "b3")]
    )
    assert (both.of_jobs, both.of_table, both.twice) == (1, 1, ("VAN", "7"))


def test_answers_in_the_journal_do_not_stand_in_for_the_recording(tmp_path):
    """What the journal remembers of a sweep may come from an older version; the recording decides."""
    folder = job(
        tmp_path, "van", Sweep(file="found-9.jsonl", stage="found", answer=Answer(9, 9, 9, "outside"))
    )
    typed(folder / "found-9.jsonl", (1.0, 0.0), stage="found")
    assert by_name(tmp_path)["van"].vector == thou((1.0, 0.0))


def test_what_another_model_judged_is_computed_anew(tmp_path, monkeypatch):
    job(tmp_path, "one", found=(1.0, 1.0))
    many = Many()
    before = by_name(tmp_path, many)
    assert by_name(tmp_path, many) == before and len(many.asked) == 1
    monkeypatch.setattr("coaxly.job.many.learned._MODEL", str(MODEL + 1))
    assert by_name(tmp_path, many) == before and len(many.asked) == 2
