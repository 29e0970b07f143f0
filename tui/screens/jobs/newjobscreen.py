"""What is it? A new job, one question at a time; the same questions change a job that is there."""

from collections.abc import Callable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input

from ...errors import OURS, on_screen
from ...job.folder.index import open_job
from ...job.folder.journal import Opened, now
from ...job.folder.newjob import OF_THE_FACE, answers_of, changed, check, rigs_of, said, wants_face
from ...job.folder.shop import Job
from ...job.folder.snapshot import look
from ...say.job.newjob import BEGIN, CHANGE, Question, empty_line, questions
from ...say.smallwords import shortened
from ...widgets.bigwords import BigWords
from ...widgets.textlines import KeyLine, Lines
from ..base import Bench, CoaxlyScreen

Answers = dict[str, str]


class NewJobScreen(CoaxlyScreen[Answers | None]):
    """Dismissed with the answers by key, or None."""

    TOPIC = "jobs"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,up", "back", "One back", priority=True),
        Binding("down", "next", "Next", priority=True),
        Binding("f2", "enough", "Begin", priority=True),
        Binding("f10", "leave", "Leave", priority=True),
    ]
    DEFAULT_CSS = """
    NewJobScreen.low #large, NewJobScreen.low #given { display: none; }
    NewJobScreen.low #answer { margin: 0; border: none; height: 1; background: $panel; }
    NewJobScreen #large { height: 5; margin: 1 0 1 0; }
    NewJobScreen.tall #large { height: 9; }
    NewJobScreen.huge #large { height: 14; }
    NewJobScreen #ask { height: auto; padding: 0 1; text-style: bold; color: $primary; }
    NewJobScreen #why { height: auto; padding: 0 1; max-width: 110; }
    NewJobScreen #answer { margin: 1 1 0 1; border: heavy $primary; height: 3; }
    NewJobScreen #empty { height: auto; padding: 0 1; color: $secondary; }
    NewJobScreen #amiss { height: auto; padding: 0 1; color: $error; text-style: bold; }
    NewJobScreen #given { height: 1fr; padding: 1 1 0 1; }
    """

    def __init__(
        self,
        title: str,
        asked: list[Question],
        check: Callable[[str, str], None],
        answers: Answers | None = None,
    ) -> None:
        """check(key, text) raises in words where an answer cannot be meant. answers: those that are there."""
        super().__init__()
        self._head, self._asked, self._check = title, asked, check
        self.answers = dict(answers or {})
        self._keys = CHANGE if answers else BEGIN
        self._at = 0

    def compose(self) -> ComposeResult:
        """The question, the field, and what was said so far."""
        yield Lines(id="title")
        yield BigWords(self.app.glyphs, id="large")
        yield Lines(id="ask")
        yield Lines(id="why")
        yield Input(id="answer", max_length=200)
        yield Lines(id="empty")
        yield Lines(id="amiss")
        yield Lines(id="given")
        yield KeyLine(self._keys, id="keys")

    def on_mount(self) -> None:
        """The first question."""
        self._ask()

    def on_resize(self) -> None:
        """Larger where there is room."""
        self.grow()

    def _ask(self) -> None:
        question = self._asked[self._at]
        due = [each for each in self._asked if each is question or not self._is_idle(each)]
        self.tell("title", f"{self._head}   {due.index(question) + 1} of {len(due)}")
        self.query_one("#large", BigWords).show(question.short)
        self.tell("ask", question.ask)
        self.tell("why", question.why)
        self.tell("empty", empty_line(question))
        self.tell("amiss", "")
        given = (
            f"{q.short.lower():<12} {self.answers[q.key]}" for q in self._asked if self.answers.get(q.key)
        )
        self.tell("given", "\n".join(given))
        field = self.query_one("#answer", Input)
        field.value = self.answers.get(question.key, "")
        field.cursor_position = len(field.value)
        field.focus()

    def _take(self) -> bool:
        """Keep the answer, if it can be meant."""
        key, text = self._asked[self._at].key, self.query_one("#answer", Input).value
        try:
            self._check(key, text)
        except (*OURS, ValueError) as error:
            self.tell("amiss", f"! {on_screen(error)}")
            self.query_one("#answer", Input).action_select_all()  # what is typed next takes its place
            return False
        self.answers[key] = text.strip()
        return True

    def on_input_submitted(self) -> None:
        """Enter."""
        self.action_next()

    def action_next(self) -> None:
        """The next question, or the end of them."""
        if not self._take():
            return
        self._step(1)
        if self._at >= len(self._asked):
            self.dismiss(self.answers)
        else:
            self._ask()

    def _step(self, way: int) -> None:
        self._at += way
        while 0 <= self._at < len(self._asked) and self._is_idle(self._asked[self._at]):
            self._at += way

    def _is_idle(self, question: Question) -> bool:
        """Nobody's limit needs no source, and a face that is not swept nothing that is known of it."""
        if question.key == "limit_source":
            return not self.answers.get("limit")
        asked = any(each.key == "face" for each in self._asked)
        return question.key in OF_THE_FACE and asked and not wants_face(self.answers.get("face", ""))

    def action_back(self) -> None:
        """The question before; before the first, leave."""
        if self._at == 0:
            self.dismiss(None)
            return
        self._step(-1)
        self._ask()

    def action_enough(self) -> None:
        """The rest as usual."""
        if self._take():
            self.dismiss(self.answers)


async def new_job(bench: Bench) -> Job | None:
    """Ask, and begin it. Raises UsageError or Failure."""
    asked = questions(bench.kit, rigs_of(bench.shop))
    screen = NewJobScreen("New job", asked, lambda key, text: check(key, text, bench.shop))
    answers = await bench.app.push_screen_wait(screen)
    if answers is None:
        return None
    title, face, values = said(answers, bench.shop)
    return open_job(bench.shop, title, values, Opened(time=now(), title=title, face=face))


async def change_job(bench: Bench, job: Job) -> str:
    """Ask the same again, and write down what is answered otherwise. Raises UsageError or Failure."""
    known = look(job)
    old = answers_of(known.details)
    idle = ("title", "face", *(() if known.state.face.wanted else OF_THE_FACE))
    asked = [each for each in questions(bench.kit, rigs_of(bench.shop)) if each.key not in idle]

    def check_new(key: str, text: str) -> None:
        if text.strip() != old.get(key, ""):  # a kit's file that is there is named from the job's folder
            check(key, text, bench.shop)

    screen = NewJobScreen(shortened(known.title), asked, check_new, old)
    answers = await bench.app.push_screen_wait(screen)
    if answers is not None and (values := changed(old, answers, look(job).details, bench.shop)):
        job.edit(**values)
    return ""
