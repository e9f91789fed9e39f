"""The pages of boxes, as a browser without JavaScript meets them."""

import re
import uuid
from html import unescape
from io import BytesIO

import pypdf
import pytest
from django.urls import reverse

from shop.errors import RuleBroken
from shop.models import Customer
from tests.asking import picture, rows, send
from tests.factories import (
    CustomerFactory,
    HoseFactory,
    PortFactory,
    RebuildFactory,
    ShopProfileFactory,
    TypeRevisionFactory,
    UnitFactory,
    WorkOrderFactory,
    person,
)
from tests.shop.scanning import decode, rendered
from workorders.calc.serial import grouped
from workorders.models import Box, BoxLine, Rebuild
from workorders.services import boxes
from workorders.services.addresses import ship_choices
from workorders.services.boxes import Expected
from workorders.services.lookup import find
from workorders.services.record.unit import unit_record

pytestmark = pytest.mark.django_db
LIST, NEW = reverse("workorders:boxes"), reverse("workorders:box_new")
ANNOUNCE = reverse("workorders:box_announce")
CALL = {
    "how": "telephone",
    "sender_as_written": "Harrow Lift Hire",
    "what_1": "lift cylinder",
    "symptoms_1": "drips",
}
ARRIVAL = {"packing": "damaged", "damage_note": "corner torn"}
INTAKE = {"opened_before": "not_before", "arrival_condition": "oily", "destination": "customer"}


@pytest.fixture
def clerk(client, receiving):
    client.force_login(receiving)
    return client


@pytest.fixture
def announced(act, receiving):
    told = (Expected(what="lift cylinder", symptoms="drips"), Expected(what="power unit"))
    return boxes.announce_box(act=act(receiving), how="email", expected=told, customer=CustomerFactory())


@pytest.fixture
def here(act, receiving, announced):
    boxes.receive_box(act=act(receiving), box=announced)
    return boxes.put_into_work_order(act=act(receiving), box=announced)


def url(name, *args):
    return reverse(f"workorders:{name}", args=args)


def text_of(answer):
    return answer.content.decode()


def page(client, row):
    return text_of(client.get(row.get_absolute_url()))


# ---------- announced and received ----------


def test_a_call_is_written_down_once_for_a_double_tap(clerk, receiving):
    token = uuid.uuid4().hex
    more = {**CALL, "further": "valve block, stuck\n\npump"}
    first, second = (send(clerk, ANNOUNCE, more, token=token) for _ in range(2))
    row = Box.objects.get()
    assert first["Location"] == second["Location"] == row.get_absolute_url()
    assert (row.sender_as_written, row.announced_by, row.customer) == ("Harrow Lift Hire", receiving, None)
    assert [line.what for line in row.lines.all()] == ["lift cylinder", "valve block, stuck", "pump"]
    assert row.history.get().history_user == receiving


def test_a_call_from_the_page_of_a_customer_is_theirs(clerk):
    customer = CustomerFactory()
    address = f"{ANNOUNCE}?customer={customer.pk}"
    assert address in page(clerk, customer)
    send(clerk, address, {**CALL, "sender_as_written": ""})
    assert Box.objects.get().sender == customer


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"what_1": "", "symptoms_1": ""}, "Name at least one unit"),
        ({"what_1": ""}, "Name at least one unit"),
        ({"symptoms_2": "hums"}, "Say which unit this is"),
        ({"sender_as_written": ""}, "This is still empty"),
        ({"further": "x\n" * 21}, "more than 20 lines"),
        ({"how": "link"}, "not one of the available choices"),
    ],
)
def test_an_announcement_that_says_too_little_is_shown_again(clerk, change, message):
    before = rows()
    answer = send(clerk, ANNOUNCE, {**CALL, **change})
    assert answer.status_code == 422
    assert message in text_of(answer)
    assert rows() == before


def test_a_box_from_nowhere_needs_no_more_than_its_state_and_a_photo(clerk):
    answer = send(clerk, NEW, {"packing": "sound", "photo": picture("box.png")})
    row = Box.objects.get()
    assert answer["Location"] == row.get_absolute_url()
    assert row.photos.count() == 1
    shown = page(clerk, row)
    assert "Nobody has said yet whose box this is" in shown
    assert url("box_sender", row.number) in shown


