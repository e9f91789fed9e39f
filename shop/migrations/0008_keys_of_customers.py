from django.db import migrations

from shop.services.customer_keys import keys_of


def write_keys(apps, _schema_editor):
    """Give every customer that is there its keys."""
    keys = apps.get_model("shop", "CustomerKey")
    for row in apps.get_model("shop", "Customer").objects.iterator():
        told = keys_of(
            name=row.name, phone=row.phone, email=row.email, street=row.street, postcode=row.postcode
        )
        for kind, value in told.items():
            keys.objects.create(customer=row, kind=kind, value=value)


class Migration(migrations.Migration):
    # Apart from the change of tables: PostgreSQL alters no table with rows of the same transaction.
    dependencies = [
        ("shop", "0007_customers_as_they_are"),
    ]

    operations = [migrations.RunPython(write_keys, migrations.RunPython.noop)]
