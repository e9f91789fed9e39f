"""Purchase orders and what suppliers sell: what is kept, what is refused, what the database keeps."""

import datetime as dt
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from inventory.models import OrderLine, PriceBreak, PurchaseOrder, SupplierPart
from inventory.models.supplier_part import price_of, prices_on
from inventory.services import purchasing, stock, supplier_parts
from inventory.services.purchasing import Wanted
from shop.errors import NotAllowed, RuleBroken
from tests.conftest import NOW
from tests.factories import PartFactory, SupplierFactory, UserFactory

pytestmark = pytest.mark.django_db
TODAY = NOW.date()


@pytest.fixture
def part():
    return PartFactory()


@pytest.fixture
def supplier():
    return SupplierFactory()


@pytest.fixture
def sold(act, stores, part, supplier):
    row = supplier_parts.save_supplier_part(
        act=act(stores), part=part, supplier=supplier, number="X-7", lead_days=14, pack_size=10
    )
    prices = [(1, Decimal("2.50")), (50, Decimal("2.10"))]
    return supplier_parts.save_prices(
        act=act(stores), supplier_part=row, valid_from=dt.date(2026, 1, 1), prices=prices
    )


@pytest.fixture
def order(act, stores, part, supplier, sold):
    return purchasing.draft_order(act=act(stores), supplier=supplier, wanted=[Wanted(part=part, quantity=50)])


@pytest.fixture
def sent(act, stores, order):
    return purchasing.send_order(act=act(stores), order=order)


@pytest.fixture
def receive(act, stores, part, supplier):
    def run(line, quantity, **more):
        told = {"part": part, "supplier": supplier, "number": "", "place": "A1", "cure_date": "3Q25"} | more
        return stock.receive_lot(
            act=act(stores), quantity=quantity, received_on=TODAY, order_line=line, **told
        )

    return run


def broken(call, **kwargs):
    with pytest.raises(RuleBroken) as told:
        call(**kwargs)
    return told.value


def test_a_draft_takes_number_price_and_the_suppliers_number(order, stores):
    line = order.lines.get()
    assert order.number == "P26-0001"
    assert (order.state, order.drafted_by, line.supplier_number) == ("drafted", stores, "X-7")
    assert (line.unit_price, line.value) == (Decimal("2.10"), Decimal("105"))


def test_below_the_break_the_piece_costs_more(act, stores, order, part):
    line = purchasing.save_order_line(
        act=act(stores), order=order, line=order.lines.get(), part=part, quantity=49
    )
    assert line.unit_price == Decimal("2.50")


def test_a_price_of_ones_own_is_kept(act, stores, order, part):
    line = purchasing.save_order_line(
        act=act(stores),
        order=order,
        line=order.lines.get(),
        part=part,
        quantity=49,
        unit_price=Decimal("1.99"),
    )
    assert line.unit_price == Decimal("1.99")


def test_an_order_that_was_sent_stays_as_it_was_sent(act, stores, sent, part):
    line = sent.lines.get()
    assert (sent.state, sent.sent_by, sent.sent_at) == ("sent", stores, NOW)
    for call, told in (
        (purchasing.save_order_line, {"order": sent, "part": PartFactory(), "quantity": 1}),
        (purchasing.save_order_line, {"order": sent, "part": part, "quantity": 1, "line": line}),
        (purchasing.remove_order_line, {"line": line}),
        (purchasing.change_order, {"order": sent, "note": "soon"}),
        (purchasing.send_order, {"order": sent}),
    ):
        assert "stay as they were sent" in broken(call, act=act(stores), **told).message
    assert sent.lines.get().quantity == 50


def test_an_empty_order_is_not_sent(act, stores, order):
    purchasing.remove_order_line(act=act(stores), line=order.lines.get())
    assert "add a part" in broken(purchasing.send_order, act=act(stores), order=order).message


def test_lots_deliver_a_line_in_parts_and_then_whole(sent, receive):
    line = sent.lines.get()
    receive(line, 20)
    sent.refresh_from_db()
    assert (sent.state, sent.ended_at) == ("partly", None)
    assert OrderLine.objects.outstanding().get().received == 20
    receive(line, 30)
    sent.refresh_from_db()
    assert (sent.state, sent.ended_at) == ("closed", NOW)
    assert not OrderLine.objects.outstanding().exists()
    assert sent.lines.with_received().get().received == 50
    assert line.lots.count() == 2


