"""A small course with all that a page of the reading edition may hold, written as files."""

import base64

import nbformat
from matplotlib.figure import Figure
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

INTRODUCTION = r"""# Why is *one* setting wrong at $c_0$?

With $\omega_s = \sqrt{k_s/m_s}$, a price of 5 \$ and `$HOME`:

$$\begin{aligned} m_s \ddot z_s &= -k_s z_s \\ m_u \ddot z_u &= 0 \end{aligned}$$

See [the next](01-next.ipynb#card) and [a road](data/road.csv). ![a wheel](data/wheel.png)

<details><summary>Hint</summary>

Use $f = \omega/2\pi$.

</details>
"""
WIDE = "| " + " | ".join(f"a long heading {n}" for n in range(12)) + " |\n" + "|---" * 12 + "|\n" + "| 1 " * 12 + "|\n"
MATRIX = r"$\displaystyle \left[\begin{matrix}0 & 1\\- \frac{k_{s}}{m_{s}} & 0\end{matrix}\right]$"


def write_sample(root):
    """Two notebooks, a picture and a data file below root/workbooks."""
    folder = root / "workbooks"
    (folder / "data").mkdir(parents=True)
    (folder / "data/road.csv").write_text("distance (m),height (m)\n")
    figure = Figure((9, 4))
    figure.subplots().plot([0, 1])
    figure.savefig(folder / "data/wheel.png")
    still = base64.b64encode((folder / "data/wheel.png").read_bytes()).decode()
    outputs = [
        new_output("stream", text="a line that is much wider than a phone " * 20),
        new_output("display_data", {"image/png": still}, metadata={"image/png": {"alt": "A line rises."}}),
        new_output("display_data", {"text/latex": MATRIX, "text/plain": "Matrix"}),
        new_output("display_data", {"text/latex": "$" + "+".join(12 * [r"\frac{k_s m_s}{c^2}"]) + "$"}),
        new_output("display_data", {"text/html": "<details><summary>Worked</summary>so <b>$c_0$</b> is 5</details>"}),
        new_output("display_data", {"text/html": f"<table><tr>{'<td>123456789</td>' * 20}</tr></table>"}),
    ]
    cells = [new_markdown_cell(INTRODUCTION), new_markdown_cell(WIDE)]
    cells.append(new_code_cell("print('$x$')", execution_count=1, outputs=outputs))
    nbformat.write(new_notebook(cells=cells), folder / "00-start.ipynb")
    nbformat.write(new_notebook(cells=[new_markdown_cell("# What follows?")]), folder / "01-next.ipynb")
