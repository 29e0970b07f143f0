"""Where was I? The shop's jobs, the newest work first, and the next step of the one that is picked, large."""

import time
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar, Literal

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input

from ...errors import OURS, on_screen
from ...job.folder.index import Index, Row
from ...job.folder.shop import Job
from ...job.folder.snapshot import look
from ...job.steps.leftoff import LeftOff, left_off_at
from ...say.job.jobwords import next_of
from ...say.job.listwords import FIRST, NO_JOB, job_line, large_step, whose
from ...say.smallwords import counted
from ...widgets.bigwords import BigWords
from ...widgets.picklist import PickList
from ...widgets.textlines import KeyLine, Lines
from ..base import LOW, CoaxlyScreen

Way = Literal["go", "new", "dial", "rig", "recordings", "cautions", "settings", "more", "quit"]

_KEYS = [
    "Enter, Space  the next step of the picked job (or a pedal)",
    "Up, Down      pick another job (Left, Right: ten at once)",
    "S  search: title, number, customer, block, housing, notes; Esc ends it",
    "J  more about it: sweep again, say what is in, note, report, close",
    "N  new job                 F  find my dial",
    "B  built-in engine         O  old recordings",
    "C  cautions                E  settings",
    "M  thou, in, mm, um        Q  quit; nothing has to be saved",
]
_KEY_LINE_LOW = "N new  F dial  B engine  J more  ? keys  Q quit"
_KEY_LINE = (
    "N new job   F find my dial   B built-in engine   O old recordings   C cautions   S search   "
    "J more about this job   E settings   M unit   ? keys   Q quit"
)
_GOES_ON, _SHOWS = "Enter goes on", "Enter shows it"
"""What it does with the picked job, and with one that is done."""
_STAYS = "This is the first page: Q quits."
_LOOK_S = 2.0
"""How often the files are looked at while another program makes a sweep."""


@dataclass(frozen=True)
class Wish:
    """What was asked for. job: the one that was picked, if there was one."""

    way: Way
    job: Job | None = None


