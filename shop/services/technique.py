"""The technique of unit types, read for the bench, and the register of special tools."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from shop.errors import RuleBroken
from shop.models import FasteningFigure, SpecialTool, Step, TechniqueNote, ToolNeed, TypeRevision
from shop.services.writing import Act, keep, locked, service

PLACED = ("position", "component", "port")
# The steps at which something is tightened.
FASTENED_AT = (Step.REWORK, Step.BUILDING)


@dataclass
class Technique:
    """What a revision says of how its steps are done."""

    notes: list[TechniqueNote] = field(default_factory=list)
    figures: list[FasteningFigure] = field(default_factory=list)
    tools: list[ToolNeed] = field(default_factory=list)

    def __bool__(self) -> bool:
        """Tell whether it says anything."""
        return bool(self.notes or self.figures or self.tools)


def technique_of(revisions: Iterable[TypeRevision], *, step: str = "") -> dict[int, Technique]:
    """Return the technique of revisions by their key, in three queries however many places they have.

    ``step`` leaves only what is shown at one step of ``Step``.
    """
    keys = [revision.pk for revision in revisions]
    found = {key: Technique() for key in keys}
    for note in _rows(TechniqueNote, keys):
        if step in ("", note.step):
            found[note.revision_id].notes.append(note)
    for figure in _rows(FasteningFigure, keys) if not step or step in FASTENED_AT else ():
        found[figure.revision_id].figures.append(figure)
    for need in _rows(ToolNeed, keys).select_related("tool"):
        if not step or need.step in ("", step):
            found[need.revision_id].tools.append(need)
    return found


def _rows(model: Any, keys: list[int]) -> Any:
    return model.objects.filter(revision__in=keys).select_related(*PLACED)


@service("catalogue")
def save_tool(*, act: Act, tool: SpecialTool | None = None, **fields: Any) -> SpecialTool:
    """Enter a special tool, or change one for the reason in ``act.why``.

    Raises RuleBroken for a change without a reason, and for a number that another tool has.
    """
    if tool and not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the tool is changed; the reason stays in the history."})
    row = locked(tool) if tool else SpecialTool()
    for name, value in fields.items():
        row._meta.get_field(name)  # a field that the model lacks is a mistake of the caller
        setattr(row, name, value)
    return keep(row)
