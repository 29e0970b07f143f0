"""Every page there is, each as it looks in the middle of a job, and what is amiss with one on a screen.

    PYTHONPATH=tests:tests/helpers python tests/helpers/pages.py FOLDER [NAME...]

draws them at 80x24 and 120x40, as SVG and as plain text.
"""

import asyncio
import importlib
import pkgutil
import sys
from functools import cache
from itertools import combinations
from pathlib import Path

import conftest  # noqa: F401 - simulated time, and nobody's settings
import shopmaking
from handrun import HandRun
from making import RECORDINGS, THOU
from nudging import Played
from screening import rows
from sheets import shown
from textual.containers import VerticalScroll

import coaxly.screens
from coaxly.entry.places import parse_bolts
from coaxly.entry.preferences import Preferences
from coaxly.fitter.analysis import corrected
from coaxly.fitter.dowels.bothways import Sweeps
from coaxly.fitter.dowels.compare import compare
from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Workshop, advice, plan
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.face import Mounting, squareness
from coaxly.job.folder.index import Index
from coaxly.job.folder.shop import Job
from coaxly.job.folder.snapshot import look
from coaxly.job.recorded.pipeline import replay
from coaxly.job.steps.choosing import measured_by
from coaxly.job.sweep.replayrun import ReplayRun
from coaxly.logger.angle.source import Source
from coaxly.logger.profile import built_in, load
from coaxly.say.dowels.optiontable import Offer
from coaxly.say.job.jobwords import job_lines
from coaxly.say.job.newjob import questions
from coaxly.say.settingwords import question, settings_of
from coaxly.screens.base import Box, CoaxlyScreen
from coaxly.screens.dial.finddialscreen import FindDialScreen
from coaxly.screens.dial.turnscreen import TurnScreen
from coaxly.screens.jobs import moreflow
from coaxly.screens.jobs.facescreen import Face, FaceScreen
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.jobs.newjobscreen import NewJobScreen
from coaxly.screens.jobs.pages import Page, RecordingsScreen
from coaxly.screens.jobs.planscreen import PlanScreen
from coaxly.screens.jobs.proofscreen import ProofScreen, Proven
from coaxly.screens.jobs.reportscreen import ReportScreen
from coaxly.screens.jobs.settingscreen import SettingScreen
from coaxly.screens.sheet import ListeningSheet, Sheet
from coaxly.screens.small.askscreens import AskScreen, QuestionScreen
from coaxly.screens.small.cautionsscreen import CautionsScreen
from coaxly.screens.small.manualscreen import HelpScreen, ManualScreen
from coaxly.screens.small.settingsscreen import SettingsScreen
from coaxly.screens.small.waitscreen import Counted, WaitScreen
from coaxly.screens.sweeping.donescreen import DoneScreen, Swept
from coaxly.screens.sweeping.livescreen import LiveScreen
from coaxly.screens.sweeping.nudgescreen import NudgeScreen
from coaxly.screens.sweeping.replayscreen import ReplayScreen
from coaxly.screens.sweeping.setupscreen import SettingUp, SetUpScreen
from coaxly.screens.sweeping.sweepscreen import SweepScreen
from coaxly.screens.sweeping.typedscreen import TypedScreen
from coaxly.widgets.bigwords import BigWords
from coaxly.widgets.textlines import Lines

SIZES = ((40, 12), (60, 20), (80, 24), (120, 40))
_TITLE = "harbour launch"
_BASES = (CoaxlyScreen, Box, Sheet, ListeningSheet, SweepScreen)
_PINS = Pins((-139.7, -25.4), (139.7, -25.4))


@cache
def _swept(name):
    pipeline = replay(RECORDINGS / f"launch-{name}.jsonl")
    return pipeline, pipeline.result()


@cache
def _options():
    pipeline, result = _swept("found")
    workshop = Workshop(Kit.of([5 * THOU, 7 * THOU, 10 * THOU]), pins=_PINS, pair="any")
    measured = measured_by(pipeline, result)
    options = plan(measured, workshop)
    return options, advice(measured, workshop, options), workshop.kit