def test_an_order_of_two_lines_waits_for_both(act, stores, order, receive, part):
    other = PartFactory()
    purchasing.save_order_line(act=act(stores), order=order, part=other, quantity=3)
    purchasing.send_order(act=act(stores), order=order)
    receive(order.lines.get(part=part), 50)
    order.refresh_from_db()
    assert order.state == "partly"


def test_more_than_ordered_asks_for_a_reason_and_keeps_it(sent, receive):
    line = sent.lines.get()
    with pytest.raises(RuleBroken) as told:
        receive(line, 51)
    assert "1 more came than ordered" in told.value.fields["over_reason"]
    assert not line.lots.exists()
    receive(line, 51, over_reason="the pack holds 51")
    line.refresh_from_db()
    sent.refresh_from_db()
    assert (line.over_reason, sent.state) == ("the pack holds 51", "closed")


@pytest.mark.parametrize("change", ["part", "supplier"])
def test_a_lot_counts_for_its_own_line_only(sent, receive, change):
    other = PartFactory() if change == "part" else SupplierFactory()
    with pytest.raises(RuleBroken) as told:
        receive(sent.lines.get(), 5, **{change: other})
    assert "not for what is received" in told.value.fields["order_line"]


def test_nothing_is_awaited_of_a_draft_or_a_closed_order(sent, order, receive, act, stores):
    other = purchasing.draft_order(
        act=act(stores), supplier=SupplierFactory(), wanted=[Wanted(part=PartFactory(), quantity=5)]
    )
    receive(sent.lines.get(), 50)
    for line in (other.lines.get(), sent.lines.get()):
        with pytest.raises(RuleBroken) as told:
            receive(line, 5)
        assert "nothing is awaited" in told.value.fields["order_line"]


def test_an_order_is_cancelled_with_a_reason(act, stores, sent):
    assert "why" in broken(purchasing.cancel_order, act=act(stores, why=" "), order=sent).fields
    row = purchasing.cancel_order(act=act(stores, why="too dear"), order=sent)
    assert (row.state, row.end_reason, row.ended_by) == ("cancelled", "too dear", stores)
    history = row.history.latest("history_id")
    assert (history.history_user, history.history_change_reason) == (stores, "too dear")
    told = broken(purchasing.cancel_order, act=act(stores, why="again"), order=row)
    assert "only a whole order" in told.message


def test_what_is_partly_delivered_is_closed_and_not_cancelled(act, stores, sent, receive):
    told = broken(purchasing.close_order, act=act(stores, why="x"), order=sent)
    assert "partly delivered can be closed" in told.message
    receive(sent.lines.get(), 20)
    assert broken(purchasing.cancel_order, act=act(stores, why="x"), order=sent)
    assert "why" in broken(purchasing.close_order, act=act(stores, why=" "), order=sent).fields
    row = purchasing.close_order(act=act(stores, why="sold out"), order=sent)
    assert (row.state, row.end_reason) == ("closed", "sold out")


def test_only_stores_and_the_lead_order(act, bench, supplier):
    with pytest.raises(NotAllowed):
        purchasing.draft_order(act=act(bench), supplier=supplier)


def test_the_mark_of_where_a_part_is_ordered_moves(act, stores, sold, part):
    assert sold.preferred
    other = supplier_parts.save_supplier_part(
        act=act(stores), part=part, supplier=SupplierFactory(), lead_days=3
    )
    assert not other.preferred
    other = supplier_parts.save_supplier_part(
        act=act(stores, why="quicker"), supplier_part=other, preferred=True
    )
    sold.refresh_from_db()
    assert (other.preferred, sold.preferred) == (True, False)
    assert sold.history.latest("history_id").history_change_reason == "quicker"


def test_a_change_asks_why(act, stores, sold):
    told = broken(supplier_parts.save_supplier_part, act=act(stores), supplier_part=sold, lead_days=1)
    assert told.message or told.fields


def test_a_new_list_replaces_the_earlier_one_from_its_day_on(act, stores, sold):
    supplier_parts.save_prices(
        act=act(stores),
        supplier_part=sold,
        valid_from=dt.date(2026, 3, 1),
        prices=[(10, Decimal("3"))],
    )
    breaks = list(sold.price_breaks.all())
    assert [row.quantity for row in prices_on(breaks, dt.date(2026, 2, 28))] == [1, 50]
    now = prices_on(breaks, dt.date(2026, 3, 1))
    assert [row.quantity for row in now] == [10]
    assert (price_of(now, 9), price_of(now, 10)) == (None, Decimal("3"))
    assert prices_on(breaks, dt.date(2025, 12, 31)) == []


