"""The way a housing has to go: an arrow on the clock, where the dial stands, and a bar that runs out."""

from typing import Final

from coaxly.fitter.geometry import clock

from ..draw.clockface import HOURS, off
from ..draw.raster import Point, Raster, Rows, pointer
from ..job.steps.nudge import Step
from ..job.steps.nudgerun import NudgeView
from .rasterwidget import RasterWidget

_BAR_ROWS: Final = 2
_LEAST_TOLERANCES: Final = 4.0


class NudgePlot(RasterWidget):
    """One arrow: the housing goes that way. A D where the dial is to be; no arrow where nothing is to go."""

    _view: NudgeView | None = None
    _key: tuple[object, ...] = ()

    def show(self, view: NudgeView) -> None:
        """Another moment."""
        go = view.go
        way = None if go is None or go.towards_deg is None else round(go.towards_deg / 5.0)
        share = _share(view)
        key = (view.step, round(view.deg), way, share and round(share, 2), go is not None and go.within)
        if key != self._key:
            self._view, self._key = view, key
            self.stale()

    def drawing(self, width: int, height: int) -> Rows:
        """Clock and arrow above, the bar below."""
        raster = Raster(width, height, self._glyphs)
        if self._view is None or height < 6:
            return raster.rows()
        rows = height - _BAR_ROWS
        centre = (width / 2.0, float(rows))
        radius = max(min(width / 2.0 - 3.0, rows - 1.5), 2.0)
        raster.ring("faint", centre, radius, 0.5)
        go = self._view.go
        if go is not None and go.towards_deg is not None and not go.within:
            deg = go.towards_deg
            raster.polygon(
                "arrow", pointer(off(centre, deg + 180.0, 0.85 * radius), 1.7 * radius, deg, 0.9 * radius)
            )
        for text, deg in HOURS:
            self._letter(raster, text, "hour", off(centre, deg, radius))
        if self._view.step is not Step.DONE:
            self._letter(raster, "D", "due", off(centre, self._view.deg, 0.8 * radius))
        self._bar(raster, width, height)
        return raster.rows()

    def _letter(self, raster: Raster, text: str, style: str, at: Point) -> None:
        raster.clear([at], 1.2)
        raster.text(style, round(at[0] - len(text) / 2.0), round((at[1] - 1.0) / 2.0), text)

    def _bar(self, raster: Raster, width: int, height: int) -> None:
        """What is still to go, as a share of the most; the part within tolerance is marked off."""
        assert self._view is not None
        raster.text("hour", 0, height - 2, f"D: dial at {clock(self._view.deg)}")
        share, room = _share(self._view), max(width - 7, 4)
        if share is None:
            return
        stop = max(1, min(room - 1, round(room * self._view.tolerance / max(_scale(self._view), 1e-9))))
        filled = min(room, round(room * share))
        full, empty = ("#", ".") if self._glyphs == "ascii" else ("█", "░")
        raster.text("good", 0, height - 1, "STOP")
        raster.text("good", 5, height - 1, (full * min(filled, stop)).ljust(stop, empty) + "|")
        if filled > stop:
            raster.text("arrow", 6 + stop, height - 1, full * (filled - stop))


def _share(view: NudgeView) -> float | None:
    """What is still to go of the most it was; None where that says nothing."""
    if view.go is None or view.most <= 0.0 or view.step is not Step.TAP:
        return None
    return view.go.amount / _scale(view)


def _scale(view: NudgeView) -> float:
    """The whole bar, mm: never so short that what is within tolerance looks far off."""
    return max(view.most, _LEAST_TOLERANCES * view.tolerance)
