"""Certificates of a lot, the standard of a supplier, and a later use-by date after an inspection."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction

from inventory.models import Lot
from inventory.services import lot_papers, lot_state, making, stock
from inventory.services.parts import save_supplier
from shop.errors import RuleBroken
from tests.asking import picture, rows
from tests.conftest import NOW
from tests.factories import LotFactory, PartFactory, ShopProfileFactory, SupplierFactory

pytestmark = pytest.mark.django_db
# NBR of 3Q24 by ISO 2230: READ, see test_storage_life.
COMPUTED, LIMIT = dt.date(2031, 9, 30), dt.date(2034, 9, 30)


def receive(act, **told):
    told = {"part": None, "cure_date": "3Q24", "supplier": None, "number": "", **told}
    told["part"] = told["part"] or PartFactory()
    told["supplier"] = told["supplier"] or SupplierFactory()
    return stock.receive_lot(act=act, quantity=20, place="A1", received_on=dt.date(2026, 3, 2), **told)


def pdf(name="certificate.pdf", data=b"%PDF-1.4 made for a test"):
    return SimpleUploadedFile(name, data, content_type="application/pdf")


def test_the_supplier_standard_comes_before_the_shops(act, stores):
    ShopProfileFactory(storage_standard="ISO2230")
    supplier = save_supplier(act=act(stores), name="Skerry Seals", storage_standard="AS5316")
    lot = receive(act(stores), supplier=supplier)
    assert (lot.use_by, lot.computed_use_by) == (dt.date(2039, 9, 30), dt.date(2039, 9, 30))
    assert lot.storage_standard == "AS5316"
    assert lot.age_basis == "15 years after AS5316; set for Skerry Seals"
    other = receive(act(stores))
    assert (other.use_by, other.storage_standard) == (COMPUTED, "ISO2230")
    assert other.age_basis.endswith("; the standard of the shop")


def test_certificates_are_kept_with_who_and_when(act, stores):
    lot = LotFactory()
    papers = lot_papers.add_certificates(
        act=act(stores), lot=lot, uploads=[pdf(), picture("paper.png")], title=" Certificate 4471 "
    )
    assert [(str(row), row.file.content_type, row.file.by, row.file.at) for row in papers] == [
        ("Certificate 4471", "application/pdf", stores, NOW),
        ("Certificate 4471", "image/jpeg", stores, NOW),
    ]
    gone = lot_papers.withdraw_certificate(act=act(stores, why="of lot L-9"), certificate=papers[0])
    assert gone.history.latest("history_id").history_change_reason == "of lot L-9"
    with pytest.raises(RuleBroken, match="withdrawn already: of lot L-9"):
        lot_papers.withdraw_certificate(act=act(stores, why="again"), certificate=papers[0])
    with pytest.raises(RuleBroken):
        lot_papers.withdraw_certificate(act=act(stores), certificate=papers[1])
    assert lot.certificates.count() == 2


@pytest.mark.parametrize("uploads", [[], [pdf(), pdf("sheet.xlsx", b"PK\x03\x04")]])
def test_what_is_no_certificate_is_refused_whole(act, stores, uploads):
    lot, before = LotFactory(), rows()
    with pytest.raises(RuleBroken) as refused:
        lot_papers.add_certificates(act=act(stores), lot=lot, uploads=uploads)
    assert "certificates" in refused.value.fields
    assert rows() == {**before}


def test_a_lot_is_received_with_its_certificates_or_not_at_all(act, stores):
    told = {
        "part": PartFactory(),
        "supplier": SupplierFactory(),
        "number": "L-1",
        "quantity": 5,
        "place": "A1",
        "received_on": dt.date(2026, 3, 2),
        "cure_date": "3Q24",
    }
    before = rows()
    with pytest.raises(RuleBroken):
        lot_papers.receive_with_papers(act=act(stores), certificates=[pdf(data=b"no paper")], **told)
    assert {**rows(), "Part": 0, "Supplier": 0} == {**before, "Part": 0, "Supplier": 0}
    lot = lot_papers.receive_with_papers(act=act(stores), certificates=[pdf()], **told)
    assert lot.certificates.count() == 1


# --- a later date ---


def extend(act, lot, **told):
    told = {"what": "hardness, surface under the lens", "pieces": 5, "passed": True, **told}
    return lot_papers.extend_lot(act=act, lot=lot, **told)


def test_a_passed_inspection_sets_the_date_of_the_standard(act, stores):
    lot = receive(act(stores))
    row = extend(act(stores, why="slow mover"), lot)
    lot.refresh_from_db()
    assert (lot.use_by, lot.computed_use_by) == (LIMIT, COMPUTED)
    assert (row.extended_until, row.limit_until, row.by, row.at) == (LIMIT, LIMIT, stores, NOW)
    assert "ISO 2230:2002, group B" in row.basis
    with pytest.raises(RuleBroken, match="extended already"):
        extend(act(stores), lot)


@pytest.mark.parametrize(
    ("until", "words"),
    [
        (LIMIT + dt.timedelta(days=1), "goes to 30 Sep 2034 at most"),
        (COMPUTED, "as it is"),
        (COMPUTED - dt.timedelta(days=1), "as it is"),
    ],
)
def test_a_date_outside_what_the_standard_gives_is_refused(act, stores, until, words):
    lot = receive(act(stores))
    before = rows()
    with pytest.raises(RuleBroken) as refused:
        extend(act(stores), lot, until=until)
    assert words in refused.value.fields["until"]
    assert rows() == before
    assert extend(act(stores), lot, until=COMPUTED + dt.timedelta(days=1))


def test_an_expired_lot_is_extended_only_while_the_limit_lies_ahead(act, stores, bench):
    late = receive(act(stores), cure_date="1Q18", number="L-LATE")  # until 2025-03-31, then 2028-03-31
    assert late.is_expired(NOW.date())
    extend(act(stores), late)
    assert stock.take(act=act(bench), lot=late, quantity=1, document="W")
    gone = receive(act(stores), cure_date="1Q15", number="L-GONE")  # until 2022-03-31, then 2025-03-31
    with pytest.raises(RuleBroken) as refused:
        extend(act(stores), gone)
    assert "That day has passed" in refused.value.fields["until"]


def test_a_failed_inspection_holds_the_lot_and_changes_no_date(act, stores):
    lot = receive(act(stores))
    row = extend(act(stores), lot, passed=False, what="fine cracks when stretched")
    lot.refresh_from_db()
    assert (lot.use_by, lot.state, row.extended_until) == (COMPUTED, "on_hold", None)
    assert "fine cracks when stretched" in lot.hold_reason


def test_as5316_gives_no_extension(act, stores):
    supplier = SupplierFactory(storage_standard="AS5316")
    lot = receive(act(stores), supplier=supplier)
    with pytest.raises(RuleBroken, match="AS5316, as it was read, gives no extension"):
        extend(act(stores), lot)


def test_what_has_no_date_or_was_made_here_is_not_extended(act, stores):
    clip = receive(act(stores), part=PartFactory(kind="clip", polymer=""), cure_date="")
    with pytest.raises(RuleBroken, match="no use-by date"):
        extend(act(stores), clip)
    lot = receive(act(stores))
    made = making.make_lot(
        act=act(stores),
        part=PartFactory(kind="component", polymer=""),
        quantity=1,
        place="D1",
        inputs=[making.Input(lot=lot, quantity=1)],
    )
    with pytest.raises(RuleBroken, match="made here keeps the date"):
        extend(act(stores), made)


@pytest.mark.parametrize("told", [{"pieces": 0}, {"what": " "}, {"pieces": 21}])
def test_an_inspection_says_what_and_on_how_many_pieces(act, stores, told):
    lot = receive(act(stores))
    before = rows()
    with pytest.raises(RuleBroken):
        extend(act(stores), lot, **told)
    assert rows() == before


# --- what the database keeps ---


def test_no_later_date_past_the_services():
    lot = LotFactory(computed_use_by=COMPUTED)
    for change in ({"use_by": COMPUTED + dt.timedelta(days=1)}, {"use_by": None}):
        with pytest.raises(IntegrityError, match="needs a passed inspection"), transaction.atomic():
            Lot.objects.filter(pk=lot.pk).update(**change)
    with pytest.raises(IntegrityError, match="computed at receipt stays"), transaction.atomic():
        Lot.objects.filter(pk=lot.pk).update(computed_use_by=LIMIT, use_by=COMPUTED)
    with pytest.raises(IntegrityError, match="needs a passed inspection"), transaction.atomic():
        LotFactory(use_by=LIMIT, computed_use_by=COMPUTED)
    Lot.objects.filter(pk=lot.pk).update(use_by=COMPUTED - dt.timedelta(days=400))


def test_an_inspection_allows_its_own_date_and_no_later_one(act, stores):
    lot = receive(act(stores))
    extend(act(stores), lot, until=dt.date(2033, 1, 1))
    with pytest.raises(IntegrityError, match="needs a passed inspection"), transaction.atomic():
        Lot.objects.filter(pk=lot.pk).update(use_by=dt.date(2033, 1, 2))
    lot_state.hold_lot(act=act(stores), lot=lot, reason="x")  # other changes pass
