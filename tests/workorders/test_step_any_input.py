"""Anything typed into a step, in each way of judging: refused by a sentence or recorded whole."""

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import send, url
from tests.workorders.test_ways import CHECK, DECAY, LIMITS, entries
from workorders.forms.step import StepForm
from workorders.models import Reading, StepResult
from workorders.services.readings import recomputed

pytestmark = pytest.mark.django_db
WAYS = {
    "kind": "hold",
    "side": "bore",
    "title": "Each way",
    "pressure_bar": 7,
    "hold_s": 120,
}
COUNTED = {"reading": "drips", "judged": "count", "unit": "drips", "upper": 0.0, "basis": "x"}
SEEN = {"reading": "dry outside", "judged": "witness", "basis": "x"}
EACH = ((WAYS, (*({"basis": "x", **limit} for limit in LIMITS), DECAY, COUNTED, SEEN)),)
ODD = st.sampled_from(
    [
        *("nan", "inf", "-inf", "1e400", "1e308", "-1e308", "1e-320", "1e999999999", "sNaN", "9" * 400),
        *("0", "-0", "-1", "0,5", "1.234.567,8", "1_000", "0x1F", "٣", "１２", "1 000", "7 bar", "½", "--1"),
        *("", "   ", "\0", "=1+1", "<b>7</b>", "'; --", "7\n7", "x" * 3000),
        *("1 2 3", "1 2; 3", "0 7.2; 0.6 6.2; 1.2 5.2", "0 7; 0 7; 0 7", "1e9 1e9; 2e9 1", "; ;"),
        *("18/16/13", "1/2/3", ">=", "18/16", "99/99/99", "0/0/0"),
    ]
)


@pytest.fixture
def test(bench, db):
    return at_bench.started(bench, at_bench.ready_rebuild(steps=EACH))


def typed(test):
    """What a browser would send for a step that passes, by field."""
    step = at_bench.steps_of(test)[0]
    limits = {limit.reading: limit for limit in step.limits.all()}
    known = {"as_required": "yes", **{name: str(value) for name, value in CHECK.items()}, "count": "0"}
    known |= {f"blank_{name}": str(value) for name, value in CHECK.items()}
    known |= {"blank_rig_ml_per_bar": "0.6", "blank_together_ml_per_bar": "1.0", "readings": "37.8 37.9"}
    known |= {"code": "", "count_4um": "2178", "count_6um": "600", "count_14um": "63", "report": "shop"}
    known |= {"highest_bar": "2.2", "lowest_bar": "1.8", "running_bar": "2", "flow_l_min": "37"}
    known |= {"speed_rpm": "1800", "start_bar": "7.1", "end_bar": "7.09", "value": "40"}
    made = {limits[name]: entry for name, entry in entries().items()}
    form = StepForm(limits=list(limits.values()), proposals={}, states={}, again=False)
    sent = {"note": ""}
    for limit in limits.values():
        for name in form.fields:
            if not name.startswith(f"r{limit.pk}-"):
                continue
            part = name.partition("-")[2]
            sent[name] = known.get(part, "")
            if part.endswith("instrument"):
                row = getattr(made.get(limit), part, None) or at_bench.transducer()
                sent[name] = str(row.pk)
    return step, sent


def test_what_is_typed_here_is_recorded(client, bench, test):
    """So that what is refused below is refused for what was changed."""
    step, sent = typed(test)
    client.force_login(bench)
    answer = send(client, url("test_step", test.pk, step.order), **sent)
    assert answer.status_code == 302, answer.context["form"].errors
    assert Reading.objects.count() == len(EACH[0][1])


class _Undo(Exception):
    """Ends one example; the next one meets the test as it was."""


@settings(max_examples=80, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_anything_typed_is_refused_whole_or_recorded_whole(client, bench, test, data):
    client.force_login(bench)
    try:
        with transaction.atomic():
            step, sent = typed(test)
            places = data.draw(st.lists(st.sampled_from(sorted(sent)), min_size=1, max_size=3, unique=True))
            sent |= {name: data.draw(ODD) for name in places}
            answer = send(client, url("test_step", test.pk, step.order), **sent)
            assert answer.status_code in (302, 422)
            recorded = answer.status_code == 302
            assert StepResult.objects.count() == recorded
            assert Reading.objects.count() == recorded * len(EACH[0][1])
            for reading in Reading.objects.all():
                again = recomputed(reading)
                assert (again.verdict, again.arithmetic) == (reading.verdict, reading.arithmetic)
            if recorded:
                assert client.get(test.get_absolute_url()).status_code == 200
            raise _Undo
    except _Undo:
        pass
