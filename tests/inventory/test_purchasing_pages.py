"""The pages of purchasing: what to order, orders, what suppliers sell, expiring and dead stock."""

import csv
import datetime as dt
import io
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.db import connection
from django.db.models import Subquery
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from inventory.models import Lot, OrderLine, Part, PriceBreak, PurchaseOrder, SupplierPart
from inventory.services import purchasing, stock, supplier_parts
from inventory.services.dates import dead_stock
from inventory.services.order_plan import order_plans
from inventory.services.purchasing import Wanted
from inventory.views import columns
from inventory.views.parts import usable_pieces
from shop.services.writing import Act
from tests import writes
from tests.asking import rows, send
from tests.conftest import NOW
from tests.factories import LotFactory, PartFactory, ShopProfileFactory, SupplierFactory, person
from tests.writes import Write

pytestmark = pytest.mark.django_db


def page(client, name, *args, **query):
    answer = client.get(reverse(f"inventory:{name}", args=args), query)
    assert answer.status_code == 200, answer.status_code
    return answer.content.decode()


def url(name, *args):
    return reverse(f"inventory:{name}", args=args)


def ago(days):
    return timezone.now() - dt.timedelta(days=days)


def short_part(act, supplier=None, **fields):
    """A part of which five are used each week and one is left; sold by a supplier unless None."""
    part = PartFactory(**fields)
    lot = LotFactory(
        part=part, quantity_received=41, received_on=ago(90).date(), unit_cost=Decimal("2"), use_by=None
    )
    lead = person("lead")
    for week in range(8):
        stock.take(act=act(lead, at=ago(2 + 7 * week)), lot=lot, quantity=5, document="W26-0001")
    if supplier:
        sold = supplier_parts.save_supplier_part(
            act=act(lead), part=part, supplier=supplier, number=f"S-{part.number}", lead_days=14
        )
        supplier_parts.save_prices(
            act=act(lead),
            supplier_part=sold,
            valid_from=dt.date(2026, 1, 1),
            prices=[(1, Decimal("2.5")), (60, Decimal("2.125"))],
        )
    return part


def world_once():
    def act(by, at=NOW):
        return Act(by=by, at=at)

    ShopProfileFactory()
    lead = Act(by=person("lead"), why="for the test")
    supplier = SupplierFactory()
    part = short_part(act, supplier)
    other = PartFactory()
    draft = purchasing.draft_order(
        act=lead, supplier=supplier, wanted=[Wanted(part=other, quantity=10, unit_price=Decimal("1"))]
    )
    partly = purchasing.draft_order(act=lead, supplier=supplier, wanted=[Wanted(part=other, quantity=10)])
    purchasing.send_order(act=lead, order=partly)
    stock.receive_lot(
        act=lead,
        part=other,
        supplier=supplier,
        number="",
        quantity=4,
        place="A1",
        received_on=timezone.localdate(),
        cure_date="3Q25",
        order_line=partly.lines.get(),
    )
    return SimpleNamespace(
        part=part,
        other=other,
        supplier=supplier,
        sold=part.supplier_parts.get(),
        draft=draft,
        line=draft.lines.get(),
        partly=partly,
    )


@pytest.fixture(scope="module")
def kept(keep):
    return keep(world_once)


@pytest.fixture
def world(kept):
    return kept()


