"""The ways of judging a reading, by the code that a limit names; a new one is added here."""

from collections.abc import Mapping

from shop.models import StepLimit
from workorders.services.ways.base import Way
from workorders.services.ways.cleanliness import Cleanliness
from workorders.services.ways.hold import Hold
from workorders.services.ways.plain import Count, Recorded, Value, Witness
from workorders.services.ways.power_unit import Efficiency, Steady
from workorders.services.ways.stroke import Stroke

WAYS: Mapping[str, Way] = {
    StepLimit.Judged.VALUE: Value(),
    StepLimit.Judged.DECAY: Hold(),
    StepLimit.Judged.COUNT: Count(),
    StepLimit.Judged.WITNESS: Witness(),
    StepLimit.Judged.STROKE: Stroke(),
    StepLimit.Judged.STEADY: Steady(),
    StepLimit.Judged.EFFICIENCY: Efficiency(),
    StepLimit.Judged.CLEANLINESS: Cleanliness(),
    StepLimit.Judged.RECORDED: Recorded(),
}


def way_of(limit: StepLimit) -> Way:
    """Return how a reading of a limit is asked for and judged."""
    return WAYS[limit.judged]
