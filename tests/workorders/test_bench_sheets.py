"""Test sheets of the bench, blank and filled: what stands on them, their symbols, the pages."""

import datetime as dt
import re
from decimal import ROUND_CEILING, Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from shop.models import ShopProfile
from shop.services.writing import Act
from tests import factories
from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import text, url
from tests.workorders.pdf_reading import fonts_of, pages_of, squeezed, symbols_of, text_of
from workorders.calc.uncertainty import digits
from workorders.calc.verdict import DECISION_RULE
from workorders.forms.on_paper import boxes_of_plan, groups_of
from workorders.models import PressureTest, Reading, Trace
from workorders.services import testing
from workorders.services.bench_sheets import blank_paper, filled_paper, read_sheet, scanned_sheet
from workorders.services.step_results import WitnessEntry

pytestmark = pytest.mark.django_db


@pytest.fixture
def rebuild():
    rebuild = at_bench.ready_rebuild()
    rebuild.revision.bore_mm, rebuild.revision.rod_mm = 25.0, 12.0
    rebuild.revision.save()
    return rebuild


@pytest.fixture
def test(bench, rebuild):
    return at_bench.started(bench, rebuild)


@pytest.fixture
def signed(bench, test):
    low, proof, hold, strokes = at_bench.steps_of(test)
    at_bench.record(bench, test, low, note="dry all round", photo=photo())
    at_bench.record(bench, test, proof)
    file = at_bench.hand_in(bench, test, "hold_tight.csv")
    at_bench.hand_in(bench, test, "hold_slow_leak.csv")
    at_bench.record(bench, test, hold, decay=at_bench.trace_entry(file, 10, 140))
    at_bench.record(bench, test, strokes)
    return testing.sign_test(act=Act(by=bench, at=at_bench.AT), test=test, fluid_left=test.rig_fluid)


def photo():
    from io import BytesIO

    out = BytesIO()
    Image.new("RGB", (1600, 900), "navy").save(out, "PNG")
    return SimpleUploadedFile("seen.png", out.getvalue(), "image/png")


def blank_of(plan, **told):
    return blank_paper(plan=plan, boxes=boxes_of_plan(plan), **told)


def two_digits_up(number):
    """By decimals: no uncertainty is printed smaller than it is."""
    exact = Decimal(f"{number:.9g}")
    return str(exact.quantize(Decimal((0, (1,), exact.adjusted() - 1)), ROUND_CEILING))


def said(pdf, *words):
    printed = text_of(pdf)
    return [word for word in words if squeezed(str(word)) not in printed]


# -- blank


def test_a_blank_sheet_holds_every_step_reading_limit_and_basis(rebuild):
    plan = testing.approved_plan(rebuild)
    pdf = blank_of(plan, rebuild=rebuild)
    for step in plan.steps.all():
        assert said(pdf, step.title) == []
        for limit in step.limits.all():
            assert (
                said(pdf, limit.reading, limit.limit_text, limit.basis, limit.get_judged_display()[1:]) == []
            )
    assert said(pdf, "from memory, not verified", "Confirm first, and tick") == []
    assert said(pdf, rebuild.work_order.number, rebuild.unit.unit_type.name, plan, "Tested by", "Notes") == []


def test_a_blank_sheet_asks_for_what_the_page_of_the_step_asks(rebuild):
    proof, hold = rebuild.revision.test_plans.get().steps.filter(kind__in=("proof", "hold"))
    groups = list(groups_of(hold))
    assert groups[0].title == "decay"
    assert [box.label for box in groups[0].boxes] == [
        "Pressure at the start, bar",
        "Pressure at the end, bar",
        "Time between, s",
    ]
    assert groups[0].instrument
    assert groups[1].optional
    assert "Compliance of rig and unit, mL/bar" in [box.label for box in groups[1].boxes]
    drips = next(group for group in groups_of(proof) if group.title == "drips")
    assert not drips.instrument
    low = rebuild.revision.test_plans.get().steps.get(order=1)
    assert next(groups_of(low)).boxes[0].choices == ("as required", "not as required")


