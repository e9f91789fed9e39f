"""Answers of the calculations as lines of text, and the pages of the docs about each family."""

import dataclasses
from collections.abc import Iterator
from datetime import date
from typing import Any

from shop.calc import registry
from shop.calc.explained import explanation
from shop.calc.formula import filled, number, symbols
from shop.calc.registry import REQUIRED, Answer, Asked, Calculation
from shop.calc.result import Check


def worded(value: Any) -> str:
    """Write a value of a result or an input for people."""
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return value.isoformat()
    return number(value=value)


def with_unit(value: Any, unit: str) -> str:
    """Write a value with its unit, where it has one."""
    text = worded(value)
    return f"{text} {unit}" if unit and value is not None else text


def worked(answer: Answer, name: str) -> str:
    """Return the formula of a figure filled in, or how else it is found; empty for a figure not known."""
    figure = next(one.figure for one in answer.calculation.figures if one.name == name)
    if answer.values[name] is None:
        return ""
    return filled(formula=figure.formula, values=answer.values) if figure.formula else figure.how


def lines_of(answer: Answer) -> Iterator[str]:
    """Yield the answer as text, a figure to a line, with its formula filled in."""
    yield answer.calculation.title
    for asked in answer.calculation.asked:
        value = answer.inputs[asked.name]
        if value is not None:
            yield f"  {asked.name} = {with_unit(value, asked.parameter.unit)}"
    for given in answer.calculation.figures:
        value = getattr(answer.result, given.name)
        if isinstance(value, tuple):
            yield f"{given.figure.title}:"
            yield from (f"  {row_of(row)}" for row in value)
            continue
        how = worked(answer, given.name)
        yield f"{given.name} = {with_unit(value, given.figure.of)}" + (f"   ({how})" if how else "")
    yield from (f"Warning: {warning}" for warning in answer.result.warnings)
    yield from (f"Source: {source}" for source in answer.result.sources)


def row_of(row: Any) -> str:
    """Write one row of a list in a result."""
    if isinstance(row, Check):
        return check_line(row)
    return ", ".join(f"{one.name} {worded(getattr(row, one.name))}" for one in dataclasses.fields(row))


def check_line(row: Check) -> str:
    """Write one check: figure, limits, verdict, advice, source."""
    limits = [f"at least {with_unit(row.lower, row.unit)}"] if row.lower is not None else []
    limits += [f"at most {with_unit(row.upper, row.unit)}"] if row.upper is not None else []
    text = f"{row.what}: {with_unit(row.value, row.unit)}"
    text += f", {' and '.join(limits)}" if limits else ""
    text += f": {row.verdict}"
    text += f". {row.advice}" if row.advice else ""
    return f"{text} [{row.source}]"


def page_name(family: str) -> str:
    """Return the name of the docs page of a family."""
    return f"sums-{family}.md"


def family_page(family: str) -> str:
    """Write the docs page of a family from the registry alone."""
    members = [one for one in registry.calculations() if one.family == family]
    blocks = [
        f"# {registry.FAMILIES[family]}",
        "Written from the registry of calculations by `python manage.py calc --docs`; a test keeps it "
        "current. Each sum is also a page under *Bench sums* and a command, "
        "`python manage.py calc NAME key=value ...`. The figures are aids for a person of the trade; "
        "local codes, the makers' instructions and licensed practice come first.",
        "\n".join(f"- [{one.title}](#{one.name}) `{one.name}`" for one in members),
    ]
    for one in members:
        blocks += list(_chapter(one))
    return "\n\n".join(blocks) + "\n"


def _chapter(one: Calculation) -> Iterator[str]:
    told = explanation(calculation=one)
    yield f'<a id="{one.name}"></a>\n\n## {one.title}'
    yield told.summary
    yield "| input | what | allowed | default |\n|---|---|---|---|\n" + "\n".join(
        f"| `{asked.name}` | {_cell(told.parameters.get(asked.name, ''))} | {_cell(asked.parameter.allowed)} "
        f"| {_default(asked)} |"
        for asked in one.asked
    )
    yield "| result | what | how |\n|---|---|---|\n" + "\n".join(
        f"| `{given.name}` | {_titled(given)} | {_cell(_how(given))} |" for given in one.figures
    )
    yield told.notes
    yield f"**Validity:** {told.validity}"
    yield f"**Left out:** {told.left_out}"
    answer = one.answer(one.example)
    yield f"**Worked example.** {one.example_source}"
    yield "```\n" + "\n".join(lines_of(answer)) + "\n```"
    yield f"**Sources:** {told.references}"


def _how(given: registry.Given) -> str:
    return symbols(formula=given.figure.formula) if given.figure.formula else given.figure.how


def _titled(given: registry.Given) -> str:
    return given.figure.title + (f" [{given.figure.of}]" if given.figure.of else "")


def _default(asked: Asked) -> str:
    if asked.default is REQUIRED:
        return "needed"
    return "none" if asked.default is None else with_unit(asked.default, asked.parameter.unit)


def _cell(text: str) -> str:
    return text.replace("|", "\\|")
