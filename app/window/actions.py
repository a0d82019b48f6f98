"""The table of actions that menus, tools on the plan, keys, the plan's menu and tests share.

Each row holds what it does. A row that needs a dialog or a panel imports it inside its function: what is not
asked for need not be loaded, and the check of the layers sees the import.
"""

from __future__ import annotations

from functools import partial

from PySide6.QtGui import QAction, QKeySequence

from app.design.motor_edits import MotorKind
from app.design.references import Reference
from app.panels.form import take_typed
from app.panels.registry import Stage
from app.picture.view import View
from app.window import why_not
from app.window.action_spec import ActionSpec
from app.window.frame import Frame
from app.window.stages import STAGES, is_shown
from app.window.turn_actions import TURN_ACTIONS
from app.window.view_actions import VIEW_ACTIONS
from geometry.model.wheel import Kind

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


def _draw_body(window: Frame) -> None:
    window.acts.draw_body()
    window.go_to("body")


def _add_part(window: Frame) -> None:
    from app.panels.part_table import PartTable

    window.show_panel("parts")
    window.panel("parts", PartTable).add_part("other")
    window.show_panel("part")


def _rename(window: Frame) -> None:
    if window.acts.one_wheel():
        window.go_to("wheel")  # its first field is the name


def go_to_numbers(window: Frame, thing: Reference) -> None:
    """Go to the numbers of a wheel, of a body corner or of a part."""
    if thing.kind == "wheel":
        from app.panels.wheel_editor import WheelEditor

        window.go_to("wheel")
        field = window.panel("wheel", WheelEditor).fields["x_mm"]
        if field.isEnabled():
            field.setFocus()
            field.selectAll()
    elif thing.kind == "part":
        window.go_to("part")
    else:
        from app.panels.body_editor import BodyEditor

        window.go_to("body")
        window.panel("body", BodyEditor).go_to_corner(thing.index)


def _all_are(view: View, kind: Kind) -> bool:
    chosen = view.selected_wheels
    return bool(chosen) and all(view.design.wheels[i].kind == kind for i in chosen)


def _all_driven(view: View) -> bool:
    chosen = view.selected_wheels
    return bool(chosen) and all(view.design.wheels[i].driven for i in chosen)


def _close(window: Frame) -> None:
    if window.filing.close():
        window.show_start()


def _find(window: Frame) -> None:
    from app.window.find import show_find

    show_find(window, ACTIONS)


