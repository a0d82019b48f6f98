"""The errors of a table over the turn, between the lines of what is allowed.

The plotting library is slow to load: import this late.
"""

from __future__ import annotations

from html import escape

import pyqtgraph as pg
from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QLabel, QSizePolicy, QVBoxLayout, QWidget

from app.export.preview import ErrorCurves
from app.theme import Theme, colour, current_theme, pen

_AROUND = 1.15


class ErrorPlot(QWidget):
    """One curve an output; every item is made once and then updated.

    Parameters
    ----------
    legend : QLabel
        Where the curves are named.
    """

    def __init__(self, legend: QLabel) -> None:
        super().__init__()
        self.legend = legend
        self.errors: ErrorCurves | None = None
        self.plot = pg.PlotWidget()
        self.plot.setAccessibleName("Error over the turn input")
        self.plot.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.plot.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.plot.setMinimumHeight(120)
        self.plot.setMenuEnabled(False)
        self.plot.hideButtons()
        self.plot.setMouseEnabled(x=False, y=False)
        self.plot.invertX(True)  # noqa: FBT003
        self.plot.setLabel("bottom", "turn input, left turns to the left")
        for side in ("left", "bottom"):
            self.plot.getAxis(side).enableAutoSIPrefix(False)  # noqa: FBT003
        self.limits = [pg.InfiniteLine(angle=0) for _ in range(4)]
        for line in self.limits:
            self.plot.addItem(line, ignoreBounds=True)
        self.curves: list[pg.PlotCurveItem] = []
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.plot, 1)
        self._paint()

    def show_errors(self, errors: ErrorCurves) -> None:
        """Draw these errors from now on."""
        self.errors = errors
        while len(self.curves) < len(errors.names):
            curve = pg.PlotCurveItem()
            self.curves.append(curve)
            self.plot.addItem(curve)
        for k, curve in enumerate(self.curves):
            there = k < len(errors.names)
            curve.setVisible(there)
            if there:
                curve.setData(errors.turns, errors.values[:, k])
        for line, at in zip(self.limits, (1, -1), strict=False):
            line.setValue(at * errors.allowed)
        for line, at in zip(self.limits[2:], (1, -1), strict=True):
            line.setValue(at * errors.reached)
        most = _AROUND * max(errors.allowed, errors.reached)
        self.plot.setYRange(-most, most, padding=0)
        self.plot.setXRange(errors.turns[0], errors.turns[-1], padding=0.02)
        self._paint()

    def _paint(self) -> None:
        theme = current_theme()
        self.plot.setBackground(colour(theme.paper))
        for side in ("left", "bottom"):
            axis = self.plot.getAxis(side)
            axis.setPen(pen(theme.faint))
            axis.setTextPen(pen(theme.ink))
        for k, line in enumerate(self.limits):
            style = Qt.PenStyle.DashLine if k < 2 else Qt.PenStyle.DotLine
            line.setPen(pen(theme.bad if k < 2 else theme.ink, 1.0, style))
        for k, curve in enumerate(self.curves):
            curve.setPen(pen(_colour(theme, k), 1.0))
        self.legend.setText(self._legend_words(theme))

    def _legend_words(self, theme: Theme) -> str:
        names = () if self.errors is None else self.errors.names
        keys = [("╌╌", theme.bad, "allowed"), ("┈┈", theme.ink, "reached")]
        found = [*((("━"), _colour(theme, k), name) for k, name in enumerate(names)), *keys]
        return " &nbsp; ".join(
            f'<span style="color:{ink}">{mark}</span>&nbsp;{escape(name).replace(" ", "&nbsp;")}'
            for mark, ink, name in found
        )

    def changeEvent(self, event: QEvent) -> None:
        """Follow a change from light to dark or back."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and hasattr(self, "curves"):
            self._paint()


def _colour(theme: Theme, index: int) -> str:
    return theme.series[index % len(theme.series)]
