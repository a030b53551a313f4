"""What is new since last week: one line each, however long, for whatever reads on."""

from collections.abc import Iterable

from kb.reports.labels import brief, day, job_list, plural
from kb.services.watch import WatchAlert, WatchLine, WatchList, WatchLook, WatchReason

NOTHING = "Nothing new."
REASONS = {
    WatchReason.CHOSEN: "watched",
    WatchReason.UNSEEN: "new",
    WatchReason.GROWN: "grown since it was seen",
}
NONE_CHOSEN = 'Nothing is watched yet: kb watch --follow "seat connector" --model Lido'


def look_lines(found: WatchLook) -> list[str]:
    """Return what is new; each line begins with what it is acknowledged by."""
    return [*found.notices, *(map(_alert, found.alerts) if found.alerts else [NOTHING])]


def list_lines(found: WatchList) -> list[str]:
    """Return what is watched, and what was done about it."""
    chosen = [f"{_named(each)}: watched since {day(each.since)}" for each in found.chosen]
    return [*(chosen or [NONE_CHOSEN]), *(["", "So far:"] if found.history else [])] + [
        f"{each.at:%Y-%m-%d} {each.act} {_named(each)}" + (f" ({each.who})" if each.who else "")
        for each in found.history
    ]


def followed_lines(line: WatchLine) -> list[str]:
    """Say what is watched from now on."""
    return [f"Watched since {day(line.since)}: {_named(line)}"]


def stopped_lines(line: WatchLine) -> list[str]:
    """Say what is watched no more."""
    return [f"No more watched: {_named(line)}"]


def seen_lines(alerts: Iterable[WatchAlert]) -> list[str]:
    """Say what was acknowledged."""
    seen = [_one_line(f"Seen: {each.id} {each.group}: {each.fault}") for each in alerts]
    return seen or [NOTHING]


def _alert(alert: WatchAlert) -> str:
    more = f" and {alert.later} more since" if alert.later else ""
    sure = f", beyond luck since {day(alert.told)}{more}" if alert.told else ""
    one = ", mostly recorded by one person, who records less of the rest" if alert.by_one else ""
    return _one_line(
        f"{alert.id} {alert.group}: {alert.fault}: {_counted(alert)}{sure}{one}; "
        f"{REASONS[alert.reason]}; jobs {job_list(alert.jobs)}"
    )


def _counted(alert: WatchAlert) -> str:
    if alert.before is not None:
        return (
            f"{plural(alert.hits, 'car')} since it was seen on {day(alert.since)}, "
            f"{brief(alert.expected)} to be expected by the {alert.before} of the months before"
        )
    whose = f"{alert.hits} of the {plural(alert.cars, 'car')} with it since {day(alert.since)}"
    return f"{whose} are {alert.group}, {brief(alert.expected)} to be expected"


def _named(line: WatchLine) -> str:
    return _one_line(f"{line.id} {line.group}: {line.fault}")


def _one_line(text: str) -> str:
    return " ".join(text.split())
