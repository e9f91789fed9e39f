"""Unit types from a file: one row for the type with its figures, one for each place and technique note."""

from typing import Any

from django.db import models

from shop.calc.maker_number import bare_number, split_numbers
from shop.errors import RuleBroken
from shop.forms.catalogue import (
    GLAND_FIELDS,
    HOSE_END_FIELDS,
    HOSE_RATING_FIELDS,
    PLACE_FIELDS,
    ComponentForm,
    HoseForm,
    NewUnitTypeForm,
    PortForm,
    PositionForm,
    RevisionForm,
    UnitTypeForm,
)
from shop.forms.rows import RowForm
from shop.forms.technique import POINTERS, NoteForm
from shop.importers.importer import Choices, Entered, Field, Importer, Values
from shop.models import Component, Fluid, Hose, Port, SealPosition, TechniqueNote, TypeRevision, UnitType
from shop.services import catalogue
from shop.services.imports import take_back
from shop.services.writing import Act

TYPE, POSITION, COMPONENT, PORT, HOSE = "type", "position", "component", "port", "hose"
NOTE = "technique note"
FLUIDS_NAMED = 20
NUMBERS = "maker_numbers"
TYPE_NAMES = tuple(name for name in UnitTypeForm.Meta.fields if name not in ("code", "name", "note"))
FIGURES = tuple(name for name in RevisionForm.Meta.fields if name != "service_fluid")
POSITION_NAMES = ("kind", "motion", "size_designation", *GLAND_FIELDS)
PORT_NAMES = ("fitting", "thread", "along")
HOSE_NAMES = (
    *("attachment", "length_mm", "inside_diameter_mm", "size_designation"),
    *(*HOSE_END_FIELDS, *HOSE_RATING_FIELDS),
)
PLACES: dict[str, tuple[type[RowForm], str, tuple[str, ...]]] = {
    POSITION: (PositionForm, "positions", POSITION_NAMES),
    COMPONENT: (ComponentForm, "components", ("kind",)),
    PORT: (PortForm, "ports", PORT_NAMES),
    HOSE: (HoseForm, "hoses", HOSE_NAMES),
}
# What a row may fill, beside what it is, its type and its note.
OWN = {
    TYPE: {"name", *TYPE_NAMES, NUMBERS, "service_fluid", *FIGURES},
    POSITION: {"code", "name", "order", *POSITION_NAMES},
    COMPONENT: {"code", "name", "order", "kind"},
    PORT: {"code", "name", "order", *PORT_NAMES},
    HOSE: {"code", "name", "order", "port", *HOSE_NAMES},
    NOTE: {"code", "order", "step", "basis"},
}
SHARED = {"row", "type", "note"}
NO_SOURCE: str = TechniqueNote._meta.get_field("basis").default


def _field(model: type[models.Model], name: str, **more: Any) -> Field:
    """Return a column for a field of a model, headed by the words of the model."""
    kept: Any = model._meta.get_field(name)
    words = str(kept.verbose_name)
    return Field(
        name=name,
        title=more.pop("title", words[0].upper() + words[1:]),
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
        help="A type comes before its places, a port before its hose, a place before its notes.",
    ),
    Field(name="type", title="Unit type", required=True, help="The catalogue code, in every row."),
    Field(
        name="code",
        title="Place",
        help="The code of a position, component, port or hose, such as S1; of a technique note the place "
        "that it is about, empty for the whole unit.",
    ),
    Field(
        name="name",
        title="Name",
        required=True,
        help="Of the type, or of the place; a technique note has none.",
    ),
    *(_field(UnitType, name) for name in TYPE_NAMES),
    Field(name=NUMBERS, title="Maker's numbers", help="As on the units, with commas between them."),
    Field(name="service_fluid", title="Service fluid", help="As it is named in the list of fluids."),
    *(_field(TypeRevision, name) for name in FIGURES),
    _field(SealPosition, "kind", choices=_kinds(), help="Of a position or component."),
    *(_field(SealPosition, name) for name in POSITION_NAMES[1:]),
    _field(Port, "fitting", title="Fitting of the port"),
    _field(Port, "thread", help="Of a port."),
    _field(Port, "along", help="Of a port: 0 is the end cap, 1 the rod end."),
    Field(name="port", title="Port of the hose", help="The code of the port that a hose belongs on."),
    _field(Hose, "attachment", title="Hose is fixed or removable"),
    _field(Hose, "length_mm", title="Length of the hose, mm"),
    _field(Hose, "inside_diameter_mm", title="Inside diameter of the hose, mm"),
    *(_field(Hose, name) for name in HOSE_END_FIELDS),
    _field(Hose, "rating_reason", help="Of a hose that is rated below its unit."),
    _field(TechniqueNote, "step", title="Step", help="At which a technique note is shown."),
    _field(
        TechniqueNote,
        "basis",
        title="Basis of the note",
        default=NO_SOURCE,
        help=f"“{NO_SOURCE}” where it is empty.",
    ),
    Field(name="order", title="Order", help="The order of the file where it is empty."),
    Field(
        name="note",
        title="Note",
        help="Of a type; the hint of a place; of a technique note what is to be done.",
    ),
)


