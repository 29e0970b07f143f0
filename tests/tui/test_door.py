"""What every command has in common: settings that are obeyed, slips that are named, help that says what there is."""

import json
import re

import pytest
from making import by_hand

from coaxly.entry.preferences import Preferences, load_preferences, preferences_path
from coaxly.errors import UsageError
from coaxly.fitter.keys import keys_of
from coaxly.main import main
from coaxly.options.telling import EVERYDAY, TELLS
from coaxly.parser import COMMANDS, build
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.sweeping.livescreen import LiveScreen
from coaxly.screens.sweeping.sweepscreen import SweepScreen


def parsers():
    """Every command and what it can be told to do, by its words."""
    found, due = {}, [("coaxly", build())]
    while due:
        name, parser = due.pop()
        found[name] = parser.filled()
        for action in parser._actions:
            if isinstance(getattr(action, "choices", None), dict):
                due += [(f"{name} {word}", each) for word, each in action.choices.items()]
    return found


PARSERS = parsers()


@pytest.fixture
def settings(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    preferences_path().parent.mkdir(parents=True, exist_ok=True)

    def write(text):
        preferences_path().write_text(text, encoding="utf-8")

    return write


@pytest.fixture
def coaxly(capsys):
    def run(*words):
        try:
            code = main([str(word) for word in words])
        except SystemExit as stop:
            code = stop.code
        said = capsys.readouterr()
        return code, said.out, said.err

    return run


@pytest.mark.parametrize("name", PARSERS)
def test_every_command_and_option_says_what_it_is(name):
    parser = PARSERS[name]
    assert parser.description and not parser.allow_abbrev
    assert [
        action.option_strings for action in parser._actions if action.option_strings and not action.help
    ] == []


@pytest.mark.parametrize("name", PARSERS)
def test_an_option_is_spelt_alike_in_all_commands(name):
    """A file to write is -o, --out; a unit of lengths shown is --in and of a dial --unit."""
    for action in PARSERS[name]._actions:
        if "--out" in action.option_strings:
            assert action.option_strings == ["-o", "--out"]
    assert not {"--offset", "--deg"} & {
        word for each in PARSERS[name]._actions for word in each.option_strings
    }


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (["swep"], "is sweep meant?"),
        (["job", "opne", "x"], "is open meant?"),
        (["replay", "x.jsonl", "--limti", "5thou"], "is --limit meant?"),
        (["sweep", "--tip-angel", "3"], "is --tip-angle meant?"),
        (["sweep", "--stat", "8"], "--stat 8 is not known here"),
        (["job", "open", "x", "--housing-famly", "R"], "is --housing-family meant?"),
        (["plan", "x", "--pair", "anny"], "--pair: 'anny' is not known: is any meant? Options: coaxly plan"),
        (["plan", "x", "--limit"], "--limit needs a value behind it. Options"),
        (["report"], "JOB is missing. Options"),
    ],
)
def test_a_slip_names_what_may_have_been_meant(coaxly, words, meant):
    code, out, err = coaxly(*words)
    assert code == 2 and out == "" and meant in err and err.count("\n") == 1


def test_the_unit_that_is_set_is_shown_by_every_command_that_shows_lengths(settings, coaxly, tmp_path):
    path = by_hand(tmp_path / "r.jsonl", [0.1, 0.0, -0.1, 0.0], [0, 90, 180, 270])
    settings('unit = "mm"\n')
    assert " mm " in coaxly("replay", path)[1] and " thou" in coaxly("replay", path, "--in", "thou")[1]
    for name, parser in PARSERS.items():
        shown = [action for action in parser._actions if "--in" in action.option_strings]
        assert all(action.default == "" and action.type("") == "mm" for action in shown), name


