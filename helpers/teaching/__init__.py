"""What the learner touches: live figures, exercises and page pieces. Imports everything below it."""

import os

# Before numpy: the matrices here are small, and threads of the linear algebra would only wait for one another.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