class JobsScreen(CoaxlyScreen[Wish]):
    """The jobs of a shop. Dismissed with what is wished."""

    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "pick(1)", "Next"),
        Binding("up", "pick(-1)", "Before"),
        Binding("right", "pick(10)", "Further"),
        Binding("left", "pick(-10)", "Back"),
        *(
            Binding(key, f"wish('{way}')", way)
            for key, way in (
                ("n", "new"), ("f", "dial"), ("b", "rig"), ("o", "recordings"), ("e", "settings"),
                ("j", "more"), ("q", "quit"),
            )
        ),
        Binding("s,slash", "search", "Search"),
        Binding("escape", "stop_searching", "End of search"),
    ]  # fmt: skip
    DEFAULT_CSS = """
    JobsScreen #whose { height: 1; padding: 0 1; text-style: bold; color: $primary; margin: 1 0 0 0; }
    JobsScreen.low #large { display: none; }
    JobsScreen.low #whose, JobsScreen.low #step { margin: 0; }
    JobsScreen #large { height: 7; margin: 1 0 0 0; }
    JobsScreen.tall #large { height: 11; }
    JobsScreen.huge #large { height: 22; }
    JobsScreen #step { height: auto; padding: 0 1; text-style: bold; margin: 1 0 1 0; }
    JobsScreen #words { height: auto; padding: 0 1; color: $secondary; }
    JobsScreen #search { display: none; height: 1; border: none; padding: 0 1; background: $panel; }
    JobsScreen.searching #search { display: block; }
    """

    def __init__(self, index: Index, said: str = "", *, dial: bool = True, picked: str = "") -> None:
        """said: what to say of what was done last. dial: whether a dial is known here. picked: folder of the
        job to begin at."""
        super().__init__()
        self._index, self._said, self._dial = index, said, dial
        self._found: list[Row] = []
        self._begun: dict[str, LeftOff | None] = {}
        self._all, self._looked = 0, False
        self._at, self._begin_at = 0, picked
        self._pressed = time.monotonic()

    def compose(self) -> ComposeResult:
        """The answer above, the list below."""
        yield Lines(id="title")
        yield Lines(id="whose")
        yield BigWords(self.app.glyphs, id="large")
        yield Lines(id="step")
        yield Lines(self._said, id="words")
        yield Input(placeholder="title, number, customer, block, housing, notes", id="search", max_length=80)
        yield PickList(id="jobs")
        yield KeyLine(_KEY_LINE, id="keys")

    def on_mount(self) -> None:
        """All jobs; the pedal goes on with the picked one."""
        self.bind_pedal("go_on", priority=False)
        self.watch(self.app, "unit", lambda: self.redraw(), init=False)
        self.set_interval(_LOOK_S, self._look_again)
        self._look_for("")

    def on_resize(self) -> None:
        """Larger letters where there is room."""
        self.grow()
        self.tell("keys", _KEY_LINE_LOW if self.size.height < LOW else _KEY_LINE)
        if self._looked:
            self.redraw()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Another word to look for."""
        self._look_for(event.value)

    def on_input_submitted(self) -> None:
        """Enter in the search does what Enter does."""
        self.action_go_on()

    def on_key(self, event: events.Key) -> None:
        """A digit begins a search by itself: jobs have numbers."""
        if event.character is not None and event.character.isdigit() and not self.has_class("searching"):
            self.action_search(event.character)
            event.stop()

    def _look_for(self, words: str) -> None:
        self._found, self._looked = self._index.rows(words), True
        if not words:
            self._all = len(self._found)
        # Dates in the names of folders hold most numbers as well: the job of that number is meant.
        meant = (
            k for k, row in enumerate(self._found) if row.folder == self._begin_at or row.number == words
        )
        self._at = next(meant, 0)
        self.redraw()

    def _look_again(self) -> None:
        """A sweep that is being made elsewhere goes on, and ends."""
        if any(begun is not None and begun.runs for begun in self._begun.values()):
            self._index.refresh()
            self._begun.clear()
            self._begin_at = self.picked.folder if self.picked is not None else ""
            self._look_for(self.query_one("#search", Input).value)

    @property
    def picked(self) -> Row | None:
        """The job that is picked."""
        return self._found[self._at] if self._found else None

    def redraw(self) -> None:
        """The picked job above, the list round it."""
        unit = self.app.unit
        row, today = self.picked, datetime.now().astimezone()
        count = counted(self._all, "job")
        if self.has_class("searching"):
            count = f"{len(self._found)} of {count}"
        self.tell("title", self._title(f"Coaxly   {count}   "))
        name, large, step = self._answer(row, unit)
        enter = _SHOWS if row is not None and row.next == "done" else _GOES_ON
        room = self.size.width - 2 - len(enter)
        if row is not None and len(name) < room:
            name = f"{name:<{room}}{enter}"
        elif row is not None:
            step = f"{step:<{room}}{enter}" if len(step) < room else f"{step}\n{enter}"
        self.tell("whose", name)
        self.query_one("#large", BigWords).show(large)
        self.tell("step", step)
        self.query_one("#words", Lines).display = bool(self._said)
        self.query_one(PickList).display = bool(self._found)
        self.query_one(PickList).show(
            len(self._found),
            lambda k, width: job_line(self._found[k], unit, width, today, self._left_off(self._found[k])),
            self._at,
        )

    def _title(self, head: str) -> str:
        """One line: of a folder that is longer than its room the end is told."""
        folder, room = str(self._index.shop), max(self.size.width - 2 - len(head), 0)
        return head + (folder if len(folder) <= room else f"..{folder[len(folder) - room + 2 :]}")

    def _left_off(self, row: Row) -> LeftOff | None:
        """How far the sweep that is due came; looked for once a job, as far as it is drawn."""
        if row.folder not in self._begun:
            self._begun[row.folder] = left_off_at(Job(self._index.shop / row.folder), row.next)
        return self._begun[row.folder]

    def _answer(self, row: Row | None, unit: str) -> tuple[str, str, str]:
        """Whose step it is, the step large, and in full."""
        if row is None and self._all:
            return "", "NO SUCH JOB", "No job holds all these words. Esc ends the search."
        if row is None:
            return ("", "NEW JOB", NO_JOB) if self._dial else ("", "FIND MY DIAL", FIRST)
        try:
            known = look(Job(self._index.shop / row.folder))
            state, step = known.state, next_of(known, unit)
        except OURS as error:
            return whose(row), "", f"! {on_screen(error)}"
        return whose(row), large_step(state, unit), step

    def action_pick(self, way: int) -> None:
        """Another job."""
        self._at = min(max(self._at + way, 0), max(len(self._found) - 1, 0))
        self._begin_at = ""
        self.redraw()

    def action_go_on(self) -> None:
        """The next step of the picked job; where there is none, what comes before."""
        if self.is_held():
            return
        if self.picked is not None:
            self.action_wish("go")
        elif not self._all:
            self.action_wish("new" if self._dial else "dial")

    def action_wish(self, way: Way) -> None:
        """Something else."""
        row = self.picked
        self.dismiss(Wish(way, None if row is None else Job(self._index.shop / row.folder)))

    def action_search(self, begun: str = "") -> None:
        """A field to type into."""
        self.add_class("searching")
        field = self.query_one("#search", Input)
        field.focus()
        field.value = begun
        field.cursor_position = len(begun)
        self.redraw()

    def action_stop_searching(self) -> None:
        """All jobs again; from there nothing is left by a key that means no more than "back"."""
        if not self.has_class("searching"):
            self.tell("words", _STAYS)
            self.query_one("#words", Lines).display = True
        else:
            self.remove_class("searching")
            self.set_focus(None)
            self.query_one("#search", Input).value = ""
            self._look_for("")

    def key_page(self) -> list[str]:
        """What the keys do."""
        return _KEYS
