"""The manual: its pages are shipped and shown, its pictures are of today."""

import io
import json
import re

import pytest
from commanding import in_shop
from picturing import PICTURES, finding, report
from PIL import Image, ImageChops, ImageStat

from coaxly.entry.preferences import Preferences
from coaxly.errors import UsageError
from coaxly.fitter import Setup
from coaxly.fitter.keys import keys_of
from coaxly.parser import COMMANDS
from coaxly.say.manual import page, topics


@pytest.fixture
def coaxly(tmp_path, monkeypatch, capsys):
    return in_shop(tmp_path, monkeypatch, capsys)


def words(svg):
    return " ".join(re.sub(r"<style>.*?</style>|<[^>]+>", " ", svg, flags=re.DOTALL).split())


def test_the_picture_of_the_screen_is_of_today():
    assert words((PICTURES / "finding.svg").read_text(encoding="utf-8")) == words(finding())


def test_the_picture_of_the_report_is_of_today(tmp_path):
    kept, made = (
        Image.open(source).convert("L").resize((200, 280))
        for source in (PICTURES / "report.png", io.BytesIO(report(tmp_path)))
    )
    # Dates and the edges of letters may differ, a line of text that moves may not.
    assert max(ImageStat.Stat(ImageChops.difference(kept, made)).mean) < 1.0


def test_a_page_is_shown_and_without_one_all_are_listed(coaxly):
    code, out, err = coaxly("help")
    assert code == 0 and err == "" and all(f"[{name}]" in out for name in topics())
    assert coaxly("help", "encoder")[1] == page("encoder")
    told = json.loads(coaxly("help", "encoder", "--json")[1])
    assert told["markdown"] == page("encoder") and set(told["topics"]) == set(topics())


def test_a_page_that_is_not_there_is_named_with_the_nearest_one(coaxly):
    code, out, err = coaxly("help", "encodr")
    assert code == 2 and out == "" and "is encoder meant?" in err and err.count("\n") == 1
    assert coaxly("help", "swep")[2].endswith("is sweep meant?\n")
    assert coaxly("help", "encoder", "face")[0] == 2
    with pytest.raises(UsageError, match="pages: first-sweep"):
        page("zzz")


@pytest.mark.parametrize("command", [name for name in COMMANDS if name not in topics()])
def test_the_help_of_a_command_is_its_page(coaxly, command):
    assert coaxly("help", command) == coaxly(command, "--help") and coaxly("help", command)[0] == 0


def test_pages_of_keys_are_made_of_their_table():
    assert all(f"| `{name}` |" in page("settings") for name in keys_of(Preferences))
    said = page("keys")
    assert all(f"| `{one.name}` |" in said for one in keys_of(Setup).values() if one.name and one.group)
    assert "| `hole` |" in said and "| `port` |" in said
