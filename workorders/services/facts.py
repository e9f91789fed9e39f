"""What is recorded of a rebuild, as yes or no: in prepared queries, since every write asks for it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.db import connection
from django.db.models import Exists, F, OuterRef, QuerySet

from workorders.models import (
    Finding,
    FluidDecision,
    GoAhead,
    HoseCheck,
    Measurement,
    Operation,
    OutsideWork,
    PackedUnit,
    PartUsed,
    PressureTest,
    Quote,
    Rebuild,
    SealFound,
    Signature,
)

_NO_KEY = -1


@dataclass(frozen=True)
class Facts:
    """The stored stage of a rebuild, and what exists of it."""

    stage: str
    packed: bool
    released: bool  # a release stands: it was signed after the pressure test that stands
    has_current_test: bool
    has_test: bool
    signed_received: bool
    signed_torn_down: bool
    signed_built: bool
    has_go_ahead: bool
    has_quote: bool
    has_part: bool
    has_operation: bool
    has_fluid_decision: bool
    has_outside_work: bool
    has_seal_found: bool
    has_hose_check: bool


def facts_of(rebuild: Rebuild) -> Facts:
    """Read the facts of a rebuild as they are now; Rebuild.DoesNotExist for one that is not there."""
    row = _answer(_facts_query(), rebuild)
    if row is None:
        raise Rebuild.DoesNotExist
    stage, *answers = row
    return Facts(stage, *map(bool, answers))


def standing_build_key(rebuild: Rebuild) -> int | None:
    """Return the key of the build's latest signature, unless what it covers was changed after it."""
    row = _answer(_build_query(), rebuild)
    if row is None:
        return None
    key, *changed = row
    return None if any(changed) else int(key)


@dataclass(frozen=True)
class _Prepared:
    """A query as text; Django takes longer to build it than all the rest of a small write."""

    sql: str
    params: tuple[Any, ...]

    @classmethod
    def of(cls, rows: QuerySet[Any, Any]) -> "_Prepared":
        """Keep a query in which ``_NO_KEY`` stands for the key of the rebuild."""
        sql, params = rows.query.sql_with_params()
        assert params.count(_NO_KEY) == 1
        return cls(sql, params)


def _answer(query: _Prepared, rebuild: Rebuild) -> Sequence[Any] | None:
    params = [rebuild.pk if value == _NO_KEY else value for value in query.params]
    with connection.cursor() as cursor:
        cursor.execute(query.sql, params)
        row: Sequence[Any] | None = cursor.fetchone()
    return row


@cache
def _facts_query() -> _Prepared:
    State, Meaning = PressureTest.State, Signature.Meaning
    of_rebuild = {"rebuild": OuterRef("pk")}
    tests = PressureTest.objects.filter(**of_rebuild)
    signatures = Signature.objects.filter(**of_rebuild)
    asked = [
        PackedUnit.objects.filter(**of_rebuild),
        tests.filter(state=State.SIGNED, rebuild__releases__signature__gt=F("signature")),
        tests.exclude(state=State.SUPERSEDED),
        tests,
        signatures.filter(meaning=Meaning.RECEIVED),
        signatures.filter(meaning=Meaning.TORN_DOWN),
        signatures.filter(meaning=Meaning.BUILT),
        GoAhead.objects.filter(**of_rebuild),
        Quote.objects.filter(**of_rebuild),
        PartUsed.objects.filter(**of_rebuild),
        Operation.objects.filter(**of_rebuild),
        FluidDecision.objects.filter(**of_rebuild),
        OutsideWork.objects.filter(**of_rebuild),
        SealFound.objects.filter(**of_rebuild),
        HoseCheck.objects.filter(**of_rebuild),
    ]
    rows = Rebuild.objects.order_by().filter(pk=_NO_KEY)
    return _Prepared.of(rows.values_list("stage", *map(Exists, asked)))


@cache
def _build_query() -> _Prepared:
    same, later = {"rebuild": OuterRef("rebuild")}, OuterRef("at")
    changed = [
        PartUsed.objects.filter(at__gt=later, **same),
        PartUsed.objects.filter(taken_back__at__gt=later, **same),
        Operation.objects.filter(done_at__gt=later, **same),
        Finding.objects.filter(found_at__gt=later, **same),
        Measurement.objects.filter(measured_at__gt=later, **same),
        OutsideWork.objects.filter(sent_at__gt=later, **same),
        OutsideWork.objects.filter(inspected_at__gt=later, **same),
        HoseCheck.objects.filter(at__gt=later, **same),
    ]
    signed = Signature.objects.filter(rebuild=_NO_KEY, meaning=Signature.Meaning.BUILT)
    return _Prepared.of(signed.order_by("-pk").values_list("pk", *map(Exists, changed))[:1])
