"""Where the work begins: what is to be done, with what was chosen last time filled in."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.screen import Screen
from textual.widgets import Button, Input, Select

from ..entry.preferences import Memory
from ..widgets.lines import Lines

Way = Literal["sweep", "rig", "recordings", "cautions", "dowels", "quit"]

FIRST = (
    "Welcome. Coaxly reads a dial indicator while you turn the crank, and tells how far the housing is off, "
    "which dowels centre it and whether they did. Choose the port of your indicator, or try the built-in "
    "engine: it needs no hardware."
)


@dataclass(frozen=True)
class Choice:
    """What was asked for. kit: offsets or files, as written."""

    way: Way
    job: str = ""
    stage: str = "found"
    feature: str = "bore"
    port: str = ""
    profile: str = "stream-decimal"
    dial_unit: str = "in"
    kit: str = ""


class StartScreen(Screen[Choice]):
    """A short form, and six ways to go on."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "go('sweep')", "Sweep"),
        Binding("f3", "go('rig')", "Demo"),
        Binding("f4", "go('recordings')", "Recordings"),
        Binding("f5", "go('cautions')", "Cautions"),
        Binding("f6", "go('dowels')", "Dowels"),
        Binding("escape", "go('quit')", "Quit"),
    ]
    DEFAULT_CSS = """
    StartScreen { layout: vertical; background: $background; color: $foreground; }
    StartScreen #title { height: 1; background: $panel; padding: 0 1; text-style: bold; }
    StartScreen #words { height: auto; padding: 0 1; color: $secondary; }
    StartScreen .row { height: 3; }
    StartScreen .name { width: 12; padding: 1 1; }
    StartScreen Input { width: 1fr; }
    StartScreen Select { width: 1fr; }
    StartScreen #ways { height: 3; dock: bottom; }
    StartScreen Button { width: 1fr; min-width: 12; }
    """

    def __init__(self, memory: Memory, ports: list[tuple[str, str]], words: str, kit: str) -> None:
        """`ports`: (shown, name). words: what to say above the form; kit: the usual offsets."""
        super().__init__()
        self._memory, self._ports, self._said, self._kit = memory, ports, words, kit

    def compose(self) -> ComposeResult:
        """The form."""
        memory = self._memory
        there = ", ".join(shown for shown, _ in self._ports) or "none found"
        yield Lines("Coaxly: what is to be done?", id="title")
        yield Lines(f"{self._said}\nPorts here: {there}".strip(), id="words")
        with VerticalScroll():
            with Horizontal(classes="row"):
                yield Lines("Job, stage", classes="name")
                yield Input(memory.get("job"), placeholder="blue van", id="job", max_length=60)
                yield _choice(memory, "stage", "found", "left")
            with Horizontal(classes="row"):
                yield Lines("Port, what", classes="name")
                yield Input(memory.get("port") or _likely(self._ports),
                            placeholder="port, such as /dev/serial/by-id/...", id="port")  # fmt: skip
                yield _choice(memory, "feature", "bore", "face")
            with Horizontal(classes="row"):
                yield Lines("Profile", classes="name")
                yield Input(memory.get("profile", "stream-decimal"), id="profile")
                yield _choice(memory, "dial_unit", "in", "mm")
            with Horizontal(classes="row"):
                yield Lines("Dowel kit", classes="name")
                yield Input(memory.get("kit") or self._kit, id="kit")
        with Horizontal(id="ways"):
            yield Button("Sweep F2", id="sweep", variant="primary")
            yield Button("Demo F3", id="rig")
            yield Button("Replay F4", id="recordings")
            yield Button("Dowels F6", id="dowels")
            yield Button("Safety F5", id="cautions")
            yield Button("Quit Esc", id="quit")

    @property
    def ready(self) -> bool:
        """Whether every field has been built: a key that is quicker than that is dropped."""
        selects = list(self.query(Select))
        return bool(selects) and all(select.query("#label") for select in selects)

    def on_mount(self) -> None:
        """Whoever types, types where something is missing."""
        empty = [field for field in self.query(Input) if not field.value]
        (empty[0] if empty else self.query_one("#sweep", Button)).focus()

    def on_button_pressed(self, event: Button.Pressed) -> None:
        """One of the six."""
        way: Way = event.button.id  # type: ignore[assignment]
        self.action_go(way)

    def action_go(self, way: Way) -> None:
        """Go on, remembering the form; not before the form is whole."""
        if not self.ready:
            return
        fields = {
            name: self.query_one(f"#{name}", Input).value.strip()
            for name in ("job", "port", "profile", "kit")
        }
        for name in ("stage", "feature", "dial_unit"):
            fields[name] = str(self.query_one(f"#{name}", Select).value)
        if way == "sweep":
            self._memory.keep(**fields)
        self.dismiss(Choice(way=way, **fields))


def _likely(ports: list[tuple[str, str]]) -> str:
    """A port to begin with: not one that is built in and has nothing on it as a rule."""
    return next((name for _, name in ports if not name.startswith("/dev/ttyS")), "")


def _pairs(*names: str) -> list[tuple[str, str]]:
    return [(name, name) for name in names]


def _choice(memory: Memory, key: str, *names: str) -> Select[str]:
    """One of some names; that of last time, if it can still be chosen, else the first."""
    kept = memory.get(key)
    value = kept if kept in names else names[0]
    return Select(_pairs(*names), value=value, id=key, allow_blank=False)
