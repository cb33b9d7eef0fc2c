"""A control law of one's own: any Python function, which the stepper calls once a sample, through a pointer."""

import ctypes
import inspect
import math
import threading
import traceback
from dataclasses import dataclass, field

from llvmlite import ir
from numba import types
from numba.extending import intrinsic

from helpers.control.law import MEASUREMENTS, OWN, Law

_CALL = ctypes.CFUNCTYPE(ctypes.c_double, *[ctypes.c_double] * (MEASUREMENTS + 1))
LARGEST_FORCE = 1e5  # N; an actuator that could lift a lorry


class OwnLawError(ValueError):
    """A learner's law could not be used; the message is one sentence, and notebooks show no traceback."""

    def _render_traceback_(self):
        return [str(self)]


class Interrupted(OwnLawError):
    """A learner stopped a law: what rides many laws or cases must stop as well."""


class _NotSeen(AttributeError):
    """A law asked for a measurement that there is not."""


class Seen:
    """What a law is told at one sample: delayed, filtered and sampled as the chain has it, in SI units.

    body_velocity: m/s, up; an accelerometer on the body, summed. suspension_velocity: m/s, positive in rebound; a
    travel sensor, differentiated. body_acceleration, wheel_acceleration: m/s2, up; accelerometers. travel: m from
    static, positive in rebound; a travel sensor. tyre_deflection: m from static, negative where the tyre is pressed;
    nobody has such a sensor, it is there for trying. time: s, the controller's clock. wheel_velocity: m/s, up, the
    difference of the first two.
    """

    __slots__ = ("body_velocity", "suspension_velocity", "body_acceleration", "wheel_acceleration", "travel",
                 "tyre_deflection", "time")  # fmt: skip

    @property
    def wheel_velocity(self):
        return self.body_velocity - self.suspension_velocity

    def __getattr__(self, name):
        raise _NotSeen(f"asked for seen.{name}; allowed are {', '.join((*self.__slots__, 'wheel_velocity'))}.")


class Memory:
    """What a law keeps from sample to sample: numbers under names of its choice, each 0.0 until it is set."""

    def __getattr__(self, name):
        if name.startswith("__"):
            raise AttributeError(name)
        return 0.0


@dataclass(frozen=True, eq=False, repr=False)
class OwnLaw(Law):
    """A law that a Python function decides: `function(seen)` or `function(seen, memory)`.

    It gets a `Seen` and, if it takes two arguments, a `Memory`, and returns the valve setting, 0 open to 1 lockout;
    what lies beyond counts as that end, for a valve stays at its stop. With `actuator` it returns a force in N of at
    most 100 kN, positive where it lifts the body, while the valve rests at `setting`. Raises `OwnLawError`, one
    sentence with the time in the ride, where the function fails, returns something else, or is interrupted.
    A ride's session is its thread's: the same law may ride in several; `replace(law)` rides beside it in one.
    """

    function: object
    actuator: bool = False
    setting: float = 0.0
    _riding: dict = field(default_factory=dict, init=False, repr=False)  # the session under way, by thread

    code = OWN

    def __post_init__(self):
        if not callable(self.function):
            raise OwnLawError(f"own_law: {self.function!r} is not a function; allowed is one that takes `seen`.")
        count = self._count
        if count not in (1, 2):
            raise OwnLawError(
                f"own_law: {self.name} takes {count} arguments; allowed are one, `seen`, or two, `seen, memory`."
            )

    @property
    def name(self):
        return getattr(self.function, "__name__", "law").strip("<>").replace("_", " ")

    def __repr__(self):
        return self.name

    def __eq__(self, other):
        """Whether the same function decides: what was found for one law must not be taken for another's."""
        return isinstance(other, OwnLaw) and self._told == other._told

    def __hash__(self):
        return hash(self._told)

    @property
    def _told(self):
        return self.function, self.actuator, self.setting

    @property
    def remembers(self):
        """Whether the function takes a `Memory` too."""
        return self._count == 2

    @property
    def _count(self):
        told = inspect.signature(self.function).parameters.values()
        return sum(parameter.default is inspect.Parameter.empty for parameter in told)

    @property
    def initial(self):
        return self.setting

    def numbers(self):
        session = self._riding[threading.get_ident()] = _Session(self)
        return (session.address, float(self.actuator), self.setting)

    def check(self):
        """Raise what went wrong in the ride that was just stepped."""
        session = self._riding.pop(threading.get_ident())
        if session.failure:
            raise (Interrupted if session.interrupted else OwnLawError)(session.failure)


