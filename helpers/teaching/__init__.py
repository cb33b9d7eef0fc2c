"""What the learner touches: live figures, exercises and page pieces. Imports everything below it."""
