import asyncio
import gc
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import clockwork  # first: before anything of ours, or Textual's, takes hold of time.monotonic
import pytest
from hypothesis import HealthCheck, settings
from making import by_hand

from coaxly.fitter import analysis

# The same examples everywhere, however slow the machine: hypothesis builds its table of Unicode on first
# use, in every fresh checkout. HYPOTHESIS_SEARCH=1 looks for new ones, and for longer.
if os.environ.get("HYPOTHESIS_SEARCH"):
    settings.register_profile(
        "coaxly", deadline=None, max_examples=2000, suppress_health_check=list(HealthCheck)
    )
else:
    settings.register_profile(
        "coaxly", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
    )
settings.load_profile("coaxly")

# What a person has set for their own terminal must not decide a test.
for _name in ("NO_COLOR", "COAXLY_GLYPHS", "COAXLY_THEME"):
    os.environ.pop(_name, None)
os.environ["TERM"] = "xterm-256color"
os.environ["LANG"] = "C.UTF-8"


@pytest.fixture(scope="session", autouse=True)
def _nothing_of_theirs(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Nor must their settings and what they chose last time; and what a rehearsal leaves is cleared away."""
    for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "COAXLY_SHOP", "TMPDIR"):
        os.environ[name] = str(tmp_path_factory.mktemp(name.lower()))
    tempfile.tempdir = os.environ["TMPDIR"]


# Modules and the list of tests stay to the end: looked through again and again they cost a third of the
# collection, and a tenth of the tests.
def pytest_sessionstart() -> None:
    gc.disable()


def pytest_collection_finish() -> None:
    gc.freeze()
    gc.enable()


@pytest.fixture
def recording(tmp_path: Path) -> Callable[..., Path]:
    """Write a recording by hand; each call another file."""
    count = 0

    def make(*args: Any, **kwargs: Any) -> Path:
        nonlocal count
        count += 1
        return by_hand(tmp_path / f"hand-{count}.jsonl", *args, **kwargs)

    return make


@pytest.fixture
def fit_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Results without the clues to what was hardly measured, which change no number of the fit and take most of
    the time: for what tries many sweeps."""
    monkeypatch.setattr(analysis, "clues", lambda *sweep: [])


@pytest.fixture
def simulated_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands and screens that call `asyncio.run` themselves run in simulated time."""
    monkeypatch.setattr(asyncio, "run", clockwork.run)
