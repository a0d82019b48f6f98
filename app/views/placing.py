"""Where texts stand beside their marks: at one of eight places, on nothing that must stay in sight.

All places of all texts are judged at once against what stands on the plan, then the texts choose in
turn, the most important first. Names choose before the small lines below them are added, so that
where room is short the small lines go first. A text keeps the place that it had unless another is
clearly better: while something is dragged it does not jump.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats

Box = tuple[float, float, float, float]
"""An upright rectangle: left, top, right, bottom [px]."""
_Mask = npt.NDArray[np.bool_]
_Cells = npt.NDArray[np.intp]

# Where a text stands to its mark, x right and y down. The slanted ones stand beside it, a little
# higher or lower, so that a line through the middle of the mark passes by.
PLACES = ((1, 0), (1, -1), (1, 1), (-1, 0), (-1, -1), (-1, 1), (0, 1), (0, -1))
"""The eight places, in the order in which a piece has their costs."""
_COUNT = len(PLACES)
_WAY = np.array(PLACES, dtype=np.float64)
_SLANTED = (_WAY != 0.0).all(axis=1)
_SLANT_PX = 3.0
# Gaps beyond the first between a mark and its text [px].
_FARTHER = np.array((18.0, 36.0, 56.0, 80.0, 110.0, 150.0, 200.0))
_ALL_GAPS = np.concatenate([[0.0], _FARTHER])
_EDGE_PX = 4.0
"""Least distance between a text and the edge of the canvas [px]."""
_CLEAR_PX = 2.0
"""Least distance of a text from all else where it takes a new place [px]."""
# Costs are pixels of a line below the text.
_KEPT = 30.0
_CROWDED = 60.0
_CELL_PX = 8.0
# Where a text may begin that finds no place about its mark [px].
_CELL = np.array((20.0, 10.0))
_CELLS = _COUNT * len(_ALL_GAPS)
_CELL_REACH_PX, _TRIED_CELLS = 300.0, 120
_FEW = 12
_OUTWARD = np.array((-1.0, -1.0, 1.0, 1.0))
_LOOK_AGAIN, _MOVED_PX = 8, 48.0
"""How often, and over how far a move of a mark, places are kept before better ones are looked for."""
_LEADER_PX = _SLANT_PX + 0.5
"""Half the room of the line that leads from a text to its mark [px]."""


@dataclass(frozen=True)
class Piece:
    """A text that belongs to a mark."""

    key: str
    """What it belongs to."""
    at: tuple[float, float]
    """Middle of the mark [px]."""
    reach: tuple[float, ...]
    """How far from there the text is at each of the eight places, across or, below and above, down [px]."""
    sizes: tuple[tuple[float, float], ...]
    """Width and height of the text whole, then with ever less of it [px]."""
    costs: tuple[float, ...]
    """What each of the eight places costs, in pixels of a line below the text."""
    name: int = 0
    """Which of the sizes is the name without anything below it."""
    first: bool = False
    """Whether it is placed whole at once, not its name first."""
    needed: bool = False
    """Whether it is shown even where no place is free at all."""
    held: bool = False
    """Whether it is moved into the canvas where its mark is at the edge."""


@dataclass(frozen=True)
class Spot:
    """Where a text stands."""

    piece: Piece
    place: int
    """Index into `PLACES`, eight more for each gap beyond the first; after these, of cells of the canvas."""
    size: int
    """Index into the sizes of the piece."""
    box: Box

    @property
    def side(self) -> int:
        """Which way it stands to its mark: -1 left, 0 above or below, 1 right."""
        x, (left, _, right, _) = self.piece.at[0], self.box
        return int(left >= x) - int(right <= x)

    @property
    def far(self) -> bool:
        """Whether it stands away from its mark."""
        return self.place >= _COUNT


@dataclass
class Memory:
    """Where texts stood when they were drawn last."""

    places: dict[str, tuple[int, int]] = field(default_factory=dict)
    """Place and size of each that was shown, by its key."""
    seen: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Where the mark of each was when places were last looked for, shown or not [px]."""
    drawn: int = 0
    """How often they were drawn since."""

    def keep(self, placed: Placed) -> None:
        """Remember what is drawn now."""
        self.places = {spot.piece.key: (spot.place, spot.size) for spot in placed.spots}
        self.drawn += 1
        if placed.anew:
            self.seen, self.drawn = {piece.key: piece.at for piece in placed.pieces}, 1

    def forget(self) -> None:
        """Let all texts choose anew."""
        self.places, self.seen, self.drawn = {}, {}, 0

    def serves(self, pieces: Sequence[Piece]) -> bool:
        """Whether so little has moved that the places of before may still be the best."""
        return (
            0 < self.drawn < _LOOK_AGAIN
            and len(self.seen) == len(pieces)
            and all(
                key in self.seen and math.dist(self.seen[key], at) < _MOVED_PX
                for key, at in ((piece.key, piece.at) for piece in pieces)
            )
        )


