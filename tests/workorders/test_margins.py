"""What a rebuild cost and earned, against figures reckoned by hand; and the pages of margins."""

import datetime as dt
import io
from decimal import Decimal as D

import numpy
import pandas as pd
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Lot
from inventory.services import making
from inventory.services.kits import pack_kit
from inventory.services.lot_cost import correct_cost
from shop.services.profile import set_labour_rate
from tests import factories
from tests.factories import person
from tests.workorders.journey import Journey, make_type
from workorders.models import Claim
from workorders.services import build, claims, go_ahead, outside_work, prices
from workorders.services.margins import Figures, Period, account, by_type, cents, released_rebuilds
from workorders.services.record.unit import unit_record

pytestmark = pytest.mark.django_db
# A piece of each of the four lots of the kit; the last has more decimals than a cent.
COSTS = {"S1": "2.3750", "S2": "4.0000", "S3": "1.1200", "S4": "0.0425"}


@pytest.fixture
def way(settings, tmp_path):
    settings.FILES_DIR = tmp_path
    revision = make_type()
    factories.ComponentFactory(revision=revision, code="K2", name="rod", kind="rod", order=2)
    price_lots(revision)
    return Journey(revision=revision)


def price_lots(revision, costs=COSTS):
    for line in revision.kit.lines.all():
        lot = line.part.lots.get()
        lot.unit_cost = D(costs[line.position.code])
        lot.save()


def lot_of(way, code="S1"):
    return Lot.objects.get(part__kit_lines__position__code=code, part__kit_lines__kit=way.revision.kit)


def agreed(way):
    return way.receive().find().close_teardown().go_ahead()


def spoil(way, pieces, code="S1"):
    return build.use_part(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=way.revision.positions.get(code=code),
        lot=lot_of(way, code),
        quantity=pieces,
        use="spoiled",
    )


def send_out(way, component="K2", price=None):
    work = outside_work.send_out(
        act=way.act("bench"),
        rebuild=way.rebuild,
        component=way.revision.components.get(code=component),
        kind="grinding",
        supplier=factories.SupplierFactory(),
        asked="Grind it.",
        due=dt.date(2026, 3, 20),
    )
    return prices.set_outside_price(act=way.act("stores"), work=work, price=price and D(price))


def invoice(way, amount, why=""):
    return prices.record_price(act=way.act("lead", why), rebuild=way.rebuild, amount=D(amount))


def work(way, minutes, day=dt.date(2026, 3, 2), kind="build"):
    act = way.act("bench")
    return prices.record_work_time(
        act=act, rebuild=way.rebuild, kind=kind, done_by=act.by, worked_on=day, minutes=minutes
    )


def rate(way, per_hour, day):
    return set_labour_rate(act=way.act("lead", "reckoned anew"), valid_from=day, per_hour=D(per_hour))


# --- one rebuild ---


def test_a_rebuild_reckoned_by_hand(way):
    agreed(way).fit()
    spoil(way, 1)
    back = spoil(way, 3, "S2")
    build.take_back_part(act=way.act("bench", "counted wrong"), part_used=back)
    go_ahead.record_quote(act=way.act("lead"), rebuild=way.rebuild, amount=D("210"), scope="all seals")
    send_out(way, price="45.50")
    rate(way, "38.00", dt.date(2026, 1, 1))
    rate(way, "41.50", dt.date(2026, 3, 3))
    way.now += dt.timedelta(days=3)
    work(way, 75, dt.date(2026, 3, 2))
    work(way, 50, dt.date(2026, 3, 3))
    found = account(way.rebuild)
    # 2 x 2.3750 + 4.0000 + 1.1200 + 0.0425 = 9.9125
    assert found.parts == D("9.91")
    assert found.outside == D("45.50")
    assert (found.price, found.source) == (D("210.00"), "quote")
    assert found.before_labour == D("154.59")  # 210.00 - 9.91 - 45.50
    # 75 x 38.00 / 60 + 50 x 41.50 / 60 = 47.5000 + 34.5833 = 82.0833
    assert (found.minutes, found.labour) == (125, D("82.08"))
    assert found.margin == D("72.51")  # 154.59 - 82.08
    assert found.unknown_words == ""


