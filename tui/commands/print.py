"""`coaxly print wheel|card|shims`: drawings at true scale."""

import argparse
from pathlib import Path

from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.units import MM_PER_INCH

from .. import output
from ..draw.card import LARGEST_MM as LARGEST_DOWEL_MM
from ..draw.card import bolt_pages, dowel_page
from ..draw.page import PAPERS, Paper
from ..draw.wheel import LARGEST_MM, SMALLEST_MM, Wheel, wheel_pages
from ..entry.lengths import show_length
from ..entry.preferences import load_preferences
from ..errors import FINE, UsageError
from ..job.folder.details import NAME as DETAILS
from ..job.folder.material import kit_of, value_of
from ..job.folder.snapshot import Snapshot
from ..job.steps.squaring import squared
from ..job.steps.wishes import FaceWish
from ..plain.named import job_named, job_perhaps
from ..report.cards import HOW, bolt_cards, dowel_cards, free_target, write_pages
from ..say.smallwords import counted


def run(arguments: argparse.Namespace) -> int:
    """Draw it, and say where it is."""
    paper = PAPERS[arguments.paper or load_preferences().paper]
    drawn = {"wheel": _wheel, "card": _card, "shims": _shims}[arguments.what]
    pages, folder = drawn(arguments, paper)
    target = Path(arguments.out).expanduser() if arguments.out else free_target(folder, arguments.what)
    written = write_pages(pages, paper, target)
    content = {"printed": [str(path) for path in written], "pages": len(pages), "paper": paper.name}
    drawn_on = f"{counted(len(pages), 'page')} ({paper.name}): {written[0]}"
    lines = [drawn_on, "Print at 100 %, and measure the bars before you trust it"]
    output.answer(content, lines, as_json=arguments.json)
    return FINE


def _wheel(arguments: argparse.Namespace, paper: Paper) -> tuple[list[str], Path]:
    if not 2 <= arguments.stations <= 72:
        raise UsageError(f"--stations is {arguments.stations}: choose 2 to 72")
    pages = []
    for diameter in arguments.diameter:
        inches = round(diameter / MM_PER_INCH, 6)
        size = f"{inches:g} in" if inches * 8.0 == round(inches * 8.0) else f"{round(diameter, 3):g} mm"
        if not SMALLEST_MM <= diameter <= LARGEST_MM:
            raise UsageError(f"--diameter is {size}: {SMALLEST_MM:g} mm to {LARGEST_MM:g} mm can be drawn")
        if (hole := arguments.hole or 0.0) > diameter - SMALLEST_MM / 2.0:
            raise UsageError(f"--hole leaves nothing of a wheel of {size}")
        wheel = Wheel(diameter, hole, arguments.view, arguments.fixed, arguments.stations)
        pages += wheel_pages(wheel, paper, size)
    return pages, Path()


def _card(arguments: argparse.Namespace, paper: Paper) -> tuple[list[str], Path]:
    job = job_named(arguments, arguments.job) if arguments.job else None
    kit: Kit | None = arguments.kit or (kit_of(job) if job else None)
    pins: Pins | None = arguments.dowels or (value_of(job, "dowels") if job else None)
    setting = arguments.fitted or (_of_job(job) if job else None)
    if setting is None or not any(setting.offsets):
        raise UsageError("which dowels? Give a job in which some were chosen, or --fitted 10thou@28,5thou@70")
    body = arguments.pin or (kit.body if kit else None)
    if body is None:
        raise UsageError(
            "--pin is missing: the diameter of the dowel, such as --pin 16mm (or a kit that says it)"
        )
    if not 2.0 <= body <= LARGEST_DOWEL_MM:
        raise UsageError(f"--pin is {show_length(body, 'mm')}: 2 mm to {LARGEST_DOWEL_MM:g} mm can be drawn")
    cards = dowel_cards(setting, pins, body, kit, arguments.unit_shown)
    title = f"Dowels of {job.title}"[:60] if job else "Setting the dowels"
    return [dowel_page(cards, paper, title, HOW)], job.path if job else Path()


def _of_job(job: Snapshot) -> DowelSetting | None:
    """What is to be fitted, else what is. Raises UsageError."""
    now = job.state
    if now.chosen is not None and now.chosen.dowels:
        return DowelSetting.of(now.chosen.dowels)
    return None if now.fitted is None else DowelSetting.of(now.fitted.dowels)


def _shims(arguments: argparse.Namespace, paper: Paper) -> tuple[list[str], Path]:
    known = job_perhaps(arguments, arguments.file)
    path, folder = Path(arguments.file), Path()
    if known is not None:
        if (face := known.state.face.found) is None:
            raise UsageError(f"{known.title}: the face was not swept yet")
        path, folder = known.recording_of(face), known.path
    wish = FaceWish(
        bolts=arguments.bolts or None, stock=arguments.shims or None, radius=arguments.face_radius
    )
    seen = squared(path, wish, known, "print shims")
    if not seen.wish.radius:
        raise UsageError("--face-radius is missing: the radius at which the dial ran, such as 6in")
    _need_places(seen.wish, known)
    cards = bolt_cards(seen.found.shims, arguments.unit_shown)
    title = f"Shims of {known.title}"[:50] if known else "Shims under the face"
    lines = ["Seen from behind, 12 o'clock up: what goes between housing and block under each bolt."]
    return bolt_pages(cards, paper, title, lines), folder


def _need_places(wish: FaceWish, known: Snapshot | None) -> None:
    """Raises UsageError, naming what is missing."""
    options = (("--bolts 6@420mm", wish.bolts), ("--shims 2thou,5thou", wish.stock))
    missing = [option for option, there in options if not there]
    if missing:
        also = "" if known is None else f", or write it into {known.path / DETAILS}"
        raise UsageError(
            f"{' and '.join(missing)}: say where the bolts are and which shims are in stock{also}"
        )
