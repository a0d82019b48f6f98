"""The drive that is shown: one run of the robot, live or by a script, and what is left of it to look at.

It belongs to a document, and holds what happens, never what was designed. A script is run through at once
on a thread of its own, and then played from what was worked out; live driving goes by a timer that only
wakes: the time is taken from a clock.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

from PySide6.QtCore import QElapsedTimer, QObject, Qt, QTimer, Signal

from app.controller.programme import programme_of
from app.design import driving_edits
from app.document import Document
from app.jobs import Job, Progress
from app.picture.view import View
from app.simulation.footprint import Footprint, footprint_of
from app.simulation.frame import Block, Frame, frame_of
from app.simulation.inputs import AT_REST, STEP_US, Input
from app.simulation.recording import Recording
from app.simulation.robot_code import RobotCode
from app.simulation.run import Run
from app.simulation.track import Track
from app.words.run_verdict import Phase, RunSoFar, Touch
from geometry.driving.ready_courses import READY
from geometry.errors import AxlewrightError
from geometry.model.controller import Part
from geometry.model.design import Design
from geometry.model.driving import Course, Obstacle, Script
from geometry.progress import part_of

State = Literal["idle", "preparing", "live", "playing", "paused"]
Hand = Literal["keys", "one stick", "two sticks"]
"""By what somebody drives: keys and mouse alone, or a game pad beside them."""
Chosen = int | Literal["start"] | None
"""Number of an obstacle on the course, or where the robot starts; None for neither."""
WAKE_MS = 16
MOST_DRIVEN = 6
"""How many live drives wait to be kept as scripts; beyond them the oldest goes."""
_TRACK_EVERY = 4
"""Steps from one point of the track of a script to the next."""


@dataclass(frozen=True, eq=False)
class Shown:
    """A script that was run through."""

    blocks: tuple[Block, ...]
    last: Frame

    @property
    def steps(self) -> int:
        """Number of steps."""
        return sum(len(block) for block in self.blocks)

    def frame(self, steps: int) -> Frame:
        """The moment after so many steps; that at the start for none."""
        at = max(1, min(steps, self.steps))
        block = next(b for b in self.blocks if at <= b.first + len(b))
        now = at * STEP_US / 1e6
        contacts = tuple(contact for contact in self.last.contacts if contact.time_s <= now)
        return frame_of(block, at - 1 - block.first, contacts)


Prepared = tuple[RobotCode, Run, Shown | None, Track]
"""The code, a run of it, of a script what came of it, and the track that it leaves."""


class DriveSession(QObject):
    """What the stage Drive shows and does; one for each document."""

    frame_changed = Signal(object)
    """Another `Frame`, or None where there is no run."""
    state_changed = Signal()
    """Another state, script, course, or choice of parts of the code."""
    chosen_changed = Signal()
    """Another obstacle of the course is chosen, or none."""
    progressed = Signal(float)
    """Share of a script that was run through, 0 to 1."""
    refused = Signal(str)
    """Why there is no run, for the person."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._document = document
        self._design: Design = document.design
        self._code: RobotCode | None = None
        self._code_of: tuple[Design, frozenset[Part]] | None = None
        self.without: frozenset[Part] = frozenset()
        """Parts that are left out of the robot's code, to see what they do."""
        self.course_name = ""
        """The course, of the chassis or a ready one; empty for a plane."""
        self.script_name = ""
        """The script that is played."""
        self.chosen: Chosen = None
        """What is chosen on the course of the chassis, on the drawing and in the panel alike."""
        self.middle: tuple[float, float] | None = None
        """What the drawing of the course shows in its middle [mm]."""
        self.state: State = "idle"
        self.frame: Frame | None = None
        self.run: Run | None = None
        self.shown: Shown | None = None
        self.track = Track()
        self.recording: Recording | None = None
        """What is driven live, or was last, up to the next start."""
        self._driven: list[Recording] = []
        self.hand: Hand = "keys"
        """By what is driven, as it was chosen."""
        self.pads: tuple[str, ...] | None = None
        """Names of the game pads that are plugged in; None while nobody looks for them."""
        self.asked: Input = AT_REST
        self._job: Job | None = None
        self._steps = 0
        self._left_us = 0
        self._clock = QElapsedTimer()
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(WAKE_MS)
        self._timer.timeout.connect(self._wake)
        document.changed.connect(self._follow)
        document.opened.connect(self._forget_driven)
        document.closed.connect(self.close)

    # What is ---------------------------------------------------------------------------------

    @property
    def document(self) -> Document:
        """The document that it belongs to."""
        return self._document

    @property
    def design(self) -> Design:
        """The design that is driven."""
        return self._document.design

    @property
    def course(self) -> Course | None:
        """The course that is driven through; None for an empty plane."""
        return self.course_in(self.design)

    def course_in(self, design: Design) -> Course | None:
        """The course as it is in a design, such as one that is previewed; None for an empty plane."""
        number = self.own_course(design)
        if number is not None:
            return design.driving.courses[number]
        return READY[self.course_name](design) if self.course_name in READY else None

    def own_course(self, design: Design) -> int | None:
        """Number of the course among those of the chassis; None for a ready one, or an empty plane."""
        names = [course.name for course in design.driving.courses]
        return names.index(self.course_name) if self.course_name in names else None

    def course_names(self) -> list[str]:
        """Names of the courses of the chassis, then of the ready ones."""
        own = [course.name for course in self.design.driving.courses]
        return [*own, *(name for name in READY if name not in own)]

    @property
    def script(self) -> Script | None:
        """The script that is chosen, the first one unless another is."""
        scripts = self.design.driving.scripts
        return next((s for s in scripts if s.name == self.script_name), scripts[0] if scripts else None)

    @property
    def moving(self) -> bool:
        """Whether something goes on."""
        return self.state in ("live", "playing", "preparing")

    @property
    def mixes(self) -> bool:
        """Whether the code that is driven mixes one stick."""
        return self.design.controller.mixing and "mixing" not in self.without

    @property
    def driven(self) -> tuple[Recording, ...]:
        """What was driven live and not kept, the last first; a drive that went nowhere is none."""
        return tuple(recording for recording in self._driven if recording.drove)

    @property
    def so_far(self) -> RunSoFar:
        """What came of the drive that is shown."""
        frame = self.frame
        if self.state == "preparing":
            return RunSoFar("preparing")
        if frame is None:
            return RunSoFar("none")
        phases: dict[State, Phase] = {"live": "driving", "playing": "playing"}
        touches = [
            Touch(
                "the body" if one.what == "body" else one.name,
                f"{one.kind} {one.obstacle + 1}",
                one.time_s,
                one.x_mm,
                one.y_mm,
            )
            for one in frame.contacts
        ]
        course = self.course
        return RunSoFar(
            phases.get(self.state, "driven"),
            0 if course is None else len(course.obstacles),
            len(touches),
            touches[0] if touches else None,
            sum(frame.drag),
            frame.distance,
        )

    # What is done ----------------------------------------------------------------------------

    def drive_by(self, hand: Hand) -> None:
        """Drive by this from now on."""
        self.hand = hand
        self.state_changed.emit()

    def show_pads(self, names: tuple[str, ...] | None) -> None:
        """Tell which game pads are plugged in."""
        if names != self.pads:
            self.pads = names
            self.state_changed.emit()

    def choose(self, *, course: str | None = None, script: str | None = None) -> None:
        """Drive another course, or play another script, from its start."""
        if course is not None:
            self.course_name = course
            self.pick(None)
        if script is not None:
            self.script_name = script
        self.reset()

    def pick(self, chosen: Chosen) -> None:
        """Choose an obstacle of the course of the chassis, or its start; what is not there is none."""
        number = self.own_course(self.design)
        count = 0 if number is None else len(self.design.driving.courses[number].obstacles)
        there = number is not None and (
            chosen == "start" or (isinstance(chosen, int) and 0 <= chosen < count)
        )
        now = chosen if there else None
        if now != self.chosen:
            self.chosen = now
            self._document.end_run()
            self.chosen_changed.emit()

    def leave_out(self, parts: Iterable[Part]) -> None:
        """Leave parts out of the robot's code; what is driven starts anew."""
        self.without = frozenset(parts)
        self.reset()

    def reset(self) -> None:
        """Put the robot back to the start of the course; what was driven live can still be kept."""
        self._stop()
        self.run = self.shown = self.frame = self.recording = None
        self.track = Track()
        self._steps = 0
        self._set("idle")
        self.frame_changed.emit(None)

    def start_live(self) -> None:
        """Drive by hand from the start, recorded from the first step on."""
        self.reset()
        self._prepare(self._began_live)

    def play(self) -> None:
        """Play the chosen script on, or from its start."""
        if self.state == "paused" and self.shown is not None and self._steps < self.shown.steps:
            self._go("playing")
            return
        script = self.script
        if script is None:
            self.refused.emit("There is no script yet: drive and keep it as a script, or add one.")
            return
        self.reset()
        self._prepare(partial(self._run_through, script))

    def pause(self) -> None:
        """Hold the script where it is."""
        if self.state == "playing":
            self._timer.stop()
            self._set("paused")

    def stop(self) -> None:
        """Let go of the sticks and let the robot come to rest; what was driven stays to be looked at."""
        if self.state == "live" and self.run is not None:
            self._timer.stop()
            self._take(self.run.finish())
            self._set("paused")
        elif self.state == "preparing":
            self.reset()
        else:
            self.pause()

    def seek(self, steps: int) -> None:
        """Show the moment after so many steps of a script."""
        if self.shown is not None:
            self._steps = max(0, min(steps, self.shown.steps))
            if self.state == "playing":
                self._clock.restart()
            self.frame = self.shown.frame(self._steps)
            self.frame_changed.emit(self.frame)

    def ask(self, asked: Input) -> None:
        """What the driver asks for from now on."""
        self.asked = asked

    def keep(self, name: str = "driven", recording: Recording | None = None) -> bool:
        """Keep what was driven live, the last unless another is given, as a script; one step to undo."""
        kept = recording or next(iter(self.driven), None)
        if kept is None:
            self.refused.emit("Nothing was driven yet.")
            return False
        held = kept.held
        count = len(self.design.driving.scripts)
        done = self._document.edit(
            "Keep the drive as a script",
            lambda d: driving_edits.add_script(d, driving_edits.recorded(name, held)),
        )
        if done:
            self._driven = [other for other in self._driven if other is not kept]
            self.choose(script=self.design.driving.scripts[count].name)
        return done

    def close(self) -> None:
        """Stop all of it, for good."""
        self._stop()

    # How it goes -----------------------------------------------------------------------------

    def _set(self, state: State) -> None:
        self.state = state
        self.state_changed.emit()

    def _stop(self) -> None:
        self._timer.stop()
        self.asked = AT_REST
        if self._job is not None:
            job, self._job = self._job, None
            job.stop()

    def _follow(self, view: View) -> None:
        """Another design is another robot: what goes on ends."""
        if view.previewing or view.design is self._design:
            return
        number, before = self.own_course(self._design), self._design.driving
        now, self._design = view.design.driving, view.design
        self.script_name = _renamed(self.script_name, before.scripts, now.scripts)
        self.course_name = _renamed(self.course_name, before.courses, now.courses)
        self._keep_chosen(None if number is None else before.courses[number].obstacles)
        if self.frame is not None or self.moving:
            self.reset()
        else:
            self.state_changed.emit()

    def _forget_driven(self) -> None:
        """What was driven belongs to the chassis that was open."""
        self._driven = []
        self.state_changed.emit()

    def _keep_chosen(self, before: Sequence[Obstacle] | None) -> None:
        """Carry what is chosen over an edit; an obstacle is known by its place in the list."""
        course, chosen = self.course, self.chosen
        if isinstance(chosen, int) and before is not None and course is not None:
            now = course.obstacles
            if len(now) != len(before):
                chosen = now.index(before[chosen]) if before[chosen] in now else None
        self.pick(chosen)

    def _prepare(self, then: Callable[[RobotCode, Progress], Prepared]) -> None:
        """Write the robot's code on a thread of its own, and go on."""
        design, without = self.design, self.without
        known = self._code if self._code_of == (design, without) else None

        def work(progress: Progress) -> Prepared:
            code = known or RobotCode(programme_of(design, part_of(progress, 0.0, 0.3)), without)
            return then(code, progress)

        job = self._job = Job(work, self)
        job.progressed.connect(self.progressed)
        job.done.connect(self._prepared)
        job.failed.connect(self._failed)
        self._set("preparing")
        job.start()

    def _began_live(self, code: RobotCode, _progress: Progress) -> Prepared:
        return code, Run(code, self.course), None, Track(_footprint(code))

    def _run_through(self, script: Script, code: RobotCode, progress: Progress) -> Prepared:
        number = self.design.driving.scripts.index(script)
        run = Run(code, self.course, script, place=f"driving.scripts[{number}]")
        blocks, track = [], Track(_footprint(code))
        for block in run.blocks():
            blocks.append(block)
            track.add_block(block, _TRACK_EVERY)
            if not progress(0.3 + 0.7 * run.share):
                break
        return code, run, Shown(tuple(blocks), run.finish()) if blocks else None, track

    def _prepared(self, made: Prepared) -> None:
        self._job = None
        self._code, self.run, self.shown, self.track = made
        self._code_of = self.design, self.without
        if self.shown is not None:
            if self.run.capped:
                self.refused.emit("The script was stopped: a move of it does not end in time.")
            self.seek(0)
            self._go("playing")
        elif self.run.live:
            self.recording = Recording()
            self._driven = [self.recording, *self.driven][:MOST_DRIVEN]
            self._take(self.run.frame)
            self._go("live")
        else:
            self._set("idle")
            self.refused.emit("The script has no move yet.")

    def _failed(self, why: str) -> None:
        self._job = None
        self._set("idle")
        self.refused.emit(why)

    def _go(self, state: State) -> None:
        self._left_us = 0
        self._clock.start()
        self._timer.start()
        self._set(state)

    def _wake(self) -> None:
        elapsed = self._clock.nsecsElapsed() // 1_000
        self._clock.restart()
        if self.state == "live" and self.run is not None:
            try:
                self._take(self.run.advance(elapsed, self.asked))
            except AxlewrightError as error:
                self._timer.stop()
                self._set("paused")
                self.refused.emit(str(error))
            return
        if self.shown is None:
            return
        steps, self._left_us = divmod(self._left_us + min(elapsed, 250_000), STEP_US)
        self._steps = min(self._steps + steps, self.shown.steps)
        self.frame = self.shown.frame(self._steps)
        self.frame_changed.emit(self.frame)
        if self._steps == self.shown.steps:
            self._timer.stop()
            self._set("paused")

    def _take(self, frame: Frame) -> None:
        self.frame = frame
        if self.recording is not None:
            self.recording.add(frame)
        self.track.add(frame)
        self.frame_changed.emit(frame)

    @property
    def steps(self) -> int:
        """Steps of the script that were played."""
        return self._steps


def _footprint(code: RobotCode) -> Footprint:
    return footprint_of(code.programme.design, code.programme.chassis.robot)


def _renamed(name: str, before: Sequence[Script | Course], now: Sequence[Script | Course]) -> str:
    """What the one of this name is called now: undoing a new name must not choose another one."""
    names = [one.name for one in before]
    if name not in names or len(now) != len(before) or any(one.name == name for one in now):
        return name
    return now[names.index(name)].name


def session_of(document: Document) -> DriveSession:
    """The session of a document, made when it is first asked for."""
    found = document.findChild(DriveSession)
    return found if isinstance(found, DriveSession) else DriveSession(document)
