"""Unit types from a file: one row for the type with its figures, one for each of its places."""

from typing import Any

from django.db import models

from shop.calc.maker_number import bare_number, split_numbers
from shop.errors import RuleBroken
from shop.forms.catalogue import (
    GLAND_FIELDS,
    PLACE_FIELDS,
    ComponentForm,
    NewUnitTypeForm,
    PositionForm,
    RevisionForm,
    UnitTypeForm,
)
from shop.forms.rows import RowForm
from shop.importers.importer import Choices, Entered, Field, Importer, Values
from shop.models import Component, Fluid, SealPosition, TypeRevision, UnitType
from shop.services import catalogue
from shop.services.imports import take_back
from shop.services.writing import Act

TYPE, POSITION, COMPONENT = "type", "position", "component"
NUMBERS = "maker_numbers"
TYPE_NAMES = tuple(name for name in UnitTypeForm.Meta.fields if name not in ("code", "name", "note"))
FIGURES = tuple(name for name in RevisionForm.Meta.fields if name != "service_fluid")
POSITION_NAMES = ("kind", "motion", "size_designation", *GLAND_FIELDS)
PLACES: dict[str, tuple[type[RowForm], str, tuple[str, ...]]] = {
    POSITION: (PositionForm, "positions", POSITION_NAMES),
    COMPONENT: (ComponentForm, "components", ("kind",)),
}
# What a row may fill, beside what it is, its type, its name and its note.
OWN = {
    TYPE: {*TYPE_NAMES, NUMBERS, "service_fluid", *FIGURES},
    POSITION: {"code", "order", *POSITION_NAMES},
    COMPONENT: {"code", "order", "kind"},
}
SHARED = {"row", "type", "name", "note"}


def _field(model: type[models.Model], name: str, **more: Any) -> Field:
    """Return a column for a field of a model, headed by the words of the model."""
    kept: Any = model._meta.get_field(name)
    words = str(kept.verbose_name)
    return Field(
        name=name,
        title=words[0].upper() + words[1:],
        choices=more.pop("choices", kept.choices or ()),
        decimal=isinstance(kept, models.FloatField),
        **more,
    )


def _kinds() -> Choices:
    return [*SealPosition.Kind.choices, *Component.Kind.choices]


FIELDS = (
    Field(
        name="row",
        title="Row is",
        required=True,
        choices=[(word, word) for word in OWN],
        help="A type comes before its places.",
    ),
    Field(name="type", title="Unit type", required=True, help="The catalogue code, in every row."),
    Field(name="code", title="Place", help="The code of a position or component, such as S1."),
    Field(name="name", title="Name", required=True, help="Of the type, or of the place."),
    *(_field(UnitType, name) for name in TYPE_NAMES),
    Field(name=NUMBERS, title="Maker's numbers", help="As on the units, with commas between them."),
    Field(name="service_fluid", title="Service fluid", help="As it is named in the list of fluids."),
    *(_field(TypeRevision, name) for name in FIGURES),
    _field(SealPosition, "kind", choices=_kinds(), help="Of a position or component."),
    *(_field(SealPosition, name) for name in POSITION_NAMES[1:]),
    Field(name="order", title="Order", help="The order of the file where it is empty."),
    Field(name="note", title="Note", help="Of a type, or the hint of a place."),
)


def enter(act: Act, values: Values) -> Entered:
    """Enter a type with its first draft, or a place of one that this file entered."""
    what = values.form_data("row")["row"]
    if what not in OWN:
        raise RuleBroken(fields={"row": values.fields["row"].refusal(values["row"], "Say what the row is.")})
    foreign = [name for name, text in values.texts.items() if text and name not in OWN[what] | SHARED]
    if foreign:
        raise RuleBroken(fields=dict.fromkeys(foreign, f"A {what} has no such figure: leave it empty."))
    return _enter_type(act, values) if what == TYPE else _enter_place(act, values, what)


