"""Readings typed on standard input, by a person or out of a file, a pipe or a table.

A person is told of a line that is no reading, and types it again. What comes out of a file or a pipe cannot:
there the next line would be taken for the one that was not understood, so the sweep is left off at the first
such line; what was read before it is kept, and can be gone on with.
"""

import os
import shlex
import stat
import sys
from collections.abc import Sequence
from typing import Final

from coaxly.fitter.geometry import EnteredDeg
from coaxly.logger.clock import PaperClock

from .. import output
from ..entry.papers import Written, is_reading, written_line
from ..errors import UsageError
from ..job.recorded.slips import Slip, not_taken
from ..job.sweep.begin import typed_in
from ..job.sweep.news import News, What
from ..job.sweep.run import SweepRun
from ..job.sweep.schedule import Plan
from ..say.smallwords import counted
from ..say.sweep.sweepwords import slip_words, told, typed_words

EVEN: Final = "no times were: the readings stand a second apart"
"""Note that a recording of a paper keeps."""


class TypedLines:
    """Takes the lines of one sweep. amiss: why it was left off, "" if it was not; taken_in: unit of a bare
    number, "" if it needs one."""

    def __init__(self, run: SweepRun, unit: str) -> None:
        """unit: of a bare number, "" for that of the profile."""
        self._run, self._unit = run, unit
        self.taken_in = unit or run.pipeline.profile.unit
        self._fed, self.from_file = fed()
        self._bare = False  # a reading came without its place: it was for the station that was due
        self._row = self._read = 0
        self.amiss = ""

    def take(self, line: str) -> None:
        """One line: a reading, an angle and a reading, or a word."""
        self._row += 1
        word, _, rest = line.partition(" ")
        if word.lower() == "undo":
            self._run.undo()
        elif word.lower() == "note":
            self._run.note(rest)
        elif self._fed and (not line or line.startswith("#")):
            return
        elif not line or word.lower() == "station":
            # No dial ever answers: whoever waits for one waits for ever.
            output.message("type the reading")
        else:
            self._reading(line)

    def _reading(self, line: str) -> None:
        profile = self._run.pipeline.profile
        try:
            written = written_line(line, self._unit).placed(self._run.pipeline.setup)
        except UsageError as error:
            self._leave_off(str(error)) if self._fed else output.message(str(error))
            return
        if self._fed:
            if not is_reading(written.text, profile):
                self._leave_off(typed_words(not_taken(line, profile.unit), profile.unit))
                return
            if written.deg is None and self._run.next_deg is None:
                many = len(self._run.pipeline.fitter.stations())
                self._leave_off(f"{line[:24]!r} is one more than the {many} readings that were due")
                return
        if isinstance(clock := self._run.session.clock, PaperClock):
            if not self._read:
                self._run.note(EVEN)
            clock.next()
        self._bare |= written.deg is None
        self._read += 1
        self._run.typed(written.text, written.deg)

    def ended(self) -> None:
        """The input is over, and nobody said that it is done: a list that holds less than was due was broken
        off, and one without a reading changes nothing. Places that somebody wrote down are all that there
        are, and a closing reading can do without."""
        if self._run.finished.is_set():
            return
        kept = len(self._run.pipeline.fitter.stations())
        missing = sum(not due.closing for due in self._run.schedule.due)
        if self._fed and not kept:
            self._run.stop()
            self._run.discard_if_empty()
            self.amiss = "no reading came: what is fed in holds none"
            return
        if not (missing and kept and (self._bare or not self._read)):
            return
        self._run.stop()
        more = f"{counted(missing, 'more station')} {'was' if missing == 1 else 'were'} due"
        self.amiss = (
            f"the readings end after {kept}, and {more}. They are kept, not finished: {self._way_on()} "
            "takes the rest (or the word done, if there is no more)"
        )

    def _leave_off(self, why: str) -> None:
        kept = len(self._run.pipeline.fitter.stations())
        self._run.stop()
        path = self._run.session.writer.path
        self.amiss = f"row {self._row}: {why}"
        if kept:
            self.amiss += (
                f". The {kept} before it are in {path}: mend the row, then {self._way_on()} takes the rows "
                "from there on"
            )
        else:
            self._run.discard_if_empty()

    def _way_on(self) -> str:
        unit = f" --unit {self._unit}" if self._unit else ""
        return f"'coaxly sweep --headless{unit} --resume {shlex.quote(str(self._run.session.writer.path))}'"


def fed() -> tuple[bool, bool]:
    """Whether standard input is a file, a pipe or nothing at all (/dev/null), and whether it is a file."""
    try:
        number = sys.stdin.fileno()
        return not os.isatty(number), stat.S_ISREG(os.fstat(number).st_mode)
    except (OSError, ValueError, AttributeError):
        return False, False


def plan_of(rows: Sequence[Written]) -> Plan:
    """What was read, in its order; back at the first place at the end is a closing reading."""
    places = tuple(EnteredDeg(row.deg or 0.0) for row in rows)
    closing = places[0] % 360.0 == places[-1] % 360.0
    return Plan(stations=len(places) - closing, closing=closing, places=places)


async def read_in(run: SweepRun, rows: Sequence[Written], source: str, unit: str) -> None:
    """Type all of them. Raises LoggerError or FitterError."""

    def said(news: News) -> None:
        if isinstance(news.doubt, Slip):  # whoever wrote it down cannot undo it here
            number = len(run.pipeline.fitter.stations())
            output.message(slip_words(news.doubt, unit, f"reading {number} of {source}"))
        elif news.what is not What.TAKEN:
            output.message(told(news, unit))

    run.listen(said)
    note = f"read from {source}, as it was written down; {EVEN}"
    await typed_in(run, ((row.text, row.deg) for row in rows), note)
