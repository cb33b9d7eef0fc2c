"""What things are: vehicles, terrain, dampers and the equations of motion. Imports nothing else of this package."""
