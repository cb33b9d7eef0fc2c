"""The live figure without a browser: what it computes, draws, says, saves, and how it takes errors."""

import asyncio
import base64
import io
import itertools
import re
import threading
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.text import Text
from PIL import Image

from helpers.teaching import page
from helpers.teaching.course import PageError
from helpers.teaching.layouts import choose_layout
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.picture import encode_png

TIME = np.linspace(0, 4, 400)


def swing(ratio, frequency):
    if ratio == 0.5:
        raise ValueError("damping ratio 0.5 is refused")
    pulse = 2 * np.pi * frequency
    return SimpleNamespace(travel=np.exp(-ratio * pulse * TIME) * np.cos(pulse * TIME), kind="full")


def build(figure, first):
    ax = figure.subplots()
    ax.set(xlim=(0, 4), ylim=(-1.1, 1.1))
    return {"lines": ax.plot(TIME, first.travel, zorder=3)}  # above the frame: moving artists always are


def draw(artists, result):
    artists["lines"][0].set_ydata(result.travel)


def make(compute=swing, sliders=None, **more):
    sliders = sliders or [
        Slider("ratio", "damping ratio", 0.1, 0.9, 0.1, 0.3),
        Slider("frequency", "natural frequency", 1, 3, 1, 2, "Hz"),
    ]
    return LiveFigure(
        name="swing",
        sliders=sliders,
        compute=compute,
        build=build,
        draw=draw,
        read_out=lambda result: [("lowest", float(result.travel.min())), ("unit", "mm")],
        describe=lambda values, result: f"It falls to {result.travel.min():.3f} <mm>.",
        **more,
    )


def pixels(figure):
    return read_back(base64.b64decode(bytes(figure._image.value).split(b",")[1]))


def read_back(picture):
    return np.asarray(Image.open(io.BytesIO(picture)).convert("RGBA"))  # Pillow is the independent decoder


def test_encoded_png_of_up_to_256_colour_groups_reads_back_exactly():
    steps = np.arange(0, 256, 32, dtype=np.uint8)[:6]
    colours = np.array([[*rgb, 255] for rgb in itertools.product(steps + 5, repeat=3)], np.uint8)  # 216
    given = np.random.default_rng(1).choice(colours, (70, 50))
    assert np.array_equal(read_back(encode_png(given)), given)


def test_encoded_png_keeps_common_colours_exactly_and_the_others_near():
    given = np.full((400, 300, 4), 255, np.uint8)
    draw = np.random.default_rng(2)
    given[:40, :50, :3] = draw.integers(0, 256, (40, 50, 3))  # more colours than fit
    given[100, :] = (0, 114, 178, 255)
    given[101, :150] = (6, 120, 184, 255)  # of the same group, and fewer
    shown = read_back(encode_png(given))
    assert np.array_equal(shown[200:], given[200:]) and np.array_equal(shown[100], given[100])
    assert np.abs(shown.astype(int) - given)[101].max() <= 15
    assert np.abs(shown.astype(int) - given)[:40, :50].max() <= 96


def test_blitted_picture_equals_a_full_redraw():
    figure = make()
    figure.update(ratio=0.2)
    blitted = figure.picture.pixels().copy()
    for artist in figure.picture.moving:
        artist.set_animated(False)
    figure.picture.canvas.draw()
    assert np.array_equal(blitted, np.asarray(figure.picture.canvas.buffer_rgba()))


def test_update_draws_computes_and_tells():
    figure = make()
    before = pixels(figure)
    result = figure.update(ratio=0.1, frequency=3)
    assert figure.values == {"ratio": 0.1, "frequency": 3} and isinstance(figure.values["frequency"], int)
    assert np.array_equal(result.travel, swing(0.1, 3).travel)
    assert not np.array_equal(before, pixels(figure))
    assert figure._boxes["ratio"].value == 0.1
    assert figure._sentence.value == f"It falls to {result.travel.min():.3f} &lt;mm&gt;."


def test_update_refuses_what_the_controls_refuse():
    figure = make()
    with pytest.raises(ValueError, match=r"natural frequency 9 is outside 1 to 3 Hz\."):
        figure.update(frequency=9)
    with pytest.raises(KeyError, match="no control 'mass'"):
        figure.update(mass=1)
    assert figure.values == figure.defaults


def test_slider_and_number_box_follow_each_other():
    figure = make()
    figure.update(ratio=0.6)
    figure._inputs["ratio"].value = 0.1 + 0.2  # a slider's binary dust: 0.30000000000000004
    assert figure._boxes["ratio"].value == 0.3
    assert figure._inputs["ratio"].value == 0.1 + 0.2  # the box does not push the slider: a drag would stutter
    figure._boxes["ratio"].value = 0.7
    assert figure.values["ratio"] == figure._inputs["ratio"].value == 0.7
    assert np.array_equal(figure.result.travel, swing(0.7, 2).travel)