STORES = {"role": "stores", "refused_role": "bench"}
WRITES = {
    "supplier_part_new": lambda w: Write(
        url=url("supplier_part_new", w.other.pk),
        data={"supplier": w.supplier.pk, "lead_days": 7, "pack_size": 10, "minimum": 20},
        unknown=url("supplier_part_new", 10**6),
        bad={"lead_days": ""},
        broken={"pack_size": 0},
        history=SupplierPart.history,
        **STORES,
    ),
    "supplier_part_change": lambda w: Write(
        url=url("supplier_part_change", w.sold.pk),
        data={"lead_days": 9, "pack_size": 1, "minimum": 1, "preferred": "on", "why": "they say so"},
        unknown=url("supplier_part_change", 10**6),
        bad={"why": ""},
        broken={"minimum": 0},
        history=SupplierPart.history,
        why="they say so",
        **STORES,
    ),
    "supplier_part_prices": lambda w: Write(
        url=url("supplier_part_prices", w.sold.pk),
        data={"valid_from": "2026-05-01", "prices": "1 2.60\n\n50 2.10"},
        unknown=url("supplier_part_prices", 10**6),
        bad={"prices": "1 2,60"},
        broken={"valid_from": "2026-01-01"},  # replaces a list without a reason
        history=PriceBreak.history,
        **STORES,
    ),
    "purchase_order_new": lambda w: Write(
        url=url("purchase_order_new"),
        data={"supplier": w.supplier.pk, "note": "by the harbour gate"},
        bad={"supplier": ""},
        history=PurchaseOrder.history,
        **STORES,
    ),
    "order_draft": lambda w: Write(
        url=url("order_draft", w.supplier.pk),
        unknown=url("order_draft", 10**6),
        history=PurchaseOrder.history,
        why="drafted from what is short",
        **STORES,
    ),
    "purchase_order_change": lambda w: Write(
        url=url("purchase_order_change", w.draft.number),
        data={"note": "soon"},
        unknown=url("purchase_order_change", "P00-0000"),
        bad={"note": "x" * 301},
        history=PurchaseOrder.history,
        **STORES,
    ),
    "order_line_new": lambda w: Write(
        url=url("order_line_new", w.draft.number),
        data={"part": w.part.pk, "quantity": 60},
        unknown=url("order_line_new", "P00-0000"),
        bad={"quantity": 0},
        broken={"part": w.other.pk},
        history=OrderLine.history,
        **STORES,
    ),
    "order_line_change": lambda w: Write(
        url=url("order_line_change", w.draft.number, w.line.pk),
        data={"quantity": 12, "unit_price": "0.035"},
        unknown=url("order_line_change", w.draft.number, 10**6),
        bad={"unit_price": "-1"},
        history=OrderLine.history,
        **STORES,
    ),
    "order_line_remove": lambda w: Write(
        url=url("order_line_remove", w.draft.number, w.line.pk),
        unknown=url("order_line_remove", w.draft.number, 10**6),
        history=OrderLine.history,
        why="taken off the order",
        **STORES,
    ),
    "purchase_order_send": lambda w: Write(
        url=url("purchase_order_send", w.draft.number),
        unknown=url("purchase_order_send", "P00-0000"),
        history=PurchaseOrder.history,
        **STORES,
    ),
    "purchase_order_cancel": lambda w: Write(
        url=url("purchase_order_cancel", w.draft.number),
        data={"why": "too dear"},
        unknown=url("purchase_order_cancel", "P00-0000"),
        bad={"why": ""},
        history=PurchaseOrder.history,
        why="too dear",
        **STORES,
    ),
    "purchase_order_close": lambda w: Write(
        url=url("purchase_order_close", w.partly.number),
        data={"why": "sold out"},
        unknown=url("purchase_order_close", "P00-0000"),
        bad={"why": ""},
        history=PurchaseOrder.history,
        why="sold out",
        **STORES,
    ),
    "lot_receive": lambda w: Write(
        url=url("lot_receive"),
        data={
            "part": w.other.pk,
            "supplier": w.supplier.pk,
            "quantity": 6,
            "cure_date": "3Q24",
            "received_on": "2026-03-01",
            "place": "A7",
            "order_line": w.partly.lines.get().pk,
        },
        bad={"order_line": w.line.pk},  # a draft
        broken={"quantity": 7},  # one more than ordered, without a reason
        history=Lot.history,
        **STORES,
    ),
}


@pytest.fixture(params=WRITES)
def write(request, world):
    return WRITES[request.param](world)


def test_it_works_and_names_who_and_why(client, write):
    writes.check_works(client, write)


def test_asking_for_the_page_writes_nothing(client, write):
    writes.check_get(client, write)


def test_signed_out_people_are_asked_to_sign_in(client, write):
    writes.check_signed_out(client, write)


def test_another_role_is_told_who_may(client, write):
    writes.check_wrong_role(client, write)


def test_what_does_not_exist_is_not_found(client, write):
    if write.unknown:
        writes.check_unknown(client, write)


def test_a_bad_form_comes_back_and_nothing_changes(client, write):
    if write.bad:
        writes.check_refused(client, write, write.bad)


def test_a_broken_rule_comes_back_and_nothing_changes(client, write):
    if write.broken:
        writes.check_refused(client, write, write.broken)


def test_sent_twice_it_is_made_once(client, write):
    writes.check_twice(client, write)


def test_buttons_of_an_order_that_was_sent_are_refused_with_words(client, stores, world):
    client.force_login(stores)
    number = world.partly.number
    for address in (url("purchase_order_send", number), url("order_draft", SupplierFactory().pk)):
        before = rows()
        answer = send(client, address)
        assert answer.status_code >= 400
        assert rows() == before


