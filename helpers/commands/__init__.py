"""The commands of `python3 -m helpers`. Those that set up use the standard library only."""
