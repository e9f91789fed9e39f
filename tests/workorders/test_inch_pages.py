"""Measuring with inch instruments: pages switch their units, the record stays in metric."""

import pytest
from django.urls import reverse

from tests import factories
from tests.asking import send
from tests.workorders.draft_journey import DraftJourney
from tests.workorders.journey import Journey
from workorders.models import Instrument, Measurement, OperationValue, SealFound

pytestmark = pytest.mark.django_db
INCH, METRIC = "inch-pound", "metric"
IDENTIFY = reverse("workorders:identify")


def drafted():
    made = DraftJourney().receive_unknown()
    made.seat = made.add("position", kind="rod_seal")
    return made


@pytest.fixture(scope="module")
def kept_draft(keep):
    return keep(drafted)


@pytest.fixture(scope="module")
def kept_build(keep):
    return keep(lambda: Journey().receive().find().close_teardown().go_ahead())


@pytest.fixture
def way(kept_draft, client):
    made = kept_draft()
    client.force_login(made.people["bench"])
    return made


@pytest.fixture
def building(kept_build, client):
    made = kept_build()
    client.force_login(made.people["bench"])
    return made


def url(name, *args, units=""):
    address = reverse(f"workorders:{name}", args=args)
    return f"{address}?units={units}" if units else address


def reason_of(model):
    return model.history.latest("history_id").history_change_reason


def test_a_unit_is_identified_by_inches(client, receiving):
    client.force_login(receiving)
    factories.TypeRevisionFactory(unit_type__code="LC-25", bore_mm=25.4, rod_mm=12.7)
    answer = client.get(IDENTIFY, {"units": INCH, "bore_mm": "1", "rod_mm": "0.5"})
    page = answer.content.decode()
    assert "LC-25" in page
    assert ("Bore", "25.4 mm (typed as 1 in)") in answer.context["told"]
    assert answer.context["form"].fields["bore_mm"].widget.attrs["data-unit"] == "in"
    assert answer.context["other_units_url"] == "?units=metric&bore_mm=25.4&rod_mm=12.7"
    again = client.get(f"{IDENTIFY}{answer.context['other_units_url']}")
    assert ("Bore", "25.4 mm") in again.context["told"]


def test_what_was_measured_in_inches_goes_on_to_the_receipt_in_mm(client, receiving):
    client.force_login(receiving)
    order = factories.WorkOrderFactory()
    page = client.get(url("identify_for", order.number), {"units": INCH, "bore_mm": "1.25"})
    assert page.context["unknown_url"] == f"{url('add_unknown', order.number)}?bore_mm=31.75"
    form = client.get(page.context["unknown_url"]).context["form"]
    assert form["bore_mm"].value() == "1.25"
    metric = client.get(f"{page.context['unknown_url']}&units={METRIC}").context["form"]
    assert metric["bore_mm"].value() == "31.75"


def test_units_are_remembered_until_signing_out_and_a_person_has_usual_ones(client, bench):
    client.force_login(bench)
    assert client.get(IDENTIFY).context["units"] == METRIC
    client.get(IDENTIFY, {"units": INCH})
    assert client.get(IDENTIFY).context["units"] == INCH
    assert client.get(IDENTIFY, {"units": "cubits"}).context["units"] == INCH
    client.logout()
    client.force_login(bench)
    assert client.get(IDENTIFY).context["units"] == METRIC
    bench.inch_units = True
    bench.save()
    assert client.get(IDENTIFY).context["units"] == INCH
    assert client.get(IDENTIFY, {"units": METRIC}).context["units"] == METRIC


def test_a_gland_read_in_inches_is_kept_in_mm_with_what_was_typed(client, way):
    # AS568 -214 in a gland: 0.111 in of depth are 2.8194 mm (25.4 mm to the inch, NIST SP 811).
    address = url("draft_gland", way.rebuild.pk, way.seat.pk, units=INCH)
    data = {"units": INCH, "instrument": way.micrometer.pk, "depth_1": "0.111", "depth_2": "0.112"}
    assert send(client, address, data).status_code == 302
    way.seat.refresh_from_db()
    assert (way.seat.gland_depth_min_mm, way.seat.gland_depth_max_mm) == (2.8194, 2.8448)
    assert reason_of(Measurement) == "typed as 0.111 in, 0.112 in"
    page = client.get(address).context["form"]
    assert page["depth_1"].value() == "0.111"


