"""The documents say what is so: links and paths exist, commands run, workbooks, modules and numbers are as told."""

import re
import shlex
import subprocess
from pathlib import Path

import nbformat
import pytest
from PIL import Image

from helpers.__main__ import COMMANDS
from helpers.commands.figures import stale_figures
from helpers.commands.map import LAYERS, modules
from helpers.teaching.course import exercises_of
from helpers.teaching.exercises import Choice, Learner, Numeric, ShortText
from helpers.teaching.verdict import written

ROOT = Path(__file__).resolve().parents[1]
README, DEVELOPERS, INSTRUCTORS = DOCUMENTS = ("README.md", "DEVELOPERS.md", "workbooks/for-instructors.md")
STATES = ("finished", "draft", "in preparation")  # a draft is there to be read, without notes for instructors
README_WORDS = 1000  # four minutes at 250 words a minute
SCREENSHOT_BYTES = 200_000
DEVELOPERS_BYTES = 12_000

FENCED = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
CODE = re.compile(r"`([^`\n]+)`")
PATH = re.compile(r"\.?\w[\w./-]*(?:/|\.(?:py|md|ipynb|txt|csv|png|ini|toml))|\.ci/run|\.[a-z]+\.(?:txt|ini|toml)")
WRITTEN_LATER = ("key-00.csv", "index.html", "installed.json")
ABSOLUTE = re.compile(r"(?<![\w.~/:])/(?:home|root|Users|tmp|usr|opt|var|mnt|srv|work)/|\b[A-Za-z]:\\\w|file://")
QUANTITY = re.compile(r"(?<![\d.])(\d+(?:\.\d+)?) (%|mm|N s/m|m/s²|W|Hz)(?![\w/])")
LETTER = re.compile(
    r"\*\*[a-d]\*\*|\| [a-d] \||(?<!\w)\([a-d]\)(?!\w)|"
    r"\b(?:option|answer|letter|predicted) (?:[b-d]\b|a(?=[.,;:)*]))",
    re.IGNORECASE,
)


def text_of(document):
    return (ROOT / document).read_text("utf-8")


def rows(text, head):
    """The cells of each row of the table whose head begins with `head`, one table after the other."""
    found, inside = [], False
    for line in text.splitlines():
        if not line.startswith("|"):
            inside = False
        elif line.startswith(f"| {head} |"):
            inside = True
        elif inside and not line.startswith("|---"):
            found.append([cell.strip() for cell in line.strip("|").split("|")])
    return found


def workbooks():
    """The names of the workbooks that the project holds; one still being written is not added yet."""
    listed = subprocess.run(["git", "ls-files", "workbooks/*.ipynb"], cwd=ROOT, capture_output=True, text=True)
    names = listed.stdout.splitlines() if listed.returncode == 0 else (ROOT / "workbooks").glob("*.ipynb")
    return {Path(name).stem for name in names}


def sections():
    """The notes for instructors by workbook: {0: "...", 1: "..."}."""
    parts = re.split(r"^## Workbook (\d\d):", text_of(INSTRUCTORS), flags=re.MULTILINE)
    return {int(number): text for number, text in zip(parts[1::2], parts[2::2], strict=True)}


SECTIONS = sections()


# --- what every document must be ---------------------------------------------------------------------------------


@pytest.mark.parametrize("document", [*DOCUMENTS, "figures/captions.md"])
def test_links_lead_somewhere(document):
    targets = [target.split("#")[0] for target in LINK.findall(text_of(document))]
    missing = [t for t in targets if t and "://" not in t and not (ROOT / document).parent.joinpath(t).exists()]
    assert missing == []


@pytest.mark.parametrize("document", DOCUMENTS)
def test_paths_named_exist(document):
    """Code that looks like a path, from the root, the workbooks or a package of helpers; NN stands for a number."""
    named = {code for code in CODE.findall(text_of(document)) if PATH.fullmatch(code)}
    folders = (ROOT, ROOT / "workbooks", *(ROOT / "helpers").iterdir())

    def exists(path):
        pattern = path.strip("/").replace("NN", "[0-9][0-9]").replace("short-question", "*")
        return any(any(folder.glob(pattern)) for folder in folders if folder.is_dir())

    made_by_use = {path for path in named if path.startswith((".venv", ".reading")) or path in WRITTEN_LATER}
    assert {path for path in named - made_by_use if not exists(path)} == set()