def test_half_a_cent_is_rounded_up_and_only_once(way):
    agreed(way)
    correct_cost(act=way.act("stores", "invoice"), lot=lot_of(way), unit_cost=D("0.0150"))
    spoil(way, 1)
    assert account(way.rebuild).parts == D("0.02")  # half to even would say 0.02 as well
    spoil(way, 2)
    assert account(way.rebuild).parts == D("0.05")  # 3 x 0.0150 = 0.0450; half to even says 0.04
    assert cents(D("-0.045")) == D("-0.05")


def test_a_piece_of_unknown_cost_is_counted_and_not_taken_for_nothing(way):
    lot = lot_of(way)
    lot.unit_cost = None
    lot.save()
    agreed(way).fit()
    spoil(way, 2)
    send_out(way)
    found = account(way.rebuild)
    assert (found.pieces_unknown, found.outside_unknown, found.known) == (3, 1, False)
    assert found.parts == D("5.16")  # 4.0000 + 1.1200 + 0.0425
    assert found.unknown_words == "not known for 3 pieces and 1 outside work"


def test_a_packed_kit_costs_what_its_pieces_cost(way):
    agreed(way)
    lots = {line: line.part.lots.get() for line in way.revision.kit.lines.all()}
    kit = pack_kit(act=way.act("stores"), kit=way.revision.kit, lots=lots)
    assert account(way.rebuild).parts == 0
    build.use_packed_kit(act=way.act("bench"), rebuild=way.rebuild, packed_kit=kit)
    assert account(way.rebuild).parts == D("7.54")  # 2.3750 + 4.0000 + 1.1200 + 0.0425


def made_from(way, *inputs, pieces):
    part = factories.PartFactory(kind="component", polymer="")
    chosen = [making.Input(lot=lot, quantity=n) for lot, n in inputs]
    return making.make_lot(act=way.act("stores"), part=part, quantity=pieces, place="D4", inputs=chosen)


def test_a_lot_made_here_costs_what_went_in_and_follows_a_correction_however_deep(way):
    agreed(way)
    inner = made_from(way, (lot_of(way), 2), (lot_of(way, "S3"), 1), pieces=3)
    assert inner.unit_cost == D("1.9567")  # (2 x 2.3750 + 1.1200) / 3 = 1.956666...
    outer = made_from(way, (inner, 2), (lot_of(way, "S2"), 1), pieces=1)
    assert outer.unit_cost == D("7.9134")  # 2 x 1.9567 + 4.0000
    build.use_part(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=way.revision.components.get(code="K2"),
        lot=outer,
        quantity=1,
        fit_reason="rebuilt ahead",
    )
    assert account(way.rebuild).parts == D("7.91")
    correct_cost(act=way.act("stores", "the invoice says 2.00"), lot=lot_of(way), unit_cost=D("2"))
    inner.refresh_from_db()
    outer.refresh_from_db()
    assert inner.unit_cost == D("1.7067")  # (2 x 2.0000 + 1.1200) / 3 = 1.706666...
    assert outer.unit_cost == D("7.4134")
    assert outer.history.first().history_change_reason == "the invoice says 2.00"
    assert account(way.rebuild).parts == D("7.41")
    correct_cost(act=way.act("stores", "no invoice"), lot=lot_of(way), unit_cost=None)
    outer.refresh_from_db()
    assert outer.unit_cost is None
    assert account(way.rebuild).pieces_unknown == 1


