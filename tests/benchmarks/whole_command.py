"""Time `kb causes` as a whole process against importing its main libraries.

Run by hand: ``python tests/benchmarks/whole_command.py [STORE]``. The budget is 2.5 times the
import of numpy, sqlalchemy, click and rich; the demonstration shop is asked without a STORE.
"""

import statistics
import subprocess
import sys
import time

RUNS = 15
IMPORTS = [sys.executable, "-c", "import numpy, sqlalchemy, click, rich"]
WHERE = ["--store", sys.argv[1]] if len(sys.argv) > 1 else ["--demo"]
ASK = [sys.executable, "-c", "from kb.cli.main import run; run()", *WHERE, "causes"]
COMPLAINT = ["airbag lamp on after seat was moved, B1234-1B", "--reading", "pretensioner 5.8 ohm"]


def seconds(command: list[str]) -> float:
    """Wall time of one run."""
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - start


def main() -> None:
    """Print the medians, runs of both interleaved."""
    seconds([*ASK, *COMPLAINT])
    pairs = [(seconds(IMPORTS), seconds([*ASK, *COMPLAINT])) for _ in range(RUNS)]
    imports, asking = (statistics.median(side) for side in zip(*pairs, strict=True))
    print(f"imports {imports * 1000:.0f} ms, kb causes {asking * 1000:.0f} ms, ", end="")
    print(f"ratio {asking / imports:.2f} (budget 2.5), {RUNS} runs each")


if __name__ == "__main__":
    main()
