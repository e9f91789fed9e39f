"""Guards over the source; each has a twin that feeds it a fault and sees it fail."""

import ast

import pytest

from tests.guards import source

# Untracked rows, whose counts are changed by one conditional UPDATE (docs/map.md).
UNTRACKED = ("Balance.objects", "ImportedRow.objects", "RecallUnit.objects")


def test_calc_imports_no_django():
    for path in source.modules("calc"):
        assert source.django_imports(source.tree_of(path)) == [], path


@pytest.mark.parametrize(
    "text",
    [
        "from django.db import models",
        "import django",
        "from shop.models import User",
        "from workorders.services import record",
    ],
)
def test_a_calc_module_with_django_is_seen(text):
    assert source.django_imports(ast.parse(text))


@pytest.mark.parametrize("app", ["shop", "inventory"])
def test_imports_run_one_way(app):
    allowed = {"settings.py", "urls.py", "append_only.py"}  # the places that know every app
    for path in source.modules(root=source.ROOT):
        if path.relative_to(source.ROOT).parts[0] == app and path.name not in allowed:
            assert source.later_apps(app, path.read_text(encoding="utf-8")) == [], path
    for path in (source.ROOT / app / "templates").rglob("*.html"):
        assert source.later_apps(app, path.read_text(encoding="utf-8")) == [], path


@pytest.mark.parametrize(
    "text",
    [
        "from workorders.models import Unit",
        "    import workorders",
        'models.ForeignKey("workorders.Unit")',
        "{% url 'workorders:home' %}",
        'reverse("workorders:unit")',
        'apps.get_model("workorders", "Unit")',
    ],
)
def test_a_reach_into_a_later_app_is_seen(text):
    assert source.later_apps("shop", text)
    assert source.later_apps("inventory", text)


def test_migrations_depend_one_way():
    from django.db.migrations.loader import MigrationLoader

    loader = MigrationLoader(None, ignore_no_migrations=True)
    for (app, name), migration in loader.disk_migrations.items():
        for dependency, _name in migration.dependencies:
            assert dependency not in source.LATER.get(app, ()), f"{app} {name}"


def test_bulk_writes_are_not_used_on_tracked_rows():
    for path in source.modules():
        for line, what in source.bulk_writes(source.tree_of(path)):
            assert what.startswith(UNTRACKED), f"{path}:{line} {what}"


@pytest.mark.parametrize(
    "text",
    [
        "Unit.objects.bulk_create(rows)",
        "Unit.objects.filter(pk=1).update(note='x')",
        "rows.bulk_update(units, ['note'])",
    ],
)
def test_a_bulk_write_is_seen(text):
    assert source.bulk_writes(ast.parse(text))


def test_public_calculations_take_keywords_and_say_what_they_take():
    for path in source.modules("calc"):
        for node in source.public_functions(source.tree_of(path)):
            faults = source.calc_faults(node)
            if faults == ["takes positional arguments"] and len(node.args.args) == 1:
                continue  # one argument cannot be swapped with another
            assert not faults, f"{path}: {node.name} {faults}"


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("def f(a_mm, b_mm):\n    'Doc.'\n", "takes positional arguments"),
        ("def f(*, a_mm):\n    pass\n", "has no docstring"),
        ("def f(*, a_mm):\n    'Doc.'\n", "has no section Parameters"),
    ],
)
def test_a_calculation_without_care_is_seen(text, fault):
    assert fault in source.calc_faults(ast.parse(text).body[0])
