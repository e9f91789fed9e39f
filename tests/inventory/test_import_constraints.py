"""The constraints of imports, through the check of a row and in the database."""

import pytest
from django.db import IntegrityError, connection, transaction

from shop.errors import RuleBroken
from shop.models import Import, ImportedRow
from shop.services.writing import keep
from tests.conftest import NOW
from tests.inventory.lists import PARTS

pytestmark = pytest.mark.django_db


@pytest.fixture
def entered(enter):
    return enter("parts", PARTS)


def test_an_import_is_undone_by_somebody_at_a_time_for_a_reason(entered):
    entered.undone_at = NOW
    with pytest.raises(RuleBroken, match="for a reason"):
        keep(entered)
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(
            f"UPDATE {Import._meta.db_table} SET undone_why = 'wrong' WHERE id = %s",
            [entered.pk],
        )


def test_a_row_is_made_by_one_import(entered, lead):
    first = entered.rows.first()
    again = ImportedRow(
        made_by=entered,
        row_number=9,
        model=first.model,
        row_pk=first.row_pk,
        name="again",
        by=lead,
        at=NOW,
    )
    with pytest.raises(RuleBroken, match="made by an import already"):
        keep(again)
    with pytest.raises(IntegrityError), transaction.atomic():
        ImportedRow.objects.bulk_create([again])


def test_an_imported_row_is_never_changed(entered):
    row = entered.rows.first()
    row.name = "another"
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        row.save()
