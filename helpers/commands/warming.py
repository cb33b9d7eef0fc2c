"""Compile ahead what the workbooks run, so that the first slider moves at once (`start` calls it)."""

import numpy as np

from helpers.control.laws import ActiveSkyhook, Passive
from helpers.models.ground import Ground
from helpers.models.half_car import HALF_CARS
from helpers.models.machines import MACHINES
from helpers.models.terrain import Profile
from helpers.simulation.batch import Ride, ride_abreast
from helpers.simulation.runs import ride
from helpers.simulation.two_wheels import ride_two
from helpers.teaching.picture import encode_png


def warm() -> None:
    """Run each compiled function once; numba keeps the machine code on disk."""
    flat, bike = Profile.of(np.zeros(64)), MACHINES["bike"]
    ride(bike, flat, 10.0)
    ride(bike, Ground(5.0), 10.0)  # over ground with a path of its own
    for law in (Passive(), ActiveSkyhook()):  # steppers of their own for dampers and for actuators
        ride_abreast([Ride(bike, flat, 10.0, law)], metrics=("peak_acceleration",))
    ride_two(HALF_CARS["bike"], flat, 10.0)
    encode_png(np.zeros((2, 2, 4), np.uint8))


if __name__ == "__main__":
    warm()