def test_pressure_on_the_bore_side_prints_what_a_plugged_rod_port_would_see(rebuild):
    """Balance of forces by hand: 160 bar x 25^2 / (25^2 - 12^2) = 207.9 bar."""
    raised = 160 * 25**2 / (25**2 - 12**2)
    pdf = blank_of(testing.approved_plan(rebuild), rebuild=rebuild)
    assert said(pdf, f"a plugged rod port would see {raised:.0f} bar") == []
    rebuild.revision.rod_mm = None
    rebuild.revision.save()
    rebuild.refresh_from_db()
    pdf = blank_of(testing.approved_plan(rebuild), rebuild=rebuild)
    assert said(pdf, "how much cannot be said", f"would see {raised:.0f} bar") == [
        f"would see {raised:.0f} bar"
    ]


def test_every_page_says_which_unit_and_how_many_pages(rebuild):
    pages = pages_of(blank_of(testing.approved_plan(rebuild), rebuild=rebuild))
    assert len(pages) > 1
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
        assert rebuild.unit.serial in page


def test_a_sheet_of_a_plan_alone_has_room_for_the_serial_on_every_page(rebuild):
    plan = testing.approved_plan(rebuild)
    pages = pages_of(blank_of(plan))
    assert all("unit serial ____" in page for page in pages)
    assert all(f"plan version {plan.version}" in page for page in pages)
    assert symbols_of(blank_of(plan), dpi=300) == [f"HTTPS://SVC.EXAMPLE/T/P{plan.pk}"]


def test_cautions_stand_on_the_sheet_with_their_sources_and_nothing_claims_a_standard(rebuild, signed):
    for pdf in (blank_of(signed.plan, rebuild=rebuild), filled_paper(signed)):
        assert said(pdf, "Stored pressure", "No compressed air", "HSE GS4", "Local codes") == []
        assert said(pdf, "Nothing on this sheet claims conformity with a standard") == []


def test_a_plan_without_steps_prints_so(rebuild):
    plan = factories.TestPlanFactory(revision=rebuild.revision, version=9, state="draft")
    assert said(blank_of(plan), "This plan has no steps yet", "(draft)") == []


# -- filled


def test_a_signed_sheet_holds_every_reading_as_it_was_stored(signed):
    pdf = filled_paper(signed)
    assert said(pdf, "✓ passes", "Signed. A test is as its worst step") == []
    for result in signed.results.all():
        assert said(pdf, result.step.title, result.done_by) == []
        for reading in result.readings.all():
            assert said(pdf, reading.limit.reading, reading.arithmetic, reading.limit.basis) == []
            if reading.instrument:
                assert said(pdf, reading.instrument.code, "due 01 Jan 2090") == []
    assert said(pdf, signed.signature.printed_name, signed.signature.content_sha256, "dry all round") == []
    trace = Trace.objects.get(reading__result__pressure_test=signed)
    window = f"window {trace.window_start_s:g} s to {trace.window_end_s:g} s"
    assert said(pdf, window, "hold_tight.csv") == []
    assert said(pdf, "handed in and not used", "hold_slow_leak.csv") == []
    assert symbols_of(pdf, dpi=300) == [f"HTTPS://SVC.EXAMPLE/T/{signed.rebuild_id}-{signed.number}"]
    assert all(fonts_of(pdf).values())


def test_the_decision_rule_is_the_same_sentence_on_sheet_and_page(client, bench, signed):
    assert said(filled_paper(signed), f"Decision rule: {DECISION_RULE}.") == []
    client.force_login(bench)
    assert f"How it is decided: {DECISION_RULE}." in text(client.get(signed.get_absolute_url()))