def test_the_kit_that_is_set_is_planned_with(settings, coaxly, tmp_path):
    path = by_hand(tmp_path / "r.jsonl", [0.2, 0.0, -0.2, 0.0], [0, 90, 180, 270])
    assert "--kit is missing" in coaxly("plan", path, "--anyway")[2]
    settings('kit = "0.2mm"\n')
    code, out, _ = coaxly("plan", path, "--json", "--anyway")
    assert code == 0 and json.loads(out)["kit"]["sizes"][0]["offset_mm"] == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('unti = "mm"', "is unit meant?"),
        ('kit = "5"', "kit: '5' has no unit"),
        ('voice = "no"', "voice is 'no', but must be true or false"),
        ('take_keys = ["c"]', "'c' does something else"),
        ("paper = 4", "paper is 4, but must be a4 or letter"),
    ],
)
def test_settings_that_cannot_be_meant_are_said_before_anything_is_begun(
    settings, coaxly, text, words, tmp_path
):
    settings(text)
    for command in (["demo", "--headless", "--keep", tmp_path / "demo"], ["settings"], ["job", "list"]):
        code, out, err = coaxly(*command)
        assert code == 2 and out == "" and words in err and "settings.toml" in err
    assert not (tmp_path / "demo").exists()


@pytest.mark.parametrize("screen", [SweepScreen, LiveScreen, CoaxlyApp])
def test_no_key_of_the_measuring_screen_can_be_a_pedal(screen, settings):
    for binding in screen.BINDINGS:
        for word in binding.key.split(","):
            if "+" not in word:
                settings(f'take_keys = ["{word}"]\n')
                with pytest.raises(UsageError, match="take_keys"):
                    load_preferences()


def test_every_setting_is_told_with_its_value_and_whence(settings, coaxly, monkeypatch):
    settings('unit = "um"\nvoice = true\n')
    monkeypatch.setenv("COAXLY_GLYPHS", "ascii")
    found = json.loads(coaxly("settings", "--json", "--shop", "/jobs")[1])["settings"]
    assert set(found) == set(keys_of(Preferences))
    assert found["unit"] == {"value": "um", "from": "settings"} and found["voice"]["value"] is True
    assert (
        found["glyphs"] == {"value": "ascii", "from": "COAXLY_GLYPHS"} and found["theme"]["from"] == "usual"
    )
    out = coaxly("settings")[1]
    assert (
        'unit = "um"' in out and "voice = true" in out and 'take_keys = ["space", "enter", "pagedown"]' in out
    )
    assert all(one.says in out for one in keys_of(Preferences).values())


@pytest.mark.parametrize("name", [name for name in PARSERS if name != "coaxly"])
def test_each_command_opens_with_what_one_gets_and_an_example(name, coaxly):
    code, out, _ = coaxly(*name.split()[1:], "--help")
    given, example = TELLS[name.removeprefix("coaxly ")]
    opening = " ".join(out.partition("usage:")[0].split())
    assert code == 0 and given.startswith("You ") and opening.startswith(" ".join(given.split()))
    assert opening.endswith(f"For example: coaxly {' '.join(example.split())}") and example.startswith(
        name.removeprefix("coaxly ")
    )


@pytest.mark.parametrize("name", EVERYDAY)
def test_what_is_seldom_wanted_is_one_option_away_and_all_of_it_is_there(name, coaxly):
    short, whole = (coaxly(*name.split(), option)[1] for option in ("--help", "--help-all"))
    parser = PARSERS[f"coaxly {name}"]
    options = [action.option_strings[-1] for action in parser._actions if action.option_strings]
    assert all(option in whole for option in options)
    said = set(re.findall(r"^  (?:-\w[ \w]*, )?(--[\w-]+)", short, flags=re.MULTILINE)) - {"--help"}
    assert said == {*EVERYDAY[name], "--help-all"} and len(said) <= 22 and "more options" in short
    places = [short.index(f"\n  {option}") for option in EVERYDAY[name]]
    assert places == sorted(places)  # most wanted first


@pytest.mark.parametrize("shell", ["bash", "zsh"])
def test_a_shell_can_complete_commands_and_options(shell, coaxly):
    code, out, err = coaxly("--completion", shell)
    assert code == 0 and err == "" and "coaxly" in out
    assert all(word in out for word in (*COMMANDS, "--tip-angle", "--kit"))