def test_damage_without_words_is_refused_beside_its_field(clerk):
    before = rows()
    answer = send(clerk, NEW, {"packing": "wet", "damage_note": ""})
    assert answer.status_code == 422
    assert "the carrier will ask for it" in text_of(answer)
    assert rows() == before


def test_an_announced_box_arrives_on_its_own_page(clerk, announced):
    address = url("box_receive", announced.number)
    assert address in page(clerk, announced)
    assert address in text_of(clerk.get(NEW))
    assert address in text_of(clerk.get(url("receive_for", announced.customer_id)))
    send(clerk, address, ARRIVAL)
    shown = page(clerk, announced)
    assert "The packing was damaged" in shown
    assert "corner torn" in shown
    again = send(clerk, address, ARRIVAL)
    assert again.status_code == 422
    assert "is here already" in text_of(again)


# ---------- whose ----------


def test_the_sender_is_found_and_named(clerk, act, receiving):
    row = boxes.receive_box(act=act(receiving), sender_as_written="Harrow")
    customer = CustomerFactory(name="Harrow Lift Hire")
    named = url("box_sender_named", row.number, customer.pk)
    assert named in text_of(clerk.get(url("box_sender", row.number), {"q": "harrow"}))
    assert "Reason for the change" not in text_of(clerk.get(named))
    send(clerk, named, {})
    assert Box.objects.get().sender == customer


def test_the_name_on_the_box_is_looked_up_at_once(clerk, act, receiving):
    customer = CustomerFactory(name="Harrow Lift Hire")
    row = boxes.receive_box(act=act(receiving), sender_as_written="harrow lift")
    shown = text_of(clerk.get(url("box_sender", row.number)))
    assert url("box_sender_named", row.number, customer.pk) in shown
    assert 'value="harrow lift"' in shown
    assert url("box_sender_named", row.number, customer.pk) not in text_of(
        clerk.get(url("box_sender", row.number), {"q": ""})
    )


def test_a_sender_who_is_not_in_the_books_is_entered_and_named_at_once(clerk, act, receiving):
    row = boxes.receive_box(act=act(receiving), sender_as_written="Sandpiper Ramps")
    address = url("box_sender", row.number)
    assert 'name="name" value="Sandpiper Ramps"' in text_of(clerk.get(address))
    before = rows()
    assert send(clerk, address, {"name": "", "kind": "owner", "seen": ""}).status_code == 422
    assert rows() == before
    token = uuid.uuid4().hex
    for _ in range(2):
        answer = send(clerk, address, {"name": "Sandpiper Ramps", "kind": "owner", "seen": ""}, token=token)
        assert answer.url == row.get_absolute_url()
    row.refresh_from_db()
    assert (row.customer.name, Customer.objects.count()) == ("Sandpiper Ramps", 1)
    assert row.history.first().history_user == receiving


def test_another_sender_is_entered_and_named_for_a_reason(clerk, announced):
    data = {"name": "Sandpiper Ramps", "kind": "owner", "seen": ""}
    answer = send(clerk, url("box_sender", announced.number), data)
    entered = Customer.objects.get(name="Sandpiper Ramps")
    assert answer.url == url("box_sender_named", announced.number, entered.pk)
    assert Box.objects.get().customer == announced.customer


def test_a_sender_who_may_be_in_the_books_is_shown_before_it_is_entered(clerk, act, receiving):
    known = CustomerFactory(name="Sandpiper Ramps")
    row = boxes.receive_box(act=act(receiving))
    before = rows()
    data = {"name": "Sandpiper Ramps", "kind": "owner", "seen": ""}
    answer = send(clerk, url("box_sender", row.number), data)
    assert answer.status_code == 422
    assert url("box_sender_named", row.number, known.pk) in text_of(answer)
    assert rows() == before


def test_another_sender_needs_a_reason(clerk, announced):
    named = url("box_sender_named", announced.number, CustomerFactory().pk)
    before = rows()
    assert send(clerk, named, {"why": ""}).status_code == 422
    assert rows() == before
    assert send(clerk, named, {"why": "slip says so"}).status_code == 302
    assert announced.history.first().history_change_reason == "slip says so"


