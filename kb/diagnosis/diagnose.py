"""The one way to ask: from a complaint to what the shop's past says of it.

`kb causes`, the open job, evaluation and benchmarks all ask here, so that what is measured is what
is printed. `kb similar` looks for jobs by the same signals and weights, but through every job
(`kb.recall.recall.nearest`).
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from kb.case import Complaint, Placed, VehicleModel
from kb.diagnosis.causes import Ranking, as_proposed, as_they_stand, rank
from kb.diagnosis.fuel import of_this_engine
from kb.diagnosis.placing import brought_here, shares_by_place
from kb.diagnosis.proposals import Unreviewed, with_proposed
from kb.intake.wording import Wording
from kb.recall.features import Query
from kb.recall.index import Index
from kb.recall.recall import Recalled, recall
from kb.recall.vehicle_signal import platform_cars
from kb.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Knowledge:
    """All that a complaint is asked of.

    `wording` is the one the index was made with; `models` the shop's list of vehicles, which tells
    what shares a platform; `settings` those in force, with the shop's own weights where it has
    learnt better ones; `stands` tells of some recalled jobs as what share each counts for its
    cause, where that is less than one, since its car came back; `places` where they were on the
    car; `unreviewed` are the cards that have no cause yet, where they are to count;
    `weights_lost` tells that the shop's own weights cannot be read any more.
    """

    wording: Wording
    index: Index
    models: Sequence[VehicleModel] = ()
    settings: Settings
    stands: Callable[[Collection[int]], Mapping[int, float]] = lambda _: {}
    places: Callable[[Collection[int]], Iterable[Placed]] = lambda _: ()
    unreviewed: Unreviewed | None = None
    weights_lost: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnosis:
    """The complaint as it was asked, the past cases most like it, and the likely causes.

    `came_back` are those of the cases that count less, as their cars came back.
    """

    query: Query
    recalled: Recalled
    ranking: Ranking
    came_back: frozenset[int] = frozenset()


def query_of(complaint: Complaint, models: Sequence[VehicleModel], on: date | None = None) -> Query:
    """Put beside a complaint its day and the cars that share its car's platform."""
    return Query(complaint=complaint, on=on, platform_cars=platform_cars(complaint.vehicle, models))


def diagnose(
    complaint: Complaint,
    known: Knowledge,
    *,
    on: date | None = None,
    since: date | None = None,
    without: Collection[int] = (),
) -> Diagnosis:
    """Ask the past about a complaint.

    An open job asks as it came in (`Complaint.of`), and weighs its tests and fixes by what each
    says of every suspect (Bayes' rule, `kb.services.standing`), so that no test counts twice. Tests
    are part of the complaint where jobs like it are looked for (`kb similar --job`).

    Parameters
    ----------
    on : date, optional
        The day the complaint came in.
    since : date, optional
        Only past cases opened on or after this day.
    without : collection of int
        Job numbers to leave out, such as the job that the complaint comes from.
    """
    query = query_of(complaint, known.models, on)
    recalled = recall(
        query,
        known.index,
        known.wording,
        known.settings.recall,
        since=since,
        without=without,
    )
    if known.unreviewed and known.unreviewed.cases:
        recalled = with_proposed(
            recalled,
            query,
            known.unreviewed,
            known.wording,
            known.settings.recall,
            since=since,
            without=without,
        )
    numbers = [each.number for each in recalled.neighbours]
    stands = known.stands(numbers)
    ranking = rank(recalled, known.settings.diagnosis)
    places = list(known.places({*numbers, *(each.example for each in ranking.causes)}))
    placed = shares_by_place(complaint.text, places)
    shares = {
        number: stands.get(number, 1.0) * placed.get(number, 1.0)
        for number in stands.keys() | placed.keys()
    }
    ranking = of_this_engine(ranking, complaint, places)
    ranking = as_they_stand(brought_here(ranking, complaint.text, places), shares)
    if known.unreviewed:
        proposed = {each.number for each in recalled.neighbours if each.proposed}
        cases = known.unreviewed.cases
        ranking = as_proposed(ranking, {number: cases[number].chance for number in proposed})
    return Diagnosis(query=query, recalled=recalled, ranking=ranking, came_back=frozenset(stands))
