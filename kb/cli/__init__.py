"""The commands; thin."""

import gc
import os

gc.set_threshold(200_000, 20, 50)
# A command is short and its modules, statements and cases are no garbage. With Python's own
# threshold of 700 objects a seventh of the time of `kb causes` went into looking through them.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Read when numpy is imported. Its products here are small: a second thread mostly waits, and on
# a machine that is busy otherwise fitting the index then takes three times as long.
