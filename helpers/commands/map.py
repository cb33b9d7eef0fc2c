"""`python3 -m helpers map`: what each module of the package holds, by the first line of its docstring."""

import ast
from pathlib import Path

LAYERS = ("models", "control", "simulation", "teaching", "commands")


def run(root: Path, arguments: list[str]) -> int:
    """Print the map, a layer after the other; `arguments` may name layers."""
    for layer in arguments or LAYERS:
        print(f"helpers/{layer}/")
        for name, holds in modules(root, layer).items():
            print(f"  {name:22} {holds}")
    return 0


def modules(root: Path, layer: str) -> dict[str, str]:
    """File names of a layer and the first sentence or line of each docstring; "" where there is none."""
    found = {}
    for path in sorted((root / "helpers" / layer).glob("*.py")):
        told = ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""
        found[path.name] = told.split("\n\n")[0].replace("\n", " ")
    return found