def _enter_type(act: Act, values: Values) -> Entered:
    fluid = Fluid.objects.filter(name__iexact=values["service_fluid"]).first()
    data = values.form_data(*TYPE_NAMES, NUMBERS, "name", "note", *FIGURES)
    data |= {"code": values["type"], "service_fluid": fluid and fluid.pk}
    kept, figures = _cleaned_type(values, data)
    kept.pop("service_fluid")
    known = UnitType.objects.filter(code__iexact=kept["code"]).first()
    if known is None:
        row = catalogue.save_unit_type(act=act, **kept)
        revision = catalogue.draft_revision(act=act, unit_type=row, **figures)
        values.memory[row.code.casefold()] = revision
        return [row, revision, *row.maker_numbers.all()]
    latest = known.revisions.order_by("-number").first()
    if latest is None:
        raise RuleBroken(fields={"type": f"{known} is there already without a revision: go on at its page."})
    numbers = kept.pop(NUMBERS)
    values.same(known, kept, columns={"code": "type"})
    values.same(latest, figures)
    _same_numbers(values, known, numbers)
    return []


def _same_numbers(values: Values, known: UnitType, text: str) -> None:
    """Raise RuleBroken unless a type that is there has the numbers that the file says, in any order."""
    held = [row.number for row in known.maker_numbers.all()]
    if NUMBERS in values.texts and set(map(bare_number, held)) != set(map(bare_number, split_numbers(text))):
        told = f"with “{', '.join(held)}”; the file says “{text}”"
        raise RuleBroken(fields={NUMBERS: f"{known} is there already {told}. Change them on its page."})


def _cleaned_type(values: Values, data: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Check both forms before either refuses, so that a row is told everything at once."""
    refused: dict[str, str] = {}
    found = []
    for form in (NewUnitTypeForm(data), RevisionForm(data)):
        try:
            found.append(values.cleaned(form))
        except RuleBroken as error:
            refused |= error.fields
            found.append({})
    if "service_fluid" in refused:
        name = values["service_fluid"]
        refused["service_fluid"] = (
            f"“{name}” is not in the list of fluids: enter it there first." if name else "Name the fluid."
        )
    if "code" in refused:
        refused["type"] = refused.pop("code")
    if refused:
        raise RuleBroken(fields=refused)
    return found[0], found[1]


def _enter_place(act: Act, values: Values, what: str) -> Entered:
    form_class, plural, names = PLACES[what]
    entered: TypeRevision | None = values.memory.get(values["type"].casefold())
    revision = entered or _known_revision(values["type"])
    rows = getattr(revision, plural)
    data = values.form_data(*names, "code", "name") | {"hint": values["note"]}
    data["order"] = values["order"] or str(rows.count() + 1)
    wanted = values.cleaned(form_class(data, instance=catalogue.PLACES[what](revision=revision)))
    known = rows.filter(code=wanted["code"]).first()
    if known:
        compared = (*PLACE_FIELDS, *names)
        told = {name: wanted[name] for name in compared if name != "order" or values["order"]}
        values.same(known, told, columns={"hint": "note"})
        return []
    if entered is None:
        there = f"{revision.unit_type} is there already, without a {what} {wanted['code']}"
        raise RuleBroken(fields={"code": f"{there}: add it on its page."})
    return [catalogue.save_place(act=act, revision=entered, place=what, **wanted)]


def _known_revision(code: str) -> TypeRevision:
    revision = TypeRevision.objects.filter(unit_type__code__iexact=code).order_by("-number").first()
    if revision is None:
        raise RuleBroken(fields={"type": f"No row above enters the unit type “{code}” without an error."})
    return revision


UNIT_TYPES = Importer(
    kind="unit-types",
    title="Unit types",
    lede="One row for each type, and below it one for each of its seal positions and components. "
    "Each type gets the draft of its first revision; ports, hoses, dimensions and the test plan are added on "
    "its page.",
    fields=FIELDS,
    enter=enter,
    take_back=take_back,
    examples=(
        {
            "row": "type",
            "type": "C-100",
            "name": "Lift cylinder",
            "family": "cylinder",
            "service_fluid": "HM 32",
            "bore_mm": "25",
            "rod_mm": "12",
            "stroke_mm": "160",
        },
        {
            "row": "position",
            "type": "C-100",
            "code": "S1",
            "name": "rod seal",
            "kind": "rod seal",
            "motion": "reciprocating",
            "size_designation": "12 x 20 x 5",
        },
        {"row": "component", "type": "C-100", "code": "K1", "name": "rod", "kind": "rod"},
    ),
    order=50,
)