class _Session:
    """One ride under a learner's law: its memory, and the function as the stepper can call it."""

    begun = 0  # how many, ever

    def __init__(self, law):
        _Session.begun += 1
        self.failure, self.interrupted = "", False
        wanted = f"a force of at most {LARGEST_FORCE:g} N either way" if law.actuator else "a number, 0 open to 1 firm"
        actuator = law.actuator
        decide, seen = law.function, Seen()
        arguments = (seen, Memory()) if law.remembers else (seen,)

        def call(body_velocity, suspension_velocity, body_acceleration, wheel_acceleration, travel, tyre, ahead, time):
            if self.failure:
                return math.nan
            try:
                seen.body_velocity, seen.suspension_velocity = body_velocity, suspension_velocity
                seen.body_acceleration, seen.wheel_acceleration = body_acceleration, wheel_acceleration
                seen.travel, seen.tyre_deflection, seen.time = travel, tyre, time
                given = decide(*arguments)
                value = _number(given)
                if -LARGEST_FORCE <= value <= LARGEST_FORCE:
                    return value if actuator else min(max(value, 0.0), 1.0)
                told = f"returned {_shown(given)}; allowed is {wanted}."
            except KeyboardInterrupt:
                self.interrupted, told = True, "was interrupted; does a loop in it never end?"
            except _NotSeen as error:
                told = str(error)
            except BaseException as error:  # whatever a learner's function does must not reach the stepper
                self.failure = f"{law.name}: at {time:.3f} s of the ride it stopped."  # some cannot tell themselves
                told = f"stopped{_line(error)} with {type(error).__name__}: {error}".rstrip(".: ") + "."
            self.failure = f"{law.name}: at {time:.3f} s of the ride it {' '.join(told.split())}"
            return math.nan

        self.pointer = _CALL(call)  # kept here: the stepper has only its address
        self.address = float(ctypes.cast(self.pointer, ctypes.c_void_p).value)


def rides_begun():
    """How many rides under a learner's law there have been: tells whether something rode one."""
    return _Session.begun


def _number(given):
    """What a law returned as a float; NaN where it is not a number."""
    try:
        return math.nan if isinstance(given, str) else float(given)
    except (TypeError, ValueError, OverflowError):
        return math.nan


def _shown(given):
    if given is None:
        return "None (is a `return` missing?)"
    told = repr(given) if len(repr(given)) <= 40 else f"something of type {type(given).__name__}"
    return f"{told}, a {type(given).__name__} of {len(given)}" if isinstance(given, list | tuple) else told


def _line(error):
    """The line of the learner's function in which an error arose, where it is known."""
    frames = traceback.extract_tb(error.__traceback__)
    line = frames[-1].line if len(frames) > 1 else ""
    return f" in `{line[:60]}`" if line else ""


@intrinsic
def call_own(typing_context, address, body_velocity, suspension_velocity, body_acceleration, wheel_acceleration, travel,
             tyre_deflection, ahead, time):  # fmt: skip
    """Call the function at `address`, held by a float, with seven measurements and the time; returns its float."""
    signature = types.float64(types.float64, *[types.float64] * (MEASUREMENTS + 1))

    def code(context, builder, _, arguments):
        place, *numbers = arguments
        double = numbers[0].type
        kind = ir.FunctionType(double, [double] * len(numbers))
        pointer = builder.inttoptr(builder.fptosi(place, ir.IntType(64)), kind.as_pointer())
        return builder.call(pointer, numbers)

    return signature, code
