"""How often `kb watch` tells a chosen fact by luck, and how soon where there is one.

Shops of eight models with as many jobs a year as asked for, cars with one to many visits. One part
is watched on one model, which is 3, 20 or 50 % of the cars; from the first day of the watch, after
a year of jobs, it befalls that model so many times as often as the others. Looked at is after
every car, which is more often than every week.

Printed are the share of shops in which it was told within the year, beside the chance that was
asked for where there is nothing to tell, and half of the months that it took.

Run: python tests/benchmarks/watch.py [--shops N] [--jobs N]
"""

import argparse
from datetime import date, timedelta
from statistics import median

import numpy as np

from kb.case import Cause, FailureMode, Job, Vehicle
from kb.recurrence.watch import WatchedFact, courses
from kb.settings import RecurrenceSettings

START, BEGIN = date(2023, 1, 1), date(2024, 1, 1)
DAYS = 730
MODELS = 8
RATE = 0.03
WATCHED = WatchedFact(component="part", make="make", model="model 0")
PART = Cause(component="part", failure_mode=FailureMode.WORN)
OTHER = Cause(component="other", failure_mode=FailureMode.WORN)


def shop(seed: int, jobs: int, share: float, times: float) -> list[Job]:
    dice = np.random.default_rng(seed)
    shares = np.append(share, (1 - share) * dice.dirichlet(np.full(MODELS - 1, 2.0)))
    cars = jobs
    model_of = dice.choice(MODELS, cars, p=shares)
    often = dice.gamma(1.5, 1, cars)
    made = []
    for number, car in enumerate(dice.choice(cars, 2 * jobs, p=often / often.sum()), start=1):
        day = START + timedelta(days=number * DAYS // (2 * jobs + 1))
        model = int(model_of[car])
        rate = RATE * (times if not model and day >= BEGIN else 1.0)
        made.append(
            Job(
                number=number,
                vehicle=Vehicle(make="make", model=f"model {model}", ref=f"C{car}"),
                opened=day,
                closed=day,
                complaint="noise",
                cause=PART if dice.random() < rate else OTHER,
            )
        )
    return made


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--shops", type=int, default=200)
    options.add_argument("--jobs", type=int, default=600, help="A year.")
    asked = options.parse_args()
    settings = RecurrenceSettings()
    chance = settings.false_alarms_a_year
    print(f"{asked.shops} shops, {asked.jobs} jobs a year; asked for: {chance:.0%} by luck a year")
    for share in (0.03, 0.2, 0.5):
        for times in (1.0, 2.0, 3.0, 5.0):
            found = []
            for seed in range(asked.shops):
                jobs = shop(seed, asked.jobs, share, times)
                told = courses(jobs, WATCHED, BEGIN, settings, chance=chance)
                found += [course.crossed for _, course in told]
            days = [(day - BEGIN).days / 30.44 for day in found if day]
            months = f", half within {median(days):.1f} months" if days and times > 1 else ""
            print(f"{share:4.0%} of cars, {times:g} times: {len(days) / asked.shops:.1%}{months}")


if __name__ == "__main__":
    main()
