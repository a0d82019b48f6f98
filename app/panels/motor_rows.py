"""The list of motors: rows with a mark, a name, and below it the wheels, each apart from its ratio."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QModelIndex, QPersistentModelIndex, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableWidget,
    QTableWidgetItem,
)

from app.design.motor_edits import MotorKind, motors_of, short_name
from app.panels.form import enable_copy
from app.plain import plain_tip
from app.theme import Theme, colour, current_theme, pen, sized, table_palette
from app.words.motor_words import held_parts, held_words
from geometry.model.design import Design

HEADS = ("Motor", "Does", "Wheels and gearing")
DOES: dict[MotorKind, str] = {"steer": "steers", "drive": "drives"}
ROW = 44
_PARTS = Qt.ItemDataRole.UserRole
_MARK = 20.0
_TEXT_AT = 44.0
_MARGIN = 12.0

Keys = list[tuple[MotorKind, int]]
Parts = Sequence[tuple[str, str]]


class MotorList(QTableWidget):
    """The list; the delete key removes a motor here, and not the wheels that are selected with it.

    One column is painted with all that a row holds; the others carry their texts for a copy.
    """

    remove_asked = Signal()

    def __init__(self) -> None:
        super().__init__(0, len(HEADS))
        self.setHorizontalHeaderLabels(list(HEADS))
        self.setAccessibleName("Motors")
        self.setToolTip("Choose a motor to edit it; its wheels are selected on the plan.")
        self.setTabKeyNavigation(False)  # Tab leaves it; arrows move within
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setShowGrid(False)
        self.setMouseTracking(True)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(ROW)
        self.horizontalHeader().hide()
        self.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        for column in range(1, len(HEADS)):
            self.hideColumn(column)
        self.setItemDelegateForColumn(0, _MotorRow(self))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setPalette(table_palette())
        enable_copy(self)

    def event(self, event: QEvent) -> bool:
        """Keep the delete key from the menu."""
        if event.type() == QEvent.Type.ShortcutOverride and _is_delete(event):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Ask to remove the chosen motor."""
        if _is_delete(event):
            self.remove_asked.emit()
        else:
            super().keyPressEvent(event)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.setPalette(table_palette())

    def minimumSizeHint(self) -> QSize:
        """It is as narrow as its panel: what finds no room is counted and told by the tooltip."""
        return QSize(160, super().minimumSizeHint().height())

    def show_motors(self, design: Design, keys: Keys) -> None:
        """Fill the rows."""
        self.setRowCount(len(keys))
        order = {wheel.name: i for i, wheel in enumerate(design.wheels)}
        for row, (kind, index) in enumerate(keys):
            motor = motors_of(design, kind)[index]
            held = sorted(motor.wheels, key=lambda gearing: order[gearing.wheel])
            texts = (motor.name, DOES[kind], held_words(held))
            parts = (kind, short_name(kind, index), [held_parts(gearing) for gearing in held])
            told = f"{parts[1]}, {texts[0]}, {texts[1]} {texts[2]}"
            for column, text in enumerate(texts):
                self._set(row, column, text)
            item = self.item(row, 0)
            if item is not None and item.data(_PARTS) != parts:
                item.setData(_PARTS, parts)
            if item is not None and item.toolTip() != plain_tip(told):
                item.setToolTip(plain_tip(told))
                item.setData(Qt.ItemDataRole.AccessibleTextRole, told)

    def _set(self, row: int, column: int, text: str) -> None:
        item = self.item(row, column)
        if item is None:
            item = QTableWidgetItem()
            self.setItem(row, column, item)
        if item.text() != text:
            item.setText(text)


def _is_delete(event: QEvent) -> bool:
    # Not the standard key: on X11 that is Ctrl+D too, which copies wheels to the other side.
    return (
        isinstance(event, QKeyEvent)
        and event.key() == Qt.Key.Key_Delete
        and event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier == Qt.KeyboardModifier.NoModifier
    )


