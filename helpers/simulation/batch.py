"""A batch of rides stepped abreast: what `runs.ride` takes, what `metrics` makes of it, and the states if asked."""

import math
from dataclasses import dataclass, field

import numpy as np

from helpers.control.law import MEMORY, OWN, PARAMETERS, PASSIVE, STATE_FEEDBACK, TWO_STATE, Law
from helpers.control.laws import Passive
from helpers.control.timing import Timing
from helpers.models.quantities import in_range
from helpers.models.terrain import Profile
from helpers.models.vehicles import Vehicle
from helpers.simulation import lanes
from helpers.simulation.elements import packed_friction
from helpers.simulation.kernel import ENERGIES, LOGGED
from helpers.simulation.lane_metrics import NAMES, ROWS, SHOCKED, measured, prepare
from helpers.simulation.lane_roads import ROLLED, WIDE
from helpers.simulation.lane_step import LANES, lined_up, place
from helpers.simulation.runs import LOG_STEP, LONGEST_STEP, Run, Schedule, axle_path, beyond, scheduled

AT_REST = (0.0, 0.0, 0.0, 0.0)
VECTOR = 8  # lanes that a processor takes at a time; a few idle lanes cost less than a remainder


@dataclass(frozen=True, eq=False)
class Ride:
    """One ride of a sweep: the arguments of `runs.ride`, and its `Schedule`. Raises what `ride` raises."""

    vehicle: Vehicle
    profile: Profile
    speed: float
    law: Law = field(default_factory=Passive)
    timing: Timing = field(default_factory=Timing.ideal)
    push_at: object = None
    start: tuple = AT_REST
    seed: int = 1
    longest_step: float = LONGEST_STEP
    log_step: float = LOG_STEP
    schedule: Schedule = field(init=False)

    def __post_init__(self):
        object.__setattr__(self, "speed", in_range("ride", "speed", self.speed, "m/s", 0.05, 100.0))
        duration = self.profile.length / self.speed
        schedule = scheduled(self.vehicle, duration, self.timing, self.longest_step, self.log_step)
        object.__setattr__(self, "schedule", schedule)
        if self.law.code == OWN:  # it keeps what belongs to one ride: abreast each needs its own
            object.__setattr__(self, "law", self.law.anew())

    @property
    def alike(self):
        """Key to sort by: rides of one batch share its first part; kinship in the rest makes it quicker."""
        schedule = self.schedule
        batch = schedule.log_every, self.yields
        return batch, self.law.code, self.rounded, schedule.fit.smoothing > 0.0, schedule.steps

    @property
    def yields(self):
        """Whether the damper yields: its steps are others."""
        return not math.isinf(self.vehicle.damper_stiffness)

    @property
    def rounded(self):
        """Whether a damper curve has a rounded knee."""
        return self.vehicle.open_curve.rounded or self.vehicle.lockout_curve.rounded


@dataclass(frozen=True, eq=False)
class Outcome:
    """What became of a batch: `values`, shape (rides, metrics), NaN for a ride that failed.

    failures: the sentence for each that did, by its place in the batch. runs: a `Run` each (None where it failed) if
    asked for, otherwise empty.
    """

    values: np.ndarray
    failures: dict
    runs: list


class _Rows:
    """Arrays that several lanes may share, each kept once."""

    def __init__(self):
        self.keys, self.rows = {}, []

    def place_of(self, key, make):
        """The row's number; `make()` gives the row if its key is new."""
        if key not in self.keys:
            self.keys[key] = len(self.rows)
            self.rows.append(make())
        return self.keys[key]

    def padded(self, width):
        """All rows as one array, zeros behind the shorter ones: shape (rows, width)."""
        table = np.zeros((len(self.rows), width))
        for place_there, row in zip(table, self.rows, strict=True):
            place_there[: len(row)] = row
        return table


def _halves(ride):
    return 0.5 * ride.schedule.fit.step * np.arange(2 * ride.schedule.steps + 1)


def _ahead(ride, path):
    """`Law.ahead` of a ride: the road at every step, as `runs.ride` shows it."""
    road = path.at(path.distance[0] + ride.speed * _halves(ride)) - path.height[0]
    return ride.law.ahead(road[::2], ride.schedule.fit.step)