def test_a_list_of_the_same_day_is_replaced_with_a_reason(act, stores, sold):
    told = {"supplier_part": sold, "valid_from": dt.date(2026, 1, 1), "prices": [(1, Decimal("2.40"))]}
    assert "why" in broken(supplier_parts.save_prices, act=act(stores), **told).fields
    supplier_parts.save_prices(act=act(stores, why="misread"), **told)
    assert [(row.quantity, row.price) for row in sold.price_breaks.all()] == [(1, Decimal("2.4"))]
    assert PriceBreak.history.filter(history_type="-").count() == 1


@pytest.mark.parametrize("quantities", [[], [5, 5], [50, 1]])
def test_a_list_names_each_quantity_once_in_order(act, stores, sold, quantities):
    prices = [(quantity, Decimal("1")) for quantity in quantities]
    told = broken(
        supplier_parts.save_prices,
        act=act(stores),
        supplier_part=sold,
        valid_from=TODAY,
        prices=prices,
    )
    assert "each quantity once" in told.fields["prices"]


def order_row(supplier, **changes):
    told = {"number": "P26-9", "supplier": supplier, "drafted_at": NOW, "drafted_by": UserFactory()}
    return PurchaseOrder(**told | changes)


def line_row(supplier, part, **changes):
    order = order_row(supplier)
    order.save()
    return OrderLine(**{"order": order, "part": part, "quantity": 1} | changes)


def twin_line(supplier, part):
    line = line_row(supplier, part)
    line.save()
    return OrderLine(order=line.order, part=part, quantity=2)


def break_row(supplier, part, **changes):
    sold = SupplierPart(part=part, supplier=supplier, lead_days=1)
    sold.save()
    told = {"supplier_part": sold, "valid_from": TODAY, "quantity": 1, "price": Decimal("1")}
    return PriceBreak(**told | changes)


def twin_break(supplier, part):
    row = break_row(supplier, part)
    row.save()
    return PriceBreak(supplier_part=row.supplier_part, valid_from=TODAY, quantity=1, price=Decimal("2"))


def twin_supplier_part(supplier, part):
    SupplierPart(part=part, supplier=supplier, lead_days=1).save()
    return SupplierPart(part=part, supplier=supplier, lead_days=2)


def second_preferred(supplier, part):
    SupplierPart(part=part, supplier=supplier, lead_days=1, preferred=True).save()
    return SupplierPart(part=part, supplier=SupplierFactory(), lead_days=2, preferred=True)


def with_someone(**changes):
    return lambda supplier, _part: order_row(
        supplier, **{name: UserFactory() if value == "user" else value for name, value in changes.items()}
    )


BROKEN_ROWS = {
    "sent_names_who": with_someone(state="sent"),
    "sent_names_who, half": with_someone(state="sent", sent_at=NOW),
    "draft_not_sent": with_someone(sent_at=NOW, sent_by="user"),
    "end_names_who": with_someone(state="closed", sent_at=NOW, sent_by="user"),
    "end_names_who, draft": with_someone(ended_at=NOW, ended_by="user"),
    "cancel_has_reason": with_someone(state="cancelled", ended_at=NOW, ended_by="user"),
    "orderline_part_once": twin_line,
    "orderline_positive": lambda supplier, part: line_row(supplier, part, quantity=0),
    "orderline_positive, price": lambda supplier, part: line_row(supplier, part, unit_price=Decimal("-1")),
    "pricebreak_once": twin_break,
    "pricebreak_positive": lambda supplier, part: break_row(supplier, part, quantity=0),
    "pricebreak_positive, price": lambda supplier, part: break_row(supplier, part, price=Decimal("0")),
    "supplierpart_once": twin_supplier_part,
    "supplierpart_one_preferred": second_preferred,
    "supplierpart_pack_positive": lambda supplier, part: SupplierPart(
        part=part, supplier=supplier, lead_days=1, pack_size=0
    ),
}


@pytest.mark.parametrize("name", BROKEN_ROWS)
def test_the_row_says_what_is_wrong_and_the_database_keeps_it_out(part, supplier, name):
    row = BROKEN_ROWS[name](supplier, part)
    rule = f"inventory_{name.split(',')[0]}"
    table = row._meta.db_table
    names = {one.name: one for one in row._meta.constraints}
    found = names.get(rule) or names[f"{table}_{name.split(',')[0]}"]
    with pytest.raises(ValidationError) as told:
        row.validate_constraints()
    assert found.violation_error_message in str(told.value)
    with pytest.raises(IntegrityError), transaction.atomic():
        type(row).objects.bulk_create([row])
