"""`coaxly plan FILE`: which dowels to fit and which way to turn them, or which shims under a face."""

import argparse
from dataclasses import asdict
from pathlib import Path
from typing import Final

from coaxly.fitter.withheld import doubts
from coaxly.logger.recording.reader import RecordingReader

from .. import output
from ..draw.dowelpicture import dowel_picture
from ..errors import FINDING, FINE, UsageError
from ..job.folder.snapshot import Snapshot
from ..job.steps.choosing import Basis, basis, planned_from, take
from ..job.steps.squaring import squared
from ..job.steps.wishes import FaceWish
from ..plain.asking import settle
from ..plain.named import job_perhaps, say_limit, wish_of
from ..plain.plaindial import laid_down
from ..plain.rigfindings import rig_setup
from ..say.dowels.guide import guide_lines
from ..say.dowels.kitwords import kit_lines, kit_object
from ..say.job.jobwords import taken_line
from ..say.objects import option_object, result_object
from ..say.sweep.features import SWEPT
from ..say.sweep.findings import face_lines, option_lines, result_lines
from ..say.sweep.noverdict import advised
from ..say.sweep.warnings import sentence
from ..terminal import default_glyphs

FACE_FIRST = (
    "face first, then bore: shimming the face moves the bore, so sweep the face before you trust this"
)


def run(arguments: argparse.Namespace) -> int:
    """Print the options, best first; of a face, the shims."""
    with laid_down(arguments) as asked:
        return _planned(asked)


def _planned(arguments: argparse.Namespace) -> int:
    known = job_perhaps(arguments, arguments.file)
    if known is None and arguments.take is not None:
        raise UsageError("--take notes a choice in a job: name the job, not a recording")
    path, feature = _sweep(arguments, known)
    for name in _OF_A_BORE if feature == "face" else _OF_A_FACE:
        if getattr(arguments, name) is not None:
            option = "--" + name.replace("_", "-")
            raise UsageError(f"{path} is a sweep of a {feature}: {option} has no part in it, leave it out")
    return _shims(arguments, known, path) if feature == "face" else _dowels(arguments, known)


_OF_A_FACE: Final = ("bolts", "shims", "depth", "pilot", "bore", "face_radius", "register_clearance")
_OF_A_BORE: Final = ("kit", "dowels", "hole", "fitted", "pair", "hole_clearance", "rotation_limit")


def _sweep(arguments: argparse.Namespace, known: Snapshot | None) -> tuple[Path, str]:
    """The sweep to plan from, and whether it is of a bore or a face. Raises LoggerError, or UsageError where
    it is of anything else."""
    if known is None:
        with RecordingReader(path := Path(arguments.file)) as reader:
            feature = reader.header.feature
        if feature not in ("bore", "face"):
            raise UsageError(
                f"{path} is a sweep of the {SWEPT.get(feature, 'dial')}: nothing is fitted for that"
            )
        return path, feature
    face = known.state.face.found
    if known.state.feature != "face" or face is None:
        return planned_from(known)[0], "bore"
    if arguments.take is not None:
        raise UsageError(
            f"--take {arguments.take}: the face of {known.title} comes first, its shims have no options: "
            f"say which went in, such as coaxly job shimmed {known.called} 2thou@60, or none"
        )
    return known.recording_of(face), "face"


def _dowels(arguments: argparse.Namespace, known: Snapshot | None) -> int:
    wish = wish_of(arguments, known, taking=arguments.take is not None)
    found = basis(known or Path(arguments.file), wish)
    say_limit(found.ruling, known, arguments.unit_shown)
    settle(found.doubts, arguments.unit_shown, anyway=arguments.anyway)
    if arguments.take is not None:
        take(found, arguments.take)
    _say(arguments, found)
    return FINDING if doubts(found.result) and not arguments.anyway else FINE


def _say(arguments: argparse.Namespace, found: Basis) -> None:
    """The options, and how the best of them is set, or the one that was taken; of a sweep in doubt none
    is."""
    unit, pins, kit, options = arguments.unit_shown, found.workshop.pins, found.workshop.kit, found.options
    unmeasured = doubts(found.result)
    said, doubtful = [*unmeasured, *found.advice], bool(unmeasured)
    if arguments.json:
        output.json_object(
            {
                "options": [option_object(option, unit, pins, doubtful=doubtful) for option in options],
                "kit": kit_object(kit),
                "advice": [sentence(remark, unit) for remark in said],
                "remarks": [asdict(remark) for remark in said],
                "taken": arguments.take,
            }
        )
        return
    lines = [*result_lines(found.result, unit), "", *option_lines(options, unit, pins, doubtful=doubtful)]
    lines += [f"  {line}" for line in kit_lines(kit, unit)]
    lines += [f"  ! {line}" for line in advised(said, unit)]
    if not _face_is_done(found.known):
        lines.append(f"  note: {FACE_FIRST}")
    which = arguments.take or 1
    told = options[which - 1]
    if arguments.take is not None:
        lines += ["", taken_line(which, told, unit)]
    if told.dowels and (arguments.take is not None or not doubtful):
        lines += ["", f"SETTING ({which}.)", *(f"  {line}" for line in guide_lines(told, pins, unit))]
        lines += dowel_picture(told, pins, default_glyphs())
    output.text(lines)


def _face_is_done(known: Snapshot | None) -> bool:
    """Whether the face was swept, and nothing of it is due."""
    return known is not None and known.state.face.found is not None and known.state.face.next is None


def _shims(arguments: argparse.Namespace, known: Snapshot | None, face: Path) -> int:
    wish = FaceWish(
        limit=arguments.limit,
        given=rig_setup(arguments),
        bolts=arguments.bolts,
        stock=arguments.shims,
        radius=arguments.face_radius,
        depth=arguments.depth,
        pilot=arguments.pilot,
        clearance=arguments.register_clearance,
        bore=arguments.bore and Path(arguments.bore),
    )
    unit, seen = arguments.unit_shown, squared(face, wish, known)
    if seen.wish.bolts and not seen.wish.radius:
        raise UsageError("--bolts need the radius at which the dial ran: --face-radius 6in")
    if seen.wish.clearance is not None and (seen.wish.bore is None or seen.wish.pilot is None):
        raise UsageError("--register-clearance counts at the pilot bearing: give --bore and --pilot too")
    say_limit(seen.ruling, known, unit)
    if seen.unplaced:
        output.message(
            "! bolts of job.toml need the radius at which the dial ran; until then places are stations: "
            "give it, such as --face-radius 6in, or face_radius in job.toml"
        )
    settle(seen.doubts, unit, anyway=arguments.anyway)
    lies = {} if seen.at is None else {"pilot": seen.at.to_dict()}
    content = {"face": seen.found.to_dict(), "result": result_object(seen.result, unit), **lies}
    lines = [*result_lines(seen.result, unit), "", *face_lines(seen.found, unit, seen.at)]
    output.answer(content, lines, as_json=arguments.json)
    return FINE