def _plan(folder):
    options, said, kit = _options()
    result = _swept("found")[1]
    return PlanScreen(
        options, _PINS, said, offer=Offer(_TITLE, result.tir.fitted, result.decision.limit, kit)
    )


def _proof(folder):
    found, left = _swept("found")[1], _swept("left")[1]
    setting = DowelSetting((5 * THOU, 5 * THOU), (122.0, 122.0))
    said = compare(Sweeps.of(found.eccentricity, left.eccentricity), setting, None, Kit.of([5 * THOU]))
    return ProofScreen(Proven(_TITLE, found, left, said, report=True, leave="jobs"))


def _face(folder):
    pipeline, result = _swept("face")
    stations = corrected(pipeline.setup, pipeline.fitter.stations())
    bolts = Mounting(bolts=tuple(parse_bolts("6@420mm")), stock=(1 * THOU, 2 * THOU, 5 * THOU), depth=90.0)
    found = squareness(result, stations, pipeline.setup.face_radius_mm, bolts)
    return FaceScreen(Face(_TITLE, result, found, leave="jobs"))


def _by_hand(folder, profile):
    """A sweep that is worked by hand, shown as it stands."""
    hand = HandRun(folder / "hand.jsonl", profile=profile)
    run = hand.run
    if profile.name == "typed":
        run.typed("14.9thou")
    else:
        hand.connect()
        hand.take(0.31)

    async def play():
        try:
            await asyncio.Event().wait()
        finally:
            run.stop()

    run.play, run.stop = play, run.session.writer.close
    return run


def _live(folder):
    return LiveScreen(_by_hand(folder, built_in("stream-decimal")))


def _typed(folder):
    return TypedScreen(_by_hand(folder, load("typed")), bare="thou")


def _shop(folder):
    for name in ("saw-mill engine", _TITLE):
        shopmaking.job(folder, name, found=(6.0, -3.0), kit="5thou,7thou")
    return folder


def _reading(folder):
    counted = Counted("Reading the jobs")
    next(counted.watch(["launch"] * 4000))
    return WaitScreen(counted)


def _new_job(folder):
    return NewJobScreen("New job", questions("5thou,10thou", []), lambda key, text: None)


def _look(folder):
    known = look(Job(shopmaking.job(folder, _TITLE, found=(6.0, -3.0), kit="5thou,7thou")))
    return Page("All that is known of it", job_lines(known, "thou"))


def _nudge(folder):
    run = Played()
    return NudgeScreen(run, run.play)


PAGES = {
    "jobs": lambda folder: JobsScreen(Index(_shop(folder))),
    "no jobs": lambda folder: JobsScreen(Index(folder), dial=False),
    "new job": _new_job,
    "reading": _reading,
    "find my dial": lambda folder: FindDialScreen(
        list, "The dial of last time (/dev/ttyUSB0) is not there now."
    ),
    "turn the crank": lambda folder: TurnScreen(str(folder / "ttyUSB1")),
    "recordings": lambda folder: RecordingsScreen(
        _TITLE, [(folder, "found-1.jsonl   45 kB   2026-11-25 10:10")]
    ),
    "what else": lambda folder: QuestionScreen(
        f"{_TITLE}: what else?", [(key, key, words) for key, (words, _) in moreflow._DOINGS.items()]
    ),
    "all about it": _look,
    "set up": lambda folder: SetUpScreen(SettingUp(_TITLE, "bore", Source("", load("typed")), before="face")),
    "sweep": _live,
    "typed sweep": _typed,
    "replay": lambda folder: ReplayScreen(ReplayRun(RECORDINGS / "launch-found.jsonl", 1.0)),
    "sweep done": lambda folder: DoneScreen(
        Swept(_TITLE, "found", _swept("found")[1], then="choose dowels", report=True, leave="jobs")
    ),
    "choose dowels": _plan,
    "set dowels": lambda folder: SettingScreen(_TITLE, _options()[0][0], _PINS),
    "proof": _proof,
    "face": _face,
    "tapping": _nudge,
    "report": lambda folder: ReportScreen(_TITLE, folder / "report-1.html"),
    "settings": lambda folder: SettingsScreen(settings_of(Preferences(), folder), "settings.toml"),
    "ask": lambda folder: AskScreen(question("kit")),
    "cautions": lambda folder: CautionsScreen(),
    "cautions before dowels": lambda folder: CautionsScreen("dowels"),
    "manual": lambda folder: ManualScreen("first-sweep"),
    "keys": lambda folder: HelpScreen(LiveScreen.KEY_PAGE),
}
"""What each page is called, and one as it looks in the middle of a job; it may write into the folder."""