@pytest.mark.parametrize("document", DOCUMENTS)
def test_commands_named_exist(document):
    text = text_of(document)
    known = {name for name, _ in COMMANDS}
    assert set(re.findall(r"python3 -m helpers ([a-z]+)", text)) <= known
    for line in re.findall(r"^ {4}(?:\.\./)?\.venv/bin/python (.+)$", text, re.MULTILINE):
        words = shlex.split(line, comments=True)
        if words[0] == "-m":
            assert words[1] in ("pytest", "ruff"), line
        elif words[0] != "-c":
            assert (ROOT / words[0]).is_file(), line


@pytest.mark.parametrize("document", DOCUMENTS)
def test_no_absolute_path(document):
    assert ABSOLUTE.findall(text_of(document)) == []


def test_every_command_is_told():
    told = text_of(README) + text_of(DEVELOPERS)
    assert [name for name, _ in COMMANDS if f"python3 -m helpers {name}" not in told] == []


# --- README ------------------------------------------------------------------------------------------------------


def test_readme_is_read_in_four_minutes():
    assert len(FENCED.sub("", text_of(README)).split()) <= README_WORDS


def test_readme_lists_the_workbooks_as_they_are():
    listed, linked = {}, set()
    for name, question, state in rows(text_of(README), "workbook"):
        stem = name.strip("[").split("]")[0]
        assert state in STATES and question.endswith("?"), name
        assert (name == stem) == (state == "in preparation"), f"{name}: what can be opened is a link, and nothing else"
        listed[stem] = state
        linked |= {stem} if "](" in name else set()
    assert [name[:2] for name in listed] == [f"{number:02d}" for number in range(13)]
    assert linked == workbooks()
    finished = {int(name[:2]) for name, state in listed.items() if state == "finished"}
    assert finished == set(SECTIONS), "a finished workbook has its notes for instructors, and no other has"


def test_questions_are_the_titles():
    for name, question, state in rows(text_of(README), "workbook"):
        if state != "in preparation":
            path = ROOT / "workbooks" / re.search(r"\(workbooks/(.+?)\)", name)[1]
            title = nbformat.read(path, as_version=4).cells[0].source.splitlines()[0]
            assert title == f"# {question}"


def test_screenshot():
    alternative, name = re.search(r"!\[([^\]]+)\]\((figures/[\w-]+\.png)\)", text_of(README)).groups()
    assert len(alternative) > 40
    assert (ROOT / name).stat().st_size < SCREENSHOT_BYTES
    with Image.open(ROOT / name) as picture:
        assert (picture.format, picture.size) == ("PNG", (1280, 800))


def test_figures_are_current():
    assert stale_figures(ROOT) == []


# --- DEVELOPERS --------------------------------------------------------------------------------------------------


def test_map_is_made_from_the_docstrings():
    told = {(layer, name): holds for layer in LAYERS for name, holds in modules(ROOT, layer).items()}
    assert [place for place, holds in told.items() if not 20 < len(holds) < 240] == []
    layers = {path.parent.name for path in (ROOT / "helpers").glob("*/*.py")}
    assert layers == set(LAYERS) == set(re.findall(r"^\| `helpers/(\w+)/` \|", text_of(DEVELOPERS), re.MULTILINE))


def test_developers_is_read_in_ten_minutes():
    assert (ROOT / DEVELOPERS).stat().st_size <= DEVELOPERS_BYTES


def test_script_of_the_damper_prints_what_is_told(capsys):
    section = text_of(DEVELOPERS).split("## The course's damper\n")[1].split("\n## ")[0]
    script = "\n".join(line[4:] for line in re.findall(r"^(?: {4}.+)?$", section, re.MULTILINE))
    assert len([line for line in script.splitlines() if line]) <= 10
    exec(compile(script, DEVELOPERS, "exec"), {})
    assert capsys.readouterr().out.strip() == re.search(r"prints `(.+)`", section)[1]


