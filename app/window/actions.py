"""The table of actions that menus, tool bar, keys, the plan's menu and tests share.

Each row holds what it does. A row that needs a dialog or a panel imports it inside its function: what is not
asked for need not be loaded, and the check of the layers sees the import.
"""

from __future__ import annotations

from functools import partial

from PySide6.QtGui import QAction, QKeySequence

from app.design.motor_edits import MotorKind
from app.panels.form import take_typed
from app.panels.registry import Stage
from app.picture.view import View
from app.window.action_spec import ActionSpec
from app.window.frame import Frame
from app.window.stages import STAGES, is_shown
from app.window.view_actions import VIEW_ACTIONS

_Keys = QKeySequence.StandardKey
MENUS = ("File", "Edit", "Stage", "Turn", "View", "Help")


def _add_motor(window: Frame, kind: MotorKind) -> None:
    from app.panels.motors_panel import MotorsPanel

    window.show_panel("motors")
    window.panel("motors", MotorsPanel).add(kind)


def _go_to_stage(window: Frame, stage: Stage) -> None:
    window.go_to_stage(stage)


def _has_panels(stage: Stage, _view: View) -> bool:
    return is_shown(stage)


ACTIONS: tuple[ActionSpec, ...] = (
    ActionSpec(
        "new",
        "File",
        "&New chassis",
        "Start with an empty chassis.",
        shortcut=_Keys.New,
        run=lambda w: w.filing.new(),
    ),
    ActionSpec(
        "new_from_numbers",
        "File",
        "New from n&umbers…",
        "Say how many wheels there are, their places and sizes, and start with that chassis.",
        shortcut="Ctrl+Shift+N",
        run=lambda w: w.prefer(length_unit=w.filing.new_from_numbers()),
    ),
    ActionSpec(
        "open",
        "File",
        "&Open…",
        "Open a chassis file.",
        shortcut=_Keys.Open,
        run=lambda w: w.filing.open(),
        tool="Open",
    ),
    ActionSpec(
        "save",
        "File",
        "&Save",
        "Save the chassis.",
        shortcut=_Keys.Save,
        run=lambda w: w.filing.save(),
        tool="Save",
        gap=True,
    ),
    ActionSpec(
        "save_as",
        "File",
        "Save &as…",
        "Save the chassis under another name.",
        shortcut="Ctrl+Shift+S",
        run=lambda w: w.filing.save_as(),
    ),
    ActionSpec(
        "export",
        "File",
        "&Export steering table…",
        "Choose the rows, see the table, save it.",
        shortcut="Ctrl+E",
        run=lambda w: w.filing.export(),
        gap=True,
        tool="Export table",
    ),
    ActionSpec(
        "export_code",
        "File",
        "Export code for the &controller…",
        "Choose how exact and how large, see the code and its errors, save it.",
        shortcut="Ctrl+Shift+E",
        run=lambda w: w.filing.export_code(),
    ),
    ActionSpec(
        "quit", "File", "&Quit", "Leave the program.", shortcut="Ctrl+Q", run=lambda w: w.close(), gap=True
    ),
    ActionSpec(
        "undo",
        "Edit",
        "&Undo",
        "Take the last change back.",
        shortcut=_Keys.Undo,
        run=lambda w: w.document.undo(),
        tool="Undo",
    ),
    ActionSpec(
        "redo",
        "Edit",
        "&Redo",
        "Make the change again.",
        shortcut=_Keys.Redo,
        more_shortcuts=("Ctrl+Y", "Ctrl+Shift+Z"),
        run=lambda w: w.document.redo(),
        tool="Redo",
    ),
    ActionSpec(
        "add",
        "Edit",
        "&Add a wheel",
        "Add a wheel in the middle of the plan.",
        shortcut="Ins",
        run=lambda w: w.acts.add(),
        gap=True,
        tool="Add wheel",
        on_plan=True,
    ),
    ActionSpec(
        "mirror",
        "Edit",
        "&Duplicate to the mirrored place",
        "Copy the selected wheels to the other side.",
        shortcut="Ctrl+D",
        run=lambda w: w.acts.mirror(),
        tool="Mirror",
        on_plan=True,
    ),
    ActionSpec(
        "delete",
        "Edit",
        "Dele&te",
        "Delete the selected wheels or body corners.",
        shortcut="Del",
        run=lambda w: w.acts.delete(),
        tool="Delete",
        on_plan=True,
    ),
    ActionSpec(
        "select_all",
        "Edit",
        "Select a&ll wheels",
        "Select every wheel.",
        shortcut=_Keys.SelectAll,
        run=lambda w: w.acts.select_all(),
        gap=True,
        on_plan=True,
    ),
    ActionSpec(
        "select_worst",
        "Edit",
        "Select the &worst wheel",
        "Select the wheel that drags most in the whole range; where none does, that of this turn.",
        shortcut="Ctrl+Shift+W",
        run=lambda w: w.acts.select_worst(),
    ),
    ActionSpec(
        "next_wheel",
        "Edit",
        "Select the ne&xt wheel",
        "Go round the wheels.",
        shortcut="Ctrl+.",
        run=lambda w: w.canvas.select_next(1),
    ),
    ActionSpec(
        "symmetry",
        "Edit",
        "S&ymmetry",
        "The partner on the other side follows every change.",
        shortcut="Ctrl+Shift+M",
        run=lambda w: w.prefer(symmetry=not w.filing.settings.symmetry),
        checked=lambda s: s.symmetry,
        tool="Symmetry",
        gap=True,
    ),
    ActionSpec(
        "snap",
        "Edit",
        "Snap to the &grid",
        "Places snap to the hole pattern, or to whole millimetres. Alt while dragging leaves it.",
        shortcut="Ctrl+G",
        run=lambda w: w.prefer(snap=not w.filing.settings.snap),
        checked=lambda s: s.snap,
        tool="Snap",
    ),
    ActionSpec(
        "add_steer_motor",
        "Edit",
        "Add a &steer motor",
        "Add a motor that turns the selected wheels, or the next steered one without a motor.",
        run=lambda w: _add_motor(w, "steer"),
        gap=True,
    ),
    ActionSpec(
        "add_drive_motor",
        "Edit",
        "Add a dri&ve motor",
        "Add a motor that drives the selected wheels, or the next driven one without a motor.",
        run=lambda w: _add_motor(w, "drive"),
    ),
    ActionSpec(
        "suggest",
        "Edit",
        "Suggest s&haring motors…",
        "Find the best way to share few steer motors among the steered wheels.",
        run=lambda w: w.acts.suggest(),
    ),
    ActionSpec(
        "straight",
        "Turn",
        "&Straight ahead",
        "Turn input 0.",
        shortcut="Ctrl+Up",
        run=lambda w: w.acts.named_turn(0.0),
    ),
    ActionSpec(
        "left",
        "Turn",
        "Steer &left",
        "Turn input 0.05 more to the left.",
        shortcut="Ctrl+Left",
        run=lambda w: w.acts.steer(1),
    ),
    ActionSpec(
        "right",
        "Turn",
        "Steer &right",
        "Turn input 0.05 more to the right.",
        shortcut="Ctrl+Right",
        run=lambda w: w.acts.steer(-1),
    ),
    ActionSpec(
        "stop_left",
        "Turn",
        "Left side st&opped",
        "Turn input 0.5: turn about the left side's reference point.",
        run=lambda w: w.acts.named_turn(0.5),
        gap=True,
    ),
    ActionSpec(
        "stop_right",
        "Turn",
        "Right side sto&pped",
        "Turn input -0.5: turn about the right side's reference point.",
        run=lambda w: w.acts.named_turn(-0.5),
    ),
    ActionSpec(
        "spot_left",
        "Turn",
        "On the spot to the l&eft",
        "Turn input 1: the sides run equally fast in opposite senses.",
        run=lambda w: w.acts.named_turn(1.0),
    ),
    ActionSpec(
        "spot_right",
        "Turn",
        "On the spot to the ri&ght",
        "Turn input -1: the sides run equally fast in opposite senses.",
        run=lambda w: w.acts.named_turn(-1.0),
    ),
    ActionSpec(
        "next_mark",
        "Turn",
        "&Next mark to the left",
        "Go to the next place where something happens.",
        shortcut="Ctrl+PgUp",
        run=lambda w: w.acts.next_mark(1),
        gap=True,
    ),
    ActionSpec(
        "last_mark",
        "Turn",
        "Next &mark to the right",
        "Go to the next place where something happens.",
        shortcut="Ctrl+PgDown",
        run=lambda w: w.acts.next_mark(-1),
    ),
    ActionSpec(
        "reverse",
        "Turn",
        "Re&verse",
        "Drive backward; every steer angle stays.",
        shortcut="Ctrl+R",
        run=lambda w: w.acts.reverse(),
        gap=True,
    ),
    *(
        ActionSpec(
            f"stage {spec.key}",
            "Stage",
            f"&{spec.shortcut[-1]}  {spec.title}",
            spec.tip,
            shortcut=spec.shortcut,
            run=partial(_go_to_stage, stage=spec.key),
            offered=partial(_has_panels, spec.key),
        )
        for spec in STAGES
    ),
    ActionSpec(
        "next_part",
        "Stage",
        "Next &part of the window",
        "Bring the keyboard from the plan to the panel, the turn, the stages, and round again.",
        shortcut="F6",
        run=lambda w: w.go_round(1),
        gap=True,
    ),
    *VIEW_ACTIONS,
)


def make_actions(window: Frame) -> dict[str, QAction]:
    """Make every action of the table."""
    made = {}
    for spec in ACTIONS:
        action = QAction(spec.text, window)
        action.setObjectName(spec.key)
        action.setCheckable(spec.checked is not None)
        if spec.shortcut is not None:
            if isinstance(spec.shortcut, str):
                action.setShortcut(QKeySequence(spec.shortcut))
            else:
                action.setShortcuts(spec.shortcut)
            known = action.shortcuts()
            more = [key for key in map(QKeySequence, spec.more_shortcuts) if key not in known]
            action.setShortcuts([*known, *more])
        keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
        action.setToolTip(f"{spec.tip} ({keys})" if keys else spec.tip)
        action.setStatusTip("")
        action.triggered.connect(partial(_act, window, spec))
        if spec.tool:
            action.setIconText(spec.tool)
        made[spec.key] = action
    return made


def _act(window: Frame, spec: ActionSpec, _on: object = None) -> None:
    take_typed(window)
    spec.run(window)
