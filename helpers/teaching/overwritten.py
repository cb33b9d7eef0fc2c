"""A name of the vocabulary that a cell gave another meaning: said at once, and again where using it then fails."""

import dis
import sys

from helpers.teaching import first_cell

KINDS = (NameError, TypeError, AttributeError, ValueError)  # how using it fails


class Watch:
    """What one kernel's cells do to the names of `helpers.course` that they have imported."""

    def __init__(self, shell):
        self.space, self.known = shell.user_ns, {}
        self.told = set()
        shell.events.register("post_run_cell", self.after)
        shell.set_custom_exc(KINDS, self.failed)

    def lost(self):
        """The names that mean something else now."""
        return [name for name, value in self.known.items() if self.space.get(name, value) is not value]

    def after(self, _):
        """Take note of what a cell imported, and say what it has overwritten."""
        course = sys.modules.get("helpers.course")
        for name in getattr(course, "__all__", ()):
            if self.space.get(name) is getattr(course, name):
                self.known[name] = getattr(course, name)
        lost = self.lost()
        for name in lost:
            if name not in self.told:
                print(f"From here on `{name}` is this page's own, not the course's: {_back(name)}.")
        self.told = set(lost)

    def failed(self, shell, kind, error, traceback, tb_offset=None):
        """Show an error: one sentence where its line uses a name that has become another kind of thing."""
        if kind is NameError or not (name := self._culprit(traceback)):
            return first_cell.tell(shell, kind, error, traceback, tb_offset)
        told = repr(self.space[name])
        plain = len(told) <= 40 and not told.startswith("<")
        what = told if plain else f"something of type {type(self.space[name]).__name__}"
        sentence = f"`{name}` is {what} on this page, and no longer the course's: {_back(name)}."
        error._render_traceback_ = lambda: [sentence]
        return shell.showtraceback((kind, error, traceback), tb_offset=tb_offset)

    def _culprit(self, traceback):
        """The first overwritten name on the innermost line of the learner's own, unless it still is of its kind."""
        found = ""
        while traceback:
            frame = traceback.tb_frame
            if frame.f_globals is self.space:
                line, steps = traceback.tb_lineno, dis.get_instructions(frame.f_code)
                loads = [one for one in steps if one.opname in ("LOAD_NAME", "LOAD_GLOBAL")]
                used = [one.argval for one in loads if one.positions.lineno == line]
                lost = [name for name in self.lost() if name in used and not self._alike(name)]
                found = min(lost, key=used.index, default="")
            traceback = traceback.tb_next
        return found

    def _alike(self, name):
        """Whether a machine, a timing or the like was changed for another of its kind; a function never is."""
        return not callable(self.known[name]) and isinstance(self.space[name], type(self.known[name]))


def _back(name):
    return f"`from helpers.course import {name}` gets it back, and another name for yours keeps both"


def watch(shell):
    """Watch a kernel's names from now on, once."""
    if not hasattr(shell, "course_names"):
        shell.course_names = Watch(shell)