# --- notes for instructors ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("number", SECTIONS)
def test_minutes_add_up(number):
    header = re.search(r"^\| part \|(.+)\|$", SECTIONS[number], re.MULTILINE)[1]
    lengths = [int(minutes) for minutes in re.findall(r"(\d+) min", header)]
    table = rows(SECTIONS[number], "part")
    assert lengths[-1] == 90 and all(45 <= length <= 60 for length in lengths[:-1])
    for column, length in enumerate(lengths, start=1):
        assert sum(int(row[column]) for row in table) == length, f"the plan for {length} minutes"


@pytest.mark.parametrize("number", SECTIONS)
def test_wrong_answers_are_those_that_the_page_knows(number):
    exercises = exercises_of(number)
    told = [(key, answer) for key, answer, _ in rows(SECTIONS[number], "exercise")]
    assert len(told) >= 8
    for key, answer in told:
        exercise = exercises[key]
        if isinstance(exercise, Choice):  # named by words of its own, for the letters differ between learners
            n = exercise.drawn(Learner("", "", number))
            options = {option: written(text, n) for option, text in exercise.options.items()}
            meant = [option for option, text in options.items() if text == answer] or [
                option for option, text in options.items() if answer in text
            ]
            known = {answer} if len(meant) == 1 and meant[0] != exercise.answer else options.values()
        elif isinstance(exercise, Numeric):
            known = {slip.name for slip in exercise.slips}
        else:
            assert isinstance(exercise, ShortText), key
            known = {wrong.name for wrong in exercise.misconceptions}
        assert answer in known, f"{key}: {answer} is not one of {sorted(known)}"


def test_nobody_names_an_option_by_its_letter():
    """Each learner has other letters, so notes, pages and exercises name an option by what it says."""
    told = {INSTRUCTORS: text_of(INSTRUCTORS)}
    for path in (ROOT / "workbooks").glob("*.ipynb"):
        told |= {
            f"{path.stem} {cell.id}": cell.source
            for cell in nbformat.read(path, as_version=4).cells
            if cell.cell_type == "markdown"
        }
    for number in SECTIONS:
        for exercise in exercises_of(number).values():
            n = exercise.drawn(Learner("", "", number))
            texts = [
                exercise.question,
                *exercise.hints,
                *getattr(exercise, "options", {}).values(),
                *getattr(exercise, "feedback", {}).values(),
                getattr(exercise, "solution", ""),
            ]
            told[f"{number:02d} {exercise.key}"] = "\n".join(written(text, n) for text in texts)
    assert {place: LETTER.findall(text) for place, text in told.items() if LETTER.search(text)} == {}


@pytest.mark.parametrize("number", SECTIONS)
def test_numbers_are_those_of_the_page(number):
    """Every quantity in the notes stands in the stored page, printed or in its prose."""
    path = next((ROOT / "workbooks").glob(f"{number:02d}-*.ipynb"))
    page = []
    for cell in nbformat.read(path, as_version=4).cells:
        page.append(cell.source)
        for output in cell.get("outputs", []):
            data = output.get("data", {})
            page += [output.get("text", ""), data.get("text/plain", ""), data.get("text/markdown", "")]
    known = set(re.findall(r"(?<![\d.])\d+(?:\.\d+)?", "\n".join(page)))
    told = QUANTITY.findall(SECTIONS[number])
    assert told
    assert [" ".join(quantity) for quantity in told if quantity[0] not in known] == []


def test_code_for_instructors_runs(tmp_path, monkeypatch):
    """The key is written as the notes say; the demo learner's too."""
    monkeypatch.chdir(tmp_path)
    (block,) = re.findall(r"^```python\n(.*?)^```$", text_of(INSTRUCTORS), re.MULTILINE | re.DOTALL)
    exec(compile(block, INSTRUCTORS, "exec"), {})
    lines = (tmp_path / "key-00.csv").read_text("utf-8").splitlines()
    assert lines[0].startswith("learner,exercise,numbers,answer")
    assert any(line.startswith("Ada Lovett,E1,") for line in lines) and any(line.startswith("Bo,E1,") for line in lines)
