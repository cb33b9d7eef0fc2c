"""Models, control laws, simulation and page pieces behind the suspension-control workbooks."""

__version__ = "0.1.0"
