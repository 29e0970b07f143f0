"""Pictures as real images where the terminal shows them, and as characters everywhere else."""

import fcntl
import os
import pty
import select
import struct
import sys
import termios
import time
from types import ModuleType

import clockwork
import numpy as np
import pytest
from rich.segment import ControlType, Segment
from sheets import Alone, at_sheet
from textual.color import Color

from coaxly.draw.wayplot import draw_way
from coaxly.fitter.dowels.plan import Dowel, Option, Predicted
from coaxly.screens.jobs.settingscreen import SettingScreen
from coaxly.widgets import images
from coaxly.widgets.images import ImagePicture, image_widget, to_image
from coaxly.widgets.picture import Picture
from coaxly.widgets.textlines import CleanLines

DOWEL = Dowel.at(0.127, 122.0)
PAIR = Option("parallel", (DOWEL, DOWEL), Predicted(0.01, 0.02), 0.9, 20.0)
INK = dict.fromkeys(images.COLOURS, (200, 200, 200)) | {"faint": (90, 90, 90), "arrow": (0, 255, 0)}


def test_an_image_is_the_picture_in_fine_dots():
    image = to_image(draw_way(90.0, 2.0, 40, 14, "pixels"), INK, (10, 20, 30), (10, 20))
    assert image.size == (400, 280)
    pixels = np.asarray(image)
    assert tuple(pixels[2, 200 - 60]) == (10, 20, 30)
    rows, columns = np.nonzero((pixels == (0, 255, 0)).all(axis=2))
    assert rows.mean() == pytest.approx(140.0, abs=3.0) and columns.min() > 180 and columns.max() > 290


@pytest.mark.parametrize("variable", [("NO_COLOR", "1"), ("COAXLY_IMAGES", "off")])
def test_whoever_wants_none_is_not_asked(monkeypatch, variable):
    monkeypatch.setenv(*variable)
    monkeypatch.setitem(sys.modules, "textual_image", None)
    assert image_widget() is None


class Broken(ModuleType):
    """What the library is on a terminal without a size."""

    def __getattr__(self, name):
        raise ZeroDivisionError


@pytest.mark.parametrize("library", [None, Broken("textual_image")], ids=["missing", "broken"])
def test_without_the_library_there_are_characters(monkeypatch, library):
    monkeypatch.setitem(sys.modules, "textual_image", library)
    assert image_widget() is None


@pytest.mark.parametrize("shows", [True, False], ids=["images", "characters"])
def test_the_page_shows_an_image_only_where_the_terminal_does(shows):
    async def main():
        app = Alone(SettingScreen("blue van", PAIR, None))
        app.images = images._sixel_widget() if shows else None
        async with app.run_test(size=(80, 24)) as pilot:
            await at_sheet(app, SettingScreen)
            await pilot.pause()
            drawn = app.screen.query_one("#picture")
            assert isinstance(drawn, ImagePicture if shows else Picture)
            if shows:
                assert drawn._shown.image.size == (drawn.size.width * 10, drawn.size.height * 20)
                ground = Color.parse(app.theme_variables["background"]).rgb
                assert drawn._shown.image.getpixel((0, 0)) == ground
                segments = [s for strip in app.screen._compositor.render_strips() for s in strip]
                (sixels,) = [s for s in segments if "\x1bP" in s.text]
                assert sixels.control and all(s.control for s in segments if "\x1b" in s.text)

    clockwork.run(main())


def test_what_steers_on_purpose_passes_and_text_that_would_does_not():
    steering = Segment("\x1b[2;2H", None, ((ControlType.CURSOR_FORWARD, 0),))
    foreign = Segment("a\x1b[31mb")
    passed = CleanLines().apply([steering, foreign], Color(0, 0, 0))
    assert passed[0] == steering and passed[1].text == "a[31mb"


def test_a_terminal_that_says_so_gets_images():
    """It is asked before the screen starts; this one is of our own."""
    pid, fd = pty.fork()
    if pid == 0:
        program = "from coaxly.widgets.images import image_widget; print('=', image_widget())"
        os.execve(sys.executable, [sys.executable, "-c", program], {**os.environ, "TERM": "xterm"})
    fcntl.ioctl(fd, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 800, 480))
    seen, answered, end = b"", 0, time.monotonic() + 60.0
    while b"\n" not in seen.rpartition(b"= ")[2]:
        assert time.monotonic() < end, seen
        if select.select([fd], [], [], 0.1)[0]:
            try:
                seen += os.read(fd, 4096)
            except OSError:
                break
        if seen.count(b"\x1b[c") > answered:
            os.write(fd, b"\x1b[?62;4c")
            answered += 1
    os.waitpid(pid, 0)
    os.close(fd)
    assert answered and b"Sixels" in seen, seen
