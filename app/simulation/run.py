"""A run: the code in the loop, the motors after it, and the way that follows, in steps of 5 ms.

Times are whole microseconds and a step is a whole number of them, so that the same inputs at the same steps
give the same run at any rate of frames. The code is run step by step in plain numbers. Then blocks of
`ROWS` steps are solved at once, always from the same step on and in the same shape, since last bits depend
on both. While a block is open, a live run shows the steps of each frame as they are solved by themselves;
once it is full, or the run ends, it is solved for good, and that alone is carried on, told and replayed.

A script is known in advance, so its blocks are solved ahead of the frame that shows them. A move that ends
at a distance or a heading is first taken to fill the block; where it ends within, the code is taken back to
that step, and the next move fills the rest.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from app.simulation.frame import Block, Contact, Frame, first_frame, frame_of
from app.simulation.inputs import AT_REST, STEP_US, Input
from app.simulation.mechanics import Mechanics, Solved
from app.simulation.plan import MOST_SECONDS, Plan, planned, refuse_endless, rest_steps
from app.simulation.robot_code import Answer, RobotCode, copied
from app.simulation.surroundings import Surroundings
from app.units import radians
from geometry.errors import CommandError
from geometry.model.driving import Course, Script

ROWS = 256
"""Steps that are solved together."""
MOST_TAKEN_US = 250_000
"""Longest time that one frame takes up; after a pause the run does not leap [microseconds]."""
MOST_STEPS = MOST_SECONDS * 1_000_000 // STEP_US

Listener = Callable[[Frame], None]


_Row = tuple[Input, int, Answer]
"""A step before it is solved: what was asked for, at which move, and what the code last said."""


class Run:
    """A robot that is driven, live or by a script.

    Parameters
    ----------
    code : RobotCode
        The written code of the chassis.
    course : Course, optional
        Where it starts and what stands in its way; else at the origin of an empty plane.
    script : Script, optional
        What it drives; else whoever calls `advance` says.
    place : str
        Place of the script in the design, for errors.
    listener : callable, optional
        Told each frame.

    Raises
    ------
    DesignError
        If the script has a move that never ends.
    """

    def __init__(
        self,
        code: RobotCode,
        course: Course | None = None,
        script: Script | None = None,
        *,
        place: str = "script",
        listener: Listener | None = None,
    ) -> None:
        self.code, self.listener = code, listener
        self.mechanics = Mechanics(code.programme)
        self._plan = None
        if script is not None:
            refuse_endless(script, place, code, self.mechanics)
            self._plan = Plan(planned(script, self.mechanics), rest_steps(self.mechanics))
        course = course or Course(name="empty")
        self._around = Surroundings(code.programme.design, self.mechanics.robot, course)
        self._controller = code.started()
        self._period_ms = code.programme.controller.period_ms
        start = (course.start_x_mm, course.start_y_mm, radians(course.start_heading_deg))
        self._state = self.mechanics.at_rest(start)
        self._first = 0
        self._rows: list[_Row] = []
        self._answer = Answer((), (), holding=False, step=0)
        # When the code is called next.
        self._due_us = 0
        # What is solved of the open block for now, and the state after it.
        self._ahead = self._state
        self._seen = 0
        self._new_contacts: tuple[Contact, ...] = ()
        self.contacts = self._around.touched_at(self._state.heading, self._state.pose)
        self._blocks: deque[Block] = deque()
        self._untold: list[Block] = []
        self._left_us = 0
        self._taken = 0
        self._over = False
        self.capped = False
        """Whether the run was stopped because a script took too long."""
        outputs = (len(code.programme.steer), len(code.programme.drive) or 2)
        self.frame = first_frame(start, self._state.heading, outputs, self.contacts)

    @property
    def live(self) -> bool:
        """Whether somebody drives, and no script."""
        return self._plan is None

    @property
    def share(self) -> float:
        """Share of the script's moves that are through, 0 to 1; 0 for a live run."""
        return 0.0 if self._plan is None else self._plan.share

    def advance(self, elapsed_us: int, asked: Input = AT_REST) -> Frame:
        """Take up the time since the last frame, at most a quarter of a second of it.

        Parameters
        ----------
        elapsed_us : int
            Time since the last call, at least 0 [microseconds].
        asked : Input
            What the driver asks for at the steps of this frame; a script has its own.
        """
        self._left_us += max(0, min(elapsed_us, MOST_TAKEN_US))
        steps, self._left_us = divmod(self._left_us, STEP_US)
        return self.take(steps, asked)

    def take(self, steps: int, asked: Input = AT_REST) -> Frame:
        """Take so many steps."""
        if self._plan is None:
            self._take_live([] if self._over else [(asked, -1)] * steps)
            return self._told(self._live_frame())
        target = self._taken + steps
        while not self._over and self._first < target:
            self._solve_ahead(self._plan)
        self._taken = min(target, self._first)
        return self._told(self._script_frame())

    def finish(self) -> Frame:
        """Let go of the sticks, let the robot come to rest, and solve what is open for good."""
        if self._plan is None and not self._over:
            # As a script does after its last move, so that the replay is the same to the last bit.
            if self._first or len(self._rows):
                self._take_live([(AT_REST, -1)] * rest_steps(self.mechanics))
            if len(self._rows):
                self._close()
            self._over = True
            return self._told(self._live_frame())
        while self._plan is not None and not self._over:
            self._solve_ahead(self._plan)
            self._taken = self._first
        return self._told(self._script_frame())

    def blocks(self) -> Iterator[Block]:
        """Run a script through, block by block, without frames.

        Raises
        ------
        CommandError
            If somebody drives: such a run has no end of its own.
        """
        if self._plan is None:
            raise CommandError("a run without a script has no end of its own")
        while not self._over:
            self._solve_ahead(self._plan)
            self._taken = self._first
            yield from self._untold
            self._untold.clear()

    def _take_live(self, asked: list[tuple[Input, int]]) -> None:
        while asked:
            room = ROWS - len(self._rows)
            self._append(asked[:room])
            asked = asked[room:]
            if len(self._rows) == ROWS:
                self._close()

    def _append(self, asked: Sequence[tuple[Input, int]]) -> None:
        """Steps of the code, which is called in each as often as it is due."""
        code, controller, period = self.code, self._controller, self._period_ms
        now, due, answer, rows = (
            STEP_US * (self._first + len(self._rows)),
            self._due_us,
            self._answer,
            self._rows,
        )
        for one, move in asked:
            while due <= now:
                answer = code.call(controller, one, period)
                due += 1_000 * period
            rows.append((one, move, answer))
            now += STEP_US
        self._due_us, self._answer = due, answer

    def _solved(self) -> Solved:
        """The open block, filled up with its last row to the shape that all blocks have."""
        answers = [answer for _, _, answer in self._rows]
        return self.mechanics.solved(self._state, answers + answers[-1:] * (ROWS - len(answers)))

    def _solve_ahead(self, plan: Plan) -> None:
        while True:
            start = len(self._rows)
            before = copied(self._controller), self._answer, self._due_us
            filled = plan.fill(start, ROWS - start)
            self._append(filled)
            if not self._rows:
                self._over = True
                return
            solved = self._solved()
            end = plan.ended(solved, len(self._rows))
            if end is None:
                break
            self._controller, self._answer, self._due_us = before
            del self._rows[start:]
            self._append(filled[: end + 1 - start])
        self._close(solved)
        self._over = plan.through
        if self._first >= MOST_STEPS and not self._over:
            self._over = self.capped = True

    def _close(self, solved: Solved | None = None) -> None:
        """Carry the open block on as solved for good."""
        found = solved or self._solved()
        block = self._block(self._rows, self._first, found)
        known = frozenset((c.what, c.name, c.obstacle) for c in self.contacts)
        touched = self._around.contacts(block, self._state.heading, known)
        block = replace(block, contacts=touched)
        self.contacts += touched
        self._new_contacts = ()
        self._state = self._ahead = found.state(len(block) - 1)
        self._first += len(block)
        self._rows = []
        self._seen = 0
        self._blocks.append(block)
        self._untold.append(block)
        self._forget()

    def _forget(self) -> None:
        """Drop the blocks that no frame shows any more."""
        while len(self._blocks) > 1 and (
            self.live or self._blocks[0].first + len(self._blocks[0]) < self._taken
        ):
            self._blocks.popleft()

    @staticmethod
    def _block(rows: Sequence[_Row], first: int, found: Solved) -> Block:
        count = len(rows)
        inputs, moves, answers = zip(*rows, strict=True)
        return Block(
            first=first,
            inputs=inputs,
            moves=moves,
            targets=tuple(answer.steer for answer in answers),
            speeds=tuple(answer.speed for answer in answers),
            holding=tuple(answer.holding for answer in answers),
            steer=found.steer[:count],
            heading=found.heading[:count],
            rate=found.rate[:count],
            roll=found.roll[:count],
            side=found.side[:count],
            drive=found.drive[:count],
            twist=found.twist[:count],
            pose=found.pose[: count + 1],
            drag=found.drag[: count + 1],
            distance=found.distance[: count + 1],
        )

    def _live_frame(self) -> Frame:
        rows = self._rows
        if not rows:
            if not self._blocks:
                return self.frame
            block = self._blocks[-1]
            return frame_of(block, len(block) - 1, self.contacts)
        if len(rows) > self._seen:
            start = self._seen
            found = self.mechanics.solved(self._ahead, [answer for _, _, answer in rows[start:]])
            block = self._block(rows[start:], self._first + start, found)
            known = frozenset((c.what, c.name, c.obstacle) for c in self.contacts + self._new_contacts)
            self._new_contacts += self._around.contacts(block, self._ahead.heading, known)
            self._ahead, self._seen = found.state(len(block) - 1), len(rows)
            return frame_of(block, len(block) - 1, self.contacts + self._new_contacts)
        return self.frame

    def _script_frame(self) -> Frame:
        self._forget()
        if not self._taken:
            return replace(self.frame, ended=self._over and not self._first)
        block = next(b for b in self._blocks if self._taken <= b.first + len(b))
        now = self._taken * STEP_US / 1e6
        contacts = tuple(contact for contact in self.contacts if contact.time_s <= now)
        frame = frame_of(block, self._taken - 1 - block.first, contacts)
        return replace(frame, ended=self._over and self._taken == self._first)

    def _told(self, frame: Frame) -> Frame:
        self.frame = replace(frame, blocks=tuple(self._untold))
        self._untold.clear()
        if self.listener is not None:
            self.listener(self.frame)
        return self.frame
