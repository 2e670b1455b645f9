"""Makes the table of beads: line load of one leg of an embossed bead over its closure, and back.

Run as ``python -m tests.validation.make_beads`` (NumPy alone, minutes); it writes ``legs.npz`` in
``sealkit/tables/beads``. The leg is a plane-strain strip without
stretch or shear that turns as far as it likes (discrete elastic rod: turns of rigid pieces are the
unknowns, curvatures their differences [1]). Its crest is the plane of symmetry; outside the foot
lies a flat as wide as the leg, free to slide and to tip between two rigid, frictionless plates.

Material: elastic-plastic in plane strain with linear kinematic hardening, in layers over the
thickness. History: every section is bent from flat, past yield, until it springs back to the
curvature of the free bead; residual stress and hardening of that stay. The stretch of embossing
is left out. Then the plates close to a hundredth of the height, and open again.

Lengths are in spans of a leg L, loads in E' t**3 h / L**3, with E' = E / (1 - nu**2), t the
thickness, h the height. What is left are three groups: yielding h t E' / (L**2 S) with S = 2 /
sqrt(3) yield strength, hardening (slope past yield in plane strain over E'), and slope h / L.

References
----------
[1] M. Bergou, M. Wardetzky, S. Robinson, B. Audoly and E. Grinspun, Discrete Elastic Rods, ACM
    Transactions on Graphics 27 (2008), here in the plane (from memory).
"""

from __future__ import annotations

import itertools
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sealkit.arrays import Array

YIELDING = np.array([0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0])
HARDENING = np.array([0.0001, 0.02, 0.04])
SLOPE = np.array([0.01, 0.2, 0.5])
CLOSED = np.array(
    [0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.88, 0.93, 0.96, 0.98, 0.99]
)
TOPS = np.array([0.1, 0.3, 0.5, 0.7, 0.88, 0.96, 0.99])
LEFT = np.array([1.0, 0.9, 0.75, 0.5, 0.25, 0.1, 0.0])
_OPENINGS = np.array(
    [0.1, 0.2, 0.4, 0.7, 1, 1.5, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64, 80, 88, 94, 100]
)
"""Hundredths of the height by which the plates open."""
_STIFF = 1e7
"""Contact stiffness per length of strip, in units of the table; it costs less than 1e-4 h."""


@dataclass
class State:
    """A leg between the plates."""

    turn: Array  # height of the crest, then the turn of each piece
    plastic: Array  # plastic strain over yield strain, shape (joints, layers)
    load: float = 0.0  # line load of the plates
    work: float = 0.0  # strain energy and plastic work since the free bead


