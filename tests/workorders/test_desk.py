"""The warranty desk: search, the unit page, claims, the history command."""

import datetime as dt
import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse
from stdnum.iso7064 import mod_37_36

from inventory.models import Kit, KitLine
from inventory.services import kits, purchasing
from tests import factories
from tests.workorders.journey import Journey
from workorders.calc.serial import draw_serial
from workorders.models import Claim
from workorders.services import lookup, recalls

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def kept(keep):
    return keep(lambda: Journey().tested().release().ship())


@pytest.fixture
def shipped(kept):
    return kept()


@pytest.fixture
def desk(client, warranty_desk):
    client.force_login(warranty_desk)
    return client


def find(client, text):
    return client.get(reverse("workorders:find"), {"q": text})


def test_a_scan_of_the_label_opens_the_unit(desk, shipped):
    serial = shipped.unit.serial
    scans = [
        serial,
        serial.lower(),
        f"HTTPS://SVC.EXAMPLE/U/{serial}",
        f"https://svc.example/u/{serial}\r\n",
        f"]Q1HTTPS://SVC.EXAMPLE/U/{serial}\t",
        f"{serial[:3]} {serial[3:6]} {serial[6:]}",
    ]
    for text in scans:
        assert find(desk, text).url == f"/u/{serial}", text


def test_a_mistyped_serial_is_refused_in_words(desk, shipped):
    serial = shipped.unit.serial
    mistyped = (serial[:-1] + last for last in "0123456789" if last != serial[-1])
    # A keyboard that swaps Y and Z could have sent a serial that is right: not one of those.
    wrong = next(s for s in mistyped if not mod_37_36.is_valid(s.translate(str.maketrans("YZ", "ZY"))))
    response = find(desk, wrong)
    assert response.status_code == 200
    assert "mistyped" in response.content.decode()


@pytest.mark.parametrize("what", ["part", "customer", "phone", "work order", "certificate", "maker"])
def test_everything_a_caller_may_say_finds_the_thing(desk, shipped, what):
    rebuild = shipped.rebuild
    rebuild.unit.maker_serial = "MX-55-0193"
    rebuild.unit.save()
    customer = rebuild.work_order.customer
    text, address = {
        "part": (rebuild.unit.serial[2:7], rebuild.unit.get_absolute_url()),
        "customer": (customer.name, customer.get_absolute_url()),
        "phone": (customer.phone, customer.get_absolute_url()),
        "work order": (rebuild.work_order.number, rebuild.work_order.get_absolute_url()),
        "certificate": (shipped.released.number, shipped.released.get_absolute_url()),
        "maker": ("mx-55", rebuild.unit.get_absolute_url()),
    }[what]
    assert find(desk, text).url == address


def test_what_the_stores_print_is_found_by_its_number(desk, act, stores):
    place = factories.PositionFactory()
    kit = Kit.objects.create(revision=place.revision, name="seal set")
    lot = factories.LotFactory(part__number="ZZ-99-QZ", part__size_designation="99 x 1")
    line = KitLine.objects.create(kit=kit, position=place, part=lot.part)
    packed = kits.pack_kit(act=act(stores), kit=kit, lots={line: lot})
    order = purchasing.draft_order(act=act(stores), supplier=lot.supplier)
    recall = recalls.open_recall(
        act=act(stores), lots=[lot], advice="stop", reason="brittle", instructions="Call us."
    )
    told = [("k26-0001", packed), ("p26-0001", order), ("r26-0001", recall)]
    for text, row in [*told, ("zz-99-qz", lot.part), ("99-Q", lot.part), ("99 X 1", lot.part)]:
        assert find(desk, text).url == row.get_absolute_url(), text
    assert "Nothing found" in find(desk, "9q").content.decode()


def test_nothing_found_says_what_can_be_typed(desk):
    assert "Nothing found" in find(desk, "zzz nobody").content.decode()


def test_the_answer_stands_on_top_of_the_unit_page(desk, shipped):
    page = desk.get(shipped.unit.get_absolute_url()).content.decode()
    ends = shipped.rebuild.warranty.ends_on.strftime("%d %b %Y")
    assert f"In warranty until {ends}" in page
    assert "Pressure test passes: 5 of 5 steps pass" in page
    assert page.index("In warranty") < page.index("Rebuild 1")


def test_the_answer_changes_the_day_after_the_warranty_ends(shipped):
    passes = lookup.history_of(shipped.unit)
    warranty = shipped.rebuild.warranty
    last = lookup.answer(shipped.unit, passes, on=warranty.ends_on)
    after = lookup.answer(shipped.unit, passes, on=warranty.ends_on.replace(day=warranty.ends_on.day + 1))
    assert (last.kind, last.in_warranty) == ("good", True)
    assert (after.kind, after.in_warranty) == ("bad", False)


def test_both_spellings_of_the_address_work_and_a_sloppy_one_is_put_right(desk, shipped):
    serial = shipped.unit.serial
    assert desk.get(f"/U/{serial}").status_code == 200
    response = desk.get(f"/U/{serial.lower()}")
    assert (response.status_code, response.url) == (301, f"/u/{serial}")


def test_a_stranger_sees_only_what_the_label_allows(client, shipped):
    page = client.get(shipped.unit.get_absolute_url()).content.decode()
    rebuild = shipped.rebuild
    assert rebuild.unit.unit_type.name in page
    assert "In warranty until" in page
    secrets = [
        rebuild.work_order.customer.name,
        rebuild.work_order.number,
        shipped.released.number,
        "240",
        *[str(person) for person in shipped.people.values()],
        *[part.lot.number for part in rebuild.parts_used.select_related("lot")],
    ]
    for secret in secrets:
        assert secret not in page, secret