def test_a_work_order_of_another_customer_is_not_offered_and_not_taken(clerk, act, receiving, announced):
    boxes.receive_box(act=act(receiving), box=announced)
    own, foreign = WorkOrderFactory(customer=announced.customer), WorkOrderFactory()
    address = url("box_order", announced.number)
    offered = text_of(clerk.get(address))
    assert own.number in offered
    assert foreign.number not in offered
    before = rows()
    assert send(clerk, address, {"order": foreign.number}).status_code == 422
    assert rows() == before
    send(clerk, address, {"order": own.number})
    assert Box.objects.get().work_order == own
    assert announced.number in page(clerk, own)


def test_a_new_work_order_goes_back_where_the_sender_asked_under_the_number_they_require(
    clerk, act, receiving, announced
):
    account = announced.customer
    account.kind, account.needs_order_number = "trade", True
    account.save()
    told = {"return_address": "Pier 9\nSouthhaven", "customer_order": ""}
    boxes.change_box(act=act(receiving, why="as they wrote"), box=announced, **told)
    boxes.receive_box(act=act(receiving), box=announced)
    address = url("box_order", announced.number)
    offered = unescape(text_of(clerk.get(address)))
    assert "This account requires one" in offered
    assert re.search(rf'value="b{announced.pk}"[^>]*checked', offered)
    assert f"As announced with box {announced.number}: {account.name}, Pier 9, Southhaven" in offered
    data = {"order": "new", "customer_order": "", "goes_to": f"b{announced.pk}"}
    before = rows()
    refused = send(clerk, address, data)
    assert refused.status_code == 422
    assert "requires an order number of theirs; ask for it." in unescape(text_of(refused))
    assert rows() == before
    assert send(clerk, address, {**data, "customer_order": "PO 7"}).status_code == 302
    order = Box.objects.get().work_order
    assert (order.customer_order, order.ship_to) == ("PO 7", f"{account.name}\nPier 9\nSouthhaven")


def test_another_address_of_the_account_may_be_chosen_and_the_announced_one_stays_on_offer(
    clerk, act, receiving, announced
):
    told = {"return_address": f"{announced.customer.name.upper()}\nPier 9"}
    boxes.change_box(act=act(receiving, why="as they wrote"), box=announced, **told)
    boxes.receive_box(act=act(receiving), box=announced)
    data = {"order": "new", "customer_order": "", "goes_to": "own"}
    assert send(clerk, url("box_order", announced.number), data).status_code == 302
    order = Box.objects.get().work_order
    assert order.ship_to == announced.customer.own_address
    offered = {each.key: each.lines for each in ship_choices(order)}
    assert offered[f"b{announced.pk}"] == f"{announced.customer.name.upper()}\nPier 9"


def test_the_only_address_that_is_known_is_taken_without_a_question(clerk, act, receiving, announced):
    announced.customer.street = announced.customer.postcode = announced.customer.town = ""
    announced.customer.country = ""
    announced.customer.save()
    boxes.change_box(act=act(receiving, why="as they wrote"), box=announced, return_address="Pier 9")
    boxes.receive_box(act=act(receiving), box=announced)
    address = url("box_order", announced.number)
    assert 'name="goes_to"' not in text_of(clerk.get(address))
    assert send(clerk, address, {"order": "new", "customer_order": ""}).status_code == 302
    assert Box.objects.get().work_order.ship_to == f"{announced.customer.name}\nPier 9"


def test_a_box_of_nobody_is_put_into_no_work_order(clerk, act, receiving):
    row = boxes.receive_box(act=act(receiving))
    address = url("box_order", row.number)
    assert "Nobody knows yet whose box this is" in text_of(clerk.get(address))
    before = rows()
    assert send(clerk, address, {"order": "new", "customer_order": ""}).status_code == 422
    assert rows() == before


# ---------- sorted ----------


def test_a_line_is_added_and_judged(clerk, here):
    added = {"outcome": "unidentified", "what": "green block", "unit_type": "", "note": ""}
    send(clerk, url("box_line_new", here.number), added)
    send(clerk, url("box_line", here.number, 2), {"outcome": "missing", "unit_type": "", "note": ""})
    outcomes = [(line.what, line.outcome) for line in here.lines.all()]
    assert outcomes == [("lift cylinder", "open"), ("power unit", "missing"), ("green block", "unidentified")]
    shown = page(clerk, here)
    assert "not identified" in shown
    assert "missing" in shown
    assert "Line 2: power unit, " in shown
    assert "now “missing”" in shown


