"""Dimensions of a rebuild: which readings are there, which are missing, which lie outside."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from shop.models import Component, DimensionLimit
from workorders.models import Finding, Measurement, Rebuild

Quantity = DimensionLimit.Quantity
Moment = Measurement.Moment
# Common practice, no source: the component that carries a dimension.
CARRIED_BY: dict[str, tuple[str, ...]] = {
    Quantity.ROD_DIAMETER: (Component.Kind.ROD,),
    Quantity.RUN_OUT: (Component.Kind.ROD,),
    Quantity.BORE: (Component.Kind.BARREL, Component.Kind.BODY),
    Quantity.CLEARANCE: (Component.Kind.PUMPING_ELEMENT,),
}


@dataclass(frozen=True)
class Station:
    """One place along a dimension, with its reading before and after the work."""

    number: int
    as_found: Measurement | None
    after: Measurement | None

    @property
    def stands_out(self) -> bool:
        """Whether the reading that counts now lies outside the limits."""
        counts = self.after or self.as_found
        return counts is not None and not counts.within


@dataclass(frozen=True)
class Dimension:
    """One limit of the revision with its stations; ``carriers`` are the findings at what carries it."""

    limit: DimensionLimit
    stations: list[Station]
    carriers: list[Finding] = field(default_factory=list)

    @property
    def missing(self) -> list[int]:
        """Stations without a reading as found."""
        return [station.number for station in self.stations if station.as_found is None]

    @property
    def outside(self) -> list[int]:
        """Stations whose reading that counts now lies outside the limits."""
        return [station.number for station in self.stations if station.stands_out]

    @property
    def was_outside(self) -> bool:
        """Whether a reading as found lay outside the limits."""
        return any(s.as_found is not None and not s.as_found.within for s in self.stations)

    @property
    def was_read_after(self) -> bool:
        """Whether anything was read after the work."""
        return any(station.after for station in self.stations)

    @property
    def replaced(self) -> bool:
        """Whether what carries the dimension is missing, renewed or rejected: nothing to measure."""
        gone = (Finding.Action.RENEWED, Finding.Action.REJECTED)
        return bool(self.carriers) and all(
            row.action in gone or row.condition == Finding.Condition.MISSING for row in self.carriers
        )

    @property
    def worked_on(self) -> bool:
        """Whether what carries the dimension was renewed or reworked; True where nothing is named."""
        done = (Finding.Action.RENEWED, Finding.Action.REWORKED)
        return not self.carriers or any(row.action in done for row in self.carriers)


def dimensions(
    rebuild: Rebuild,
    findings: Iterable[Finding] | None = None,
    measurements: Iterable[Measurement] | None = None,
) -> list[Dimension]:
    """Return every dimension of the rebuild's revision with its readings, in three queries.

    ``findings`` with their component and ``measurements`` with their limit, instrument and person
    save a query each where the caller has read them.
    """
    if findings is None:
        findings = rebuild.findings.select_related("component")
    if measurements is None:
        measurements = rebuild.measurements.select_related("limit", "instrument", "measured_by")
    rows = list(findings)
    readings = {(reading.limit_id, reading.station, reading.moment): reading for reading in measurements}
    return [
        Dimension(
            limit=limit,
            stations=[
                Station(
                    number=number,
                    as_found=readings.get((limit.pk, number, Moment.AS_FOUND)),
                    after=readings.get((limit.pk, number, Moment.AFTER)),
                )
                for number in range(1, limit.stations + 1)
            ],
            carriers=[row for row in rows if row.component and row.component.kind in _kinds(limit)],
        )
        for limit in rebuild.revision.dimension_limits.all()
    ]


def _kinds(limit: DimensionLimit) -> tuple[str, ...]:
    return CARRIED_BY.get(limit.quantity, ())