def test_readings_that_were_not_touched_leave_no_history(client, way):
    micrometer = way.micrometer.pk
    send(
        client,
        url("draft_gland", way.rebuild.pk, way.seat.pk),
        {"instrument": micrometer, "depth_1": "2.817", "depth_2": "2.82"},
    )
    address = url("draft_gland", way.rebuild.pk, way.seat.pk, units=INCH)
    form = client.get(address).context["form"]
    before = Measurement.history.count()
    data = {name: form[name].value() or "" for name in ("depth_1", "depth_2")}
    send(client, address, {"units": INCH, "instrument": micrometer, **data})
    assert Measurement.history.count() == before
    assert Measurement.objects.get(station=1).value == 2.817


def test_the_seal_that_came_out_is_measured_in_inches(client, way):
    # SAE AS568 -214 as shop/calc/data/as568.csv prints it: 0.984 x 0.139 in, 24.99 x 3.53 mm.
    address = url("seal_found", way.rebuild.pk, way.seat.pk, units=INCH)
    data = {
        "units": INCH,
        "profile": "o_ring",
        "instrument": way.micrometer.pk,
        "inside_mm": "0.984",
        "section_mm": "0.139",
    }
    assert send(client, address, data).status_code == 302
    seal = SealFound.objects.get()
    assert (round(seal.inside_mm, 2), round(seal.section_mm, 2)) == (24.99, 3.53)
    assert reason_of(SealFound) == "typed as 0.984 in, 0.139 in"
    assert "AS568-214" in client.get(url("seal_size", way.rebuild.pk, way.seat.pk)).content.decode()


def test_a_dimension_after_the_work_is_read_in_inches(client, building):
    limit = building.revision.dimension_limits.get()
    address = url("measurement", building.rebuild.pk, limit.pk, "after", units=INCH)
    # 11.95 to 12.00 mm by 25.4 mm to the inch (NIST SP 811).
    assert "0.47047 to 0.47244 in" in client.get(address).content.decode()
    data = {"units": INCH, "instrument": building.micrometer.pk, "reading_1": "0.472", "reading_2": ""}
    assert send(client, address, data).status_code == 302
    row = Measurement.objects.get(moment="after")
    assert row.value == 11.9888
    assert reason_of(Measurement) == "typed as 0.472 in"


@pytest.mark.parametrize(("opened", "chosen_since"), [(METRIC, INCH), (INCH, METRIC)])
def test_a_form_is_read_in_the_units_it_was_opened_in(client, building, opened, chosen_since):
    """Another page of the same person may have chosen other units before this one is sent."""
    limit = building.revision.dimension_limits.get()
    address = url("measurement", building.rebuild.pk, limit.pk, "after")
    page = client.get(address, {"units": opened}).content.decode()
    assert f'<input type="hidden" name="units" value="{opened}">' in page
    client.get(IDENTIFY, {"units": chosen_since})
    typed = "0.472" if opened == INCH else "11.9888"
    data = {"units": opened, "instrument": building.micrometer.pk, "reading_1": typed, "reading_2": ""}
    assert send(client, address, data).status_code == 302
    assert Measurement.objects.get(moment="after").value == 11.9888


def test_a_torque_in_pound_feet_is_kept_in_newton_metres(client, building):
    wrench = factories.InstrumentFactory(
        quantity=Instrument.Quantity.TORQUE, unit="N·m", range_low=1, range_high=100, accuracy=1.6
    )
    wrench.calibrations.update(due_on="2090-01-01")  # pages ask the real clock
    address = url("operation", building.rebuild.pk, units=INCH)
    assert "lbf·ft" in client.get(f"{address}&kind=fastened").content.decode()
    factories.FasteningFigureFactory(revision=building.revision, what="gland nut")
    assert "40 ± 4 N·m, 26.552 to 32.453 lbf·ft" in client.get(f"{address}&kind=fastened").content.decode()
    data = {"kind": "fastened", "place": "unit", "tool": "wrench", "note": "", "torque_nm": "30"}
    assert send(client, address, {"units": INCH, **data, "instrument": wrench.pk}).status_code == 302
    # 30 lbf·ft x 1.355 818 N·m (NIST SP 811, Appendix B.8).
    assert OperationValue.objects.get(what="torque_nm").number == pytest.approx(40.67454, abs=2e-5)
    assert (
        "Measure in"
        not in client.get(url("operation", building.rebuild.pk), {"kind": "masked"}).content.decode()
    )