def enter(act: Act, values: Values) -> Entered:
    """Enter a type with its first draft, or a place or technique note of one that this file entered."""
    what = values.form_data("row")["row"]
    if what not in OWN:
        raise RuleBroken(fields={"row": values.fields["row"].refusal(values["row"], "Say what the row is.")})
    foreign = [name for name, text in values.texts.items() if text and name not in OWN[what] | SHARED]
    if foreign:
        raise RuleBroken(fields=dict.fromkeys(foreign, f"A {what} has no such figure: leave it empty."))
    if what == TYPE:
        return _enter_type(act, values)
    return _enter_note(act, values) if what == NOTE else _enter_place(act, values, what)


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
        listed = ", ".join(Fluid.objects.values_list("name", flat=True)[:FLUIDS_NAMED]) or "still empty"
        refused["service_fluid"] = (
            f"“{name}” is not in the list of fluids: enter it there first, or write one of it ({listed})."
            if name
            else f"Name the fluid, as in the list of fluids ({listed})."
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
    if what == HOSE:
        data["port"] = _port_of(revision, values["port"])
    wanted = values.cleaned(form_class(data, instance=catalogue.PLACES[what](revision=revision)))
    known = rows.filter(code=wanted["code"]).first()
    if known:
        compared = (*PLACE_FIELDS, *names, *(["port"] if what == HOSE else []))
        told = {name: wanted[name] for name in compared if name != "order" or values["order"]}
        values.same(known, told, columns={"hint": "note"})
        return []
    if entered is None:
        there = f"{revision.unit_type} is there already, without a {what} {wanted['code']}"
        raise RuleBroken(fields={"code": f"{there}: add it on its page."})
    return [catalogue.save_place(act=act, revision=entered, place=what, **wanted)]


def _port_of(revision: TypeRevision, code: str) -> int:
    """Return the key of the port that a hose belongs on; RuleBroken where no row above entered it."""
    port = revision.ports.filter(code__iexact=code).first()
    if port is None:
        told = f"“{code}” is no port of {revision.unit_type.code}: enter its row above." if code else ""
        raise RuleBroken(fields={"port": told or "Name the port that the hose belongs on."})
    return port.pk


def _enter_note(act: Act, values: Values) -> Entered:
    entered: TypeRevision | None = values.memory.get(values["type"].casefold())
    revision = entered or _known_revision(values["type"])
    data = values.form_data("step", "basis") | {"text": values["note"]}
    data["where"] = _where(revision, values["code"])
    data["order"] = values["order"] or str(revision.technique_notes.count() + 1)
    try:
        wanted = values.cleaned(NoteForm(data, instance=TechniqueNote(revision=revision)))
    except RuleBroken as error:
        called = {"text": "note", "where": "code"}
        told = {called.get(name, name): reason for name, reason in error.fields.items()}
        raise RuleBroken(error.message, told) from error
    same = {name: wanted[name] for name in ("step", "text", *POINTERS)}
    known = revision.technique_notes.filter(**same).first()
    if known:
        values.same(known, {"basis": wanted["basis"]})
        return []
    if entered is None:
        there = f"{revision.unit_type} is there already, without this technique note"
        raise RuleBroken(fields={"note": f"{there}: add it on its page."})
    return [catalogue.save_place(act=act, revision=entered, place="note", **wanted)]


def _where(revision: TypeRevision, code: str) -> str:
    """Return the place with a code as the form of a note names it; empty for the whole unit."""
    if not code:
        return ""
    groups: tuple[Any, ...] = (revision.positions, revision.components, revision.ports)
    found = [
        f"{kind}-{row.pk}"
        for kind, group in zip(POINTERS, groups, strict=True)
        for row in group.filter(code__iexact=code)
    ]
    if len(found) != 1:
        several = f"“{code}” is the code of several places: a note needs one that is its own."
        none = (
            f"“{code}” is no position, component or port of {revision.unit_type.code}: enter its row above."
        )
        raise RuleBroken(fields={"code": several if found else none})
    return found[0]


def _known_revision(code: str) -> TypeRevision:
    revision = TypeRevision.objects.filter(unit_type__code__iexact=code).order_by("-number").first()
    if revision is None:
        raise RuleBroken(fields={"type": f"No row above enters the unit type “{code}” without an error."})
    return revision


UNIT_TYPES = Importer(
    kind="unit-types",
    title="Unit types",
    lede="One row for each type, and below it one for each of its seal positions, components, ports, hoses "
    "and technique notes. Each type gets the draft of its first revision; dimensions, torque, tools and the "
    "test plan are added on its page.",
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
        {
            "row": "port",
            "type": "C-100",
            "code": "1",
            "name": "bottom port",
            "fitting": "screwed",
            "thread": "G 1/8",
        },
        {
            "row": "hose",
            "type": "C-100",
            "code": "H1",
            "name": "lift hose",
            "port": "1",
            "attachment": "removable",
            "length_mm": "1200",
        },
        {
            "row": "technique note",
            "type": "C-100",
            "code": "S1",
            "step": "building",
            "note": "Warm the rod seal in clean oil before it is folded in.",
        },
    ),
    order=50,
)