class Leg:
    """One leg with the flat outside its foot.

    Parameters
    ----------
    yielding, hardening, slope : the groups
    formed : whether the history of embossing is kept, else free of stress
    flat : width of the flat over the span of the leg
    pieces, layers : of the leg, over half its thickness
    """

    def __init__(
        self,
        yielding: float,
        hardening: float,
        slope: float,
        formed: bool = True,
        flat: float = 1.0,
        pieces: int = 64,
        layers: int = 12,
    ):
        fine = np.linspace(0.0, 1.0, 4001)
        rise = slope / 2.0 * (1.0 + np.cos(np.pi * fine))
        arc = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(fine), np.diff(rise)))])
        at = np.interp(np.linspace(0.0, arc[-1], pieces + 1), arc, fine)
        outside = 1.0 + np.arange(1, round(pieces * flat) + 1) / pieces
        x = np.concatenate([at, outside])
        y = np.where(x < 1.0, slope / 2.0 * (1.0 + np.cos(np.pi * np.minimum(x, 1.0))), 0.0)
        self.length = np.hypot(np.diff(x), np.diff(y))
        turn = np.arctan2(np.diff(y), np.diff(x))
        n = len(turn)
        self.slope = slope
        self.share = np.concatenate(
            [self.length[:1] / 2.0, (self.length[1:] + self.length[:-1]) / 2.0]
        )
        self.bend = (np.eye(n) - np.eye(n, k=-1)) / self.share[:, None]
        self.sum = np.tril(np.ones((n, n))) * self.length
        ends = np.concatenate([[0.0], self.length, [0.0]])
        self.contact = _STIFF * (ends[1:] + ends[:-1]) / 2.0
        self.strain = yielding / slope / 2.0  # strain of the face over yield strain, by curvature
        self.depth = (np.arange(layers) + 0.5) / layers
        self.rise = hardening / (1.0 - hardening)
        free = self.strain * (self.bend @ turn)
        self.reference = np.zeros(n) if formed else free
        plastic = self._formed(np.abs(free)) * np.sign(free)[:, None]
        self.free = State(
            np.concatenate([[slope], turn]), plastic if formed else np.zeros_like(plastic)
        )

    # ------------------------------------------------------------------ material
    def _moment(self, curved: Array, plastic: Array) -> tuple[Array, Array, Array, Array]:
        """Moment over that of first yield; plastic strain, stiffness and energy then."""
        trial = np.outer(curved, self.depth) - plastic
        over = trial - self.rise * plastic
        past = np.maximum(np.abs(over) - 1.0, 0.0)
        step = past / (1.0 + self.rise) * np.sign(over)
        slope = np.where(past > 0.0, self.rise / (1.0 + self.rise), 1.0)
        energy = 3.0 * (0.5 * trial**2 - 0.5 * past**2 / (1.0 + self.rise)).mean(axis=1)
        moment = 3.0 * ((trial - step) * self.depth).mean(axis=1)
        return moment, plastic + step, 3.0 * (slope * self.depth**2).mean(axis=1), energy

    def _formed(self, free: Array) -> Array:
        """Plastic strain of sections bent so far that they come back to this curvature."""
        zero = np.zeros((len(free), len(self.depth)))

        def back(most: Array) -> tuple[Array, Array]:
            moment, kept, _, _ = self._moment(most, zero)
            curved = most - moment
            for _ in range(40):
                moment, after, _, _ = self._moment(curved, kept)
                curved = curved - moment
            return curved, after

        low, high = np.zeros(len(free)), 3.0 * free + 3.0
        for _ in range(60):
            middle = (low + high) / 2.0
            over = back(middle)[0] > free
            high, low = np.where(over, middle, high), np.where(over, low, middle)
        return back(high)[1]

    # ------------------------------------------------------------------ equilibrium
    def _height(self, turn: Array) -> Array:
        return np.concatenate([turn[:1], turn[0] + self.sum @ np.sin(turn[1:])])

    def _curved(self, turn: Array) -> Array:
        return np.asarray(self.strain * (self.bend @ turn[1:]) - self.reference)

    def _energy(self, turn: Array, gap: float, plastic: Array) -> float:
        y = self._height(turn)
        pressed = np.maximum(y - gap, 0.0) + np.minimum(y, 0.0)
        strain = self._moment(self._curved(turn), plastic)[3]
        return float(
            self.share @ strain / self.strain**2 + 0.5 * (self.contact * pressed) @ pressed
        )

    def to(self, gap: float, state: State) -> State:
        """Equilibrium with the plates this far apart: least energy, Newton with a line search.

        Raises ArithmeticError if none is found.
        """
        turn, n = state.turn, len(state.turn)
        before = self._energy(turn, gap, state.plastic)
        for _ in range(500):
            moment, plastic, stiff, _ = self._moment(self._curved(turn), state.plastic)
            y = self._height(turn)
            pressed = np.maximum(y - gap, 0.0) + np.minimum(y, 0.0)
            force = self.contact * pressed
            lever = np.concatenate([np.ones((1, n)), np.ones((n - 1, n))])
            lever[:, 1:] = np.concatenate([np.zeros((1, n - 1)), self.sum * np.cos(turn[1:])])
            slope = lever.T @ force
            slope[1:] += self.bend.T @ (self.share * moment / self.strain)
            if np.abs(slope).max() < 1e-9:
                break
            matrix = lever.T @ ((self.contact * (pressed != 0.0))[:, None] * lever)
            matrix[1:, 1:] += self.bend.T @ ((self.share * stiff)[:, None] * self.bend)
            matrix[1:, 1:] -= np.diag(np.sin(turn[1:]) * (self.sum.T @ force[1:]))
            step = -_solved(matrix, slope)
            part, along = min(1.0, 0.3 * self.slope / np.abs(step).max()), float(slope @ step)
            after = self._energy(turn + part * step, gap, state.plastic)
            while after > before + 1e-4 * part * along and part > 1e-9:
                part /= 2.0
                after = self._energy(turn + part * step, gap, state.plastic)
            turn, before = turn + part * step, after
            if -along < 1e-14 * before:
                break
        else:
            raise ArithmeticError(f"no balance at gap {gap:g}")
        y = self._height(turn)
        curved = self._curved(turn)
        old = self._moment(self._curved(state.turn), state.plastic)[0]
        moment, plastic, _, _ = self._moment(curved, state.plastic)
        turned = (curved - self._curved(state.turn)) / self.strain
        work = float(self.share @ ((old + moment) / 2.0 / self.strain * turned))
        load = float(self.contact @ np.maximum(y - gap, 0.0))
        return State(turn, plastic, load / 12.0 / self.slope, state.work + work)

    def press(self, closed: Array) -> list[State]:
        """States as the plates close by these parts of the height, from the free bead."""
        out = [self.free]
        for part in closed:
            out.append(self.to(self.slope * (1.0 - part), out[-1]))
        return out[1:]

    def back(self, top: float, state: State, left: Array = LEFT) -> Array:
        """Parts of the height sprung back, from `top` closed, where these parts of the load are
        left."""
        opened, loads = [0.0], [state.load]
        for opening in _OPENINGS * 0.01:
            state = self.to(self.slope * (1.0 - top + opening), state)
            opened.append(opening)
            loads.append(state.load)
            if state.load <= 1e-6 * loads[0]:
                break
        free = np.array(loads) > 1e-6 * loads[0]
        x, y = np.array(opened), np.array(loads)
        last = int(np.sum(free))  # the first without load; the line before it leads to zero
        if 1 < last < len(y):
            rate = (y[last - 2] - y[last - 1]) / (x[last - 1] - x[last - 2])
            x[last] = min(x[last], x[last - 1] + y[last - 1] / rate)
            y[last] = 0.0
        x, y = x[: last + 1], y[: last + 1]
        return np.asarray(np.interp(left, y[::-1] / max(y[0], 1e-12), x[::-1]))