def test_a_control_moved_in_another_thread_while_texts_are_told_is_answered():
    figure = make()
    other = threading.Thread(target=lambda: setattr(figure._inputs["frequency"], "value", 3))

    def meanwhile(_):
        other.start()
        other.join(0.2)  # it has to wait its turn; were it not to, its move would be taken for the box's echo

    figure._boxes["ratio"].observe(meanwhile, "value")
    figure._inputs["ratio"].value = 0.6
    other.join()
    assert figure.shown_values == figure.values == {"ratio": 0.6, "frequency": 3}
    assert np.array_equal(figure.result.travel, swing(0.6, 3).travel)
    assert figure._sentence.value == f"It falls to {figure.result.travel.min():.3f} &lt;mm&gt;."


def test_reset_restores_picture_texts_and_values():
    figure = make()
    picture, sentence = figure._image.value, figure.description
    figure.update(ratio=0.9, frequency=1)
    figure.reset()
    assert (figure._image.value, figure.description, figure.values) == (picture, sentence, figure.defaults)


def test_an_error_shows_as_a_sentence_and_the_last_picture_stays(capsys):
    figure = make()
    picture = figure._image.value
    figure._inputs["ratio"].value = 0.5
    assert figure._sentence.value == "Not drawn, the last picture stays: damping ratio 0.5 is refused"
    assert figure._image.value == picture and figure.values["ratio"] == 0.5
    figure._inputs["ratio"].value = 0.6
    assert "It falls to" in figure._sentence.value
    assert capsys.readouterr() == ("", "")
    with pytest.raises(ValueError, match="refused"):
        figure.update(ratio=0.5)


def test_slow_computation_previews_and_only_the_last_runs_in_full():
    asked = []

    def slow(ratio, frequency):
        asked.append(ratio)
        return swing(ratio, frequency)

    def preview(ratio, frequency):
        return SimpleNamespace(travel=np.zeros_like(TIME), kind="preview")

    figure = make(slow, preview=preview)
    asked.clear()

    async def slide():
        kinds = []
        for ratio in (0.4, 0.6, 0.7):
            figure._inputs["ratio"].value = ratio
            kinds.append(figure.result.kind)
        await asyncio.sleep(0.4)
        return [*kinds, figure.result.kind]

    assert asyncio.run(slide()) == ["preview", "preview", "preview", "full"]
    assert asked == [0.7]
    assert figure._boxes["ratio"].value == 0.7 and "It falls to -0" in figure._sentence.value


def test_corners_are_all_combinations_or_one_at_a_time():
    figure = make()
    corners = list(figure.corners())
    assert len(corners) == 9 and {"ratio": 0.1, "frequency": 3} in corners and figure.defaults in corners
    many = [Slider(key, key, 0.1, 0.9, 0.1, 0.3) for key in "abc"] + [Options("d", "d", list("pqrst"), "p")]
    figure = make(lambda **values: swing(values["a"], 2), many)
    corners = list(figure.corners())
    assert len(corners) == 3 * 3 + 5
    assert all(sum(values[key] != figure.defaults[key] for key in values) <= 1 for values in corners)


def test_saved_output_holds_view_still_text_alternative_and_numbers():
    figure = make()
    bundle, metadata = figure._repr_mimebundle_()
    assert set(bundle) == {"application/vnd.jupyter.widget-view+json", "text/html", "image/png", "text/plain"}
    assert metadata == {"image/png": {"alt": figure.description}}
    assert f'src="data:image/png;base64,{bundle["image/png"]}"' in bundle["text/html"]
    assert np.array_equal(read_back(base64.b64decode(bundle["image/png"])), read_back(figure.picture.still()))
    narrow = re.search(
        r'<source media="\(max-width: 480px\)" srcset="data:image/png;base64,([^"]+)">', bundle["text/html"]
    )
    assert base64.b64decode(narrow[1]) == figure.still("narrow")
    assert len(bundle["text/html"]) < 80_000 * 4 / 3
    assert f'alt="It falls to {figure.result.travel.min():.3f} &lt;mm&gt;."' in bundle["text/html"]
    lines = bundle["text/plain"].splitlines()
    assert lines[0] == "Figure swing: damping ratio 0.3; natural frequency 2 Hz"
    assert lines[1] == f"lowest: {figure.result.travel.min():.4g}; unit: mm"
    assert lines[2].endswith(f"{np.sqrt(np.mean(figure.result.travel**2)):.4g}")
    assert bundle["text/html"] == make()._repr_mimebundle_()[0]["text/html"]  # the same at every run
    assert "0x" not in bundle["text/plain"]