@pytest.mark.parametrize(
    ("sent", "message"),
    [
        ({"outcome": "wrong", "note": ""}, "what lies in the box instead"),
        ({"outcome": "extra"}, "not one of the available choices"),
        ({}, "Nothing is chosen yet"),
    ],
)
def test_a_judgement_that_says_too_little_is_shown_again(clerk, here, sent, message):
    before = rows()
    answer = send(clerk, url("box_line", here.number, 1), sent)
    assert answer.status_code == 422
    assert message in text_of(answer)
    assert rows() == before


def test_a_unit_is_received_from_its_line(clerk, here):
    revision = TypeRevisionFactory()
    HoseFactory(port=PortFactory(revision=revision), code="H1")
    line = here.lines.get(order=1)
    choose = f"{url('add_unit', here.work_order.number)}?line={line.pk}"
    assert choose in page(clerk, here)
    shown = text_of(clerk.get(choose))
    form = f"{url('add_new', here.work_order.number, revision.unit_type_id)}?line={line.pk}"
    assert form in shown
    assert f'name="line" value="{line.pk}"' in shown
    assert ">drips</textarea>" in text_of(clerk.get(form)).replace("\n", "")
    token = uuid.uuid4().hex
    first, second = (send(clerk, form, {**INTAKE, "maker_serial": "M 1"}, token=token) for _ in range(2))
    rebuild = Rebuild.objects.get()
    assert first["Location"] == second["Location"] == url("intake", rebuild.pk)
    assert BoxLine.objects.get(pk=line.pk).rebuild == rebuild
    assert here.get_absolute_url() in text_of(clerk.get(first["Location"]))
    assert unit_record(rebuild.unit)["rebuilds"][0]["box"] == here.number


def test_a_scanned_known_unit_keeps_its_line(clerk, here):
    unit, line = UnitFactory(), here.lines.get(order=2)
    choose = url("add_unit", here.work_order.number)
    answer = clerk.get(choose, {"q": unit.serial, "line": line.pk})
    assert answer["Location"] == f"{url('add_known', here.work_order.number, unit.serial)}?line={line.pk}"
    send(clerk, answer["Location"], INTAKE)
    assert BoxLine.objects.get(pk=line.pk).rebuild.unit == unit


def test_a_unit_never_goes_from_one_customers_box_into_anothers_work_order(clerk, here):
    foreign, revision = WorkOrderFactory(), TypeRevisionFactory()
    form = f"{url('add_new', foreign.number, revision.unit_type_id)}?line={here.lines.first().pk}"
    before = rows()
    for answer in (clerk.get(form), send(clerk, form, INTAKE)):
        assert answer.status_code == 422
        assert "two customers are kept apart" in text_of(answer)
    assert rows() == before


def test_a_unit_without_a_line_is_received_as_before(clerk, here):
    revision = TypeRevisionFactory()
    send(clerk, url("add_new", here.work_order.number, revision.unit_type_id), INTAKE)
    rebuild = Rebuild.objects.get()
    assert not hasattr(rebuild, "box_line")
    assert unit_record(rebuild.unit)["rebuilds"][0]["box"] is None


@pytest.mark.parametrize("line", ["4711", "x", "-1"])
def test_a_line_that_is_not_there_is_not_found(clerk, here, line):
    assert clerk.get(url("add_unit", here.work_order.number), {"line": line}).status_code == 404


# ---------- closed ----------


def test_a_box_is_closed_and_opened_again(clerk, here):
    close, reopen = url("box_close", here.number), url("box_reopen", here.number)
    assert "is not sorted yet" in text_of(clerk.get(close))
    before = rows()
    assert send(clerk, close).status_code == 422
    assert rows() == before
    for order in (1, 2):
        send(clerk, url("box_line", here.number, order), {"outcome": "missing"})
    assert send(clerk, close)["Location"] == here.get_absolute_url()
    assert here.number not in text_of(clerk.get(LIST))
    assert here.number in text_of(clerk.get(LIST, {"show": "all"}))
    assert send(clerk, reopen, {"why": ""}).status_code == 422
    send(clerk, reopen, {"why": "found under the paper"})
    assert "Found under the paper" in page(clerk, here)


