"""A figure that follows its sliders: built once, then only its moving artists are drawn again.

A key press costs one computation, one blit on a kept background, one PNG of few colours and one picture
message. Plain ipywidgets throughout, nothing is printed, and what is saved is a still with its description.
"""

from __future__ import annotations

import asyncio
import base64
import itertools
import math
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial, wraps
from html import escape

import ipywidgets as widgets

from helpers.teaching.controls import Options, Slider, naming
from helpers.teaching.layouts import layout_named
from helpers.teaching.picture import Picture, encode_png
from helpers.teaching.plots import picture_bundle

__all__ = ["LiveFigure", "Options", "Slider"]

FULL_COMPUTATION_DELAY = 0.15  # s of rest after the last change before a slow computation starts
TEXT_DELAY = 0.15  # s after the picture: the browser paints it first, and a drag sends texts seldom
MOST_CONTROLS = 4
MOST_CORNERS = 108  # three values of each of four controls, or four of one of them; beyond, one control at a time
# JupyterLab hands the moves of controls to the kernel's main thread and to a thread beside it, and two may overlap.
_TURN = threading.RLock()


def _in_turn(method):
    """The method, run while no other thread answers a control of any live figure."""

    @wraps(method)
    def alone(self, *given):
        with _TURN:
            return method(self, *given)

    return alone


