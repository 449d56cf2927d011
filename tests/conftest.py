"""For every test: hypothesis repeats the same examples and is not timed, since the machine may be slow.

Matrices are small and worked with one thread, as the program itself does it.
"""

import os

for library in ("OPENBLAS", "MKL", "OMP"):
    os.environ.setdefault(f"{library}_NUM_THREADS", "1")

from hypothesis import settings  # noqa: E402  it may import numpy, which reads them once

settings.register_profile("house", deadline=None, derandomize=True)
settings.load_profile("house")
