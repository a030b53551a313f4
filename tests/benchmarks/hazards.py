"""How often a hazard is raised where it is there, and where it is not.

Run it by hand: ``python -m tests.benchmarks.hazards [--lines]``; the lines are in
``tests/safety/hazard_lines.toml``.
"""

import sys

from tests.safety.test_hazards import CASES, LINES, keys_of


def main(printing: bool) -> None:
    for name, cases in (("cases", CASES), ("lines", LINES)):
        for kind, wanted in (("raises", True), ("spares", False)):
            told = [(key, case) for key, each in cases.items() for case in each[kind]]
            raised = [(key, case) for key, case in told if key in keys_of(case)]
            word = "raised" if wanted else "falsely raised"
            print(f"{name}: {word} {len(raised)} of {len(told)} ({len(raised) / len(told):.1%})")
            if printing:
                for key, case in told:
                    if ((key, case) in raised) is not wanted:
                        print(f"  {key}: {case}")


if __name__ == "__main__":
    main("--lines" in sys.argv[1:])
