"""What holds for every test: no window, no clock, the same examples each time."""

from pathlib import Path

import matplotlib
import pytest
from hypothesis import settings

matplotlib.use("Agg")
settings.register_profile("project", derandomize=True, deadline=None, database=None)
settings.load_profile("project")


@pytest.fixture(scope="session")
def root() -> Path:
    """The project's folder."""
    return Path(__file__).resolve().parents[1]


# Begun last, each would keep one worker while the other is idle: the one runs every page, the other opens each in Lab.
LONGEST = ("test_numbers_hold.py", "test_workbooks.py")


def pytest_collection_modifyitems(items):
    """Browser tests last: the driver keeps an event loop running until the session ends, and others start their own."""
    items.sort(key=lambda item: (item.path.parent.name == "browser", item.path.name not in LONGEST))
