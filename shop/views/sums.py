"""Bench sums: every calculation of the registry as a page, in metric or inch-pound units."""

import dataclasses
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET

from shop.calc import registry
from shop.calc.explained import Explanation, explanation
from shop.calc.formula import split_unit, symbols
from shop.calc.parameters import InputError
from shop.calc.registry import Answer, Calculation
from shop.calc.result import Check
from shop.calc.units import shown, unit_name
from shop.documents.sums import with_unit, worded, worked
from shop.forms.reading import INCH, METRIC
from shop.forms.sums import SumForm, initial_text
from shop.models import LimitSetting
from shop.views.answers import needs
from shop.views.units import takes_inch


@require_GET
@needs("see")
def sums(request: HttpRequest) -> HttpResponse:
    """List every calculation by family."""
    families: dict[str, list[tuple[Calculation, str]]] = {}
    for one in registry.calculations():
        title = registry.FAMILIES[one.family]
        families.setdefault(title, []).append((one, _told(one).summary))
    return render(request, "shop/sums.html", {"families": families.items()})


@require_GET
@needs("see")
def sum_page(request: HttpRequest, name: str) -> HttpResponse:
    """Show one calculation: its form, its answer with the formula filled in, and what it rests on."""
    try:
        calculation = registry.find(name=name)
    except registry.NoSuchCalculation as error:
        raise Http404(str(error)) from error
    inch = takes_inch(request)
    told = _told(calculation)
    given = {**_defaults(calculation, inch), **request.GET.dict()}
    asked = any(one.name in request.GET for one in calculation.asked) and all(
        one.name in given for one in calculation.asked if one.required
    )
    form = SumForm(
        given if asked else None,
        initial=request.GET.dict(),
        calculation=calculation,
        inch=inch,
        limits={row.key: row for row in LimitSetting.objects.all()},
        told=told.parameters,
    )
    answer = _answer(form) if asked and form.is_valid() else None
    context = {
        "sum": calculation,
        "told": told,
        "form": form,
        "units": INCH if inch else METRIC,
        "other_units": METRIC if inch else INCH,
        "other_url": _address(calculation, form.inputs if answer else {}, not inch),
        "example_url": _address(calculation, calculation.example, inch),
        "formulas": _formulas(calculation),
        "trail": [("Bench sums", reverse("shop:sums"))],
        **(_shown(answer, inch) if answer else {}),
    }
    return render(request, "shop/sum.html", context, status=422 if asked and not answer else 200)


def _told(calculation: Calculation) -> Explanation:
    """Return what the docstring says, without the marks of code that only the docs draw."""
    told = explanation(calculation=calculation)
    parameters = {name: text.replace("``", "") for name, text in told.parameters.items()}
    texts = {name: text.replace("``", "") for name, text in vars(told).items() if name != "parameters"}
    return Explanation(parameters=parameters, **texts)


def _defaults(calculation: Calculation, inch: bool) -> dict[str, str]:
    """Return what stands in the form where the address names only some of the inputs."""
    return {
        one.name: initial_text(one.default, one.parameter.unit, inch)
        for one in calculation.asked
        if not one.required and one.default is not None
    }


def _answer(form: SumForm) -> Answer | None:
    try:
        return form.calculation.answer(form.inputs)
    except InputError as error:
        form.refuse(error)
        return None


def _address(calculation: Calculation, inputs: Any, inch: bool) -> str:
    """Return the address of the page with these metric inputs filled in, in the units wanted."""
    query = {"units": INCH if inch else METRIC}
    for one in calculation.asked:
        value = inputs.get(one.name)
        if value is not None:
            query[one.name] = initial_text(value, one.parameter.unit, inch)
    return f"{reverse('shop:sum', args=[calculation.name])}?{urlencode(query)}"


def _formulas(calculation: Calculation) -> list[tuple[str, str]]:
    return [
        (
            given.figure.title,
            symbols(formula=given.figure.formula) if given.figure.formula else given.figure.how,
        )
        for given in calculation.figures
    ]


def _shown(answer: Answer, inch: bool) -> dict[str, Any]:
    """Return what the page shows of an answer: single figures, checks, and tables."""
    figures, checks, tables = [], [], []
    for given in answer.calculation.figures:
        value = getattr(answer.result, given.name)
        if not isinstance(value, tuple):
            text, unit = converted(value, given.figure.of, inch)
            how = worked(answer, given.name)
            if inch and unit != given.figure.of and given.figure.formula and value is not None:
                how += f" = {with_unit(value, given.figure.of)}"
            figures.append((given, text, unit, how))
        elif value and isinstance(value[0], Check):
            checks += [_check(row, inch) for row in value]
        elif value:
            tables.append({"title": given.figure.title, **_table(value, inch)})
    given_inputs = [
        (one.parameter.title, *converted(answer.inputs[one.name], one.parameter.unit, inch))
        for one in answer.calculation.asked
        if answer.inputs[one.name] is not None
    ]
    return {
        "answer": answer,
        "figures": figures,
        "checks": checks,
        "tables": tables,
        "given_inputs": given_inputs,
    }


def converted(value: Any, unit: str, inch: bool) -> tuple[str, str]:
    """Return a metric value and its unit as they are shown."""
    if isinstance(value, list | tuple):
        return ", ".join(converted(one, unit, inch)[0] for one in value), unit_name(unit=unit, inch=inch)
    if value is None or isinstance(value, bool) or not isinstance(value, int | float):
        return worded(value), ""
    return worded(shown(value=value, unit=unit, inch=inch)), unit_name(unit=unit, inch=inch)


def _check(row: Check, inch: bool) -> dict[str, Any]:
    limits = [
        (word, *converted(bound, row.unit, inch))
        for word, bound in (("at least", row.lower), ("at most", row.upper))
        if bound is not None
    ]
    return {"row": row, "value": converted(row.value, row.unit, inch), "limits": limits}


def _table(rows: tuple[Any, ...], inch: bool) -> dict[str, Any]:
    names = [one.name for one in dataclasses.fields(rows[0])]
    parts = [split_unit(name=name) for name in names]
    heads = [(word, unit_name(unit=unit, inch=inch)) for word, unit in parts]
    body = [
        [
            (head[0], converted(getattr(row, name), unit, inch)[0])
            for name, (_word, unit), head in zip(names, parts, heads, strict=True)
        ]
        for row in rows
    ]
    return {"heads": heads, "rows": body}