@dataclass(frozen=True)
class Placed:
    """Texts in their places."""

    pieces: Sequence[Piece]
    """All texts, the most important first."""
    spots: list[Spot]
    """Where those stand that are shown, in the same order."""
    anew: bool
    """Whether places were looked for; else they are those of before."""


def _no_lines() -> Floats:
    return np.empty((0, 3))


@dataclass(frozen=True)
class Standing:
    """What stands on the plan [px]."""

    width: float
    height: float
    tyres: Floats = field(default_factory=lambda: np.empty((0, 6)))
    """Rectangles at any angle: middle, direction of the length, half length, half width."""
    boxes: Floats = field(default_factory=lambda: np.empty((0, 4)))
    """Upright rectangles that no text may meet: left, top, right, bottom."""
    lines: Callable[[], Floats] = _no_lines
    """Points of what texts had better not cover: x, y, and the length of line that each stands for."""


def place(pieces: Sequence[Piece], standing: Standing, memory: Memory) -> Placed:
    """Find a place for each text.

    Parameters
    ----------
    pieces : sequence of Piece
        The most important first; one that finds no place is left out unless it is needed.
    standing : Standing
        What they avoid.
    memory : Memory
        Where they stood last; it stays as it is.

    Returns
    -------
    Placed
        Those that are shown.
    """
    if not pieces:
        return Placed(pieces, [], anew=True)
    spots = _as_before(pieces, standing, memory) if memory.serves(pieces) else None
    if spots is not None:
        return Placed(pieces, spots, anew=False)
    return Placed(pieces, _Placing(pieces, standing, memory).run(), anew=True)