class _MotorRow(QStyledItemDelegate):
    """Paints a row."""

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        """All rows are equally high."""
        return QSize(super().sizeHint(option, index).width(), ROW)

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Draw ground, mark, name, what it does, and its wheels."""
        parts = index.data(_PARTS)
        if parts is None:
            return
        kind, word, held = parts
        view = option.widget
        chosen = isinstance(view, QTableWidget) and view.selectionModel().isSelected(index)
        box, theme = QRectF(option.rect), current_theme()
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        if chosen:
            painter.setBrush(colour(theme.soft))
            painter.drawRoundedRect(box.adjusted(0, 1, 0, -1), 4, 4)
            painter.setBrush(colour(theme.accent))
            painter.drawRect(QRectF(box.left(), box.top() + 1, 3, box.height() - 2))
        _draw_mark(painter, theme, kind, QRectF(box.left() + _MARGIN, box.center().y() - 10, _MARK, _MARK))
        font, small = sized(option.font, "text", strong=chosen), sized(option.font, "small")
        lines = QRectF(box.left() + _TEXT_AT, box.top() + 4, box.width() - _TEXT_AT - _MARGIN, 18)
        does = QFontMetricsF(small).horizontalAdvance(DOES[kind])
        painter.setFont(small)
        painter.setPen(pen(theme.faint))
        painter.drawText(lines, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), DOES[kind])
        painter.setFont(font)
        painter.setPen(pen(theme.ink))
        _draw_fitting(painter, lines.adjusted(0, 0, -does - 8, 0), f"{word}  {index.data()}")
        painter.setFont(small)
        _draw_held(painter, theme, lines.translated(0, 18), held)
        painter.restore()


def _draw_mark(painter: QPainter, theme: Theme, kind: MotorKind, box: QRectF) -> None:
    """Round for a steer motor, square for a drive motor, as on the plan."""
    painter.setPen(pen(theme.motor, 1.6))
    painter.setBrush(colour(theme.motor_ground))
    if kind == "steer":
        painter.drawEllipse(box)
    else:
        painter.drawRoundedRect(box.adjusted(1, 1, -1, -1), 3, 3)


def _draw_fitting(painter: QPainter, box: QRectF, text: str) -> None:
    fitting = QFontMetricsF(painter.font()).elidedText(text, Qt.TextElideMode.ElideMiddle, box.width())
    painter.drawText(box, int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), fitting)


def shown_wheels(held: Parts, metrics: QFontMetricsF, width: float) -> tuple[Parts, int]:
    """Wheels of a motor that fit into a line, and how many more there are; at least one is shown."""
    for count in range(len(held), 1, -1):
        more = f", {len(held) - count} more" if count < len(held) else ""
        text = ", ".join(f"{name} {ratio}" for name, ratio in held[:count]) + more
        if metrics.horizontalAdvance(text) <= width:
            return held[:count], len(held) - count
    return held[:1], len(held) - 1


def _draw_held(painter: QPainter, theme: Theme, box: QRectF, held: Parts) -> None:
    """Names in the colour of what is written small, ratios in that of motors."""
    metrics = QFontMetricsF(painter.font())
    fitting, more = shown_wheels(held, metrics, box.width())
    x = box.left()
    for n, (whole, ratio) in enumerate(fitting):
        behind = metrics.horizontalAdvance(f" {ratio}") + (
            metrics.horizontalAdvance(f", {more} more") if more else 0
        )
        name = whole
        if len(fitting) == 1:  # it is shown however long it is
            name = metrics.elidedText(whole, Qt.TextElideMode.ElideMiddle, box.width() - behind)
        end = "," if n + 1 < len(fitting) or more else ""
        for text, tone in ((f"{name} ", theme.faint), (ratio, theme.motor), (f"{end} ", theme.faint)):
            painter.setPen(pen(tone))
            painter.drawText(QPointF(x, box.top() + 13), text)
            x += metrics.horizontalAdvance(text)
    if more:
        painter.setPen(pen(theme.faint))
        painter.drawText(QPointF(x, box.top() + 13), f"{more} more")