def test_what_each_uncertainty_is_made_of_is_printed(signed):
    """By hand: ± 0.04 bar as a rectangle, and steps of 0.001 bar, over 130 s."""
    pdf = filled_paper(signed)
    decay = Reading.objects.get(result__pressure_test=signed, trace__isnull=False)
    drift = 0.04 / 3**0.5 * 60 / 130
    assert dict(decay.budget)["drift"] == pytest.approx(drift, rel=2e-3)
    assert (
        said(pdf, f"drift of the gauge between start and end {digits(value=drift)}; gain of the gauge") == []
    )
    for result in signed.results.all():
        for reading in result.readings.exclude(budget=[]):
            parts = "; ".join(f"{name} {part}" for name, part in reading.budget_rows)
            assert said(pdf, f"{parts} {reading.combined_text} {reading.expanded_text}") == []
            # The same number in the words of the verdict, and rounded up, so that nothing says less.
            assert f"uncertainty {reading.expanded_text}" in reading.arithmetic
            assert reading.expanded_text.startswith(f"±{two_digits_up(reading.uncertainty)} ")
            assert 2 * reading.combined == pytest.approx(reading.uncertainty)


def test_a_test_without_uncertainties_has_no_table_of_them(bench, test):
    at_bench.record(bench, test, at_bench.steps_of(test)[0])
    assert "How the uncertainties add up" not in text_of(filled_paper(test))


def test_a_running_test_says_on_every_page_that_it_is_not_signed(bench, test):
    at_bench.record(bench, test, at_bench.steps_of(test)[0])
    pdf = filled_paper(test)
    assert all("running, not signed" in page for page in pages_of(pdf))
    assert said(pdf, "3 of 4 steps are not recorded yet", "not recorded", "Not signed. Nothing") == []


def test_a_running_test_of_which_every_step_is_recorded_says_so(bench, test):
    *first, last = at_bench.steps_of(test)
    for step in first:
        at_bench.record(bench, test, step)
    assert said(filled_paper(test), "1 of 4 steps is not recorded yet", "Result not signed") == []
    at_bench.record(bench, test, last)
    assert said(filled_paper(test), "Running, not signed: every step is recorded. So far:") == []
    assert "not recorded" not in text_of(filled_paper(test))


def test_a_failing_step_is_told_by_word_and_sign(bench, test):
    low = at_bench.steps_of(test)[0]
    seen = WitnessEntry(as_required=False, count=3)
    at_bench.record(bench, test, low, **{"dry outside": seen})
    assert said(filled_paper(test), "✗ fails", "not as required", "3 of 4 steps", "So far: fails.") == []


def test_the_sheet_of_a_signed_test_has_the_same_bytes_whatever_is_renamed_later(bench, signed):
    first = filled_paper(signed)
    profile = ShopProfile.objects.first()
    for row, name in (
        (bench, "printed_name"),
        (signed.rig_fluid, "name"),
        (signed.rebuild.unit.unit_type, "name"),
        (signed.rebuild.unit, "maker_serial"),
        *([(profile, "phone")] if profile else []),
    ):
        setattr(row, name, "another")
        row.save()
    again = PressureTest.objects.get(pk=signed.pk)
    assert str(again.rig_fluid) == "another"
    assert filled_paper(again) == first


def test_an_instrument_calibrated_anew_leaves_the_sheet_as_it_was(signed):
    first = filled_paper(signed)
    gauge = next(r.instrument for s in signed.results.all() for r in s.readings.all() if r.instrument)
    days = {"calibrated_on": dt.date(2026, 3, 3), "due_on": dt.date(2027, 3, 3)}
    gauge.calibrations.create(**days, certificate_no="C9", done_by="Laboratory")
    gauge.accuracy = 9
    gauge.save()
    assert filled_paper(PressureTest.objects.get(pk=signed.pk)) == first


def test_a_test_set_aside_is_marked_on_every_page_with_the_reason(bench, signed):
    first = filled_paper(signed)
    act = Act(by=bench, at=at_bench.AT)
    stopped = testing.supersede_test(act=act, test=signed, reason="gauge dropped")
    pdf = filled_paper(stopped)
    assert pdf != first
    assert all("set aside, signed" in page for page in pages_of(pdf))
    assert said(pdf, "this test does not count", "gauge dropped", stopped.signature.printed_name) == []


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_sheets_come_on_the_paper_of_the_shop(signed, size):
    import pypdfium2

    profile = ShopProfile.objects.first() or ShopProfile(pk=1, name="Works")
    profile.paper_size = size
    profile.save()
    widths = {"A4": 595, "Letter": 612}
    page = pypdfium2.PdfDocument(blank_of(signed.plan))[0]
    assert round(page.get_width()) == widths[size]


