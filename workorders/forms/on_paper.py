"""The form of a step as boxes to write in: the blank sheet asks what the page asks."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from django import forms

from shop.models import StepLimit, TestPlan, TestStep, TypeRevision
from workorders.documents.blank_sheet import StepBoxes, WriteGroup
from workorders.documents.writing import WriteBox
from workorders.forms.step import StepForm
from workorders.forms.step_start import StartStepForm
from workorders.services.bench_sheets import basis_words, limit_words
from workorders.services.readings import field_name
from workorders.services.ways import way_of

GAS = str(TestStep.Medium.GAS.label)


def boxes_of_plan(plan: TestPlan) -> Mapping[int, StepBoxes]:
    """Return the boxes of every step of a plan, by the key of the step."""
    return {
        step.pk: StepBoxes(start=tuple(start_boxes(step, plan.revision)), groups=tuple(groups_of(step)))
        for step in plan.steps.prefetch_related("limits__step")
    }


def start_boxes(step: TestStep, revision: TypeRevision) -> Iterator[WriteBox]:
    """Yield what the start of a step asks for beside its sentences to tick; gas is no choice on paper."""
    for field in StartStepForm(step=step, revision=revision).fields.values():
        if not isinstance(field, forms.BooleanField):
            box = _box(field)
            yield replace(box, choices=tuple(text for text in box.choices if text != GAS))


def groups_of(step: TestStep) -> Iterator[WriteGroup]:
    """Yield one group of boxes for each reading of a step, and for what else its page asks for."""
    limits = list(step.limits.all())
    form = StepForm(limits=limits, proposals={}, states={}, again=False)
    told: set[int] = set()
    for legend, names in form.groups:
        fields = {name: form.fields[name] for name in names if name in form.fields}
        limit = next((each for each in limits if _belongs(names, each)), None)
        boxes = tuple(_box(field) for field in fields.values() if _is_written(field))
        if boxes and limit and limit.pk not in told:
            told.add(limit.pk)
            yield _reading(limit, boxes)
        elif boxes:
            yield WriteGroup(title=legend, boxes=boxes, optional=True)
    for limit in limits:
        if limit.pk not in told:
            yield _reading(limit, (WriteBox(label=limit.reading),))


def _reading(limit: StepLimit, boxes: tuple[WriteBox, ...]) -> WriteGroup:
    return WriteGroup(
        title=limit.reading,
        limit=limit_words(limit),
        basis=basis_words(limit),
        boxes=boxes,
        instrument=bool(way_of(limit).instruments(limit)),
    )


def _belongs(names: Sequence[str], limit: StepLimit) -> bool:
    return any(name.startswith(field_name(limit, "")) for name in names)


def _is_written(field: forms.Field) -> bool:
    """Whether a field has a box of its own: not the instrument, the note, a file or what is hidden."""
    if field.widget.is_hidden or isinstance(field, forms.ModelChoiceField | forms.FileField):
        return False
    return not isinstance(field.widget, forms.Textarea)


def _box(field: forms.Field) -> WriteBox:
    unit = field.widget.attrs.get("data-unit", "")
    label = ", ".join(filter(None, (str(field.label), unit)))
    if isinstance(field, forms.BooleanField):
        return WriteBox(label="", choices=(str(field.label),))
    if isinstance(field, forms.ChoiceField):
        return WriteBox(label=label, choices=tuple(_choices(field)))
    return WriteBox(label=label)


def _choices(field: forms.ChoiceField) -> Iterator[str]:
    choices: Any = field.choices
    return (str(text) for value, text in choices if value not in ("", None))
