"""The demo's bad instrument: a torque wrench found out of tolerance, its units reviewed but for one."""

import datetime as dt
from contextlib import suppress

from shop.errors import RuleBroken
from shop.roles import LEAD
from shop.services.writing import Act
from workorders.demo.catalogue import CALIBRATED_BY
from workorders.demo.world import World
from workorders.models import CalibrationReview
from workorders.services.calibration_reviews import review_rebuild
from workorders.services.found_out import flags
from workorders.services.instruments import add_calibration

WRENCH = "TQ-W1"
WHY = "The torque less the error lies inside the figure; the wrench read high by one step."


def find_out_wrench(world: World) -> None:
    """Have the wrench calibrated early after a fall, and review what it touched, but for one release."""
    at = world.now - dt.timedelta(hours=30)
    lead = world.people[LEAD][0]
    calibration = add_calibration(
        act=Act(by=lead, at=at),
        instrument=world.instruments[WRENCH],
        calibrated_on=at.date(),
        due_on=at.date() + dt.timedelta(days=365),
        certificate_no=f"NC-{at:%y%m}-W1-2",
        done_by=CALIBRATED_BY,
        in_tolerance=False,
        adjusted=True,
        error_found=0.5,
        error_at=50.0,
    )
    waiting = [flag for flag in flags() if flag.is_open and flag.calibration == calibration]
    left = next((flag for flag in waiting if flag.rebuild.released), None)  # type: ignore[attr-defined]
    for flag in waiting:
        if flag is not left:
            when = min(max(flag.latest_at, at) + dt.timedelta(hours=1), world.now)
            act = Act(by=lead, at=when, why=WHY)
            with suppress(RuleBroken):  # a torque near the end of its figure waits too
                review_rebuild(
                    act=act,
                    calibration=calibration,
                    rebuild=flag.rebuild,
                    decision=CalibrationReview.Decision.STANDS,
                )