def test_a_cost_corrected_after_the_release_is_followed_and_the_papers_stay(way):
    way.tested().release()
    paper, signed = way.released.certificate.sha256, way.released.content
    assert account(way.rebuild).parts == D("7.54")
    correct_cost(act=way.act("stores", "the invoice says 3.00"), lot=lot_of(way), unit_cost=D("3"))
    assert account(way.rebuild).parts == D("8.16")  # 3.0000 + 4.0000 + 1.1200 + 0.0425 = 8.1625
    way.released.refresh_from_db()
    assert (way.released.certificate.sha256, way.released.content) == (paper, signed)
    history = lot_of(way).history.order_by("-history_id").values_list("unit_cost", flat=True)
    assert list(history[:2]) == [D("3"), D("2.3750")]


def test_no_unit_record_tells_a_price_or_a_cost(way):
    agreed(way).fit()
    send_out(way, price="444.44")
    invoice(way, "333.33")
    told = str(unit_record(way.rebuild.unit))
    assert "grinding" in told
    assert "333.33" not in told
    assert "444.44" not in told


# --- the price ---


def quote(way, amount):
    go_ahead.record_quote(act=way.act("lead"), rebuild=way.rebuild, amount=D(amount), scope="all seals")


def price_of(way):
    found = account(way.rebuild)
    return found.price, found.source


def test_a_price_is_the_invoice_else_what_was_agreed(way):
    way.receive().find().close_teardown()
    quote(way, "200")
    assert price_of(way) == (None, "")  # told, and not agreed
    way.go_ahead()  # up to 240
    assert price_of(way) == (200, "quote")
    quote(way, "250")
    assert price_of(way) == (240, "ceiling")
    invoice(way, "231.90")
    assert price_of(way) == (D("231.90"), "invoiced")
    assert account(way.rebuild).before_labour == D("231.90")


def test_without_a_price_there_is_no_margin(way):
    way.receive()
    found = account(way.rebuild)
    assert (found.price, found.before_labour, found.margin) == (None, None, None)


def come_back(way, judgement):
    """The unit comes back with a claim, and is rebuilt again."""
    unit = way.tested().release().ship().rebuild.unit
    told = {"warranty": way.rebuild.warranty, "claimant": way.rebuild.work_order.customer}
    claim = claims.open_claim(act=way.act("warranty desk"), reported="drips", **told)
    way.receive(unit=unit)
    if judgement:
        claims.judge_claim(
            act=way.act("warranty desk"), claim=claim, judgement=judgement, reason="seen on the bench"
        )
    way.find().close_teardown().go_ahead().fit()
    return way


@pytest.mark.parametrize("judgement", ["", Claim.Judgement.ACCEPTED, Claim.Judgement.GOODWILL])
def test_a_rebuild_under_warranty_earns_nothing(way, judgement):
    come_back(way, judgement)
    assert price_of(way) == (0, "warranty")
    assert account(way.rebuild).before_labour == D("-7.54")
    invoice(way, "60")  # a share, for goodwill
    assert price_of(way) == (60, "invoiced")
    assert account(way.rebuild).warranty


def test_a_declined_claim_is_paid_for(way):
    come_back(way, Claim.Judgement.DECLINED)
    assert price_of(way) == (240, "ceiling")
    assert not account(way.rebuild).warranty


# --- labour ---


def test_without_a_rate_on_that_day_the_margin_stays_before_labour(way):
    agreed(way)
    assert account(way.rebuild).labour is None
    work(way, 60)
    rate(way, "40.00", dt.date(2026, 3, 3))
    found = account(way.rebuild)
    assert (found.minutes, found.minutes_unrated, found.labour, found.margin) == (60, 60, None, None)
    assert found.before_labour == 240
    rate(way, "30.00", dt.date(2026, 3, 1))
    rate(way, "36.00", dt.date(2026, 3, 1))  # of one day, the later entry
    assert account(way.rebuild).labour == 36


