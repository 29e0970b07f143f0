"""What a shop's study, stock and ledger come to, in sentences."""

from dataclasses import replace

import pytest

from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.shop.classical import Row
from coaxly.fitter.shop.ledger import Found
from coaxly.fitter.shop.parallelstock import Choice, Kept, Work
from coaxly.fitter.shop.splitstock import MixedChoice
from coaxly.fitter.shop.study import Repeat, Worst, study
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.many.learned import Learned, OneShop
from coaxly.say.shop.ledgerwords import shop_lines
from coaxly.say.shop.stockwords import Asked, stock_lines
from coaxly.say.shop.studywords import study_lines

STEPS = [0.3, -0.2, 0.4, -0.5, 0.1, -0.1, 0.2, -0.3]


def everybody_alike():
    """Two people, two mountings each, two sweeps a mounting; the one differ more than the other."""
    repeats = [
        Repeat("A", person, mounting, (10 * THOU * (person == "Q") + THOU * STEPS[4 * p + 2 * m + k], THOU * STEPS[k]))
        for p, person in enumerate("PQ")
        for m, mounting in enumerate("12")
        for k in range(2)
    ]  # fmt: skip
    return study(repeats, 5 * THOU)


def test_the_classical_table_gives_what_a_row_has_and_leaves_out_what_it_has_not():
    rows = (
        Row("people", 0.04, 1, 12.345, 0.1),
        Row("housings", 0.01, 2, 0.8, None),
        Row("repeats", 0.01, 8, None, 0.05),
    )
    lines = study_lines(replace(everybody_alike(), table=rows), "mm")
    head = lines.index("  Classical analysis of variance (everybody did the same; x and y pooled):")
    assert lines[head + 1 : head + 4] == [
        "    people        1 degrees  F 12.35     s 0.1000 mm",
        "    housings      2 degrees  F 0.80",
        "    repeats       8 degrees              s 0.0500 mm",
    ]
    assert not any("Classical" in line for line in study_lines(replace(everybody_alike(), table=None), "mm"))


def test_what_to_improve_and_what_measuring_takes_up_is_said():
    found = everybody_alike()
    text = "\n".join(study_lines(found, "thou"))
    assert text.startswith("STUDY of 8 sweeps of 1 housing\n")
    assert f"takes up {100 * found.share:.0f} % of the limit of 5.0 thou run-out" in text
    assert (
        found.improve == "people"
        and "Improve first people: let all of them sweep by one written order" in text
    )
    assert "Between people: " in text and "does not belong" not in text


def varied(people, mountings):
    """The lines about a sweep of anybody's, of a study of one housing by so many people and mountings."""
    found = study(
        [
            Repeat("A", person, mounting, (k * THOU, STEPS[k + len(mounting)] * THOU))
            for person in people
            for mounting in mountings
            for k in range(3)
        ]
    )
    return [
        line.strip() for line in study_lines(found, "thou") if "One sweep" in line or "cannot say" in line
    ]


@pytest.mark.parametrize(
    ("people", "mountings", "who", "unknown"),
    [
        ("PQ", "12", "by anybody, mounted anew, scatters", None),
        ("P", "12", "by the same person, mounted anew, scatters", "another person"),
        ("P", "1", "by the same person, the dial left where it is, scatters", "another person or another mounting of the dial"),
    ],
)  # fmt: skip
def test_of_what_never_came_and_went_a_study_says_that_it_cannot_tell(people, mountings, who, unknown):
    sweep, *rest = varied(people, mountings)
    assert sweep.startswith(f"One sweep {who}")
    assert rest == ([] if unknown is None else [f"What {unknown} adds these sweeps cannot say"])


def test_a_sweep_that_does_not_belong_is_named_with_its_place():
    found = replace(everybody_alike(), worst=Worst("x.jsonl", 4 * THOU, 90.0, 0.012))
    assert study_lines(found, "thou")[-1] == (
        "  ! x.jsonl does not belong: 4.0 thou towards 3:00, seen from behind off (chance alone: 1.2 %)"
    )