def _as_before(pieces: Sequence[Piece], standing: Standing, memory: Memory) -> list[Spot] | None:
    """The places of before; None where one of them does not serve any more."""
    shown = [piece for piece in pieces if piece.key in memory.places]
    if not shown or any(memory.places[piece.key][1] >= len(piece.sizes) for piece in shown):
        return None
    had = [memory.places[piece.key] for piece in shown]
    sizes = np.array([piece.sizes[size] for piece, (_, size) in zip(shown, had, strict=True)])
    place = np.array([place for place, _ in had])
    celled = place >= _CELLS
    gaps = _ALL_GAPS[np.where(celled, 0, place // _COUNT)]
    rects = _rects(shown, sizes, gaps[:, None], standing)[np.arange(len(shown)), place % _COUNT]
    if celled.any():
        rects[celled] = _cell_rects(place[celled] - _CELLS, sizes[celled], standing)
    if not _free(rects, rects, standing).all():
        return None
    boxes: list[Box] = [(a, b, c, d) for a, b, c, d in rects.tolist()]
    if any(_meets(box, boxes[:i]) for i, box in enumerate(boxes)):
        return None
    return [Spot(piece, *had[i], boxes[i]) for i, piece in enumerate(shown)]


class _Places:
    """What each place of some texts is worth, with each of their sizes: lists, which are read one by one."""

    def __init__(
        self,
        pieces: Sequence[Piece],
        sizes: Floats,
        gaps: Floats,
        standing: Standing,
        memory: Memory,
        sums: Floats,
    ) -> None:
        had = np.array([memory.places.get(piece.key, (-1, 0)) for piece in pieces])
        number = np.arange(len(gaps) * _COUNT).reshape(-1, _COUNT) + (0 if gaps[0] == 0.0 else _COUNT)
        # From here on by texts, sizes, gaps and places.
        was = had[:, 0, None, None, None] == number
        # One that stood with fewer lines has no claim to the room for more.
        was = was & (had[:, 1, None, None, None] <= np.arange(sizes.shape[1])[:, None, None])
        rects = _rects(pieces, sizes[:, :, None], gaps[:, None], standing)
        grown = rects + np.where(was, 0.0, _CLEAR_PX)[..., None] * _OUTWARD
        self.shape = rects.shape[:2]
        free = _free(rects, grown, standing)
        if gaps[0] > 0.0:
            held = np.array([piece.held for piece in pieces])[:, None, None]
            free &= (_leaders_free(pieces, gaps, standing) | held)[:, None]
        cost = _length_under(rects, sums) - _KEPT * was + gaps[:, None]
        cost += np.array([piece.costs for piece in pieces])[:, None, None]
        flat = (*self.shape, -1)
        cost = np.where(free, cost, math.inf).reshape(flat)
        self.order = cost.argsort(axis=-1).tolist()
        self.cost = cost.tolist()
        self.rects = rects.reshape(*flat, 4).tolist()
        self.pads = np.where(was, 0.0, _CLEAR_PX).reshape(flat).tolist()


class _Placing:
    """One placement: what each place of each text meets and costs, and who stands where by now."""

    def __init__(self, pieces: Sequence[Piece], standing: Standing, memory: Memory) -> None:
        self.pieces, self.standing, self.memory = pieces, standing, memory
        self.sums = _line_sums(standing)
        most = max(len(piece.sizes) for piece in pieces)
        sizes = np.array([(*p.sizes, *(p.sizes[-1:] * (most - len(p.sizes)))) for p in pieces])
        self.near = _Places(pieces, sizes, np.zeros(1), standing, memory, self.sums)
        self.spots: dict[int, Spot] = {}
        self.taken: list[Box] = []
        # Where each text would be if it were whole: no other name should stand there.
        self.wanted: list[Box] = []

    def run(self) -> list[Spot]:
        """Let the names choose in turn, then add the small lines where they fit."""
        left = []
        for i, piece in enumerate(self.pieces):
            if self._stand_near(i, _whole(piece)):
                continue
            if piece.first:
                self._stand_elsewhere([i])
            else:
                left.append(i)
        self._stand_elsewhere(left)
        for i in sorted(self.spots):
            self._add_lines(i)
        return [self.spots[i] for i in sorted(self.spots)]

    def _stand_elsewhere(self, some: list[int]) -> None:
        """Place texts that find no place beside their marks: rather farther away than cut short."""
        some = self._stand_far(some, _whole)
        # Among many, names in full all over the plan would leave no room for the rest.
        if len(self.pieces) <= _FEW:
            some = self._stand_anywhere(some, _whole)
        some = [i for i in some if not self._stand_near(i, _cut(self.pieces[i]))]
        some = self._stand_far(some, _cut)
        for i in self._stand_anywhere(some, lambda piece: (*_whole(piece), *_cut(piece))):
            if self.pieces[i].needed:
                self._stand_on_something(i)

    def _stand(self, i: int, place: int, size: int, box: Box) -> None:
        self.spots[i] = Spot(self.pieces[i], place, size, box)
        self.taken.append(box)

    def _stand_near(self, i: int, sizes: range) -> bool:
        """Give a text the best place beside its mark, in the first size that fits; False where none does."""
        near = self.near
        for size in sizes:
            best, at = math.inf, -1
            for k in near.order[i][size]:
                cost = near.cost[i][size][k]
                if cost >= best:
                    break
                if _meets(near.rects[i][size][k], self.taken, near.pads[i][size][k]):
                    continue
                if near.cost[i][0][k] == math.inf or _meets(near.rects[i][0][k], self.wanted):
                    cost += _CROWDED
                if cost < best:
                    best, at = cost, k
            if at >= 0:
                self._stand(i, at, size, near.rects[i][size][at])
                self.wanted.append(near.rects[i][0][at])
                return True
        return False

    def _stand_far(self, some: list[int], sizes_of: Callable[[Piece], range]) -> list[int]:
        """Place texts away from their marks; which of them find no place."""
        shown = {i: sizes_of(self.pieces[i]) for i in some}
        tried = [i for i in some if shown[i]]
        if not tried:
            return some
        pieces = [self.pieces[i] for i in tried]
        most = max(len(sizes) for sizes in shown.values())
        sizes = np.array(
            [
                [p.sizes[min(shown[i].start + n, shown[i][-1])] for n in range(most)]
                for i, p in zip(tried, pieces, strict=True)
            ]
        )
        far = _Places(pieces, sizes, _FARTHER, self.standing, self.memory, self.sums)
        for n, i in enumerate(tried):
            for k, size in enumerate(shown[i]):
                costs, boxes, pads = far.cost[n][k], far.rects[n][k], far.pads[n][k]
                order = (at for at in far.order[n][k] if costs[at] < math.inf)
                at = next((at for at in order if not _meets(boxes[at], self.taken, pads[at])), None)
                if at is not None:
                    self._stand(i, at + _COUNT, size, boxes[at])
                    break
        return [i for i in some if i not in self.spots]

    def _stand_anywhere(self, some: list[int], sizes_of: Callable[[Piece], Sequence[int]]) -> list[int]:
        """Place texts where the nearest part of the canvas is free; which of them find none."""
        kept = [i for i in some if self.memory.places.get(self.pieces[i].key, (0, 0))[0] >= _CELLS]
        self._stand_in_cells_of_before(kept)
        return [
            i for i in some if i not in self.spots and not self._stand_in_cell(i, sizes_of(self.pieces[i]))
        ]

    def _stand_in_cells_of_before(self, some: list[int]) -> None:
        """Leave texts that stand in a cell there while it serves: to look for another takes long."""
        had = {i: self.memory.places[self.pieces[i].key] for i in some}
        had = {i: was for i, was in had.items() if was[1] < len(self.pieces[i].sizes)}
        if not had:
            return
        pieces = [self.pieces[i] for i in had]
        sizes = np.array([piece.sizes[size] for piece, (_, size) in zip(pieces, had.values(), strict=True)])
        rects = _cell_rects(np.array([place for place, _ in had.values()]) - _CELLS, sizes, self.standing)
        free = _free(rects, rects, self.standing) & _reached(pieces, rects, self.standing.tyres)
        boxes: list[Box] = rects.tolist()
        for n, (i, (place, size)) in enumerate(had.items()):
            if free[n] and not _meets(boxes[n], self.taken):
                self._stand(i, place, size, boxes[n])

    def _stand_in_cell(self, i: int, sizes: Sequence[int]) -> bool:
        """Place a text in a free part of the canvas, in the first size that fits; False where none does."""
        piece, standing = self.pieces[i], self.standing
        taken = np.array(self.taken).reshape(-1, 4)
        for size in sizes:
            cells = _cells_near(piece, piece.sizes[size], standing)
            rects = _cell_rects(cells, np.array(piece.sizes[size]), standing)
            cost = _away(piece.at, rects) + _length_under(rects, self.sums)
            cost[_meets_boxes(rects + _CLEAR_PX * _OUTWARD, taken)] = math.inf
            order = cost.argsort(kind="stable")[: np.isfinite(cost).sum()]
            # Most texts find one of the best cells, and all cells take long.
            for some in (order[:_TRIED_CELLS], order[_TRIED_CELLS:]):
                free = some[_free(rects[some], rects[some] + _CLEAR_PX * _OUTWARD, standing)]
                if not piece.held:
                    free = free[_reached([piece] * len(free), rects[free], standing.tyres)]
                if len(free):
                    at = int(free[0])
                    self._stand(i, _CELLS + int(cells[at]), size, tuple(rects[at].tolist()))
                    return True
        return False

    def _stand_on_something(self, i: int) -> None:
        """Place a text that is needed where it covers least."""
        piece = self.pieces[i]
        rects = np.array(self.near.rects[i][piece.name])
        others = np.concatenate([np.array(self.taken).reshape(-1, 4), self.standing.boxes])
        at = int((_shared(rects, others) + 1e-6 * np.array(piece.costs)).argmin())
        self._stand(i, at, piece.name, tuple(rects[at].tolist()))

    def _add_lines(self, i: int) -> None:
        """Add the lines below a name where they meet nothing."""
        spot, near = self.spots[i], self.near
        piece = spot.piece
        if spot.far or spot.size != piece.name:
            return
        others = [other.box for n, other in self.spots.items() if n != i]
        for size in range(piece.name):
            costs = near.cost[i][size]
            # Where the name stands now, its lines had better stand too.
            order = sorted(near.order[i][size], key=lambda k: costs[k] - _KEPT * (k == spot.place))
            for k in order:
                if costs[k] < math.inf and not _meets(near.rects[i][size][k], others, near.pads[i][size][k]):
                    self.spots[i] = Spot(piece, k, size, near.rects[i][size][k])
                    return


def _whole(piece: Piece) -> range:
    """Sizes in which the name of a text is whole, as they are tried."""
    return range(0 if piece.first else piece.name, piece.name + 1)


def _cut(piece: Piece) -> range:
    """Sizes in which it is cut short."""
    return range(piece.name + 1, len(piece.sizes))


def _meets(box: Box, others: Sequence[Box], pad: float = 0.0) -> bool:
    """Whether a rectangle meets any of others, or comes nearer than a distance."""
    left, top, right, bottom = box[0] - pad, box[1] - pad, box[2] + pad, box[3] + pad
    for a, b, c, d in others:  # noqa: SIM110 - any() takes twice as long, and this runs thousands of times
        if a < right and c > left and b < bottom and d > top:
            return True
    return False


def _cells_near(piece: Piece, size: tuple[float, float], standing: Standing) -> _Cells:
    """Cells (K,) near its mark at which a text may begin with a size; all cells for one that is held."""
    reach, at = math.inf if piece.held else _CELL_REACH_PX, np.array(piece.at)
    across, down = int(standing.width // _CELL[0]) + 1, int(standing.height // _CELL[1]) + 1
    most = np.array([across, down])
    begin = np.clip((at - size - reach) / _CELL, 0, most).astype(np.intp)
    end = np.clip((at + reach) / _CELL, 0, most).astype(np.intp)
    columns, rows = np.arange(begin[0], end[0]), np.arange(begin[1], end[1])
    return np.asarray((rows[:, None] * across + columns).ravel())


def _reached(pieces: Sequence[Piece], rects: Floats, tyres: Floats) -> _Mask:
    """Whether a line can lead from each rectangle (K, 4) to the mark of its text past all tyres, (K,)."""
    at = np.array([piece.at for piece in pieces]).reshape(-1, 2)
    reach = np.array([max(piece.reach) for piece in pieces])
    way = np.clip(at, rects[:, :2], rects[:, 2:]) - at
    away = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)
    start = at + np.minimum(reach / away, 1.0)[:, None] * way
    return ~_crosses_tyres(start, at + way, tyres)


def _crosses_tyres(start: Floats, end: Floats, tyres: Floats) -> _Mask:
    """Whether straight lines between points (K, 2) come to any tyre (N, 6), (K,)."""
    x, y, ux, uy, long, wide = tyres.T
    middle, half = 0.5 * (start + end), 0.5 * (end - start)
    dx, dy = middle[:, :1] - x, middle[:, 1:] - y
    # In the frame of each tyre, along it and across.
    along, across = dx * ux + dy * uy, dy * ux - dx * uy
    half_along, half_across = half[:, :1] * ux + half[:, 1:] * uy, half[:, 1:] * ux - half[:, :1] * uy
    long, wide = long + _LEADER_PX, wide + _LEADER_PX
    hit = np.abs(along) < long + np.abs(half_along)
    hit &= np.abs(across) < wide + np.abs(half_across)
    hit &= np.abs(along * half_across - across * half_along) < (
        long * np.abs(half_across) + wide * np.abs(half_along)
    )
    return np.asarray(hit.any(axis=1))


def _cell_rects(number: _Cells, size: Floats, standing: Standing) -> Floats:
    """Rectangles (K, 4) of sizes (2,) or (K, 2) that begin at cells of the canvas (K,)."""
    across = int(standing.width // _CELL[0]) + 1
    begin = np.stack([number % across, number // across], axis=1) * _CELL + _EDGE_PX
    return np.concatenate([begin, begin + size], axis=1)


def _away(at: tuple[float, float], rects: Floats) -> Floats:
    """How far a point is from rectangles (K, 4), (K,) [px]."""
    gap = np.maximum(np.maximum(rects[:, :2] - at, at - rects[:, 2:]), 0.0)
    return np.hypot(gap[:, 0], gap[:, 1])


def _rects(pieces: Sequence[Piece], sizes: Floats, gaps: Floats, standing: Standing) -> Floats:
    """Rectangles of texts about their marks: sizes (P, ..., 2) to (P, ..., 8, 4).

    Those of texts that are held are moved into the canvas.
    """
    more = (1,) * (sizes.ndim - 2)
    at = np.array([piece.at for piece in pieces]).reshape(-1, *more, 1, 2)
    reach = np.array([piece.reach for piece in pieces]).reshape(-1, *more, _COUNT) + gaps
    half = 0.5 * sizes[..., None, :]
    middle = at + _WAY * (reach[..., None] + half)
    middle[..., 1] = np.where(_SLANTED, at[..., 1] + _WAY[:, 1] * (half[..., 1] + _SLANT_PX), middle[..., 1])
    held = [i for i, piece in enumerate(pieces) if piece.held]
    if held:
        end = np.array([standing.width, standing.height]) - _EDGE_PX - half[held]
        middle[held] = np.maximum(np.minimum(middle[held], end), _EDGE_PX + half[held])
    return np.concatenate([middle - half, middle + half], axis=-1)


def _free(rects: Floats, grown: Floats, standing: Standing) -> _Mask:
    """Whether rectangles (..., 4) are within the canvas and, with their distance, on nothing (...)."""
    flat = grown.reshape(-1, 4)
    free = ~(_meets_boxes(flat, standing.boxes) | _meets_tyres(flat, standing.tyres))
    free &= rects.reshape(-1, 4)[:, :2].min(axis=1) >= _EDGE_PX
    room = np.array([standing.width - _EDGE_PX, standing.height - _EDGE_PX])
    free &= (room - rects.reshape(-1, 4)[:, 2:]).min(axis=1) >= 0.0
    return np.asarray(free.reshape(rects.shape[:-1]))


def _leaders_free(pieces: Sequence[Piece], gaps: Floats, standing: Standing) -> _Mask:
    """Whether the line from each place to the mark is on nothing, (P, G, 8)."""
    at = np.array([piece.at for piece in pieces])[:, None, None]
    reach = np.array([piece.reach for piece in pieces])[:, None]
    near, far = at + _WAY * reach[..., None], at + _WAY * (reach + gaps[:, None])[..., None]
    # Beside the mark the lines run level but for the slant; above and below it upright.
    level = _WAY[:, 0] != 0.0
    near[..., 1], far[..., 1] = (
        np.where(level, at[..., 1], near[..., 1]),
        np.where(level, at[..., 1], far[..., 1]),
    )
    rects = np.concatenate([np.minimum(near, far) - _LEADER_PX, np.maximum(near, far) + _LEADER_PX], axis=-1)
    flat = rects.reshape(-1, 4)
    hit = _meets_boxes(flat, standing.boxes) | _meets_tyres(flat, standing.tyres)
    return np.asarray(~hit.reshape(rects.shape[:-1]))


def _meets_boxes(rects: Floats, boxes: Floats) -> _Mask:
    """Whether rectangles (K, 4) meet any of others (M, 4); one of nan meets nothing."""
    hit = rects[:, 0, None] < boxes[:, 2]
    hit &= rects[:, 2, None] > boxes[:, 0]
    hit &= rects[:, 1, None] < boxes[:, 3]
    hit &= rects[:, 3, None] > boxes[:, 1]
    return np.asarray(hit.any(axis=1))


def _shared(rects: Floats, boxes: Floats) -> Floats:
    """Area that rectangles (K, 4) share with others (M, 4), (K,) [px²]."""
    low = np.maximum(rects[:, None, :2], boxes[:, :2])
    high = np.minimum(rects[:, None, 2:], boxes[:, 2:])
    return np.asarray(np.clip(high - low, 0.0, None).prod(axis=-1).sum(axis=1))


def _meets_tyres(rects: Floats, tyres: Floats) -> _Mask:
    """Whether rectangles (K, 4) meet any tyre (N, 6): they do unless one of four axes parts them."""
    x, y, ux, uy, long, wide = tyres.T
    ax, ay = np.abs(ux), np.abs(uy)
    half_x, half_y = 0.5 * (rects[:, 2] - rects[:, 0]), 0.5 * (rects[:, 3] - rects[:, 1])
    dx = (0.5 * (rects[:, 0] + rects[:, 2]))[:, None] - x
    dy = (0.5 * (rects[:, 1] + rects[:, 3]))[:, None] - y
    hit = np.abs(dx) < half_x[:, None] + (ax * long + ay * wide)
    hit &= np.abs(dy) < half_y[:, None] + (ay * long + ax * wide)
    # Few are so near that the slanted sides decide.
    k, n = np.nonzero(hit)
    dx, dy, hx, hy, ux, uy, ax, ay = dx[k, n], dy[k, n], half_x[k], half_y[k], ux[n], uy[n], ax[n], ay[n]
    near = np.abs(dx * ux + dy * uy) < hx * ax + hy * ay + long[n]
    near &= np.abs(dy * ux - dx * uy) < hx * ay + hy * ax + wide[n]
    met = np.zeros(len(rects), dtype=bool)
    met[k[near]] = True
    return met


def _line_sums(standing: Standing) -> Floats:
    """Length of line above and to the left of each corner of a grid of cells (rows + 1, columns + 1) [px]."""
    columns, rows = int(standing.width // _CELL_PX) + 1, int(standing.height // _CELL_PX) + 1
    x, y, length = standing.lines().T
    inside = (x >= 0) & (x < standing.width) & (y >= 0) & (y < standing.height)
    cells = (y[inside] // _CELL_PX).astype(np.intp) * columns + (x[inside] // _CELL_PX).astype(np.intp)
    sums = np.zeros((rows + 1, columns + 1))
    filled = np.bincount(cells, weights=length[inside], minlength=rows * columns).reshape(rows, columns)
    np.cumsum(filled, axis=0, out=sums[1:, 1:])
    np.cumsum(sums[1:, 1:], axis=1, out=sums[1:, 1:])
    return sums


def _length_under(rects: Floats, sums: Floats) -> Floats:
    """Length of line under rectangles (..., 4), as exact as the cells are small (...) [px]."""
    end = np.array([sums.shape[1] - 1, sums.shape[0] - 1] * 2)
    # Whole numbers of cells, the half-covered ones by their middle.
    cells = np.clip(np.rint(rects * (1.0 / _CELL_PX)), 0, end).astype(np.intp)
    left, top, right, bottom = np.moveaxis(cells, -1, 0)
    return np.asarray(sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left])