class LiveFigure(widgets.VBox):
    """A figure with at most four controls, a read-out, a describing sentence and a reset button.

    name: stable id. sliders: Slider and Options. compute(**values) -> result, pure. build(figure, result) ->
    the moving artists, or an object, mapping or list that holds them; everything else stays as built, the axes
    limits too. draw(artists, result) updates them. read_out(result) -> (label, text or number) pairs.
    describe(values, result) -> the sentence that says what is to be seen. preview: a cheap stand-in for compute,
    giving the same kind of result, shown at once when compute takes over 50 ms; the full one follows 0.15 s
    after the last change. size: inches at 100 dots each. layout: one of `layouts.LAYOUTS`; empty: what the page chose.

    An error in compute shows as a sentence in place of the description; the last picture and the values stay.

    To be read: `controls` by key, `defaults`, `values` (what the controls say), `shown_values`, `result`, `numbers`
    and `description` (what is shown; the sentence is also the picture's text alternative), and the `picture`.
    """

    def __init__(
        self, *, name: str, sliders: Sequence[Slider | Options], compute: Callable, build: Callable, draw: Callable,
        read_out: Callable, describe: Callable, preview: Callable | None = None, size: tuple[float, float] = (9, 4),
        layout: str = "",
    ):  # fmt: skip
        if len(sliders) > MOST_CONTROLS:
            raise ValueError(f"Figure {name} has {len(sliders)} controls; at most {MOST_CONTROLS} are allowed.")
        self.controls = {control.key: control for control in sliders}
        self._compute, self._preview, self._draw = compute, preview, draw
        self._read_out, self._describe = read_out, describe
        self._pending = self._text_due = None
        self._quiet = False
        self.figure_name = name
        built = {key: control.build() for key, control in self.controls.items()}
        for _, box, shown in built.values() if layout_named(layout).width else ():  # controls as narrow as the picture
            (box or shown).style.description_width = (box or shown).layout.width = "auto"
            shown.layout.flex_flow = "row wrap"
        self._inputs = {key: holder for key, (holder, _, _) in built.items()}
        self._boxes = {key: box for key, (_, box, _) in built.items() if box is not None}
        told = "Back to the values the figure started with"
        reset = widgets.Button(description="Reset", tooltip=told, layout={"margin": "2px 0 4px 1em"})
        reset.on_click(lambda _: self.reset())
        self._image = widgets.Image(format="url", layout={"max_width": "100%", "height": "auto"})
        self._numbers, self._sentence = widgets.HTML(), widgets.HTML()
        self._image.add_class("live-picture")
        self._sentence.add_class("live-sentence")
        first = compute(**self.defaults)
        self._pictured = partial(Picture, build, first, size)
        self.picture = self._pictured(layout_named(layout))
        self._render(first, self.defaults)
        self._tell()
        for key, holder in self._inputs.items():
            holder.observe(lambda _: self._changed(), "value")
            if key in self._boxes:
                self._boxes[key].observe(lambda change, key=key: self._typed(key, change["new"]), "value")
        *rows, last = [shown for _, _, shown in built.values()]
        ending = widgets.Box([last, reset], layout={"flex_flow": "row wrap"})  # beside it: a row less to scroll
        super().__init__([*rows, ending, self._image, self._numbers, self._sentence, naming(sliders)])
        self.add_class("live-figure")

    @property
    def defaults(self) -> dict:
        return {key: control.default for key, control in self.controls.items()}

    @property
    def values(self) -> dict:
        """What the controls say now."""
        return {key: self.controls[key].clean(holder.value) for key, holder in self._inputs.items()}

    def corners(self) -> Iterator[dict]:
        """Every combination of minimum, default and maximum; one control at a time if that is over 81."""
        ends = {key: control.corners for key, control in self.controls.items()}
        if math.prod([len(values) for values in ends.values()]) <= MOST_CORNERS:
            for values in itertools.product(*ends.values()):
                yield dict(zip(ends, values, strict=True))
        else:
            for key, values in ends.items():
                for value in values:
                    yield self.defaults | {key: value}

    def update(self, **values):
        """Set some controls, compute in full, draw, and return the result; errors are raised, not shown."""
        for key, value in values.items():
            if key not in self.controls:
                raise KeyError(f"Figure {self.figure_name} has no control {key!r}; it has {', '.join(self._inputs)}.")
            self.controls[key].check(value)
        with _TURN:
            self._set(values)
            self._cancel()
            self._render(self._compute(**self.values), self.values)
            self._tell()
        return self.result

    @_in_turn
    def reset(self) -> None:
        """Back to the default values."""
        self._set(self.defaults)
        self._refresh()

    def _set(self, values: Mapping) -> None:
        with self._quietly():
            for key, value in values.items():
                self._inputs[key].value = value

    @contextmanager
    def _quietly(self):
        """Controls set inside do not answer: a box that repeats its slider must not push the slider back."""
        self._quiet = True
        try:
            yield
        finally:
            self._quiet = False

    @_in_turn
    def _changed(self) -> None:
        if not self._quiet:
            self._refresh()

    @_in_turn
    def _typed(self, key: str, value) -> None:
        if not self._quiet:
            self._inputs[key].value = value

    def _cancel(self) -> None:
        if self._pending is not None:
            self._pending.cancel()
            self._pending = None

    def _refresh(self) -> None:
        self._cancel()
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # no loop runs outside a kernel: all in full and at once
            self._show(self._compute)
            self._tell()
            return
        self._show(self._preview or self._compute)
        if self._preview is not None:
            self._pending = loop.call_later(FULL_COMPUTATION_DELAY, self._complete)
        if self._text_due is None:
            self._text_due = loop.call_later(TEXT_DELAY, self._tell)

    @_in_turn
    def _complete(self) -> None:
        self._show(self._compute)
        self._tell()

    def _show(self, compute: Callable) -> None:
        values = self.values
        try:
            self._render(compute(**values), values)
        except Exception as error:  # the learner's figure must outlive any bad setting
            reason = " ".join(str(error).split()) or type(error).__name__
            self.description = f"Not drawn, the last picture stays: {reason}"

    def _render(self, result, values: dict) -> None:
        self._draw(self.picture.held, result)
        picture = encode_png(self.picture.pixels())
        numbers = [(label, v if isinstance(v, str) else f"{v:.4g}") for label, v in self._read_out(result)]
        self.description = self._describe(values, result)
        self.result, self.shown_values, self.numbers = result, values, numbers
        # As an address that holds its data: the browser reads it faster than a blob.
        self._image.value = b"data:image/png;base64," + base64.b64encode(picture)

    @_in_turn
    def _tell(self) -> None:
        """Bring the texts and the number boxes up to date with the picture."""
        self._text_due = None
        self._numbers.value = " &emsp; ".join(f"{escape(label)}: <b>{escape(text)}</b>" for label, text in self.numbers)
        self._sentence.value = escape(self.description)
        with self._quietly():
            for key, box in self._boxes.items():
                box.value = self.values[key]

    def still(self, layout: str) -> bytes:
        """What is shown now as a small PNG in another layout of `layouts.LAYOUTS`."""
        picture = self._pictured(layout_named(layout))
        self._draw(picture.held, self.result)
        return picture.still()

    def _repr_mimebundle_(self, **kwargs) -> tuple[dict, dict]:
        """The live view, stills that carry their description, and the numbers that a reference compares."""
        settings = "; ".join(control.text(self.shown_values[key]) for key, control in self.controls.items())
        numbers = "; ".join(f"{label}: {text}" for label, text in self.numbers)
        curves = self.picture.curve_numbers()
        curves = [f"Curves, root mean square: {curves}"] if curves else []
        text = "\n".join([f"Figure {self.figure_name}: {settings}", numbers, *curves])
        caption = f"{self.description} {numbers}."
        data, metadata = picture_bundle(self.picture.still(), self.description, text, caption, self.still("narrow"))
        return super()._repr_mimebundle_(**kwargs) | data, metadata
