"""The vocabulary of a page's cells: `from helpers.course import *`. Each name answers `name?`: what can I change?"""

from functools import wraps

import numpy as np

from helpers.control.active import OptimalFeedback, by_formula
from helpers.control.front_sensed import FrontTells
from helpers.control.laws import AccelerationDriven, ActiveSkyhook, ClippedOptimal, Groundhook, TwoStateSkyhook
from helpers.control.laws import LinearSkyhook as Skyhook
from helpers.control.laws import Passive as Fixed
from helpers.control.mode_switch import ModeSwitch
from helpers.control.own_law import OwnLaw
from helpers.control.timing import Timing
from helpers.models import economics, own_machine
from helpers.models.half_car import two_wheels
from helpers.models.machines import MACHINES
from helpers.simulation import deadline
from helpers.simulation.calmest import calmest_fixed
from helpers.simulation.history import best_history
from helpers.simulation.loggers import recording
from helpers.simulation.logs import load_log
from helpers.simulation.response_times import response_times
from helpers.simulation.riding import REAL_CHAIN, ride
from helpers.simulation.robust import robust
from helpers.simulation.stretches import fell_loop, own_ground, rough_road, step_ground
from helpers.teaching import kept
from helpers.teaching.course import PageError
from helpers.teaching.own_live import live
from helpers.teaching.page import derivation, open_workbook
from helpers.teaching.page import folded as fold
from helpers.teaching.sweeping import sweep
from helpers.teaching.tables import budget, compare
from helpers.teaching.traces import curves, traces

__all__ = [
    "AccelerationDriven", "ActiveSkyhook", "ClippedOptimal", "Fixed", "FrontTells", "Groundhook", "ModeSwitch",
    "OptimalFeedback", "Skyhook", "Timing", "TwoStateSkyhook", "best_history", "bike", "budget", "by_formula",
    "calmest_fixed", "carrier", "compare", "curves", "deadline", "derivation", "economics", "fell_loop", "fold",
    "ideal", "live", "load_log", "machine", "motorcycle", "my_law", "np", "open_workbook", "own_ground", "own_law",
    "real_chain", "recording", "response_times", "ride", "robust", "rough_road", "step_ground", "sweep", "traces",
    "two_wheels",
]  # fmt: skip

bike, motorcycle, carrier = MACHINES["bike"], MACHINES["motorcycle"], MACHINES["carrier"]
real_chain, ideal = REAL_CHAIN, Timing.ideal()


@wraps(own_machine.machine)
def machine(name, **measured):
    made = own_machine.machine(name, **measured)
    try:
        kept.keep(machine={"name": name} | measured)
    except PageError as problem:
        print(problem)
    return made


machine.__doc__ += (
    "\n    The last one made is kept: live figures on all pages offer it, cells have it as `book.machine`.\n    "
)


def own_law(function, actuator=False, setting=0.0):
    """A control law that your function decides, to be ridden like any other.

    function(seen), or function(seen, memory), returns the valve setting, 0 open to 1 firm; with actuator=True a force
    in N, positive where it lifts the body, while the valve rests at `setting`. `seen` has body_velocity,
    suspension_velocity (positive in rebound), wheel_velocity, body_acceleration, wheel_acceleration, travel and time,
    as sampled, filtered and late as the chain makes them. `memory` keeps numbers under names of yours, 0 at first.
    """
    return OwnLaw(function, actuator, setting)


class MyLaw(OwnLaw):
    """`@my_law` above a function of `seen` makes it the law that cells ride as `my_law`: see `own_law`.

    Before you have written one, it is firm while body and suspension move the same way, else open.
    """

    def __call__(self, function):
        law = OwnLaw(function)
        object.__setattr__(self, "function", law.function)
        return law


def _firm_with_the_body(seen):
    return 0.3 if seen.body_velocity * seen.suspension_velocity > 0 else 0.0


my_law = MyLaw(_firm_with_the_body)
