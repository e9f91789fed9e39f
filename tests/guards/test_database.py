"""Guards over the database: migrations, history, append-only tables, named constraints."""

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import IntegrityError, connection, models, transaction

from shop.append_only import append_only_models
from shop.models import Tracked
from tests import factories
from tests.guards.source import APPS

pytestmark = pytest.mark.django_db


def our_models():
    return [model for app in APPS for model in apps.get_app_config(app).get_models()]


def test_no_migration_is_missing():
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


def triggers():
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        else:
            cursor.execute("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal")
        return {row[0] for row in cursor.fetchall()}


def missing_triggers(present):
    suffixes = ("_no_UPDATE", "_no_DELETE") if connection.vendor == "sqlite" else ("_append_only",)
    return [
        model.__name__
        for app in APPS
        for model in append_only_models(apps.get_app_config(app))
        for suffix in suffixes
        if f"{model._meta.db_table}{suffix}" not in present
    ]


def test_every_append_only_table_has_its_triggers_after_all_migrations():
    assert missing_triggers(triggers()) == []
    assert len(triggers()) > 20


def test_a_table_that_lost_its_trigger_is_seen():
    present = {name for name in triggers() if "movement" not in name}
    assert "Movement" in missing_triggers(present)


@pytest.mark.record_row("R26")
def test_a_history_row_cannot_be_changed():
    customer = factories.CustomerFactory()
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        customer.history.update(name="never was")


def test_every_row_that_can_change_has_history():
    helpers = {"Balance", "CustomerKey", "FormToken", "Counter", "StoredFile"}  # see docs/map.md
    for model in our_models():
        if hasattr(model, "instance_type") or model.__name__ in helpers:
            continue
        known = (
            issubclass(model, Tracked)
            or hasattr(model, "history")
            or model in append_only_models(apps.get_app_config(model._meta.app_label))
        )
        assert known, model


def bad_constraints(model):
    table = model._meta.db_table
    return [
        constraint.name
        for constraint in model._meta.constraints
        if not constraint.name.startswith(table)
        or constraint.violation_error_message == models.CheckConstraint.default_violation_error_message
    ]


def test_constraints_are_named_for_their_table_and_speak_to_people():
    for model in our_models():
        assert bad_constraints(model) == [], model


def test_a_constraint_without_a_message_is_seen():
    class Meta:
        db_table = "shop_x"
        constraints = [models.CheckConstraint(name="shop_x_y", condition=models.Q(pk=1))]

    assert bad_constraints(type("X", (), {"_meta": Meta})) == ["shop_x_y"]


def loose_keys(model):
    """Foreign keys that would take rows along with them."""
    return [
        field.name
        for field in model._meta.get_fields()
        if isinstance(field, models.ForeignKey) and field.remote_field.on_delete is models.CASCADE
    ]


def test_foreign_keys_protect():
    for model in our_models():
        if hasattr(model, "instance_type") or model.__name__ in ("CustomerKey", "FormToken", "User"):
            continue
        assert loose_keys(model) == [], model