def test_a_box_that_never_comes_is_closed_with_a_reason(clerk, announced):
    close = url("box_close", announced.number)
    assert send(clerk, close, {"why": ""}).status_code == 422
    send(clerk, close, {"why": "boat was sold"})
    assert "did not come" in page(clerk, announced)


# ---------- found ----------


@pytest.mark.parametrize(
    "write", [str, str.lower, lambda n: n.replace("-", ""), "HTTPS://SVC.EXAMPLE/B/{}".format]
)
def test_a_scanned_slip_opens_its_box(clerk, announced, write):
    scan = write(announced.number)
    assert clerk.get(reverse("workorders:find"), {"q": scan})["Location"] == announced.get_absolute_url()
    assert clerk.get(reverse("workorders:receive"), {"q": scan})["Location"] == announced.get_absolute_url()


@pytest.mark.parametrize("name", ["box_short", "box_scanned"])
def test_the_address_of_the_slip_leads_to_the_box(clerk, announced, name):
    answer = clerk.get(url(name, announced.number.lower()))
    assert answer["Location"] == announced.get_absolute_url()
    assert clerk.get(url(name, "B99-9999")).status_code == 404


def test_a_box_is_found_by_its_tracking_number_and_part_of_its_number(here):
    here.tracking = "QF 000123"
    here.save()
    assert find("qf 000123").boxes == find("b26").boxes == [here]
    assert find("b99-9999").boxes == []


def test_the_home_page_counts_open_boxes(clerk, announced):
    shown = text_of(clerk.get(reverse("workorders:home")))
    assert f'href="{LIST}">Boxes <b>1</b>' in shown


def test_the_list_has_open_boxes_by_state(clerk, act, receiving, announced):
    lone = boxes.receive_box(act=act(receiving))
    boxes.add_line(act=act(receiving), box=lone, what="green block", outcome="unidentified")

    def listed(show):
        return [row.number for row in clerk.get(LIST, {"show": show}).context["page"]]

    assert listed("open") == [lone.number, announced.number]
    assert listed("announced") == [announced.number]
    assert listed("to_sort") == listed("unidentified") == [lone.number]
    boxes.close_box(act=act(receiving), box=lone)
    assert listed("to_sort") == []
    assert listed("open") == [announced.number, lone.number]
    assert "green block" in text_of(clerk.get(LIST))


def test_the_list_and_a_box_cost_the_same_for_few_and_many(
    clerk, act, receiving, django_assert_max_num_queries
):
    def more():
        for _ in range(8):
            row = boxes.receive_box(act=act(receiving))
            row = boxes.name_sender(act=act(receiving), box=row, customer=CustomerFactory())
            row = boxes.put_into_work_order(act=act(receiving), box=row)
            for _ in range(3):
                boxes.add_line(act=act(receiving), box=row, what="block", outcome="unidentified")
        return row

    row = more()
    with django_assert_max_num_queries(30) as few:
        clerk.get(LIST)
    with django_assert_max_num_queries(30) as few_lines:
        clerk.get(row.get_absolute_url())
    more()
    for _ in range(9):
        boxes.add_line(act=act(receiving), box=row, what="hose", note="bin")
    with django_assert_max_num_queries(len(few)):
        clerk.get(LIST)
    with django_assert_max_num_queries(len(few_lines)):
        clerk.get(row.get_absolute_url())


# ---------- papers ----------


def pdf_text(data):
    return " ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(data)).pages)


@pytest.mark.parametrize(("paper", "size_mm"), [("A4", (210, 297)), ("Letter", (215.9, 279.4))])
def test_the_slip_names_the_box_and_its_symbol_leads_to_it(clerk, announced, paper, size_mm):
    """Sizes: ISO 216 and ANSI/ASME Y14.1; the symbol is read by zxing-cpp."""
    ShopProfileFactory(paper_size=paper)
    announced.return_address = "Pier 2, Sallow Bay"
    announced.save()
    answer = clerk.get(url("box_slip", announced.number))
    assert answer["Content-Type"] == "application/pdf"
    sheet = pypdf.PdfReader(BytesIO(answer.content)).pages[0].mediabox
    assert (float(sheet.width), float(sheet.height)) == pytest.approx(
        [mm * 72 / 25.4 for mm in size_mm], abs=0.1
    )
    text = pdf_text(answer.content)
    for wanted in (
        announced.number,
        "lift cylinder",
        "drips",
        "Pier 2, Sallow Bay",
        "Cap or plug every open port",
    ):
        assert wanted in text
    assert decode(rendered(answer.content, dpi=200)) == {f"HTTPS://SVC.EXAMPLE/B/{announced.number}"}
    assert answer.content == clerk.get(url("box_slip", announced.number)).content