def test_a_stranger_gets_nothing_but_that_page(client, shipped):
    serial = shipped.unit.serial
    for address in [
        f"/u/{serial}/record.json",
        shipped.released.certificate.get_absolute_url(),
        "/find/?q=x",
        "/",
    ]:
        response = client.get(address)
        assert response.status_code == 302, address
        assert response.url.startswith("/sign-in/")


def test_an_unknown_serial_is_404_in_words(client, db):
    factories.ShopProfileFactory()
    for serial in ("NONSENSE", "000000000"):
        response = client.get(f"/u/{serial}")
        assert response.status_code == 404
        assert "01632 960100" in response.content.decode()


def test_two_rebuilds_stand_on_one_page_with_a_constant_number_of_queries(
    desk, shipped, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    address = shipped.unit.get_absolute_url()
    desk.get(address)
    with CaptureQueriesContext(
        connection,
    ) as one:
        desk.get(address)
    shipped.receive(customer=shipped.rebuild.work_order.customer, unit=shipped.unit)
    shipped.find().close_teardown().go_ahead().fit().close_build().start_test().run_steps().sign_test().release().ship()
    with CaptureQueriesContext(connection) as two:
        page = desk.get(address).content.decode()
    assert "Rebuild 1" in page
    assert "Rebuild 2" in page
    assert len(two) == len(one)


def open_a_claim(client, shipped, token="11111111111111111111111111111111", **data):
    address = reverse("workorders:claim_open", args=[shipped.rebuild.warranty.pk])
    given = {
        "reported": "drips at the rod",
        "claimant": shipped.rebuild.warranty.holder_id,
        "form_token": token,
        **data,
    }
    return client.post(address, given)


def test_a_double_tap_opens_one_claim_and_gives_one_answer(desk, shipped):
    first, second = open_a_claim(desk, shipped), open_a_claim(desk, shipped)
    assert first.url == second.url
    assert Claim.objects.count() == 1


def test_a_refused_claim_keeps_its_token_and_its_words(desk, shipped):
    response = open_a_claim(desk, shipped, claimant="")
    assert response.status_code == 422
    assert "drips at the rod" in response.content.decode()
    assert Claim.objects.count() == 0
    assert open_a_claim(desk, shipped).status_code == 302


def test_a_claim_without_a_token_is_refused(desk, shipped):
    assert open_a_claim(desk, shipped, token="").status_code == 400
    assert Claim.objects.count() == 0


def test_the_bench_may_not_open_a_claim(client, bench, shipped):
    client.force_login(bench)
    response = open_a_claim(client, shipped)
    assert response.status_code == 403
    assert "warranty desk or lead" in response.content.decode()


def test_judging_by_the_page_records_who_and_why(desk, warranty_desk, shipped):
    open_a_claim(desk, shipped)
    claim = Claim.objects.get()
    address = reverse("workorders:claim_judge", args=[claim.number])
    assert desk.get(address).status_code == 405
    bad = desk.post(address, {"judgement": "accepted", "reason": "", "form_token": "2" * 32})
    assert bad.status_code == 422
    desk.post(address, {"judgement": "accepted", "reason": "our cut", "form_token": "2" * 32})
    claim.refresh_from_db()
    assert claim.judgement == "accepted"
    latest = claim.history.latest()
    assert (latest.history_user, latest.history_change_reason) == (warranty_desk, "our cut")


@pytest.mark.record_row("R12")
def test_the_history_command_prints_the_whole_record(shipped):
    out = StringIO()
    call_command("history", shipped.unit.serial, "--json", stdout=out)
    record = json.loads(out.getvalue())
    assert record["serial"] == shipped.unit.serial
    (rebuild,) = record["rebuilds"]
    assert {row["position"] for row in rebuild["findings"]} == {"S1", "S2", "S3", "S4", "K1", "P1", "H1"}
    assert {row["position"] for row in rebuild["parts_used"]} == {"S1", "S2", "S3", "S4"}
    assert [step["verdict"] for step in rebuild["pressure_tests"][0]["steps"]] == ["passes"] * 5
    assert rebuild["release"]["number"] == shipped.released.number
    assert rebuild["warranty"]["ends_on"] == shipped.rebuild.warranty.ends_on.isoformat()
    assert any(change["by"] == str(shipped.people["bench"]) for change in record["changes"])


def test_the_history_command_speaks_in_sentences(shipped):
    out = StringIO()
    call_command("history", shipped.unit.serial.lower(), stdout=out)
    assert "In warranty until" in out.getvalue()
    with pytest.raises(CommandError, match="No unit carries"):
        call_command("history", draw_serial())
    with pytest.raises(CommandError):
        call_command("history", "NONSENSE")


def test_the_board_costs_the_same_for_ten_and_twenty_units(client, lead):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client.force_login(lead)
    counts = []
    for _ in range(2):
        factories.RebuildFactory.create_batch(10)
        client.get("/")
        with CaptureQueriesContext(connection) as seen:
            assert client.get("/").status_code == 200
        counts.append(len(seen))
    assert counts[0] == counts[1]


def test_what_is_in_work_stands_above_what_waits_on_the_shelf(desk):
    """Released units may wait for years; what is in work comes first, the longest here on top."""
    day = dt.timedelta(days=1)
    told = [("released", 3), ("building", 2), ("received", 1)]
    made = {
        stage: factories.RebuildFactory(stage=stage, received_at=factories.NOW - days * day)
        for stage, days in told
    }
    shown = list(desk.get("/").context["page"])
    assert shown == [made["building"], made["received"], made["released"]]