# -- pages


@pytest.mark.parametrize(
    ("name", "start"),
    [
        ("rebuild_sheet", "blank-test-sheet-"),
        ("test_sheet", "test-sheet-"),
        ("test_blank_sheet", "blank-test-sheet-"),
    ],
)
def test_everybody_who_is_signed_in_may_print(client, test, name, start):
    row = test.rebuild if name == "rebuild_sheet" else test
    address = url(name, row.pk)
    assert client.get(address).status_code == 302
    client.force_login(factories.person("stores"))
    answer = client.get(address)
    assert answer["Content-Type"] == "application/pdf"
    assert f'filename="{start}{test.rebuild.unit.serial}' in answer["Content-Disposition"]
    assert client.post(address).status_code == 405
    assert client.get(url(name, 999_999)).status_code == 404


def test_the_pages_offer_the_sheets(client, bench, test):
    client.force_login(bench)
    page = text(client.get(test.get_absolute_url()))
    assert url("test_sheet", test.pk) in page
    assert url("test_blank_sheet", test.pk) in page
    assert url("rebuild_sheet", test.rebuild_id) in text(client.get(url("test_start", test.rebuild_id)))
    plan_page = text(client.get(reverse("shop:test_plan", args=[test.plan_id])))
    assert url("plan_sheet", test.plan_id) in plan_page


def test_without_an_approved_plan_there_is_no_sheet_of_a_unit(client, bench):
    rebuild = factories.RebuildFactory()
    client.force_login(bench)
    answer = client.get(url("rebuild_sheet", rebuild.pk))
    assert answer.status_code == 422
    assert "no approved test plan" in text(answer)
    assert "Print blank sheet" not in text(client.get(url("test_start", rebuild.pk)))


def test_a_symbol_opens_its_test_or_the_page_to_start_one(client, bench, rebuild):
    client.force_login(bench)
    scanned = client.get(f"/T/{rebuild.pk}")
    assert scanned["Location"] == url("test_start", rebuild.pk)
    test = at_bench.started(bench, rebuild)
    assert client.get(f"/t/{rebuild.pk}")["Location"] == test.get_absolute_url()
    assert client.get(f"/T/{rebuild.pk}-1")["Location"] == test.get_absolute_url()
    assert client.get(f"/T/P{test.plan_id}")["Location"] == reverse("shop:test_plan", args=[test.plan_id])
    for unknown in (f"{rebuild.pk}-2", "P999999", "999999", "nonsense", "P1-1", "9" * 30):
        assert client.get(f"/T/{unknown}").status_code == 404


def test_who_may_not_test_is_led_to_the_rebuild(client, rebuild):
    client.force_login(factories.person("stores"))
    assert client.get(f"/T/{rebuild.pk}")["Location"] == rebuild.get_absolute_url()


def test_a_symbol_scanned_into_the_search_opens_the_test(client, bench, test):
    client.force_login(bench)
    told = f"https://svc.example/t/{test.rebuild_id}-1"
    answer = client.get(reverse("workorders:find"), {"q": told.upper()}, follow=True)
    assert answer.redirect_chain[-1][0] == test.get_absolute_url()


def test_only_an_address_of_a_sheet_is_read_as_one():
    assert scanned_sheet("HTTPS://SVC.EXAMPLE/T/P41") == "P41"
    assert scanned_sheet("https://svc.example/t/41-2\n") == "41-2"
    for other in ("41", "41-2", "https://svc.example/u/41", "https://svc.example/t/x", ""):
        assert scanned_sheet(other) is None
    assert read_sheet("p7")["plan"] == "7"
    assert re.match("4", read_sheet("41-2")["pk"])