def test_minutes_are_corrected_and_taken_back_by_rows_of_their_own(way):
    agreed(way)
    rate(way, "60.00", dt.date(2026, 1, 1))
    entry = work(way, 90)
    told = {"kind": "test", "done_by": entry.done_by, "worked_on": entry.worked_on}
    second = prices.correct_work_time(act=way.act("bench", "half of it"), entry=entry, minutes=45, **told)
    assert (account(way.rebuild).minutes, account(way.rebuild).labour) == (45, 45)
    prices.correct_work_time(act=way.act("bench", "another unit"), entry=second, minutes=0, **told)
    found = account(way.rebuild)
    assert (found.minutes, found.labour) == (0, None)
    assert way.rebuild.work_times.count() == 3


# --- by unit type ---


def test_figures_are_those_of_a_library():
    amounts = [D("90"), D("180"), D("360.5"), D("12.25"), D("77")]
    found = Figures(amounts=tuple(amounts))
    plain = [float(one) for one in amounts]
    assert float(found.median) == pytest.approx(numpy.median(plain))
    assert float(found.mean) == pytest.approx(numpy.mean(plain), abs=0.005)
    low, high = numpy.percentile(plain, [25, 75])  # interpolated between the amounts
    assert [float(side) for side in found.middle_half] == pytest.approx([low, high], abs=0.005)
    assert (Figures(amounts=()).median, Figures(amounts=(D(1),)).middle_half) == (None, None)


def several(way, *amounts):
    """Release one unit of the type for each price; the second spoils 2 pieces of S1 more, and so on."""
    units = []
    for extra, amount in enumerate(amounts):
        agreed(way).fit()
        if extra:
            spoil(way, 2 * extra)
        way.close_build().start_test().run_steps().sign_test().release()
        invoice(way, amount)
        units.append(way.rebuild)
        way.now += dt.timedelta(days=1)
    return units


def test_a_type_reckoned_by_hand(way):
    several(way, "100", "200", "400")
    (found,) = by_type(released_rebuilds(Period()).select_related("unit__unit_type"))
    # costs 7.5375 -> 7.54; + 2 x 2.3750 -> 12.2875 -> 12.29; + 4 x 2.3750 -> 17.0375 -> 17.04
    assert {one.cost for one in found.accounts} == {D("17.04"), D("12.29"), D("7.54")}
    assert (found.price.median, found.price.mean) == (200, D("233.33"))
    assert (found.cost.median, found.cost.mean) == (D("12.29"), D("12.29"))
    # margins 92.46, 187.71, 382.96
    assert (found.before_labour.median, found.before_labour.mean) == (D("187.71"), D("221.04"))
    # quartiles of three: halfway between neighbours, 140.085 and 285.335
    assert found.before_labour.middle_half == (D("140.09"), D("285.34"))
    assert (found.count, found.unpriced, found.unknown_percent) == (3, 0, 0)


def test_what_is_not_known_is_left_out_of_the_figures_and_counted(way):
    units = several(way, "100", "200", "400")
    lot = lot_of(way)
    other = factories.LotFactory(part=lot.part, unit_cost=None)
    assert other.unit_cost is None
    correct_cost(act=way.act("stores", "no invoice"), lot=lot, unit_cost=None)
    (found,) = by_type(released_rebuilds(Period()).select_related("unit__unit_type"))
    assert (found.count, len(found.reckoned), found.unknown_percent) == (3, 0, 100)
    assert found.before_labour.median is None
    assert len(units) == 3


def test_a_period_counts_both_its_days_and_one_release_once(way):
    units = several(way, "100", "200", "400")
    days = [one.releases.get().at.date() for one in units]
    told = [
        (days[0], days[1], 2),
        (days[2], None, 1),
        (None, days[0], 1),
        (days[2] + dt.timedelta(1), None, 0),
    ]
    for start, end, count in told:
        assert released_rebuilds(Period(start=start, end=end)).count() == count
    other = factories.UnitTypeFactory()
    assert not released_rebuilds(Period(unit_type=other)).exists()


