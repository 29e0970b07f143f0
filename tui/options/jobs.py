"""The command line of jobs. Nothing heavy is imported here: `--help` must answer at once."""

import argparse
from typing import Any

from .shown import add_shop, output

JOB = "folder, number, or a part of the title that no other job has"


def add_job(job: argparse.ArgumentParser) -> None:
    """`coaxly job`."""
    doings = job.add_subparsers(dest="doing", metavar="WHAT", required=True)

    def add(name: str, text: str, *places: tuple[str, str], **more: Any) -> argparse.ArgumentParser:
        command = doings.add_parser(name, help=text, description=text, **more)
        for place, what in places:
            command.add_argument(place, metavar=place.upper(), help=what)
        add_shop(command)
        if name not in ("list", "unpack"):
            command.add_argument("--operator", default="", help="who does it")
        output(command)
        return command

    add("open", "begin a job", ("title", "what you call it"), fill=_opening)
    listing = add("list", "jobs, the newest work first")
    listing.set_defaults(command="joblist")
    listing.add_argument("words", metavar="WORDS", nargs="*", help="only those that hold all of these")
    add("show", "all that is known of a job, and its next step", ("job", JOB))
    add("note", "write something down", ("job", JOB), ("text", "in quotes"))
    add("photo", "copy a picture into the job", ("job", JOB), ("file", "the picture"))
    _in(add("fitted", "what was really put in", ("job", JOB)))
    shimmed = add("shimmed", "which shims were put under the face", ("job", JOB))
    shimmed.add_argument("shims", metavar="SHIMS", help="seen from behind: 2thou@0,5thou@60,...; none")
    take = add("take", "take in a recording of its folder that the job does not go by",
               ("job", JOB), ("file", "its name in the job's folder"))  # fmt: skip
    take.add_argument(
        "--stage", choices=("found", "left"), default="", help="(default: as the recording says)"
    )
    take.add_argument(
        "--anyway", action="store_true", help="even if it names another job; the report says so"
    )
    add("changed", "job.toml is right as it was edited by hand: note what it says", ("job", JOB))
    add("close", "nothing more is to be done", ("job", JOB))
    add("pack", "a job in one file, to be carried elsewhere", ("job", JOB)).add_argument(
        "-o", "--out", metavar="FILE", required=True, help="zip to write; must not exist"
    )
    add("unpack", "take in a packed job", ("file", "a packed job"))


def _in(fitted: argparse.ArgumentParser) -> None:
    fitted.add_argument("dowels", metavar="DOWELS", nargs="?",
                        help="seen from behind: 10thou@200, or 10thou@28,5thou@70; none; "
                        "left out: as chosen")  # fmt: skip
    once = fitted.add_mutually_exclusive_group()
    once.add_argument("--slip", action="store_true", default=None,
                      help="what was said before was one: these were in, sweeps since count")  # fmt: skip
    once.add_argument("--since", dest="slip", action="store_false",
                      help="they went in since the last sweep, which says nothing of them")  # fmt: skip


def add_report(command: argparse.ArgumentParser) -> None:
    """`coaxly report`."""
    command.add_argument("job", metavar="JOB", help=JOB)
    command.add_argument("-o", "--out", metavar="FILE", help="FILE.html or FILE.pdf to write; must not exist "
                         "(default: report.html in the job's folder, -2 if that is there)")  # fmt: skip
    command.add_argument("--paper", choices=("a4", "letter"), help="(default: the setting 'paper', else a4)")
    command.add_argument("--operator", default="", help="who makes it")
    command.add_argument("--anyway", action="store_true", help="even if a recording was changed, or two do "
                         "not belong together; the doubt stands in the report")  # fmt: skip
    add_shop(command)
    output(command)


def _opening(command: argparse.ArgumentParser) -> None:
    from ..job.folder.details import Details
    from .keys import add_keys

    add_keys(command, Details, as_written=True)
    for piece in ("block", "housing"):
        command.add_argument(f"--{piece}-family", metavar="TEXT", help=f"what kind of {piece}")
    command.add_argument("--face", action="store_true", help="the face is part of the job, and comes first")