def test_controls_say_what_is_wrong_with_their_limits():
    with pytest.raises(ValueError, match="must rise"):
        Slider("mass", "mass", 3, 1, 0.1, 2, "kg")
    with pytest.raises(ValueError, match=r"mass 5 is outside 1 to 3 kg"):
        Slider("mass", "mass", 1, 3, 0.1, 5, "kg")
    with pytest.raises(ValueError, match="law 'c' is not one of 'a', 'b'"):
        Options("law", "law", [("first", "a"), ("second", "b")], "c")
    with pytest.raises(ValueError, match="at most 4"):
        make(sliders=[Slider(key, key, 0, 2, 1, 1) for key in "abcde"])


def test_options_choose_by_value_and_read_by_name():
    sliders = [
        Slider("ratio", "damping ratio", 0.1, 0.9, 0.1, 0.3),
        Options("frequency", "wheel", [("light", 3), ("heavy", 1)], 1),
    ]
    figure = make(sliders=sliders)
    figure._inputs["frequency"].value = 3
    assert figure.values == {"ratio": 0.3, "frequency": 3}
    assert "wheel light" in figure._repr_mimebundle_()[0]["text/plain"]


def panels(figure, first):
    """Two by two, one across two rows, with a long title and label; the second has no names of its own."""
    grid = figure.add_gridspec(2, 2)
    axes = [figure.add_subplot(grid[0, 0]), figure.add_subplot(grid[1, 0]), figure.add_subplot(grid[:, 1])]
    for ax, names in zip(axes, (["front", "rear"], ["", ""], None), strict=True):
        ax.set(xlim=(0, 4), ylim=(-1.1, 1.1), title="A finding in more words than one column of a telephone holds")
        ax.set_xlabel("time since the wheel met the root that lay across the way (s)", fontsize=12)
        if names:
            ax.set_yticks([-1, 1], names)
    return {"lines": axes[2].plot(TIME, first.travel, linewidth=2.0, zorder=3), "axes": axes}


def test_a_narrow_figure_stacks_its_panels_and_keeps_its_words_within():
    figure = LiveFigure(
        name="panels", sliders=[Slider("ratio", "damping ratio", 0.1, 0.9, 0.1, 0.3)],
        compute=lambda ratio: swing(ratio, 2), build=panels, draw=draw, read_out=lambda result: [],
        describe=lambda values, result: "It swings.", layout="narrow",
    )  # fmt: skip
    drawn = figure.picture.figure
    assert drawn.bbox.width == 390 and read_back(figure.picture.still()).shape[1] == 390
    front, rear, right = drawn.axes
    tops = [ax.get_position().y1 for ax in (front, rear, right)]
    assert tops == sorted(tops, reverse=True) and len({round(ax.get_position().x0, 6) for ax in drawn.axes}) == 1
    assert [name.get_text() for name in rear.get_yticklabels()] == ["front", "rear"]
    assert right.get_xlim() == (0, 4) and right.get_ylim() == (-1.1, 1.1)
    for text in drawn.findobj(Text):
        if text.get_text() and text.get_visible():
            assert 11 <= text.get_fontsize() * 100 / 72 <= 14
            box = text.get_window_extent()
            assert box.x0 >= 0 and box.x1 <= 390, text.get_text()
    before = read_back(figure.picture.still())
    figure.update(ratio=0.7)
    assert not np.array_equal(before, read_back(figure.picture.still()))


def test_a_projectors_figure_has_larger_type_and_thicker_lines():
    wide = make()
    large = make(layout="projector")
    assert large.picture.figure.bbox.width == 1.3 * wide.picture.figure.bbox.width
    (thin,), (thick,) = wide.picture.held["lines"], large.picture.held["lines"]
    assert thick.get_linewidth() == 1.5 * thin.get_linewidth()
    label = [figure.picture.figure.axes[0].get_xticklabels()[0].get_fontsize() for figure in (wide, large)]
    assert label[1] == pytest.approx(1.1 * label[0])
    shape = read_back(wide.still("projector")).shape
    assert shape == read_back(large.picture.still()).shape
    with pytest.raises(PageError, match="layout is 'tall'; allowed are 'wide', 'narrow', 'projector'"):
        make(layout="tall")


def test_a_page_chooses_the_layout_of_its_figures():
    try:
        page.open_workbook(3, layout="projector")
        assert make().picture.figure.bbox.width == 1170
        page.open_workbook(3)
        assert make().picture.figure.bbox.width == 900
        with pytest.raises(PageError, match="layout is 'big'"):
            page.open_workbook(3, layout="big")
    finally:
        choose_layout("")