def _solved(matrix: Array, slope: Array) -> Array:
    """Newton's step of a matrix made positive where it is not."""
    eye, more = np.eye(len(slope)), 1e-10
    while True:
        try:
            np.linalg.cholesky(matrix + more * eye)
            return np.asarray(np.linalg.solve(matrix + more * eye, slope))
        except np.linalg.LinAlgError:
            more = max(10.0 * more, 1e-6)


def one(groups: tuple[float, float, float]) -> tuple[Array, Array]:
    """Loads at `CLOSED` and springback from `TOPS`, shape (tops, left)."""
    leg = Leg(*groups)
    states = leg.press(CLOSED)
    tops = [leg.back(t, states[int(np.argmin(np.abs(CLOSED - t)))]) for t in TOPS]
    return np.array([s.load for s in states]), np.array(tops)


def main() -> None:
    """Make the table of pressed beads anew."""
    shape = (len(YIELDING), len(HARDENING), len(SLOPE))
    with ProcessPoolExecutor() as pool:
        made = list(pool.map(one, itertools.product(YIELDING, HARDENING, SLOPE)))
    load = np.array([loads for loads, _ in made]).reshape(*shape, -1)
    springback = np.array([back for _, back in made]).reshape(*shape, len(TOPS), -1)
    np.savez_compressed(
        Path(__file__).parents[2] / "sealkit" / "tables" / "beads" / "legs.npz",
        yielding=YIELDING,
        hardening=HARDENING,
        slope=SLOPE,
        closed=CLOSED,
        tops=TOPS,
        left=LEFT,
        load=load.astype(np.float32),
        springback=springback.astype(np.float32),
        source=f"NumPy {np.__version__}, tests/validation/make_beads.py",
        status="computed",
    )


if __name__ == "__main__":
    main()