def test_every_line_that_is_here_gets_a_tag_even_what_nobody_could_identify(clerk, act, receiving, here):
    boxes.add_line(act=act(receiving), box=here, what="green block", outcome="unidentified")
    boxes.judge_line(act=act(receiving), line=here.lines.get(order=2), outcome="missing")
    answer = clerk.get(url("box_tags", here.number, "62x29"))
    text = pdf_text(answer.content)
    assert f"{here.number}/1" in text
    assert f"{here.number}/2" not in text
    assert "green block" in text
    assert "not identified" in text
    for page_no in range(2):
        symbols = decode(rendered(answer.content, dpi=300, page=page_no))
        assert symbols == {f"HTTPS://SVC.EXAMPLE/B/{here.number}"}


def test_a_box_has_a_label_of_its_own_before_anything_is_known(clerk, act, receiving):
    row = boxes.receive_box(act=act(receiving), packing="wet", damage_note="oil")
    address = url("box_label", row.number, "62x29")
    assert address in page(clerk, row)
    answer = clerk.get(address)
    text = pdf_text(answer.content)
    for words in (row.number, "sender not known", "here since", "packing wet or oily outside"):
        assert words in text
    assert decode(rendered(answer.content, dpi=300)) == {f"HTTPS://SVC.EXAMPLE/B/{row.number}"}
    assert clerk.get(url("box_label", row.number, "99x99")).status_code == 404


def test_a_box_without_lines_has_no_tags_and_says_so(clerk, act, receiving):
    row = boxes.receive_box(act=act(receiving))
    answer = clerk.get(url("box_tags", row.number, "62x29"))
    assert answer.status_code == 422
    assert clerk.get(url("box_tags", row.number, "99x99")).status_code == 404


def test_whoever_adds_a_unit_to_the_order_of_a_box_is_asked_for_its_line(clerk, act, receiving, here):
    order = here.work_order
    first, second = here.lines.order_by("order")
    address = f"{url('add_unit', order.number)}?line="
    shown = text_of(clerk.get(url("add_unit", order.number)))
    assert f"{address}{first.pk}" in shown
    assert f"{address}{second.pk}" in shown
    boxes.judge_line(act=act(receiving), line=second, outcome="missing")
    assert f"{address}{second.pk}" not in text_of(clerk.get(url("add_unit", order.number)))
    assert "Does it lie in a box?" not in text_of(clerk.get(f"{address}{first.pk}"))


def test_the_page_of_a_box_offers_the_one_next_act(clerk, act, receiving, here):
    first, second = here.lines.order_by("order")

    def acts():
        return re.findall(r'class="button act" href="([^"]+)"', page(clerk, here))

    receive = url("add_unit", here.work_order.number)
    assert acts() == [f"{receive}?line={first.pk}"]
    boxes.judge_line(act=act(receiving), line=first, outcome="missing")
    assert acts() == [f"{receive}?line={second.pk}"]
    boxes.judge_line(act=act(receiving), line=second, outcome="missing")
    assert acts() == [url("box_close", here.number)]
    assert page(clerk, here).count("Close the box") == 1


def test_the_type_that_a_line_was_judged_to_be_is_offered_first(clerk, act, receiving, here):
    types = [TypeRevisionFactory().unit_type for _ in range(3)]
    line = here.lines.get(order=1)
    for judged in types:
        boxes.judge_line(act=act(receiving), line=line, outcome="found", unit_type=judged)
        shown = text_of(clerk.get(f"{url('add_unit', here.work_order.number)}?line={line.pk}"))
        offered = re.findall(r"/units/new/(\d+)/", shown)
        assert offered[0] == str(judged.pk)
        assert len(offered) == 3


