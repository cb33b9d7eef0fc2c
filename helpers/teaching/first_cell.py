"""An extension of IPython: who uses `book` before the page's first cell has run is told so, in one sentence.

Every kernel of the project's environment loads it (`helpers/commands/settings/ipython_kernel_config.py`).
"""

import ast
import json
from contextlib import suppress
from pathlib import Path

from helpers.teaching.course import PageError, workbooks_folder


def load_ipython_extension(shell):
    """Called by IPython when the kernel starts."""
    shell.set_custom_exc((NameError,), tell)


def tell(shell, kind, error, traceback, tb_offset=None):
    """Show an error: the sentence where the first cell is missing, the usual traceback for any other."""
    if kind is NameError and "book" not in shell.user_ns and error.name in names():
        told = f"{error.name} is not there yet: run the page's first cell, then this one again."
        error._render_traceback_ = lambda: [told]
    shell.showtraceback((kind, error, traceback), tb_offset=tb_offset)


def names():
    """What the first cells of the course's pages bind; what cannot be read binds nothing."""
    found = set()
    with suppress(PageError):
        for path in workbooks_folder().glob("*.ipynb"):
            with suppress(OSError, ValueError, LookupError, TypeError, SyntaxError, StopIteration):
                cells = json.loads(path.read_text("utf-8"))["cells"]
                found |= bound("".join(next(cell["source"] for cell in cells if cell["cell_type"] == "code")))
    return found


def bound(source):
    """The names that a cell's imports and assignments bind."""
    nodes = list(ast.walk(ast.parse(source)))
    imported = {
        alias.asname or alias.name.split(".")[0]
        for node in nodes
        if isinstance(node, ast.Import | ast.ImportFrom)
        for alias in node.names
    }
    if "*" in imported:  # the vocabulary, read and not imported: a kernel may lack what it needs
        imported.remove("*")
        told = ast.parse((Path(__file__).parents[1] / "course.py").read_text("utf-8")).body
        imported |= {name for node in told if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__"
                     for name in ast.literal_eval(node.value)}  # fmt: skip
    return imported | {node.id for node in nodes if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)}
