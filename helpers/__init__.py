"""Models, control laws, simulation and page pieces behind the suspension-control workbooks."""

import os

# The matrices here are small: threads of the linear algebra would only wait for one another, and take memory.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__version__ = "0.1.0"