# --- pages ---


@pytest.fixture
def lead_client(client):
    client.force_login(person("lead"))
    return client


def read(answer):
    return pd.read_csv(io.BytesIO(answer.content), dtype=str, keep_default_na=False)


def test_the_pages_and_their_files_tell_the_same(lead_client, way):
    several(way, "100", "200", "400")
    everything = {"start": "2026-01-01"}
    page = lead_client.get(reverse("workorders:margins"), everything).content.decode()
    for figure in ("187.71", "221.04", "140.09", "285.34"):
        assert figure in page
    table = read(lead_client.get(reverse("workorders:margins"), {**everything, "format": "csv"}))
    assert table["Margin before labour, median"].tolist() == ["187.71"]
    one = reverse("workorders:margins_rebuilds")
    rows = read(lead_client.get(one, {**everything, "format": "csv", "sort": "margin-before-labour"}))
    assert rows["Margin before labour"].tolist() == ["92.46", "187.71", "382.96"]
    rows = read(lead_client.get(one, {**everything, "format": "csv", "sort": "-parts"}))
    assert rows["Parts"].tolist() == ["17.04", "12.29", "7.54"]
    assert "382.96" in lead_client.get(one, everything).content.decode()
    none = lead_client.get(one, {"end": "2020-01-01"}).content.decode()
    assert "No rebuild fits" in none


def test_rebuilds_under_warranty_stand_apart(lead_client, way):
    come_back(way, "accepted").close_build().start_test().run_steps().sign_test().release()
    asked = {"start": "2026-01-01", "format": "csv"}
    for name in ("margins", "margins_rebuilds"):
        paid = read(lead_client.get(reverse(f"workorders:{name}"), asked))
        free = read(lead_client.get(reverse(f"workorders:{name}"), {**asked, "show": "warranty"}))
        assert (len(paid), len(free)) == (1, 1)
    assert free["Margin before labour"].tolist() == ["-7.54"]
    assert paid["Margin before labour"].tolist() == ["232.46"]  # 240.00 - 7.54


def test_a_wrong_day_is_told_and_narrows_nothing(lead_client, way):
    several(way, "100")
    page = lead_client.get(reverse("workorders:margins"), {"start": "the spring"}).content.decode()
    assert "Enter a valid date" in page
    assert "92.46" in page


@pytest.mark.parametrize("name", ["margins", "margins_rebuilds"])
@pytest.mark.parametrize(("role", "status"), [("lead", 200), ("stores", 200), ("bench", 403)])
def test_margins_are_for_lead_and_stores(client, name, role, status):
    address = reverse(f"workorders:{name}")
    assert client.get(address).url.startswith("/sign-in/")
    client.force_login(person(role))
    assert client.get(address).status_code == status
    if status == 200:
        assert client.post(address).status_code == 405


@pytest.mark.parametrize(("role", "shown"), [("lead", True), ("stores", True), ("bench", False)])
def test_the_panel_of_costs_is_for_lead_and_stores(client, way, role, shown):
    agreed(way).fit()
    client.force_login(person(role))
    page = client.get(way.rebuild.get_absolute_url()).content.decode()
    assert ("Cost and margin" in page) is shown
    assert ("232.46" in page) is shown  # 240.00 - 7.54
    assert "Minutes of work" in page


def test_three_rebuilds_and_six_cost_the_same_queries(lead_client, way):
    counts = []
    for _round in range(2):
        several(way, "100", "200", "400")
        for name in ("margins", "margins_rebuilds"):
            lead_client.get(reverse(f"workorders:{name}"))
            with CaptureQueriesContext(connection) as asked:
                answer = lead_client.get(reverse(f"workorders:{name}"), {"start": "2026-01-01"})
            assert answer.status_code == 200
            counts.append(len(asked))
    assert counts[:2] == counts[2:]