def test_the_receipt_of_one_line_leads_on_to_the_next(clerk, act, receiving, here):
    first, second = here.lines.order_by("order")
    told = {"unit_type": TypeRevisionFactory().unit_type, **INTAKE}
    of = {"act": act(receiving), "work_order": here.work_order}
    rebuild = boxes.receive_unit_of_line(line=first, **of, **told)
    on = f"{url('add_unit', here.work_order.number)}?line={second.pk}"
    assert on in text_of(clerk.get(url("intake", rebuild.pk)))
    last = boxes.receive_unit_of_line(line=second, **of, **told)
    shown = text_of(clerk.get(url("intake", last.pk)))
    assert "?line=" not in shown
    assert "Add the next unit" in shown


def test_a_unit_that_was_received_without_its_line_is_tied_to_it(clerk, act, receiving, here):
    line = here.lines.get(order=1)
    address = url("box_line", here.number, 1)
    assert "Received already as" not in text_of(clerk.get(address))
    loose, foreign = RebuildFactory(work_order=here.work_order), RebuildFactory()
    assert grouped(loose.unit.serial) in text_of(clerk.get(address))
    data = {"outcome": "found", "unit_type": "", "note": "", "rebuild": loose.pk}
    before = rows()
    for wrong in ({"rebuild": foreign.pk}, {"outcome": "missing"}, {"outcome": "unidentified"}):
        assert send(clerk, address, {**data, **wrong}).status_code == 422
        assert rows() == before
    assert send(clerk, address, data).status_code == 302
    line.refresh_from_db()
    assert (line.rebuild, line.unit_type, line.outcome) == (loose, loose.unit.unit_type, "found")
    assert line.history.first().history_user == receiving
    assert "Received already as" not in text_of(clerk.get(url("box_line", here.number, 2)))
    with pytest.raises(RuleBroken) as refused:
        boxes.judge_line(act=act(receiving), line=here.lines.get(order=2), outcome="found", rebuild=loose)
    assert "came in line 1 of box" in refused.value.fields["rebuild"]
    with pytest.raises(RuleBroken, match="the boxes of two customers are kept apart"):
        boxes.judge_line(act=act(receiving), line=here.lines.get(order=2), outcome="found", rebuild=foreign)


# ---------- who may ----------

WRITES = ["box_change", "box_receive", "box_line_new", "box_photos", "box_close", "box_reopen", "box_order"]


@pytest.mark.parametrize("name", WRITES)
def test_only_receiving_and_the_lead_write(client, announced, name):
    address, before = url(name, announced.number), rows()
    assert send(client, address)["Location"].startswith("/sign-in/")
    for role in ("bench", "stores", "warranty desk"):
        client.force_login(person(role))
        assert send(client, address).status_code == 403
    people = ("User", "HistoricalUser", "User_groups", "HistoricalUser_groups")
    grown = {name for name, count in rows().items() if count != before[name]}
    assert not [name for name in grown if not name.startswith(people)]


@pytest.mark.parametrize("name", [*WRITES, "box", "box_sender", "box_slip"])
def test_an_unknown_box_is_not_found(clerk, name):
    assert clerk.get(url(name, "B99-9999")).status_code == 404


def test_the_warranty_desk_announces_and_names_senders(client, announced):
    client.force_login(person("warranty desk"))
    assert send(client, ANNOUNCE, CALL).status_code == 302
    named = url("box_sender_named", announced.number, CustomerFactory().pk)
    assert send(client, named, {"why": "called"}).status_code == 302


def test_photos_are_added_with_their_words(clerk, announced):
    address = url("box_photos", announced.number)
    assert send(clerk, address, {"caption": "x"}).status_code == 422
    send(clerk, address, {"caption": "corner", "photo": [picture("a.png")]})
    assert announced.photos.get().caption == "corner"


def test_a_box_is_corrected_from_its_page(clerk, announced, here):
    address = url("box_change", here.number)
    assert address in page(clerk, here)
    sent = {"packing": "sound", "shelf": "F9", "contact": "R. Holm", "why": ""}
    before = rows()
    assert send(clerk, address, sent).status_code == 422
    assert rows() == before
    send(clerk, address, {**sent, "why": "moved"})
    assert "Moved" in page(clerk, here)
    row = Box.objects.get()
    assert (row.shelf, row.contact) == ("F9", "R. Holm")
