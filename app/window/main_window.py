"""The one window: it places the parts and joins their signals, and holds no logic."""

from __future__ import annotations

import base64
from pathlib import Path

from PySide6.QtCore import QByteArray, QEvent, QSize, Qt
from PySide6.QtGui import QAction, QActionGroup, QCloseEvent, QKeySequence
from PySide6.QtWidgets import (
    QDockWidget,
    QMainWindow,
    QMenu,
    QTabWidget,
    QToolBar,
    QVBoxLayout,
    QWidget,
)

from app.design.motor_edits import MotorKind
from app.dialogs.help import show_about, show_help, show_news
from app.document import Document
from app.panels.body_editor import BodyEditor
from app.panels.chassis_editor import ChassisEditor
from app.panels.motors_panel import MotorsPanel
from app.panels.plot_panel import PlotPanel
from app.panels.turn_panel import TurnPanel
from app.panels.verdict_bar import FirstSteps, VerdictBar
from app.panels.wheel_editor import WheelEditor
from app.panels.wheel_table import WheelTable
from app.panels.working_panel import WorkingPanel
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.settings import Settings
from app.theme import apply_appearance
from app.views.canvas import PlanCanvas
from app.views.scene import PlanOptions
from app.window.actions import ACTIONS, MENUS, Handler, make_actions
from app.window.edit_actions import Acts
from app.window.file_actions import Filing
from sample_chassis import SAMPLES

_TOLD_MS = 15_000