def test_one_press_drafts_what_is_short_at_one_supplier(client, act, stores, world):
    client.force_login(stores)
    elsewhere = short_part(act, SupplierFactory())
    nowhere = short_part(act, number="PN-NOBODY")
    text = page(client, "what_to_order")
    assert text.count("Draft the order") == 2
    assert "No supplier entered" in text
    for part in (world.part, elsewhere, nowhere):
        assert part.number in text
    answer = send(client, url("order_draft", world.supplier.pk))
    order = PurchaseOrder.objects.latest("pk")
    assert answer.url == order.get_absolute_url()
    line = order.lines.get()
    assert line.part == world.part
    assert line.quantity >= 60
    assert line.unit_price == Decimal("2.125")
    # What is on the draft is covered: the part is short no more.
    assert (
        world.part.number
        not in page(client, "what_to_order").split("Show what to order")[-1].split("<tbody>")[-1]
    )
    assert send(client, url("order_draft", world.supplier.pk)).status_code >= 400


def test_a_part_that_is_covered_stands_among_all_with_its_arithmetic(client, bench, world):
    client.force_login(bench)
    assert "No part matches" in page(client, "what_to_order", q=world.other.number)
    text = page(client, "what_to_order", q=world.other.number, show="all")
    assert world.other.number in text
    assert "You may not" in page(client, "what_to_order")  # the bench may look only
    assert "normal" in page(client, "what_to_order", show="used")
    page(client, "what_to_order", show="expiring")


@pytest.mark.parametrize("key", [column.key for column in columns.WHAT_TO_ORDER.columns if column.sort])
def test_what_to_order_is_sorted_by_every_column(client, act, bench, world, key):
    client.force_login(bench)
    short_part(act)
    for sort in (key, f"-{key}"):
        assert "PN-" in page(client, "what_to_order", show="all", sort=sort)


LISTS = {
    "purchase_orders": columns.PURCHASE_ORDERS,
    "expiring": columns.EXPIRING,
    "dead_stock": columns.DEAD_STOCK,
    "what_to_order": columns.WHAT_TO_ORDER,
}


@pytest.mark.parametrize("name", LISTS)
def test_lists_cost_the_same_for_10_and_for_20_rows(client, act, bench, name):
    client.force_login(bench)
    ShopProfileFactory()
    costs = []
    for _ in range(2):
        for _ in range(10):
            supplier = SupplierFactory()
            part = short_part(act, supplier)
            LotFactory(part=part, use_by=timezone.localdate() + dt.timedelta(days=30))
            LotFactory(received_on=dt.date(2020, 1, 1), use_by=None)
            purchasing.draft_order(
                act=act(person("stores")), supplier=supplier, wanted=[Wanted(part=part, quantity=1)]
            )
        with CaptureQueriesContext(connection) as queries:
            text = page(client, name, show="all", sort=f"-{LISTS[name].columns[0].key}")
        assert text.count("<tr>") > 10
        costs.append(len(queries))
    assert costs[0] == costs[1]


@pytest.mark.parametrize("name", LISTS)
def test_lists_are_files_too(client, bench, world, name):
    client.force_login(bench)
    answer = client.get(url(name), {"format": "csv", "show": "all", "days": 3650, "months": 1})
    table = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert table[0] == [column.title for column in LISTS[name].columns]
    for column in LISTS[name].columns:
        if column.sort is not None:
            assert client.get(url(name), {"sort": f"-{column.key}"}).status_code == 200


@pytest.mark.parametrize("name", [*LISTS, "supplier_part_new"])
def test_nobody_sees_purchasing_without_signing_in(client, name):
    address = url(name, *([PartFactory().pk] if name == "supplier_part_new" else []))
    assert client.get(address).url.startswith("/sign-in/")


@pytest.mark.parametrize("name", LISTS)
def test_an_empty_list_says_what_it_is_for(client, bench, name):
    client.force_login(bench)
    assert 'class="empty"' in page(client, name)


@pytest.mark.parametrize(
    ("show", "found"),
    [("", "dp"), ("drafted", "d"), ("awaited", "p"), ("ended", ""), ("all", "dp"), ("nonsense", "dp")],
)
def test_orders_are_shown_by_state(client, bench, world, show, found):
    client.force_login(bench)
    text = page(client, "purchase_orders", show=show)
    told = {"d": world.draft.number, "p": world.partly.number}
    assert "".join(mark for mark, number in told.items() if f"/{number}/" in text) == found


