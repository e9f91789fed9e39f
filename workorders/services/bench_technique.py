"""What the bench is shown when a step is done: technique of the type, and lessons, at its place."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shop.models import FasteningFigure, Step, TechniqueNote, ToolNeed
from shop.models.technique import TechniqueRow
from shop.services.technique import Technique, technique_of
from workorders.models import Lesson, Rebuild
from workorders.services.lessons import lessons_for
from workorders.services.places import Place, key_of, kind_of, row_key


@dataclass(frozen=True, kw_only=True)
class BenchTechnique:
    """Notes, figures, tools and lessons of one step; of one place, or of all where ``place`` is None."""

    rebuild: Rebuild
    step: Step
    place: Place | None
    notes: Sequence[TechniqueNote]
    figures: Sequence[FasteningFigure]
    tools: Sequence[ToolNeed]
    lessons: Sequence[Lesson]

    @property
    def anchor(self) -> str:
        """The id of its panel on a page."""
        return f"technique-{self.rebuild.revision_id}"

    @property
    def hint(self) -> str:
        """The line that holds at every step of the place."""
        return self.place.hint if self.place else ""

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to show."""
        return not (self.hint or self.notes or self.figures or self.tools or self.lessons)


def bench_technique(
    rebuilds: Iterable[Rebuild], *, step: str, place: Place | None = None
) -> list[BenchTechnique]:
    """Return what is shown at a step, once for each unit type among the rebuilds, in four queries.

    ``place`` leaves what is about it or about the whole unit.
    """
    first = {rebuild.revision.unit_type_id: rebuild for rebuild in reversed(list(rebuilds))}
    units = sorted(first.values(), key=lambda rebuild: rebuild.pk)
    known = technique_of([rebuild.revision for rebuild in units], step=step)
    lessons = lessons_for(units, step=step)
    return [
        _at_place(
            rebuild, Step(step), place, known[rebuild.revision_id], lessons[rebuild.revision.unit_type_id]
        )
        for rebuild in units
    ]


def _at_place(
    rebuild: Rebuild, step: Step, place: Place | None, known: Technique, lessons: list[Lesson]
) -> BenchTechnique:
    def here(row: TechniqueRow) -> bool:
        return place is None or row_key(row) in (None, key_of(place))

    def learned_here(row: Lesson) -> bool:
        # By code: the lesson may come from a place of an earlier revision.
        there = row.place
        same = there is not None and place is not None and _name_of(there) == _name_of(place)
        return place is None or there is None or same

    return BenchTechnique(
        rebuild=rebuild,
        step=step,
        place=place,
        notes=[row for row in known.notes if here(row)],
        figures=[row for row in known.figures if here(row)],
        tools=[row for row in known.tools if here(row)],
        lessons=[row for row in lessons if learned_here(row)],
    )


def _name_of(place: Place) -> tuple[str, str]:
    return kind_of(place), place.code