class MainWindow(QMainWindow):
    """Plan, turn control, verdict and table in sight; the rest one click away."""

    def __init__(self, document: Document, settings: Settings) -> None:
        super().__init__()
        self.document = document
        self._told_in_drag = False
        self.filing = Filing(document, self, settings)
        self.setObjectName("axlewright")
        self.setDockOptions(QMainWindow.DockOption.AnimatedDocks | QMainWindow.DockOption.AllowTabbedDocks)
        self._make_parts()
        self.acts = Acts(document, self.canvas)
        self.action = make_actions(self, self._handlers())
        self._make_menus()
        self._make_tool_bar()
        self._make_context_menu()
        self._join()
        self.apply_settings()
        self._offer_ideal(document.view)
        self._show_title()
        self._show_undo()
        self.resize(1280, 760)
        self._first_layout = self.saveState()
        self._restore()

    # Parts -----------------------------------------------------------------------------

    def _make_parts(self) -> None:
        document = self.document
        self.canvas = PlanCanvas(document)
        self.turn = TurnPanel(document)
        self.verdict = VerdictBar(document)
        self.first_steps = FirstSteps()
        self.table = WheelTable(document)
        self.wheel = WheelEditor(document)
        self.body = BodyEditor(document)
        self.chassis = ChassisEditor(document)
        self.plot = PlotPanel(document)
        self.working = WorkingPanel(document)
        self.motors = MotorsPanel(document)
        middle = QWidget()
        layout = QVBoxLayout(middle)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.verdict)
        layout.addWidget(self.first_steps)
        layout.addWidget(self.canvas, 1)
        layout.addWidget(self.turn)
        self.setCentralWidget(middle)
        self.docks = [
            self._dock("Wheels", self.table),
            self._dock("Wheel", self.wheel),
            self._dock("Body", self.body),
            self._dock("Chassis", self.chassis),
            self._dock("Plot", self.plot),
            self._dock("Working", self.working),
            self._dock("Motors", self.motors),
        ]
        self._arrange()
        self.where = plain_label()
        self.statusBar().addPermanentWidget(self.where)

    def _dock(self, title: str, inner: QWidget) -> QDockWidget:
        dock = QDockWidget(title, self)
        dock.setObjectName(f"dock {title}")
        dock.setWidget(inner)
        if isinstance(inner, PlotPanel | WorkingPanel | MotorsPanel):
            # A widget behind another tab counts as visible; only its dock knows better.
            dock.visibilityChanged.connect(inner.set_seen)
        return dock

    def _arrange(self) -> None:
        table, *tabs = self.docks
        area = Qt.DockWidgetArea.RightDockWidgetArea
        for dock in self.docks:
            dock.setFloating(False)
            self.addDockWidget(area, dock)
            dock.show()
        for dock in tabs[1:]:
            self.tabifyDockWidget(tabs[0], dock)
        self.setTabPosition(area, QTabWidget.TabPosition.North)
        tabs[0].raise_()
        self.resizeDocks([table, tabs[0]], [215, 380], Qt.Orientation.Vertical)
        self.resizeDocks([table], [520], Qt.Orientation.Horizontal)

    def _handlers(self) -> dict[str, Handler]:
        filing, acts, document = self.filing, self.acts, self.document
        return {
            "new": filing.new,
            "open": filing.open,
            "save": filing.save,
            "save_as": filing.save_as,
            "export": filing.export,
            "export_code": filing.export_code,
            "quit": self.close,
            "undo": document.undo,
            "redo": document.redo,
            "add": acts.add,
            "mirror": acts.mirror,
            "delete": acts.delete,
            "select_all": acts.select_all,
            "select_worst": acts.select_worst,
            "next_wheel": lambda: self.canvas.select_next(1),
            "symmetry": lambda: self._set(symmetry=self.action["symmetry"].isChecked()),
            "snap": lambda: self._set(snap=self.action["snap"].isChecked()),
            "add_steer_motor": lambda: self._add_motor("steer"),
            "add_drive_motor": lambda: self._add_motor("drive"),
            "suggest": acts.suggest,
            **self._turn_handlers(),
            **self._view_handlers(),
            "help": lambda: show_help(self),
            "welcome": lambda: self._set(welcome_dismissed=False),
            "news": lambda: show_news(self),
            "about": lambda: show_about(self),
        }

    def _turn_handlers(self) -> dict[str, Handler]:
        acts = self.acts
        return {
            "straight": lambda: acts.named_turn(0.0),
            "left": lambda: acts.steer(1),
            "right": lambda: acts.steer(-1),
            "stop_left": lambda: acts.named_turn(0.5),
            "stop_right": lambda: acts.named_turn(-0.5),
            "spot_left": lambda: acts.named_turn(1.0),
            "spot_right": lambda: acts.named_turn(-1.0),
            "next_mark": lambda: acts.next_mark(1),
            "last_mark": lambda: acts.next_mark(-1),
            "reverse": acts.reverse,
        }

    def _view_handlers(self) -> dict[str, Handler]:
        return {
            "fit": self.canvas.fit,
            "zoom_in": lambda: self.canvas.zoom(1.25),
            "zoom_out": lambda: self.canvas.zoom(0.8),
            "circles": lambda: self._set(full_circles=self.action["circles"].isChecked()),
            "labels": lambda: self._set(show_labels=self.action["labels"].isChecked()),
            "ideal": lambda: self._set(show_ideal=self.action["ideal"].isChecked()),
            "system": lambda: self._set(appearance="system"),
            "light": lambda: self._set(appearance="light"),
            "dark": lambda: self._set(appearance="dark"),
            "mm": lambda: self._set(length_unit="mm"),
            "inch": lambda: self._set(length_unit="inch"),
            "layout": self.reset_layout,
        }

    def _make_menus(self) -> None:
        menus = {name: self.menuBar().addMenu(f"&{name}") for name in MENUS}
        groups: dict[str, tuple[QMenu, QActionGroup]] = {}
        for spec in ACTIONS:
            menu, action = menus[spec.menu], self.action[spec.key]
            if spec.gap:
                menu.addSeparator()
            if spec.group:
                if spec.group not in groups:
                    groups[spec.group] = (menu.addMenu(f"&{spec.group}"), QActionGroup(self))
                menu, group = groups[spec.group]
                group.addAction(action)
            menu.addAction(action)
            if spec.key == "open":
                self._recent_menu = menu.addMenu("Open &recent")
                self._recent_menu.aboutToShow.connect(self._list_recent)
                self._make_sample_menu(menu.addMenu("Open a sa&mple"))
        for menu in menus.values():
            menu.setToolTipsVisible(True)
        panels = menus["View"].addMenu("&Panels")
        for n, dock in enumerate(self.docks, start=1):
            toggle = dock.toggleViewAction()
            toggle.setToolTip(f"Show or hide the {dock.windowTitle()} panel.")
            panels.addAction(toggle)
            raise_it = QAction(f"Go to {dock.windowTitle()}", self)
            raise_it.setShortcut(QKeySequence(f"Alt+{n}"))
            raise_it.triggered.connect(lambda _on=False, d=dock: self._go_to(d))
            panels.addAction(raise_it)

    def _go_to(self, dock: QDockWidget) -> None:
        dock.show()
        dock.raise_()
        inner = dock.widget()
        inner.setFocus(Qt.FocusReason.ShortcutFocusReason)
        stop = inner.nextInFocusChain()
        while stop is not None and inner.isAncestorOf(stop) and not _is_stop(stop, inner):
            stop = stop.nextInFocusChain()
        if stop is not None and inner.isAncestorOf(stop):
            stop.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _make_sample_menu(self, menu: QMenu) -> None:
        menu.setToolTipsVisible(True)
        for sample in SAMPLES:
            action = menu.addAction(sample.title)
            action.setToolTip(sample.sentence)
            action.triggered.connect(lambda _on=False, key=sample.key: self.filing.open_sample(key))

    def _list_recent(self) -> None:
        self._recent_menu.clear()
        for text in self.filing.settings.recent_files:
            path = Path(text)
            action = self._recent_menu.addAction(f"{path.name}  ({path.parent})".replace("&", "&&"))
            action.setToolTip(plain_tip(text))
            action.triggered.connect(lambda _on=False, p=path: self.filing.open_path(p))
        if self._recent_menu.isEmpty():
            self._recent_menu.addAction("No recent file").setEnabled(False)

    def _make_tool_bar(self) -> None:
        bar = QToolBar("Tools")
        bar.setObjectName("tools")
        bar.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
        bar.setMovable(False)
        bar.setIconSize(QSize(16, 16))
        last = ""
        for spec in ACTIONS:
            if spec.tool:
                if last and (spec.menu != last or spec.gap):
                    bar.addSeparator()
                bar.addAction(self.action[spec.key])
                last = spec.menu
        self.addToolBar(bar)

    def _make_context_menu(self) -> None:
        for key in ("add", "mirror", "delete", "select_all", "fit"):
            self.canvas.addAction(self.action[key])

    def _join(self) -> None:
        self.document.told.connect(self.tell)
        self.document.changed.connect(self._offer_ideal)
        self.document.file_changed.connect(self._show_title)
        # A bound method: a lambda would be called while the stack is taken down.
        self.document.undo_stack.indexChanged.connect(self._show_undo)
        # What was refused before is over once an edit, or its undoing, is done.
        self.document.undo_stack.indexChanged.connect(self._forget_told)
        self.document.opened.connect(self.canvas.fit)
        self.canvas.pointed.connect(self.where.setText)
        self.verdict.worst_asked.connect(self.acts.select_worst)
        self.motors.suggest_asked.connect(self.acts.suggest)
        self.motors.code_asked.connect(self.filing.export_code)
        self.first_steps.dismissed.connect(lambda: self._set(welcome_dismissed=True))
        for box in self.turn.fields:
            box.refused.connect(self.tell)

    def _offer_ideal(self, view: View) -> None:
        # Without motors there is nothing to compare.
        self.action["ideal"].setVisible(view.motored)

    def _add_motor(self, kind: MotorKind) -> None:
        self.docks[-1].show()
        self.docks[-1].raise_()
        self.motors.add(kind)

    # Settings --------------------------------------------------------------------------

    def _set(self, **changes: object) -> None:
        self.filing.change_settings(**changes)
        self.apply_settings()

    def apply_settings(self) -> None:
        """Show what the person prefers."""
        settings = self.filing.settings
        apply_appearance(settings.appearance)
        self.canvas.symmetric = self.wheel.symmetric = self.body.model.symmetric = settings.symmetry
        self.canvas.snapping = settings.snap
        self.canvas.set_options(
            PlanOptions(
                full_circles=settings.full_circles,
                labels=settings.show_labels,
                ideal=settings.show_ideal,
                unit=settings.length_unit,
            )
        )
        shown_in_unit = (self.turn, self.verdict, self.table, self.wheel, self.body, self.chassis, self.plot)
        for part in (*shown_in_unit, self.motors):
            part.set_unit(settings.length_unit)
        self.first_steps.setVisible(not settings.welcome_dismissed)
        checked = {
            "symmetry": settings.symmetry,
            "snap": settings.snap,
            "circles": settings.full_circles,
            "labels": settings.show_labels,
            "ideal": settings.show_ideal,
            settings.appearance: True,
            settings.length_unit: True,
        }
        for key, on in checked.items():
            self.action[key].setChecked(on)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system from light to dark or back."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and hasattr(self, "action"):
            for part in (self.canvas, self.verdict, self.plot):
                part.refresh_theme()

    # State -----------------------------------------------------------------------------

    def tell(self, text: str) -> None:
        """Show a sentence at the bottom; the whole of it as a tooltip."""
        self.statusBar().showMessage(text.replace("\n", "; "), _TOLD_MS)
        self.statusBar().setToolTip(plain_tip(text))
        self._told_in_drag = self.document.view.previewing

    def _forget_told(self, _index: int = 0) -> None:
        # The release of a drag is an edit too; why it went no further is still worth reading.
        if not self._told_in_drag:
            self.statusBar().clearMessage()
            self.statusBar().setToolTip("")
        self._told_in_drag = False

    def _show_title(self) -> None:
        path = self.document.path
        name = self.document.design.name
        self.setWindowTitle(f"{name} – {path.name if path else 'not saved yet'}[*] – Axlewright")
        self.setWindowFilePath(str(path) if path else "")
        self.setWindowModified(self.document.modified)

    def _show_undo(self, _index: int = 0) -> None:
        stack = self.document.undo_stack
        for key, can, text in (
            ("undo", stack.canUndo(), stack.undoText()),
            ("redo", stack.canRedo(), stack.redoText()),
        ):
            action = self.action[key]
            action.setEnabled(can)
            action.setText(f"&{key.capitalize()} {text[:1].lower()}{text[1:]}".rstrip())
            action.setIconText(key.capitalize())
        self._show_title()

    def reset_layout(self) -> None:
        """Put every panel back where it was at first."""
        self.restoreState(self._first_layout)
        self._arrange()

    def _restore(self) -> None:
        settings = self.filing.settings
        if settings.window_geometry:
            self.restoreGeometry(QByteArray.fromBase64(settings.window_geometry.encode()))
        if settings.window_state:
            self.restoreState(QByteArray.fromBase64(settings.window_state.encode()))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved changes, then remember the window."""
        if not self.filing.may_leave():
            event.ignore()
            return
        self.filing.change_settings(
            window_geometry=base64.b64encode(self.saveGeometry().data()).decode(),
            window_state=base64.b64encode(self.saveState().data()).decode(),
        )
        self.document.close()
        event.accept()


def _is_stop(widget: QWidget, area: QWidget) -> bool:
    """Whether Tab stops at a widget of an area."""
    tabbed = bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)
    return tabbed and widget.isEnabled() and widget.isVisibleTo(area)
