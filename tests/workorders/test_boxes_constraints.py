"""What the database itself refuses of boxes: by constraint, and by the triggers between two customers."""

import pytest
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from tests.conftest import NOW
from tests.factories import CustomerFactory, RebuildFactory, UserFactory, WorkOrderFactory
from workorders.box_triggers import RULES
from workorders.models import Box, BoxLine, BoxLink, Rebuild, WorkOrder

pytestmark = pytest.mark.django_db


def a_box(**fields):
    """A box that is here and sound, unless told otherwise."""
    given = {
        "number": f"B25-{Box.objects.count() + 1:04d}",
        "received_at": NOW,
        "received_by": UserFactory(),
        "packing": "sound",
    }
    return Box(**{**given, **fields})


def a_line(**fields):
    if "box" not in fields:
        fields["box"] = a_box()
        fields["box"].save()
    return BoxLine(**{"order": 1, "what": "cylinder", "expected": True, **fields})


def refused(row, message):
    """The row is refused with words by its checks, and by the database without them."""
    with pytest.raises(ValidationError, match=message):
        row.validate_constraints()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


BOXES = [
    (lambda: {"customer": CustomerFactory(), "work_order": WorkOrderFactory()}, "that order's customer"),
    (lambda: {"announced_at": NOW}, "nobody announced it"),
    (lambda: {"announced_how": "link"}, "nobody announced it"),
    (lambda: {"received_at": None, "received_by": None, "packing": ""}, "announced, or it is here"),
    (lambda: {"packing": ""}, "how the packing looks"),
    (lambda: {"received_by": None}, "how the packing looks"),
    (lambda: {"packing": "wet"}, "what is wrong with the packing"),
    (lambda: {"closed_at": NOW}, "who closed the box"),
]


@pytest.mark.parametrize(("fields", "message"), BOXES)
def test_the_database_refuses_a_box_that_cannot_be(fields, message):
    a_box().save()
    refused(a_box(**fields()), message)


LINES = [
    ({"what": ""}, "Say what it is"),
    ({"outcome": "extra"}, "was not announced is extra"),
    ({"expected": False, "outcome": "missing"}, "was not announced is extra"),
    ({"outcome": "wrong"}, "what lies in the box instead"),
]


@pytest.mark.parametrize(("fields", "message"), LINES)
def test_the_database_refuses_a_line_that_cannot_be(fields, message):
    a_line().save()
    refused(a_line(order=2, **fields), message)


def test_the_database_refuses_the_same_line_number_twice():
    first = a_line()
    first.save()
    again = a_line(box=first.box)
    with pytest.raises(ValidationError, match="line of that number already"):
        again.validate_constraints()
    with pytest.raises(IntegrityError), transaction.atomic():
        again.save()


def tied():
    """A box in a work order, a unit received in that order, and the line not yet tied to it."""
    rebuild = RebuildFactory()
    box = a_box(work_order=rebuild.work_order)
    box.save()
    line = a_line(box=box)
    line.save()
    return box, line, rebuild


@pytest.mark.parametrize("outcome", ["missing", "unidentified", "open"])
def test_the_database_refuses_a_unit_received_from_a_line_without_one(outcome):
    box, _line, rebuild = tied()
    refused(a_line(box=box, order=2, outcome=outcome, rebuild=rebuild), "is here and identified")


@pytest.mark.parametrize("fields", [{"token": "short"}, {"expires_at": NOW}])
def test_the_database_refuses_a_link_that_cannot_be(fields):
    given = {"token": "a" * 43, "for_whom": "x", "made_at": NOW, "made_by": UserFactory()}
    row = BoxLink(**{**given, "expires_at": NOW.replace(year=2027), **fields})
    with pytest.raises(ValidationError, match=r"drawn by the program|good for a while"):
        row.validate_constraints()
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


# ---------- two customers, past the services ----------


def test_a_line_takes_a_unit_of_its_own_work_order():
    _box, line, rebuild = tied()
    BoxLine.objects.filter(pk=line.pk).update(rebuild=rebuild, outcome="found")
    assert BoxLine.objects.get(pk=line.pk).rebuild == rebuild


def test_a_line_takes_no_unit_of_another_work_order_even_past_the_services():
    box, line, _rebuild = tied()
    foreign = RebuildFactory()
    with pytest.raises(IntegrityError, match="work order of another box"), transaction.atomic():
        BoxLine.objects.filter(pk=line.pk).update(rebuild=foreign, outcome="found")
    with pytest.raises(IntegrityError, match="work order of another box"), transaction.atomic():
        a_line(box=box, order=2, rebuild=foreign, outcome="found").save()


def test_a_received_unit_does_not_leave_the_work_order_of_its_box():
    box, line, rebuild = tied()
    BoxLine.objects.filter(pk=line.pk).update(rebuild=rebuild, outcome="found")
    other = WorkOrderFactory(customer=rebuild.work_order.customer)
    with pytest.raises(IntegrityError, match="work order of another box"), transaction.atomic():
        Rebuild.objects.filter(pk=rebuild.pk).update(work_order=other)
    for change in ({"work_order": other}, {"work_order": None}):
        with pytest.raises(IntegrityError, match="were received in its work order"), transaction.atomic():
            Box.objects.filter(pk=box.pk).update(**change)


def test_a_named_box_goes_into_no_work_order_of_another_customer():
    box = a_box(customer=CustomerFactory())
    box.save()
    with pytest.raises(IntegrityError, match="another customer than the box"), transaction.atomic():
        Box.objects.filter(pk=box.pk).update(work_order=WorkOrderFactory(), customer=None)
    own = WorkOrderFactory(customer=box.customer)
    Box.objects.filter(pk=box.pk).update(work_order=own, customer=None)
    with pytest.raises(IntegrityError, match="another customer than the box"), transaction.atomic():
        Box.objects.filter(pk=box.pk).update(work_order=WorkOrderFactory())


def test_sender_and_customer_of_the_work_order_are_one_row():
    box, _line, _rebuild = tied()
    right = CustomerFactory()
    WorkOrder.objects.filter(pk=box.work_order_id).update(customer=right)
    assert Box.objects.get(pk=box.pk).sender == right


def triggers():
    sqlite = connection.vendor == "sqlite"
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
            if sqlite
            else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
        )
        return {row[0] for row in cursor.fetchall()}


def test_the_triggers_are_away_while_tables_change_and_back_after_every_migrate():
    from django.apps import apps
    from django.db.models.signals import pre_migrate

    names = {rule.name for rule in RULES}
    assert names <= triggers()
    pre_migrate.send(apps, app_config=apps.get_app_config("workorders"), using="default")
    assert not names & triggers()
    call_command("migrate", "workorders", verbosity=0)
    assert names <= triggers()