ACTIONS: tuple[ActionSpec, ...] = (
    ActionSpec(
        "new",
        "File",
        "&New…",
        "Begin with numbers, a sample, a file or an empty chassis.",
        shortcut=_Keys.New,
        more_shortcuts=("Ctrl+Shift+N",),
        run=lambda w: w.show_start(),
        at_start=True,
    ),
    ActionSpec(
        "open",
        "File",
        "&Open…",
        "Open a chassis file.",
        shortcut=_Keys.Open,
        run=lambda w: w.filing.open(),
        at_start=True,
    ),
    ActionSpec(
        "open_last",
        "File",
        "Open the last file at s&tart",
        "Without a file named, the program starts with the one that was open last.",
        run=lambda w: w.prefer(open_last=not w.filing.settings.open_last),
        checked=lambda s: s.open_last,
        at_start=True,
    ),
    ActionSpec(
        "close",
        "File",
        "C&lose",
        "Let go of this chassis; what is not saved is asked about.",
        shortcut="Ctrl+W",
        run=_close,
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
        "save_copy",
        "File",
        "Save a cop&y…",
        "Save the chassis as it is into another file, and go on with this one.",
        run=lambda w: w.filing.save_copy(),
    ),
    ActionSpec(
        "picture",
        "File",
        "&Picture of the plan…",
        "Save what the plan shows as a PNG or an SVG file.",
        run=lambda w: w.filing.save_picture(w.canvas.scene()),
        gap=True,
    ),
    ActionSpec(
        "copy_picture",
        "File",
        "Copy t&he picture of the plan",
        "Put what the plan shows on the clipboard, to be pasted elsewhere.",
        shortcut="Ctrl+Shift+C",
        run=lambda w: w.filing.copy_picture(w.canvas.scene()),
    ),
    ActionSpec(
        "export",
        "File",
        "&Export steering table…",
        "Choose the rows, see the table, save it.",
        shortcut="Ctrl+E",
        run=lambda w: w.filing.export(),
        why_not=why_not.no_wheel,
        gap=True,
    ),
    ActionSpec(
        "export_code",
        "File",
        "Export code for the &controller…",
        "Choose how exact and how large, see the code and its errors, save it.",
        shortcut="Ctrl+Shift+E",
        run=lambda w: w.filing.export_code(),
        why_not=why_not.no_wheel,
    ),
    ActionSpec(
        "make_plan",
        "File",
        "&Full-size plan…",
        "Save the plan at full size, as PDF on A4, or on Letter where you measure in inches.",
        run=lambda w: w.paper.make("plan"),
        why_not=why_not.no_wheel,
    ),
    ActionSpec(
        "make_gauges",
        "File",
        "&Gauges…",
        "Save a protractor for each steered wheel, as PDF on A4, or on Letter where you measure in inches.",
        run=lambda w: w.paper.make("gauge"),
        why_not=why_not.no_wheel,
    ),
    ActionSpec(
        "make_sheet",
        "File",
        "&Build sheet…",
        "Save every number and step for the builder, as a page for a browser or as PDF.",
        run=lambda w: w.paper.make("sheet"),
        why_not=why_not.no_wheel,
    ),
    ActionSpec(
        "make_drawing",
        "File",
        "&Drawing for other tools…",
        "Save the plan as DXF, SVG or PNG, or the robot as URDF.",
        run=lambda w: w.paper.make("drawing"),
        why_not=why_not.no_wheel,
    ),
    ActionSpec(
        "import_outline",
        "File",
        "&Import outline…",
        "Take the body's outline, and holes as openings, from a drawing in DXF or SVG.",
        run=lambda w: w.filing.import_outline(),
        gap=True,
    ),
    ActionSpec(
        "quit",
        "File",
        "&Quit",
        "Leave the program.",
        shortcut="Ctrl+Q",
        run=lambda w: w.close(),
        gap=True,
        at_start=True,
    ),
    ActionSpec(
        "undo",
        "Edit",
        "&Undo",
        "Take the last change back.",
        shortcut=_Keys.Undo,
        run=lambda w: w.document.undo(),
        why_not=why_not.nothing_to_undo,
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
        why_not=why_not.nothing_to_redo,
        tool="Redo",
    ),
    ActionSpec(
        "add",
        "Edit",
        "&Add a pair of wheels",
        "Add wheels where the mouse is on the plan, else behind the others; with Symmetry on, a pair.",
        shortcut="Ins",
        run=lambda w: w.acts.add(),
        gap=True,
        tool="Add pair",
        on_plan=True,
        needs_plan=True,
        spots=("ground",),
        alone=("&Add a wheel", "Add wheel"),
    ),
    ActionSpec(
        "body",
        "Edit",
        "&Body",
        "Draw a body around the wheels where there is none yet, and go to its numbers.",
        run=_draw_body,
        tool="Body",
        on_plan=True,
        spots=("ground",),
    ),
    ActionSpec(
        "part",
        "Edit",
        "Add a &part",
        "Add a box that must fit inside, and go to the parts; its kind and sizes are set there.",
        run=_add_part,
        tool="Part",
        on_plan=True,
        spots=("ground",),
    ),
    ActionSpec(
        "numbers",
        "Edit",
        "Type &its numbers…",
        "Go to the numbers of the selected wheel, body corner or part; so does a double click on it.",
        shortcut="F4",
        run=lambda w: w.canvas.ask_numbers(),
        why_not=why_not.nothing_selected,
        on_plan=True,
        spots=("wheel", "corner", "part"),
    ),
    ActionSpec(
        "rename",
        "Edit",
        "Re&name…",
        "Go to the name of the selected wheel; with Symmetry on, its partner is named for the other side.",
        shortcut="Shift+F2",
        run=_rename,
        why_not=why_not.no_wheel_selected,
        on_plan=True,
        spots=("wheel",),
    ),
    ActionSpec(
        "mirror",
        "Edit",
        "&Duplicate to the mirrored place",
        "Copy the selected wheels and parts to the other side.",
        shortcut="Ctrl+D",
        run=lambda w: w.acts.mirror(),
        why_not=why_not.nothing_to_mirror,
        tool="Mirror",
        on_plan=True,
        needs_plan=True,
        spots=("wheel", "part"),
    ),
    ActionSpec(
        "delete",
        "Edit",
        "Dele&te",
        "Delete what is selected; with Symmetry on, the partners on the other side too.",
        shortcut="Del",
        run=lambda w: w.acts.delete(),
        why_not=why_not.nothing_selected,
        tool="Delete",
        on_plan=True,
        needs_plan=True,
        spots=("wheel", "corner", "part"),
    ),
    ActionSpec(
        "add_corner",
        "Edit",
        "Add a body &corner",
        "Add a corner half-way along the edge after the selected one, or along the longest edge.",
        run=lambda w: w.acts.add_corner(),
        on_plan=True,
        needs_plan=True,
        spots=("corner",),
    ),
    ActionSpec(
        "fixed",
        "Edit",
        "&Fixed",
        "Make the selected wheels always point the same way.",
        run=lambda w: w.acts.make_kind("fixed"),
        why_not=why_not.no_wheel_selected,
        held=lambda view: _all_are(view, "fixed"),
        group="Kind of wheel",
        gap=True,
        on_plan=True,
        needs_plan=True,
        spots=("wheel",),
    ),
    ActionSpec(
        "steered",
        "Edit",
        "&Steered",
        "Make the selected wheels turn to the angle that suits.",
        run=lambda w: w.acts.make_kind("steered"),
        why_not=why_not.no_wheel_selected,
        held=lambda view: _all_are(view, "steered"),
        group="Kind of wheel",
        on_plan=True,
        needs_plan=True,
        spots=("wheel",),
    ),
    ActionSpec(
        "caster",
        "Edit",
        "&Caster",
        "Make the selected wheels swing by themselves.",
        run=lambda w: w.acts.make_kind("caster"),
        why_not=why_not.no_wheel_selected,
        held=lambda view: _all_are(view, "caster"),
        group="Kind of wheel",
        on_plan=True,
        needs_plan=True,
        spots=("wheel",),
    ),
    ActionSpec(
        "driven",
        "Edit",
        "Driven by a &motor",
        "Have the selected wheels driven, or let them roll free.",
        run=lambda w: w.acts.drive(),
        why_not=why_not.no_wheel_selected,
        held=_all_driven,
        on_plan=True,
        needs_plan=True,
        spots=("wheel",),
    ),
    ActionSpec(
        "select_all",
        "Edit",
        "Select a&ll wheels",
        "Select every wheel.",
        shortcut=_Keys.SelectAll,
        run=lambda w: w.acts.select_all(),
        why_not=why_not.no_wheel,
        gap=True,
        on_plan=True,
        needs_plan=True,
        spots=("ground",),
    ),
    ActionSpec(
        "select_worst",
        "Edit",
        "Select the &worst wheel",
        "Select the wheel that drags most in the whole range; where none does, that of this turn.",
        shortcut="Ctrl+Shift+W",
        run=lambda w: w.acts.select_worst(),
        why_not=why_not.no_wheel,
        needs_plan=True,
    ),
    ActionSpec(
        "next_wheel",
        "Edit",
        "Select the ne&xt wheel",
        "Go round the wheels.",
        shortcut="Ctrl+.",
        run=lambda w: w.canvas.select_next(1),
        why_not=why_not.no_wheel,
        needs_plan=True,
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
        why_not=partial(why_not.no_wheel_for, "steer"),
        gap=True,
    ),
    ActionSpec(
        "add_drive_motor",
        "Edit",
        "Add a dri&ve motor",
        "Add a motor that drives the selected wheels, or the next driven one without a motor.",
        run=lambda w: _add_motor(w, "drive"),
        why_not=partial(why_not.no_wheel_for, "drive"),
    ),
    ActionSpec(
        "suggest",
        "Edit",
        "Suggest s&haring…",
        "Find the best way to share few steer motors among the steered wheels.",
        run=lambda w: w.acts.suggest(),
        why_not=why_not.no_steered_wheel,
    ),
    *TURN_ACTIONS,
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
        run=lambda w: w.go_round(),
        gap=True,
    ),
    ActionSpec(
        "find",
        "Help",
        "Fin&d an action…",
        "Type a word or two: actions, sections, samples, files and the words of the help are found.",
        shortcut="Ctrl+K",
        run=_find,
        at_start=True,
    ),
    *VIEW_ACTIONS,
)


def make_actions(window: Frame) -> dict[str, QAction]:
    """Make every action of the table."""
    made = {}
    for spec in ACTIONS:
        action = QAction(spec.text, window)
        action.setObjectName(spec.key)
        action.setCheckable(spec.checked is not None or spec.held is not None)
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


def name_by_symmetry(action: QAction, spec: ActionSpec, *, symmetric: bool) -> None:
    """Have an action say whether it is one wheel or a pair."""
    if spec.alone is not None:
        text, tool = (spec.text, spec.tool) if symmetric else spec.alone
        action.setText(text)
        action.setIconText(tool)


def _act(window: Frame, spec: ActionSpec, _on: object = None) -> None:
    take_typed(window)
    if spec.needs_plan and (reason := why_not.no_plan(window)):
        window.document.message.emit(reason)
    else:
        spec.run(window)
    if spec.held is not None:  # the click set the tick, and what it stands for may have been refused
        window.action[spec.key].setChecked(spec.held(window.document.view))
