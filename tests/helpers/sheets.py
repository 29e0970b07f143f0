"""Pages between two sweeps, each shown alone: what is on the screen, and what is cut."""

from asyncio import Event

import clockwork
from screening import rows, until
from textual.containers import VerticalScroll

from coaxly.screens.app import CoaxlyApp
from coaxly.widgets.textlines import Lines


class Alone(CoaxlyApp):
    """One page; its answer is kept in `got`."""

    def __init__(self, page, unit="thou"):
        super().__init__(Alone._shown, unit)
        self.page, self.got = page, None

    async def _shown(self):
        self.got = await self.push_screen_wait(self.page)
        await Event().wait()  # to be looked at


def shown(page, look, size=(80, 24), unit="thou"):
    """Show a page, wait until it is laid out, and look at it."""

    async def main():
        app = Alone(page, unit)
        async with app.run_test(size=size) as pilot:
            await at_sheet(app, type(page))
            await pilot.pause()
            await look(app)

    clockwork.run(main())


async def at_sheet(app, kind):
    """Wait for a page of a kind, with everything on it."""
    await until(lambda: isinstance(app.screen, kind) and any(app.screen.query("#keys, #small, #box")))


def cut(app):
    """Words of the page that are not to be seen: all but those of a part that rolls, and says so."""
    seen = " ".join(" ".join(rows(app)).split())
    lost = []
    for lines in app.screen.query(Lines):
        rolls = [above for above in lines.ancestors if isinstance(above, VerticalScroll)]
        if not lines.display or (rolls and rolls[0].max_scroll_y > 0):
            continue
        lost += [word for word in lines.text.split() if word not in seen]
    width, height = app.size
    lost += [
        widget.id
        for widget in app.screen.query("*")
        if widget.display
        and not any(isinstance(above, VerticalScroll) for above in widget.ancestors)
        and (widget.region.right > width or widget.region.bottom > height or not widget.region.area)
    ]
    return lost
