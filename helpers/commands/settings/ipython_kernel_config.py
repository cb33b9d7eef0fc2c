"""How the kernels of the project's environment are set up; the set-up copies this to .venv/etc/ipython."""

c = get_config()  # noqa: F821 (IPython gives it to a configuration file)
c.InteractiveShellApp.extensions.append("helpers.teaching.first_cell")
