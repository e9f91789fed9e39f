"""What the docstring of a calculation says, in parts: the command, the page and the docs show it."""

from dataclasses import dataclass

from docstring_parser import DocstringStyle, parse

from shop.calc.registry import Calculation


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """The parts of one docstring, each as plain text."""

    summary: str
    parameters: dict[str, str]
    notes: str
    validity: str
    left_out: str
    references: str


def explanation(*, calculation: Calculation) -> Explanation:
    """Read the docstring of a calculation.

    Parameters
    ----------
    calculation : Calculation
        A registered one, with a numpydoc docstring.

    Returns
    -------
    Explanation
        Summary, parameters by name, notes without validity and limits, validity, what is left
        out, references; empty where the docstring lacks a part.
    """
    found = parse(calculation.doc, style=DocstringStyle.NUMPYDOC)
    sections = {meta.args[0]: meta.description or "" for meta in found.meta if meta.args}
    paragraphs = [
        " ".join(line.strip() for line in part.splitlines())
        for part in sections.get("notes", "").replace("\nLeft out:", "\n\nLeft out:").split("\n\n")
    ]
    told = {"Validity:": "", "Left out:": ""}
    notes = []
    for paragraph in paragraphs:
        label = next((label for label in told if paragraph.startswith(label)), None)
        if label:
            told[label] = paragraph.removeprefix(label).strip()
        elif paragraph:
            notes.append(paragraph)
    return Explanation(
        summary=" ".join((found.short_description or "").split()),
        parameters={
            name.strip(): " ".join((one.description or "").split())
            for one in found.params
            for name in one.arg_name.split(",")
        },
        notes="\n\n".join(notes),
        validity=told["Validity:"],
        left_out=told["Left out:"],
        references=" ".join(sections.get("references", "").split()),
    )
