"""Doubts about files, and what an audit found, have a sentence each, made from facts."""

import json
from typing import get_args

import pytest
from making import RECORDINGS

from coaxly.job.recorded.consistency import Doubt, DoubtKind
from coaxly.job.steps.beside import PointKind
from coaxly.main import main
from coaxly.say.job import audits
from coaxly.say.sweep import doubts
from coaxly.say.sweep.doubts import doubt_sentence


def test_every_doubt_and_every_finding_of_an_audit_has_its_words():
    assert set(get_args(DoubtKind)) == set(doubts._SENTENCES)
    assert set(get_args(PointKind)) == set(audits._WORDS)


@pytest.mark.parametrize(
    ("unit", "one", "two"), [("thou", "5.0 thou", "8.0 thou"), ("mm", "0.127 mm", "0.203 mm")]
)
def test_limits_that_differ_are_told_in_the_unit_shown(unit, one, two):
    doubt = Doubt.that("limits", limits_mm=[("a.jsonl", 0.127), ("b.jsonl", 0.2032)])
    words = doubt_sentence(doubt, unit)
    assert f"a limit of {one} " in words and f"one of {two}" in words and "--limit says which" in words


def test_json_of_an_audit_has_the_facts_and_the_words(capsys):
    main(["audit", "--json", str(RECORDINGS / "launch-found.jsonl")])
    (found,) = json.loads(capsys.readouterr().out)["recordings"]
    assert [point["kind"] for point in found["points"]] == ["seals", "same_result"]
    assert (
        found["what"].startswith(found["points"][0]["facts"]["what"]) and "the same result" in found["what"]
    )
