"""How well sentences about igniters are judged: dangerous ones shown, harmless ones hidden.

Run by hand: ``python tests/benchmarks/igniter.py [--amiss]``. The first three files were written
without sight of the rule, the fourth and fifth by people who had seen parts of it. It has been
mended by each since; the fifth's first figures were 8 of 100 dangerous ones shown and 3 of 100
harmless ones hidden. The sixth was written without sight of the rule, some of its lines for jobs on
other systems; its first figures were 5 and 10 of 100. The seventh was written likewise; its first
figures were 12 and 15 of 100; so was the eighth, with 10 and 8 of 80, and the ninth, with 9 and 8
of 60, by which it was not mended but for a harmless line (below). The tenth was written by a safety
engineer without sight of anything; its first figures were 24 and 25 of 100. The eleventh was
written by a safety trainer likewise; its first figures were 9 and 29 of 100; the twelfth by an old
hand in airbag work, with 7 and 11 of 60; the fourteenth, written likewise, was held against the
lists alone, 10 and 15 of 100, and with the likeness to kept sentences, 8 and 15, and is among those
since. The rule was mended by both since. The fifteenth, written blind, had 2 and 27 of 100 at
first, and the rule was mended by it, too.
The sixteenth and seventeenth, written blind by two more, had 2 and 23 of 100 and 3 and 15 of 60 at
first; the rule was mended by them twice. The eighteenth, written blind, stood at 3 and 18 of 100
when the rule was mended by it; so did the nineteenth, with 3 and 11 of 100. A second judge by
weights of words, fitted to the other files, was left: over all files, each left out of its fit, it
hid 9 dangerous ones and 8 to 9 harmless ones more at its threshold of 0.9 (13 and 21 to 29 at 0.8).
On the ninth and tenth alone, by which the lists were not mended then, it hid 4 dangerous ones and
no harmless one more (8 and none at 0.8); the lists are fitted to the other files, which cannot show
what it is worth. A linear model of words, word pairs and parts of words, fitted to every other kept
file, was held against the rule as it was before each file was seen: on the sixth to the tenth, from
a chance of 0.95 on, it hid 10 of the 52 dangerous ones shown and 1 of the 384 harmless ones more;
on seven files 17 of 69 and 3. It was left, too: it hid nine of the tests' plainly allowed lines
(*looked at the airbag*, *battery charger on while coding the airbag unit*). Let it show what the
rule hides, from a chance of 0.05 down, and on the tenth it showed 14 harmless and 4 dangerous ones.
Held once more against the rule as it stood at the first run of the eighth to the twelfth file, a
linear model of TF-IDF of words, pairs and parts of words, fitted to what was kept before each and
with its threshold chosen there to hide 3 of 100 harmless ones more, caught 30 of the 59 dangerous
ones shown (6 of 10, 7 of 9, 6 of 24, 6 of 9, 5 of 7) and hid 10 of the 400 harmless ones more; with
rare traits left out 29 and 12, without TF-IDF 27 and 13, with roles of words 27 and 12.
Held a third time, likewise against the rule as it stood before each of the fifth to the thirteenth
file was seen, words and roles as it read them then: words, word pairs and roles in runs of three,
by least squares, would catch 51 of 85 dangerous ones shown where 2 in 100 harmless ones more are
hidden (57 where 3 are); without roles 45. It is the likeness of ``kb/safety/igniter_likeness.py``;
``igniter_fit.py`` beside this file holds it against each file left out. Here it was fitted to all.

Another way since: the voices (``igniter/voices``, 18 people, 12,900 sentences, half of them near
misses) are no longer what the lists are mended by but what a likeness is learnt from, by logistic
regression. On five of them, each left out of its fit, the lists alone show 274 of 1,449 dangerous
ones and hide 428 of 1,436 harmless ones; with the likeness 47 and 445. The last two files were
written blind and used once: 2 of 100 dangerous ones shown and 12 of 100 harmless ones hidden, and 2
and 40 (a safety trainer's hard ones); before it was learnt so 8 and 14, 9 and 45.

What was harmless and still hidden was gone through by cause. Mended: plain words in no list, in
other tongues above all (*bleibt*, *nadal*), and parts that share a name with an igniter (*timing
belt pretension*, *heater igniter*); over all files 42 of 1080 were hidden before and 34 after, with
27 of 1060 dangerous ones shown before and after. Left: a meter named only to be refused, a *tester*
that may be a meter, values of unknown origin, supplies and waits told in an odd order.
"""

import json
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.safety.igniter import Shown, judged


def main() -> None:
    """Print, for each file, how many are judged wrongly; with ``--amiss`` which."""
    for file in sorted(Path(__file__).with_name("igniter").glob("*.jsonl")):
        lines = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
        wrong: dict[bool, list[str]] = {True: [], False: []}
        for line in lines:
            verdict = judged(line["text"], igniter_job=line.get("igniter_job", True))
            shown = isinstance(verdict, Shown)
            if shown is line["dangerous"]:
                wrong[shown].append(line["text"])
        dangerous = sum(line["dangerous"] for line in lines)
        print(f"{file.stem:<7}{len(wrong[True])} of {dangerous} dangerous shown; ", end="")
        print(f"{len(wrong[False])} of {len(lines) - dangerous} harmless hidden")
        if "--amiss" in sys.argv:
            for shown, texts in wrong.items():
                for text in texts:
                    print(f"  {'shown ' if shown else 'hidden'}  {text}")


if __name__ == "__main__":
    main()
