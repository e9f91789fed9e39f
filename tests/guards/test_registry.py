"""Guards over the registry of calculations; each has a twin that feeds it a fault and sees it fail."""

import csv
import dataclasses
import json
from types import ModuleType
from typing import Annotated

import pytest
from django.conf import settings

from shop.calc import registry
from shop.calc.parameters import InputError, Number
from shop.calc.result import Figure, Result
from shop.documents.sums import family_page, page_name
from shop.limit_defaults import TABLE
from tests.guards.registry import calc_modules, doc_faults, figure_faults, unregistered

ALL = registry.calculations()
EACH = pytest.mark.parametrize("one", ALL, ids=[one.name for one in ALL])

# The names that scripts rely on.
NAMES = """
oring_size oring_match gland_squeeze gland_fill oring_stretch gland_check extrusion_clearance storage_life
lip_seal_check fluid_compatibility cylinder_forces thermal_pressure_rise effective_bulk_modulus
decay_leak_rate drift_leak_rate annular_leak pump_performance cleanliness_code rod_runout_limit
check_character reorder_point poisson_stock intermittent_demand order_quantity
"""


@dataclasses.dataclass(frozen=True, kw_only=True)
class Doubled(Result):
    doubled_mm: Annotated[float, Figure(title="Doubled", of="mm", formula="2 * length_mm")]


def faulty(length_mm, **changes):
    """A calculation made for a twin test, outside the registry."""
    asked = registry.Asked(
        name="length_mm", parameter=Number(title="Length", of="mm", above=0), default=registry.REQUIRED
    )
    one = registry.Calculation(
        name="faulty",
        title="Faulty",
        family="sealing",
        function=lambda length_mm: Doubled(doubled_mm=3 * length_mm),
        asked=(asked,),
        figures=(registry.Given(name="doubled_mm", figure=Figure(title="", formula="2 * length_mm")),),
        example={"length_mm": length_mm},
        example_source="",
        doc="Say nothing.",
    )
    return dataclasses.replace(one, **changes)


def test_the_names_that_scripts_rely_on_are_there():
    assert [name for name in NAMES.split() if name not in {one.name for one in ALL}] == []


def test_every_calculation_is_registered():
    for module in calc_modules():
        assert unregistered(module) == [], module.__name__


def test_a_calculation_outside_the_registry_is_seen():
    def lost() -> Doubled:
        """Be forgotten."""

    module = ModuleType("lost_module")
    lost.__module__ = "lost_module"
    module.lost = lost
    assert unregistered(module) == ["lost"]


@EACH
def test_its_docstring_says_what_is_declared(one):
    assert doc_faults(one) == []


def test_a_poor_docstring_is_seen():
    assert len(doc_faults(faulty(1.0))) == 7


@EACH
def test_its_example_answers_as_its_formulas_say(one):
    answer = one.answer(one.example)
    assert figure_faults(one, answer) == []
    assert answer.result.sources, "a result names its sources"
    told = json.loads(json.dumps(answer.as_json(), allow_nan=False))
    assert set(told) == {"name", "inputs", "result", "warnings", "sources"}
    assert one.example_source


def test_a_formula_that_says_something_else_is_seen():
    one = faulty(1.0)
    assert figure_faults(one, one.answer(one.example)) == [
        "doubled_mm: the formula gives 2.0, the result 3.0"
    ]


@EACH
def test_it_refuses_each_input_that_is_missing_or_wrong(one):
    for asked in one.asked:
        inputs = dict(one.example)
        if asked.required:
            inputs.pop(asked.name)
            with pytest.raises(InputError, match=f"^{asked.name} is needed"):
                one.answer(inputs)
        with pytest.raises(InputError, match=f"^{asked.name} must be .*; got "):
            one.answer({**one.example, asked.name: object()})
        if isinstance(asked.parameter, Number):
            for bad in (float("nan"), float("inf"), True):
                with pytest.raises(InputError, match=f"^{asked.name} must be .*; got "):
                    one.answer({**one.example, asked.name: bad})
    with pytest.raises(InputError, match="is not asked for"):
        one.answer({**one.example, "unheard_of": 1})


def setting_faults(one, table):
    """Parameters whose default is not the published limit of the setting that they name."""
    return [
        asked.name
        for asked in one.asked
        if asked.parameter.setting
        and (float(table[asked.parameter.setting]["value"]), table[asked.parameter.setting]["unit"])
        != (asked.default, asked.parameter.unit)
    ]


def published():
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {row["key"]: row for row in csv.DictReader(file)}


@EACH
def test_its_default_limits_are_the_published_ones(one):
    units = {"rod-run-out": "mm/m"}  # the setting says mm, for each metre
    table = {key: {**row, "unit": units.get(key, row["unit"])} for key, row in published().items()}
    assert setting_faults(one, table) == []


def test_a_default_beside_the_published_limit_is_seen():
    one = registry.find(name="out_of_round")
    table = published()
    table["out-of-round"]["value"] = "0.2"
    assert setting_faults(one, table) == ["limit_mm"]


@pytest.mark.parametrize("family", list(registry.FAMILIES))
def test_the_docs_page_of_each_family_is_current(family):
    page = settings.BASE_DIR / "docs" / page_name(family)
    assert page.read_text(encoding="utf-8") == family_page(family), "run: python manage.py calc --docs"


def test_a_positional_or_undeclared_parameter_is_refused_at_import():
    wrap = registry.calculation(family="sealing", title="", example={}, example_source="")

    def positional(length_mm: Annotated[float, Number(title="")]) -> Doubled: ...
    def undeclared(*, length_mm: float) -> Doubled: ...
    def unbased(*, length_mm: Annotated[float, Number(title="")]) -> float: ...

    for wrong in (positional, undeclared, unbased):
        with pytest.raises(TypeError):
            wrap(wrong)
