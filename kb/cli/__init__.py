"""The commands; thin."""

import gc

gc.set_threshold(200_000, 20, 50)
# A command is short and its modules, statements and cases are no garbage. With Python's own
# threshold of 700 objects a seventh of the time of `kb causes` went into looking through them.