def ride_abreast(rides, keep_states=False, metrics=NAMES):
    """Step up to `LANES` rides that share the first part of `Ride.alike`; returns their `Outcome`.

    metrics: names among `lane_metrics.NAMES`, the columns of the outcome's values. The two weighted accelerations take
    a filter each, a tenth of all the work together, which runs only where a metric of it is asked for.
    """
    if len({ride.alike[0] for ride in rides}) > 1:
        raise ValueError("ride_abreast: rides log unequally often, or not every damper yields; allowed are alike ones.")
    count = len(rides)
    width = VECTOR * math.ceil(count / VECTOR)
    rows, clock, laws = lined_up(ROWS), lined_up(lanes.CLOCKS, dtype=np.int64), lined_up(PARAMETERS)
    curves = np.zeros((LANES, lanes.CURVES))
    random = np.zeros(LANES, dtype=np.uint64)
    paths, legs, pushes, aheads = _Rows(), _Rows(), _Rows(), _Rows()
    ring = 2
    for lane in range(width):
        ride = rides[min(lane, count - 1)]  # idle lanes repeat the last ride
        vehicle, law, schedule = ride.vehicle, ride.law, ride.schedule
        fit = schedule.fit
        place(rows, lane, vehicle, fit, law.initial, ride.start)
        prepare(rows, lane, fit.step * schedule.log_every, schedule.steps // schedule.log_every + 1)
        laws[:, lane], random[lane] = law.packed(), 2 * ride.seed + 1
        curves[lane] = *vehicle.open_curve.packed(), *vehicle.lockout_curve.packed()
        path = axle_path(ride.profile, vehicle.wheel_radius)
        ground = paths.place_of(id(path), lambda path=path: path)
        first = path.distance[0]
        leg = (first, ride.speed, 0.5 * fit.step, path.height[0])
        leg = legs.place_of((ground, ride.speed, fit.step), lambda leg=leg, ground=ground: (leg, ground))
        pushed = sees = -1
        if ride.push_at is not None:
            key = ride.push_at, fit.step, schedule.steps
            pushed = pushes.place_of(key, lambda ride=ride: ride.push_at(_halves(ride)))
        if type(law).ahead is not Law.ahead:
            sees = aheads.place_of((id(law), leg), lambda ride=ride, path=path: _ahead(ride, path))
        # A fixed setting that holds from the start has nothing to decide.
        idle = law.code == PASSIVE and law.initial == law.numbers()[0]
        clock[:8, lane] = law.code, fit.every, fit.delay, fit.jitter, schedule.steps, leg, pushed, sees
        clock[lanes.NEXT // LANES, lane] = lanes.NEVER if idle else 0
        clock[lanes.WAKE // LANES, lane] = schedule.steps if idle else 0
        ring = max(ring, (fit.delay + fit.jitter) // fit.every + 2)
    clock[lanes.NEWEST // LANES] = -1
    most, log_every = int(clock[lanes.STEPS // LANES].max()), rides[0].schedule.log_every
    ring = 1 << (ring - 1).bit_length()
    log = np.empty((count, most // log_every + 1, LOGGED + 1) if keep_states else (0, 0, LOGGED + 1))
    energy = np.zeros((ENERGIES, LANES))
    ends = np.cumsum([0] + [len(path.height) for path in paths.rows])
    grounds = np.array([(ends[ground], ends[ground + 1]) for _, ground in legs.rows])
    lanes.march(
        rows.ravel(), width, most, log_every, clock, random, laws, curves, np.zeros((LANES, MEMORY)),
        np.array([leg for leg, _ in legs.rows]), grounds, np.concatenate([path.distance for path in paths.rows]),
        np.concatenate([path.height for path in paths.rows]), np.zeros((len(legs.rows), WIDE)),
        lined_up(ROLLED), pushes.padded(2 * most + 1), aheads.padded(most + 1),
        np.zeros((LANES, 2, ring)), np.zeros((LANES, 2, ring), dtype=np.int64), log, energy,
        *_kinds(rides, keep_states), *_weighings(metrics),
    )  # fmt: skip
    values, gone = measured(metrics, rows, energy, clock[lanes.CHANGES // LANES])
    values = values.T[:count].copy()
    failed = [lane for lane in range(count) if gone[lane] < math.inf]
    failures = {lane: beyond(rides[lane].vehicle, gone[lane]) for lane in failed}
    failures |= {lane: told for lane, ride in enumerate(rides) if (told := getattr(ride.law, "failure", ""))}
    failed = list(failures)
    values[failed] = math.nan
    runs = []
    if keep_states:
        runs = [
            None if lane in failures else _run(ride, log[lane], energy[:, lane], clock[lanes.CHANGES // LANES, lane])
            for lane, ride in enumerate(rides)
        ]
    return Outcome(values, failures, runs)


def _kinds(rides, keep_states):
    """What the stepper must do: filter, decide for all at once (bools), then what it may leave out (True or None)."""
    samples = {ride.schedule.fit.every if ride.law.code == TWO_STATE else None for ride in rides}
    at_once = len(samples) == 1 and None not in samples
    filtered = any(ride.schedule.fit.smoothing > 0.0 for ride in rides)
    pushed = any(ride.push_at is not None for ride in rides)
    active = any(ride.law.code == STATE_FEEDBACK for ride in rides)
    rounded = any(ride.rounded for ride in rides)
    sticks = any(packed_friction(ride.vehicle) is not None for ride in rides)
    kinds = pushed, active, rounded, rides[0].yields, sticks, keep_states or sticks
    return filtered, at_once, *(True if there else None for there in kinds)


def _weighings(metrics):
    """Whether the filters Wk and Wh run, and whether dose, peak and running average are taken of Wk (True or None)."""
    shocks, wk = any(name in metrics for name in SHOCKED), "comfort" in metrics
    return (*(True if asked else None for asked in (wk or shocks, "hand_arm" in metrics, shocks)),)


def _run(ride, log, energy, commands):
    """The `Run` of one lane."""
    schedule = ride.schedule
    columns = log[: schedule.steps // schedule.log_every + 1].T.copy()
    return Run(
        ride.vehicle, ride.law, ride.timing, _halves(ride)[:: 2 * schedule.log_every], columns[LOGGED],
        *columns[:LOGGED], *(float(joules) for joules in energy), int(commands),
    )  # fmt: skip
