"""legbook: the hands-free log of a transport leg with an external ventricular drain."""

import os

# Threads that wait for each other by spinning take the processor from whatever else is at work: the second
# listener took 30 s with two of them on a busy machine, and 2 s with one. Set before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
