"""The project's commands: python3 -m helpers NAME.

This file stays readable for any Python 3, so that an old one can say what is needed instead of failing to parse.
"""

import importlib
import os
import sys

COMMANDS = (
    ("start", "set up what is missing and open the first workbook in JupyterLab"),
    ("test", "set up what is missing and run every test; further words go to pytest"),
    ("refresh", "run the workbooks again and store their outputs: refresh [NN ...]"),
    ("export", "write the reading edition as HTML: export [folder] [--pdf]"),
    ("figures", "make the pictures for slides and handouts: figures [--check]"),
    ("map", "print what each module of the package holds: map [layer ...]"),
)


def main(arguments):
    """Run one command; returns the exit code."""
    if sys.version_info < (3, 11):
        print(
            "Python {}.{} is too old for this course: please install Python 3.11 or newer and run the same "
            "command with it.".format(*sys.version_info[:2])
        )
        return 2
    if not arguments or arguments[0] not in dict(COMMANDS):
        print("Usage: python3 -m helpers COMMAND\n")
        for name, purpose in COMMANDS:
            print("  {:8} {}".format(name, purpose))
        return 0 if arguments in ([], ["-h"], ["--help"]) else 2
    # Called by its folder (python3 path/to/helpers start), the package is not importable yet.
    sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
    environment = importlib.import_module("helpers.commands.environment")
    try:
        return environment.run(arguments[0], arguments[1:])
    except environment.CommandError as problem:
        print("\n{}".format(problem))
        return 1
    except OSError as problem:
        print("\n{}".format(environment.sentence(problem)))
        return 1
    except KeyboardInterrupt:
        print("\nStopped. Run the same command again to go on.")
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
