"""What starts a process of its own for a test, without importing the program again."""

import multiprocessing

STARTER = multiprocessing.get_context("forkserver")
"""Starts every process from one that knows the program already: see `tests.warm`."""
PRELOADED = ("__main__", "tests.warm", "tests.crashes", "tests.cli.terminal")
STARTER.set_forkserver_preload([*PRELOADED])
