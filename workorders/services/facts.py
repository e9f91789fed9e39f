"""What is recorded of a rebuild, as yes or no: one prepared query, since every write asks for it."""

from dataclasses import dataclass
from functools import cache

from django.db import connection
from django.db.models import Exists, OuterRef

from workorders.models import (
    GoAhead,
    Operation,
    PackedUnit,
    PartUsed,
    PressureTest,
    Quote,
    Rebuild,
    Release,
    Signature,
)

_NO_KEY = -1


@dataclass(frozen=True)
class Facts:
    """The stored stage of a rebuild, and what exists of it."""

    stage: str
    packed: bool
    has_release: bool
    has_signed_test: bool
    has_current_test: bool
    has_test: bool
    signed_received: bool
    signed_torn_down: bool
    signed_built: bool
    has_go_ahead: bool
    has_quote: bool
    has_part: bool
    has_operation: bool

    @property
    def released(self) -> bool:
        """Whether a release stands: one was issued, and a signed pressure test stands."""
        return self.has_release and self.has_signed_test


def facts_of(rebuild: Rebuild) -> Facts:
    """Read the facts of a rebuild as they are now; Rebuild.DoesNotExist for one that is not there."""
    sql, fixed = _prepared()
    with connection.cursor() as cursor:
        cursor.execute(sql, (*fixed, rebuild.pk))
        row = cursor.fetchone()
    if row is None:
        raise Rebuild.DoesNotExist
    stage, *answers = row
    return Facts(stage, *map(bool, answers))


@cache
def _prepared() -> tuple[str, tuple[object, ...]]:
    """Return the query with its fixed parameters; the key of the rebuild comes last.

    Building it takes Django longer than all the rest of a small write, so it is built once.
    """
    State, Meaning = PressureTest.State, Signature.Meaning
    tests = PressureTest.objects.filter(rebuild=OuterRef("pk"))
    signatures = Signature.objects.filter(rebuild=OuterRef("pk"))
    asked = [
        PackedUnit.objects.filter(rebuild=OuterRef("pk")),
        Release.objects.filter(rebuild=OuterRef("pk")),
        tests.filter(state=State.SIGNED),
        tests.exclude(state=State.SUPERSEDED),
        tests,
        signatures.filter(meaning=Meaning.RECEIVED),
        signatures.filter(meaning=Meaning.TORN_DOWN),
        signatures.filter(meaning=Meaning.BUILT),
        GoAhead.objects.filter(rebuild=OuterRef("pk")),
        Quote.objects.filter(rebuild=OuterRef("pk")),
        PartUsed.objects.filter(rebuild=OuterRef("pk")),
        Operation.objects.filter(rebuild=OuterRef("pk")),
    ]
    rows = Rebuild.objects.order_by().filter(pk=_NO_KEY)
    sql, params = rows.values_list("stage", *map(Exists, asked)).query.sql_with_params()
    *fixed, key = params
    assert key == _NO_KEY
    return sql, tuple(fixed)
