"""What decides: control laws and their timing. Imports models only."""
