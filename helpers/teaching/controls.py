"""The controls of a live figure, and the names that make them usable with a screen reader."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import ipywidgets as widgets

# ipywidgets gives slider handles, pictures and texts no accessible name, and offers no way to set one from
# Python. This runs once per displayed figure; where a host blocks it, only those names are missing.
_NAMING = """(function name(probe, tries) {
  const root = probe.closest('.live-figure');
  const labels = JSON.parse(probe.dataset.labels);
  const handles = root ? root.querySelectorAll('.noUi-handle') : [];
  const picture = root && root.querySelector('.live-picture');
  const sentence = root && root.querySelector('.live-sentence .widget-html-content');
  if (!picture || !sentence || handles.length < labels.length) {
    if (tries) setTimeout(name, 100, probe, tries - 1);
    return;
  }
  handles.forEach((handle, i) => {
    const plain = () => {  // say 0.7, not 0.7000000000000001
      const said = handle.getAttribute('aria-valuetext'), short = String(+(+said).toPrecision(10));
      if (short !== said) handle.setAttribute('aria-valuetext', short);
    };
    handle.setAttribute('aria-label', labels[i]);
    new MutationObserver(plain).observe(handle, { attributeFilter: ['aria-valuetext'] });
    plain();
  });
  sentence.id = 'sentence-' + Math.random().toString(36).slice(2);
  sentence.setAttribute('aria-live', 'polite');
  picture.setAttribute('aria-labelledby', sentence.id);
})(this, 100)"""
_BLANK = "data:image/gif;base64,R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7"


@dataclass(frozen=True)
class Slider:
    """A number to slide or to type; whole-number limits, step and default give whole-number values."""

    key: str
    label: str
    low: float
    high: float
    step: float
    default: float
    unit: str = ""

    def __post_init__(self):
        if not self.low < self.high or self.step <= 0:
            raise ValueError(
                f"Slider {self.key}: {self.low} to {self.high} {self.unit} in steps of {self.step} "
                "must rise, by a step above zero."
            )
        self.check(self.default)

    def check(self, value: float) -> None:
        """Raise ValueError unless the value lies within the slider's range."""
        if not self.low <= value <= self.high:
            raise ValueError(f"{self.label} {value} is outside {self.low} to {self.high} {self.unit}".rstrip() + ".")

    @staticmethod
    def clean(value: float) -> float:
        """The value without the slider's binary dust: 0.39999999999999997 is 0.4."""
        return type(value)(f"{value:.10g}")

    @property
    def full_label(self) -> str:
        return f"{self.label} ({self.unit})" if self.unit else self.label

    @property
    def corners(self) -> tuple:
        return self.low, self.default, self.high

    def text(self, value) -> str:
        return f"{self.label} {value:.4g} {self.unit}".rstrip()

    def build(self):
        """The control that holds the value, and the widgets shown for it: a labelled box, then the slider."""
        whole = all(isinstance(part, int) for part in (self.low, self.high, self.step, self.default))
        box_type, slider_type = (
            (widgets.BoundedIntText, widgets.IntSlider) if whole else (widgets.BoundedFloatText, widgets.FloatSlider)
        )
        shared = {"value": self.default, "min": self.low, "max": self.high, "step": self.step}
        box = box_type(
            description=self.full_label, style={"description_width": "20em"}, layout={"width": "27em"}, **shared
        )
        slider = slider_type(readout=False, layout={"width": "15em"}, **shared)
        return slider, box, widgets.HBox([box, slider])


@dataclass(frozen=True)
class Options:
    """One choice out of a few: (label, value) pairs or plain values."""

    key: str
    label: str
    options: Sequence
    default: object

    def __post_init__(self):
        self.check(self.default)

    def check(self, value) -> None:
        """Raise ValueError unless the value is one of the options."""
        if value not in self.corners:
            raise ValueError(f"{self.label} {value!r} is not one of {', '.join(map(repr, self.corners))}.")

    @staticmethod
    def clean(value):
        return value

    @property
    def corners(self) -> tuple:
        return tuple(o[1] if isinstance(o, tuple) else o for o in self.options)

    def text(self, value) -> str:
        names = {v: o[0] if isinstance(o, tuple) else o for o, v in zip(self.options, self.corners, strict=True)}
        return f"{self.label} {names[value]}"

    def build(self):
        chooser = widgets.Dropdown(
            options=list(self.options), value=self.default, description=self.label, style={"description_width": "20em"},
            layout={"width": "42em", "max_width": "100%"},
        )  # fmt: skip
        return chooser, None, chooser


def naming(controls: Sequence[Slider | Options]) -> widgets.HTML:
    """The invisible widget that names the slider handles and ties the picture to its describing sentence."""
    labels = [control.full_label for control in controls if isinstance(control, Slider)]
    return widgets.HTML(
        f'<img alt="" width="0" height="0" src="{_BLANK}" '
        f'data-labels="{escape(json.dumps(labels))}" onload="{escape(_NAMING)}">',
        layout={"height": "0", "margin": "0"},
    )
