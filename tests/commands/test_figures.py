"""The pictures for slides: the same file each time, and a stale one found."""

import sys

import pytest

from helpers.commands import figures as module
from helpers.commands.environment import CommandError

SCENE = """\
from matplotlib.figure import Figure
CARD_CAPTION, CARD_ALT = "A line rises.", "A straight line from the lower left to the upper right."
def card_figure():
    figure = Figure((3, 2))
    figure.subplots().plot([0, {height}])
    return figure
"""


@pytest.fixture
def project(tmp_path, monkeypatch):
    """A folder with one scene; the course's own `scenes` are put aside meanwhile."""
    monkeypatch.setattr(sys, "path", list(sys.path))
    kept = {name: sys.modules.pop(name) for name in list(sys.modules) if name.split(".")[0] == "scenes"}
    (tmp_path / "workbooks/scenes").mkdir(parents=True)
    write(tmp_path, 1)
    yield tmp_path
    forget()
    sys.modules.update(kept)


def write(project, height):
    (project / "workbooks/scenes/w01.py").write_text(SCENE.replace("{height}", str(height)))
    forget()


def forget():
    for name in [name for name in sys.modules if name.split(".")[0] == "scenes"]:
        del sys.modules[name]


def test_pictures_are_the_same_each_time_and_carry_their_words(project):
    assert module.run(project, []) == 0
    first = (project / "figures/w01-card.svg").read_bytes()
    assert module.run(project, []) == 0 and (project / "figures/w01-card.svg").read_bytes() == first
    captions = (project / "figures/captions.md").read_text()
    assert "A line rises." in captions and "![A straight line" in captions
    assert b"dc:date" not in first


def test_check_finds_what_is_stale(project, capsys):
    assert module.run(project, ["--check"]) == 1  # nothing made yet
    module.run(project, [])
    assert module.run(project, ["--check"]) == 0
    write(project, 100)
    (project / "figures/w09-card.svg").write_text("left over")
    capsys.readouterr()
    assert module.run(project, ["--check"]) == 1
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == ["w01-card.svg", "w09-card.svg"]


def test_rounding_of_another_processor_is_not_stale(project):
    module.run(project, [])
    picture = project / "figures/w01-card.svg"
    words = picture.read_text().split("L ", 1)
    number = words[1].split()[0]
    picture.write_text(f"{words[0]}L {float(number) + 0.01} {words[1].split(' ', 1)[1]}")
    assert module.stale_figures(project) == []
    picture.write_text(f"{words[0]}L {float(number) + 1.0} {words[1].split(' ', 1)[1]}")
    assert module.stale_figures(project) == ["w01-card.svg"]


def test_a_scene_without_words_is_refused(project):
    scene = project / "workbooks/scenes/w01.py"
    scene.write_text(scene.read_text().replace("CARD_ALT", "OTHER"))
    with pytest.raises(CommandError, match=r"w01\.py lacks CARD_ALT"):
        module.run(project, [])
