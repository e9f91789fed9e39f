"""Many requests at once with the same file: one record, and the same answer for all."""

import pytest
from django.test import Client

from shop.models import StoredFile
from tests.factories import person
from tests.workorders.rigs import at_the_hold, make_rig, send_trace
from tests.workorders.test_build_rush import at_once
from workorders.models import LoggerFile, RigFile

pytestmark = pytest.mark.django_db(transaction=True)
CLIENTS = 16


@pytest.mark.parametrize("named", [True, False])
def test_sixteen_requests_at_once_make_one_record(named):
    test = at_the_hold(person("bench"))
    _rig, secret = make_rig()
    words = {"serial": test.rebuild.unit.serial} if named else {}
    # Each in other words for the same step, as a logger that was changed between two tries.
    steps = ["3", "hold", "", "Hold at 7 bar"] if named else [""]

    def job(number):
        return lambda: send_trace(Client(), secret, step=steps[number % len(steps)], **words)

    answers = at_once([job(number) for number in range(CLIENTS)])
    first = 201 if named else 202
    assert sorted(answer.status_code for answer in answers) == [200] * (CLIENTS - 1) + [first]
    assert len({answer.content for answer in answers}) == 1
    assert RigFile.objects.count() == StoredFile.objects.count() == 1
    assert LoggerFile.objects.count() == named
