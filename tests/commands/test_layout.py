"""The shape of the project: what imports what, how long a module may be, what stands at the top."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[2]
LAYERS = ("models", "control", "simulation", "teaching")
TOP = {"README.md", "DEVELOPERS.md", "requirements.txt", "workbooks", "helpers", "tests", "figures"}
SHOWN_ONLY_IN_TEACHING = {"matplotlib", "ipywidgets", "IPython", "PIL"}
# A page's pictures, its exercises and a test file each hold one subject that does not part well.
MODULE_LINES = {"helpers": 300, "workbooks": 460, "tests": 450}
HELPERS_LINES = 15_300  # the four layers; less once no page needs the old ways beside the new
LAYER_MODULES = [path for layer in LAYERS for path in sorted((ROOT / "helpers" / layer).glob("*.py"))]


def length(path):
    return len(path.read_text("utf-8").splitlines())


def imported(path) -> set[str]:
    """The full names of what the module `path` imports, at the top or within a function."""
    package = ".".join(path.relative_to(ROOT).parent.parts).split(".")
    names = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            base = ".".join([*base, *([node.module] if node.module else [])])
            names |= {f"{base}.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("path", LAYER_MODULES, ids=lambda path: f"{path.parent.name}.{path.stem}")
def test_imports_go_one_way(path):
    place = LAYERS.index(path.parent.name)
    for name in imported(path):
        parts = name.split(".")
        if parts[0] == "helpers" and len(parts) > 1:
            assert parts[1] in (*LAYERS[: place + 1], "__version__"), f"{path.parent.name} imports {name}"
        assert path.parent.name == "teaching" or parts[0] not in SHOWN_ONLY_IN_TEACHING, f"imports {name}"


def test_modules_are_short():
    for folder, most in MODULE_LINES.items():
        modules = (ROOT / folder).rglob("*.py")
        assert {str(path.relative_to(ROOT)): length(path) for path in modules if length(path) > most} == {}


def test_helpers_stay_small():
    assert sum(map(length, LAYER_MODULES)) + length(ROOT / "helpers/__init__.py") <= HELPERS_LINES


def test_machine_code_is_kept_by_its_sources():
    """numba's own decorator would keep code that is older than the files compiled into it."""
    plain = [path.name for path in LAYER_MODULES if "from numba import njit" in path.read_text("utf-8")]
    assert plain == []


def test_set_up_needs_the_standard_library_alone():
    """-S leaves out every installed package; the commands that run before the install must do without."""
    code = f"import sys; sys.path.insert(0, {str(ROOT)!r}); import helpers.__main__, helpers.commands.start, "
    code += "helpers.commands.test"
    subprocess.run([sys.executable, "-S", "-c", code], check=True)


def test_the_package_itself_imports_nothing():
    assert imported(ROOT / "helpers/__init__.py") == set()


def test_every_package_is_installed():
    listed = tomllib.loads((ROOT / "helpers/pyproject.toml").read_text())["tool"]["setuptools"]["packages"]
    found = {".".join(path.parent.relative_to(ROOT).parts) for path in (ROOT / "helpers").rglob("__init__.py")}
    assert set(listed) == found


def test_top_level_holds_only_the_allowed_names():
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if tracked.returncode:
        pytest.skip("not a git clone")
    top = {name.split("/")[0] for name in tracked.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} - TOP == set()


def direct() -> list[Requirement]:
    lines = [line for name in ("requirements.txt", "tests/requirements.txt") for line in (ROOT / name).open()]
    return [Requirement(line.strip()) for line in lines if re.match(r"\w", line)]


@pytest.mark.parametrize("requirement", direct(), ids=lambda requirement: requirement.name)
def test_direct_dependency_is_bounded_tested_and_explained(requirement):
    assert {specifier.operator for specifier in requirement.specifier} == {">=", "<"}
    exact = dict(line.strip().lower().split("==") for line in (ROOT / ".constraints.txt").open() if "==" in line)
    assert requirement.specifier.contains(exact[requirement.name.lower()])
    lines = (ROOT / "DEVELOPERS.md").read_text("utf-8").splitlines()
    assert any(f"`{requirement.name}`" in line for line in lines), f"DEVELOPERS.md does not say why {requirement.name}"


def test_lint():
    """Code and notebooks, as .ruff.toml asks."""
    checked = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--no-cache", "--output-format", "concise", "."],
        cwd=ROOT, capture_output=True, text=True,
    )  # fmt: skip
    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_the_formatter_would_change_nothing():
    told = [sys.executable, "-m", "ruff", "format", "--no-cache", "--check", "."]
    checked = subprocess.run(told, cwd=ROOT, capture_output=True, text=True)
    assert checked.returncode == 0, checked.stdout + checked.stderr
