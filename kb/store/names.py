"""One name for one thing: what else a shop calls a component or a location.

What was typed stays as it was typed. Whatever is counted is read under the shop's own names, at the
one place where jobs are read (`kb.store.repository.Jobs`, `kb.store.repairs.Repairs`), and so is
the digest by which the cases of a cause are found.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from sqlalchemy import delete, select, update

from kb.bounds import check_text
from kb.case import Attempt, Cause, DiagnosticTest, FailureMode, Job, even
from kb.errors import InvalidField
from kb.store.changes import Changes, Recording
from kb.store.mapping import cause_digest
from kb.store.tables import JOBS, NAMES
from kb.store.transaction import Transaction

_CAUSE = JOBS.c["cause_component", "cause_location", "cause_failure_mode", "cause_digest"]


class Thing(StrEnum):
    """What has a name."""

    COMPONENT = "component"
    LOCATION = "location"


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Other names, evened out (`kb.case.even`), each with the shop's own name of the thing."""

    components: Mapping[str, str]
    locations: Mapping[str, str]

    def __bool__(self) -> bool:
        return bool(self.components or self.locations)

    def component(self, name: str) -> str:
        """Return what the shop calls a component."""
        return self.components.get(even(name), name)

    def cause(self, cause: Cause) -> Cause:
        """Return a cause under the shop's own names."""
        where = cause.location
        return replace(
            cause,
            component=self.component(cause.component),
            location=where and self.locations.get(even(where), where),
        )

    def job(self, job: Job) -> Job:
        """Return a job whose causes, fixes, suspects and circuit stand under the shop's names."""
        if not self:
            return job
        return replace(
            job,
            cause=job.cause and self.cause(job.cause),
            attempts=tuple(map(self._attempt, job.attempts)),
            tests=tuple(map(self._test, job.tests)),
            circuit=tuple(replace(each, name=self.component(each.name)) for each in job.circuit),
        )

    def _attempt(self, attempt: Attempt) -> Attempt:
        return replace(
            attempt,
            component=self.component(attempt.component),
            supposed=attempt.supposed and self.cause(attempt.supposed),
        )

    def _test(self, test: DiagnosticTest) -> DiagnosticTest:
        return replace(
            test,
            points_to=tuple(map(self.component, test.points_to)),
            clears=tuple(map(self.component, test.clears)),
        )


class ShopNames(Recording):
    """The vocabulary of a shop; every change of it stands in the change history."""

    def __init__(self, transaction: Transaction, changes: Changes) -> None:
        super().__init__(transaction, changes)
        self._known: Vocabulary | None = None

    def vocabulary(self) -> Vocabulary:
        """Return the vocabulary as it is now."""
        if self._known is None:
            found: dict[str, dict[str, str]] = {kind: {} for kind in Thing}
            for row in self._connection.execute(select(*NAMES.columns).order_by(NAMES.c.name)):
                found[row.kind][row.name] = row.meant
            self._known = Vocabulary(found[Thing.COMPONENT], found[Thing.LOCATION])
        return self._known

    def join(self, kind: Thing, name: str, meant: str) -> None:
        """Let a name mean what another one means; names that meant it so far mean that, too.

        Raises
        ------
        InvalidField
            If both are one name already, or one cannot be kept.
        """
        key, meant = _key(name), " ".join(meant.split())
        check_text("name", _key(meant))
        meant = self._names(kind).get(_key(meant), meant)
        if key == _key(meant):
            raise InvalidField("name", name, f"means {meant!r} already")
        for other, told in list(self._names(kind).items()):
            if other == key or _key(told) == key:
                self._set(kind, other, meant)
        self._set(kind, key, meant)
        self.count_again()

    def part(self, kind: Thing, name: str) -> str:
        """Take a name apart from what it meant, which is returned; it stands for itself again.

        Raises
        ------
        InvalidField
            If the name was joined to none.
        """
        before = self._names(kind).get(_key(name))
        if before is None:
            raise InvalidField("name", name, f"is no other name of a {kind}; see kb names list")
        self._set(kind, _key(name), None)
        self.count_again()
        return before

    def _names(self, kind: Thing) -> Mapping[str, str]:
        known = self.vocabulary()
        return known.components if kind is Thing.COMPONENT else known.locations

    def _set(self, kind: Thing, key: str, meant: str | None) -> None:
        before = self._names(kind).get(key)
        if before == meant:
            return
        same = (NAMES.c.kind == kind) & (NAMES.c.name == key)
        self._connection.execute(delete(NAMES).where(same))
        if meant is not None:
            self._transaction.put(NAMES, [{"kind": kind, "name": key, "meant": meant}])
            self._transaction.flushed()
        self._changes.note(None, f"names.{kind}.{key}", before, meant)
        self._known = None

    def count_again(self) -> None:
        """Bring the digests of all causes in line with the vocabulary."""
        known, query = self.vocabulary(), select(*_CAUSE).where(_CAUSE[0].is_not(None)).distinct()
        for component, location, mode, digest in self._connection.execute(query).all():
            told = Cause(component=component, location=location, failure_mode=FailureMode(mode))
            counted = cause_digest(known.cause(told).key)
            if counted != digest:
                same = (
                    (_CAUSE[0] == component)
                    & _CAUSE[1].is_not_distinct_from(location)
                    & (_CAUSE[2] == mode)
                )
                self._connection.execute(update(JOBS).where(same).values(cause_digest=counted))


def _key(name: str) -> str:
    key = even(name)
    check_text("name", key)
    if not 0 < len(key) <= LONGEST_NAME:
        raise InvalidField("name", name, f"must have 1 to {LONGEST_NAME} characters")
    return key


LONGEST_NAME = 200
"""Characters of a name that can be joined; longer ones are sentences."""