CURVE = [Choice((5 * THOU,), 0.62, (0.5,)), Choice((4 * THOU, 8 * THOU), 0.9, (0.4, 0.3))]
KEEP = [Kept(4 * THOU, 12, 5.2), Kept(8 * THOU, 6, 2.0)]
PINS = Pins((-140.0, -25.0), (140.0, -25.0))


def of_stock(*, mixed=(), pins=PINS, jobs=30, sizes=2):
    asked = Asked(20.0, 0.05, Work(5 * THOU, way="tight", pins=pins), jobs, sizes)
    return stock_lines(CURVE, mixed, KEEP, asked, "thou")


@pytest.mark.parametrize(("pins", "jobs"), [(PINS, 30), (None, 30), (PINS, 0), (None, 0)])
def test_what_is_not_counted_is_said_and_nothing_else(pins, jobs):
    warned = [line for line in of_stock(pins=pins, jobs=jobs) if line.startswith("!")]
    expected = []
    if pins is None:
        expected.append(
            '! whether the housing goes on is not counted: --dowels "X,Y X,Y" says where the holes are'
        )
    if not jobs:
        expected.append("! what measuring is unsure of is not counted: a ledger's jobs would say it")
    assert warned == expected


def test_the_curve_is_a_bar_for_each_number_of_sizes_and_what_to_keep_a_line_each():
    lines = of_stock()
    bars = [line for line in lines if "[" in line]
    assert bars == [
        "  1 size   [###################...........]  62  5.0 thou",
        "  2 sizes  [###########################...]  90  4.0, 8.0 thou",
    ]
    assert lines[-2:] == [
        "  12 of 4.0 thou (about 5.2 used a month)",
        "   6 of 8.0 thou (about 2.0 used a month)",
    ]
    assert "for 20 engines a month and so that in 95 of 100 months" in " ".join(lines)
    assert "each dowel stays where its mark was put" in lines[1] and "of the 30 jobs" in lines[0]


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        (1, "keep 1 size; one more would help 28.0 engines"),
        (2, "keep 2 sizes; the last of them helps 28.0 engines"),
    ],
)
def test_what_one_more_size_is_worth_is_said(sizes, words):
    assert any(words in line for line in of_stock(sizes=sizes))


def test_unlike_pairs_have_bars_of_their_own():
    lines = of_stock(mixed=[MixedChoice((5 * THOU,), 0.7, ()), MixedChoice((4 * THOU, 8 * THOU), 0.95, ())])
    assert sum("[" in line for line in lines) == 4 and any("Dowels may be unlike" in line for line in lines)
    assert any("the last of them helps 25.0 engines" in line for line in lines)


def shop(of_jobs, of_table, twice=(), left_out=()):
    found = Found("B", "", "H", "", (0.0, 0.0), ((1.0, 0.0), (0.0, 1.0)))
    return OneShop((found,), of_jobs, of_table, tuple(twice), tuple(left_out))


@pytest.mark.parametrize(
    ("jobs", "lines"),
    [
        (shop(5, 0), []),
        (shop(0, 5), []),
        (shop(3, 2), ["", "  3 of the jobs are the shop's, 2 the table's"]),
        (shop(3, 0, ["17"]), ["", "  3 of the jobs are the shop's, 0 the table's",
                              "  1 line (17) of the table named jobs of the shop: counted once"]),
        (shop(0, 2, ["17", "18"]), ["", "  2 lines (17, 18) of the table named jobs of the shop: counted once"]),
    ],
)  # fmt: skip
def test_where_jobs_came_from_is_said_if_from_more_than_one_place(jobs, lines):
    assert shop_lines(jobs) == lines


def test_jobs_that_cannot_be_counted_are_named_by_their_reason_a_long_list_by_its_first():
    out = [Learned(folder=f"van-{k}", left_out="not_swept") for k in range(5)]
    out.append(Learned(folder="boat", left_out="unit"))
    assert shop_lines(shop(4, 0, left_out=out)) == [
        "",
        "  ! Not counted: 5 jobs (van-0, van-1, van-2, ...): not swept as found yet",
        "  ! Not counted: 1 job (boat): the unit of the dial is in doubt",
    ]