def test_orders_are_found_by_number_supplier_and_part(client, bench, world):
    client.force_login(bench)
    for text in (world.draft.number.lower(), world.supplier.name, world.other.number):
        assert f"/{world.draft.number}/" in page(client, "purchase_orders", q=text)
    assert "No order matches" in page(client, "purchase_orders", q="nowhere")


def test_an_order_shows_what_came_and_from_which_lot(client, stores, world):
    client.force_login(stores)
    text = page(client, "purchase_order", world.partly.number)
    lot = world.other.lots.get()
    assert f"/lots/{lot.number}/" in text
    assert "The rest will not come" in text
    assert f"/purchase-orders/{world.partly.number}/" in page(client, "lot", lot.number)
    assert client.get(url("purchase_order", "P00-0000")).status_code == 404


def test_receiving_from_an_order_is_filled_in(client, stores, world):
    client.force_login(stores)
    text = page(client, "lot_receive", line=world.partly.lines.get().pk)
    assert 'name="quantity" value="6"' in text  # ten ordered, four came
    assert f'<option value="{world.other.pk}" selected>' in text
    for wrong in ("x", "9" * 30, world.line.pk):
        assert 'name="quantity" value="6"' not in page(client, "lot_receive", line=wrong)


def test_no_text_of_an_order_acts_as_a_formula_in_its_file(client, stores, world):
    client.force_login(stores)
    SupplierPart.objects.create(
        part=world.other, supplier=world.supplier, number="=1+1", lead_days=1, preferred=False
    )
    data = {"quantity": 3, "unit_price": "1"}
    send(client, url("order_line_change", world.draft.number, world.line.pk), data)
    told = client.get(url("purchase_order", world.draft.number), {"format": "csv"}).content.decode(
        "utf-8-sig"
    )
    assert "'=1+1" in told
    assert client.get(url("purchase_order", world.draft.number), {"format": "doc"}).status_code == 404


def paper(client, order, tmp_path):
    address = reverse("workorders:purchase_order_pdf", args=[order.number])
    answer = client.get(address)
    assert answer["Content-Type"] == "application/pdf"
    assert client.get(address).content == answer.content
    path = tmp_path / "order.pdf"
    path.write_bytes(answer.content)
    return " ".join(" ".join(one.extract_text() for one in PdfReader(path).pages).split())


def test_the_paper_of_an_order_says_what_is_ordered_for_how_much(client, stores, world, tmp_path):
    client.force_login(stores)
    data = {"part": world.part.pk, "quantity": 60}
    send(client, url("order_line_new", world.draft.number), data)
    told = paper(client, world.draft, tmp_path)
    for words in (
        world.draft.number,
        world.supplier.name,
        world.part.number,
        f"S-{world.part.number}",
        "2.125 EUR",
        "127.50 EUR",
        "137.50 EUR",
        "Draft: not ordered yet",
        "cure quarter",
    ):
        assert words in told, words
    send(client, url("purchase_order_send", world.draft.number))
    assert "Draft" not in paper(client, world.draft, tmp_path)
    send(client, url("purchase_order_cancel", world.draft.number), {"why": "too dear"})
    assert "Cancelled: too dear" in paper(client, world.draft, tmp_path)


def test_the_paper_is_for_those_who_may_see_and_of_orders_that_exist(client, bench, world):
    address = reverse("workorders:purchase_order_pdf", args=[world.draft.number])
    assert client.get(address).url.startswith("/sign-in/")
    client.force_login(bench)
    assert client.get(reverse("workorders:purchase_order_pdf", args=["P00-0000"])).status_code == 404
    assert client.post(address).status_code == 405


def test_a_price_list_is_read_line_by_line(client, stores, world):
    client.force_login(stores)
    address = url("supplier_part_prices", world.sold.pk)
    assert "1 2.5\n60 2.125</textarea>" in client.get(address).content.decode()
    for prices, words in (
        ("1 2.5\n20", "Line 2 is"),
        ("1.5 2", "Line 1 is"),
        ("0 2", "above nothing"),
        ("1 0", "above nothing"),
        ("1 0.00001", "four decimals"),
        ("1 NaN", "above nothing"),
        ("50 2\n1 3", "the smallest first"),
    ):
        answer = send(client, address, {"valid_from": "2026-06-01", "prices": prices})
        assert answer.status_code == 422
        assert words in answer.content.decode(), prices


