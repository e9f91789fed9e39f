"""Release, reissue, shipping, warranty and claim by their services."""

import datetime as dt

import pytest

from shop.errors import NotAllowed, RuleBroken
from tests.workorders.journey import Journey
from workorders.models import Rebuild, Release
from workorders.services import claims, releasing, shipping, testing
from workorders.services.certificate import printed_again
from workorders.services.stages import derived_stage

pytestmark = pytest.mark.django_db


def test_a_unit_goes_from_the_box_to_a_warranty():
    journey = Journey().tested().release().ship()
    rebuild = journey.rebuild
    assert rebuild.stage == Rebuild.Stage.SHIPPED == derived_stage(rebuild)
    assert rebuild.warranty.recipient == rebuild.work_order.customer
    # 36 months of the shop's profile from the day of shipping.
    assert rebuild.warranty.ends_on == rebuild.warranty.starts_on.replace(year=rebuild.warranty.starts_on.year + 3)
    assert releasing.signature_holds(journey.released)
