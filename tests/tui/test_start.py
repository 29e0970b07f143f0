"""What a command loads before it answers: a person waits for it each time. Loading is most of a short command's
time, and the same on every machine when it is counted.
"""

import json
import subprocess
import sys

import pytest
from shopping import SWEEP, Shop, readings

from coaxly.parser import COMMANDS

HEAVY = {"asyncio", "cryptography", "numpy", "rich", "scipy", "serial", "textual"}
FOUND, LEFT = "recordings/launch-found.jsonl", "recordings/launch-left.jsonl"

LOADED = (
    "import json, sys; from coaxly.main import main\n"
    "try: main(sys.argv[1:])\n"
    "except SystemExit as stop: assert not stop.code\n"
    "print(); print(json.dumps(sorted(sys.modules)))"
)

COSTS = [
    # most modules of ours, and the heavy libraries that are needed
    ("--help", 15, set()),
    ("--version", 15, set()),
    *((f"{name} --help", 38, set()) for name in COMMANDS),
    ("job list", 62, set()),
    ("settings", 48, set()),
    ("ports", 25, {"serial"}),
    ("job show van", 197, {"numpy"}),
    (f"replay {FOUND}", 171, {"numpy"}),
    (f"audit {FOUND}", 161, {"numpy"}),
    (f"plan {FOUND} --kit 5thou,10thou", 213, {"numpy"}),
    (f"verify {FOUND} {LEFT} --fitted none", 204, {"numpy"}),
    ("report van", 234, {"numpy"}),
]


def modules(code, *words):
    done = subprocess.run([sys.executable, "-c", code, *words], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def dear(loaded, ours, needed):
    """What is loaded beyond that, to be read in a failure."""
    mine = [name for name in loaded if name.partition(".")[0] == "coaxly"]
    assert {name.partition(".")[0] for name in loaded} & HEAVY <= needed
    return mine if len(mine) > ours else []


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    shop = Shop(tmp_path_factory.mktemp("shop"))
    assert shop("job", "open", "van", "--kit", "5thou,7thou,10thou").code == 0
    assert shop(*SWEEP, typed=readings(-5, 5)).code == 1
    return shop.folder


@pytest.mark.parametrize(("words", "ours", "needed"), COSTS)
def test_a_command_loads_what_it_needs_and_no_more(words, ours, needed, shop):
    options = ["--shop", str(shop)] if words.split()[0] in ("job", "report") and "--help" not in words else []
    assert dear(modules(LOADED, *words.split(), *options), ours, needed) == []


def test_the_list_of_jobs_is_on_the_screen_before_anything_of_a_sweep_is_loaded():
    code = "import json, sys; import coaxly.screens.app; print(json.dumps(sorted(sys.modules)))"
    loaded = modules(code)
    # Large letters are drawn by numpy.
    assert dear(loaded, 100, {"asyncio", "numpy", "rich", "textual"}) == []
    assert "coaxly.fitter.analysis" not in loaded and "coaxly.report.write" not in loaded