def test_a_part_shows_who_sells_it_when_to_order_and_how_it_was_used(client, stores, world):
    client.force_login(stores)
    text = page(client, "part", world.part.pk)
    for words in ("Short: order", "ordered here", "from 60:", "2.125", "<svg viewBox", "40 pieces used in"):
        assert words in text, words
    assert text.count("<rect") >= 8
    assert "Nothing of it was used" in page(client, "part", world.other.pk)
    assert world.partly.number in page(client, "part", world.other.pk)


def test_lots_that_expire_are_shown_with_what_will_be_left_of_them(client, act, bench, world):
    client.force_login(bench)
    soon = LotFactory(
        part=world.part,
        use_by=timezone.localdate() + dt.timedelta(days=7),
        quantity_received=30,
        received_on=ago(90).date(),
        unit_cost=Decimal("2"),
    )
    (plan,) = order_plans(on=timezone.localdate(), parts=[world.part.pk])
    left = 30 - int(plan.points.mean_daily * 7)
    LotFactory(part=world.other, use_by=timezone.localdate() + dt.timedelta(days=91))
    LotFactory(part=world.other, use_by=timezone.localdate() - dt.timedelta(days=1))
    text = page(client, "expiring")
    assert text.count("<tr>") == 2
    assert soon.number in text
    assert 20 < left < 30
    assert f"<strong>{left}</strong>" in text
    assert "2 lots" not in text
    for wrong in ("0", "-1", "x", "99999999"):
        assert "within 90 days" in page(client, "expiring", days=wrong)
    assert "within 5 days" in page(client, "expiring", days="5")
    assert soon.number not in page(client, "expiring", days="5")
    assert "Nothing expires" in page(client, "expiring", q="nowhere")


def test_dead_stock_is_what_lies_there_unused_and_came_long_ago(client, act, bench, world):
    client.force_login(bench)
    old = {"received_on": dt.date(2020, 1, 1), "unit_cost": Decimal("3"), "quantity_received": 7}
    dead = LotFactory(**old).part
    fresh = LotFactory().part
    Lot.objects.filter(part=fresh).update(received_on=timezone.localdate())
    empty = LotFactory(**old)
    empty.balances.update(quantity=0)
    back = LotFactory(**old)
    taken = stock.take(act=act(bench, at=ago(5)), lot=back, quantity=1, document="W")
    stock.put_back(act=act(bench, at=ago(4)), movement=taken, document="W")
    once = LotFactory(**old)
    stock.take(act=act(bench, at=ago(100)), lot=once, quantity=1, document="W")
    text = page(client, "dead_stock")
    shown = {
        row.number for row in (dead, fresh, empty.part, back.part, once.part) if f">{row.number}<" in text
    }
    assert shown == {dead.number, back.part.number}
    assert "21.00" in text
    assert "<dd>14</dd>" in text, "two times seven pieces"
    assert "42.00" in text, "14 pieces at 3"
    assert once.part.number in page(client, "dead_stock", months="3")
    assert "No dead stock" in page(client, "dead_stock", q="nowhere")


def test_an_order_without_lines_cannot_be_sent_from_its_page(client, stores, world):
    client.force_login(stores)
    send(client, url("order_line_remove", world.draft.number, world.line.pk))
    assert "It was sent" not in page(client, "purchase_order", world.draft.number)
    assert send(client, url("purchase_order_send", world.draft.number)).status_code >= 400


def test_the_history_of_an_order_tells_its_days_as_a_page_does(client, stores, world):
    client.force_login(stores)
    send(client, url("purchase_order_send", world.draft.number))
    text = page(client, "purchase_order", world.draft.number)
    today = timezone.localdate()
    assert f"Sent at: was empty, now “{today:%d %b %Y}, " in text


@pytest.mark.one_database
def test_no_part_reads_all_uses_and_no_balance_all_lots():
    """SQLite's plan of both lists; by the other one 20,000 lots took half a minute and more."""
    usable = Part.objects.annotate(usable=Subquery(usable_pieces(NOW.date())))
    for asked in (dead_stock(on=NOW.date(), months=12), usable):
        sql, params = asked.query.sql_with_params()
        with connection.cursor() as cursor:
            cursor.execute(f"EXPLAIN QUERY PLAN {sql}", params)
            plan = [row[3] for row in cursor.fetchall()]
        assert any("inventory_lot_part_id" in step for step in plan), plan
        assert not any("inventory_movement_usage" in step or "LIST SUBQUERY" in step for step in plan), plan
