"""What happens: the compiled stepper, runs and their metrics. Imports models and control."""
