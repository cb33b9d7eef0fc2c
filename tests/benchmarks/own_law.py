"""What a law of one's own costs: a ride under it over the same ride under the built-in law that says the same.

    python tests/benchmarks/own_law.py

Processor time, the best of ten of each, in turn: the trail bike down the Fell loop, on one wheel and on two. Asked for
is at most three times.
"""

import time

from helpers.control.laws import TwoStateSkyhook
from helpers.control.own_law import OwnLaw
from helpers.models.half_car import HALF_CARS
from helpers.models.machines import MACHINES
from helpers.simulation.riding import REAL_CHAIN
from helpers.simulation.runs import ride
from helpers.simulation.stretches import fell_loop
from helpers.simulation.two_wheels import ride_two

GROUND = fell_loop().descent.ground


def mine(seen):
    return 0.3 if seen.body_velocity * seen.suspension_velocity > 0.0 else 0.0


def seconds(call, law):
    began = time.process_time()
    call(law)
    return time.process_time() - began


def one_wheel(law):
    return ride(MACHINES["bike"], GROUND, 10.0, law, REAL_CHAIN)


def two_wheels(law):
    return ride_two(HALF_CARS["bike"], GROUND, 10.0, laws=law, timing=REAL_CHAIN)


for name, rode in (("one wheel", one_wheel), ("two wheels", two_wheels)):
    rounds = [[seconds(rode, law) for law in (OwnLaw(mine), TwoStateSkyhook())] for _ in range(11)]
    own, built_in = map(min, zip(*rounds, strict=True))
    print(f"{name}: own {1e3 * own:.1f} ms, built in {1e3 * built_in:.1f} ms, ratio {own / built_in:.2f}")