def kinds():
    """Every kind of screen that somebody can meet."""
    for module in pkgutil.walk_packages(coaxly.screens.__path__, "coaxly.screens."):
        importlib.import_module(module.name)

    def below(kind):
        return {kind}.union(*(below(each) for each in kind.__subclasses__()))

    return {kind for kind in below(CoaxlyScreen) if kind.__module__.startswith("coaxly.")} - {*_BASES}


def amiss(app):
    """What is wrong with the page as it stands: words that are cut, what runs off, what lies over another."""
    screen = app.screen
    frame = screen.region
    seen = rows(app)
    found = []
    leaves = [w for w in screen.query("*") if w.display and not w.children and w.region.area and _opened(w)]
    for widget in leaves:
        name = widget.id or type(widget).__name__
        rolls = next((up for up in widget.ancestors if isinstance(up, VerticalScroll)), None)
        if rolls is not None:
            if rolls.max_scroll_y > 0 and not _tells(screen, rolls):
                found.append(f"{name} rolls, and nothing says so")
            if rolls.max_scroll_x > 0:
                found.append(f"{name} is too broad for its part")
            continue
        if widget.region not in frame:
            found.append(f"{name} runs off: {widget.region}")
        found += [f"{name} is cut: {word!r}" for word in _lost(widget, seen)]
    for one, other in combinations([w for w in leaves if not _in_roll(w)], 2):
        if one.region.overlaps(other.region):
            found.append(f"{one.id or one} lies over {other.id or other}")
    return found


def _opened(widget):
    return all(up.display for up in widget.ancestors_with_self if hasattr(up, "display"))


def _in_roll(widget):
    return any(isinstance(up, VerticalScroll) for up in widget.ancestors)


def _tells(screen, rolls):
    """Whether a key that shows more is named, or a bar is drawn."""
    return "more" in " ".join(lines.text for lines in screen.query("#keys").results(Lines)) or (
        rolls.show_vertical_scrollbar and rolls.scrollbar_size_vertical > 0
    )


def _lost(widget, seen):
    """Of the words that a widget shows, the first that is not to be seen where it stands."""
    wanted = (
        widget._text if isinstance(widget, BigWords) else widget.text if isinstance(widget, Lines) else ""
    )
    region = widget.content_region
    there = "".join("".join(row[region.x : region.right].split()) for row in seen[region.y : region.bottom])
    if isinstance(widget, BigWords) and not any(char.isalnum() for char in there):
        return []  # in dots
    if "".join(wanted.split()) in there:
        return []
    return [wanted if len(wanted) < 60 else f"{wanted[:57]}..."]


def main(folder, wanted):
    """Draw them."""
    import tempfile

    folder.mkdir(parents=True, exist_ok=True)
    for name, made in PAGES.items():
        for size in ((80, 24), (120, 40)) if not wanted or name in wanted else ():
            stem = folder / f"{name.replace(' ', '-')}-{size[0]}x{size[1]}"

            async def take(app, stem=stem):
                await asyncio.sleep(0.5)
                stem.with_suffix(".svg").write_text(app.export_screenshot(title="coaxly"), encoding="utf-8")
                stem.with_suffix(".txt").write_text("\n".join(rows(app)) + "\n", encoding="utf-8")

            with tempfile.TemporaryDirectory() as work:
                shown(made(Path(work)), take, size)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
