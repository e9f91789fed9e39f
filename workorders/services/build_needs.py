"""What each place of a rebuild still needs: parts by the kit, rework, readings within limits."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from django.urls import reverse

from inventory.models import KitLine, Lot
from inventory.services.kits import Option, PlaceChoice, kit_choices
from shop.models import Component, TypeRevision
from shop.roles import LEAD, roles_of
from workorders.models import Finding, Operation, PartUsed, Rebuild
from workorders.services.dimensions import Dimension, dimensions
from workorders.services.hose_checks import missing_hose_checks
from workorders.services.missing import Missing
from workorders.services.operation_values import missing_rework
from workorders.services.outside_work import latest_by_place, missing_outside_work
from workorders.services.places import Key, Place, key_of, kind_of, places, row_key
from workorders.services.recall_state import missing_recall
from workorders.services.standing import standing_build
from workorders.services.work import Work, work_of

Action = Finding.Action


@dataclass(frozen=True, kw_only=True)
class Need:
    """One place with its finding, what the kit proposes, what is fitted and what was reworked."""

    place: Place
    finding: Finding | None = None
    choice: PlaceChoice | None = None
    parts: list[PartUsed] = field(default_factory=list)
    operations: list[Operation] = field(default_factory=list)
    outside_done: bool = False  # outside work on the component is accepted

    @property
    def action(self) -> str:
        """What teardown decided for the place; empty without a finding."""
        return self.finding.action if self.finding else ""

    @property
    def fitted(self) -> Mapping[int, int]:
        """Pieces fitted, by part."""
        counts: Counter[int] = Counter()
        for row in self.parts:
            if row.use == PartUsed.Use.FITTED:
                counts[row.lot.part_id] += row.quantity
        return counts

    @property
    def options(self) -> list[Option]:
        """Sets of parts that the kit allows here, the preferred one first."""
        return list(self.choice.options) if self.choice else []

    @property
    def is_required(self) -> bool:
        """Whether the kit wants a part here whatever teardown said."""
        return self.choice is not None and self.choice.required

    @property
    def wants_parts(self) -> bool:
        """Whether a part belongs here: renewed, or reworked with parts of the kit."""
        return self.action == Action.RENEWED or (
            self.is_required and self.action not in (Action.KEPT, Action.NONE)
        )

    @property
    def is_filled(self) -> bool:
        """Whether enough is fitted: a whole set of the kit, or as much of another part."""
        fitted = self.fitted
        if not self.options:
            return sum(fitted.values()) >= 1
        if any(all(fitted[line.part_id] >= n for line, n in wanted(option)) for option in self.options):
            return True
        known = {line.line.part_id for option in self.options for line in option.lines}
        enough = sum(n for _line, n in wanted(self.options[0]))
        return bool(set(fitted) - known) and sum(fitted.values()) >= enough

    @property
    def is_open(self) -> bool:
        """Whether a part is wanted and not enough is fitted."""
        return self.wants_parts and not self.is_filled

    def outstanding(self, line: KitLine) -> int:
        """Return how many pieces of one kit line are still to be fitted."""
        return max(0, line.quantity - self.fitted[line.part_id])

    @property
    def proposed(self) -> list[tuple[KitLine, Lot, int]]:
        """Line, lot and pieces to take next, from the set of the kit that the stores can give."""
        pairs = self.choice.proposed if self.choice and self.is_open else {}
        return [(line, lot, n) for line, lot in pairs.items() if (n := self.outstanding(line))]

    @property
    def sentence(self) -> str:
        """What is fitted of what, for the list of what is missing."""
        have = sum(self.fitted.values())
        want = sum(n for _line, n in wanted(self.options[0])) if self.options else 1
        if have == 0:
            return "no part is fitted"
        return (
            f"only {have} of {want} pieces fitted" if have < want else "the parts fitted are not a whole set"
        )


def wanted(option: Option) -> list[tuple[KitLine, int]]:
    """Return the lines that a set needs with their pieces: the required ones, else all."""
    lines = [choice.line for choice in option.lines]
    must = [line for line in lines if line.required] or lines
    return [(line, line.quantity) for line in must]


def build_needs(rebuild: Rebuild, *, on: date | None, work: Work | None = None) -> list[Need]:
    """Return every place of a rebuild with what it needs; lots are those usable on a day.

    ``on`` None leaves the lots out. The number of queries does not grow with the places.
    """
    work = work or work_of(rebuild)
    findings = {row_key(row): row for row in work.findings}
    choices = {key_of(choice.place): choice for choice in kit_choices(revision=rebuild.revision, on=on)}
    parts = _by_place(work.parts)
    operations = _by_place(work.operations)
    done = {row.component_id for row in latest_by_place(work.outside) if row.accepted}
    return [
        Need(
            place=place,
            finding=findings.get(key_of(place)),
            choice=choices.get(key_of(place)),
            parts=parts.get(key_of(place), []),
            operations=operations.get(key_of(place), []),
            outside_done=isinstance(place, Component) and place.pk in done,
        )
        for place in places(rebuild.revision)
    ]


def _by_place(rows: Iterable[PartUsed | Operation]) -> dict[Key | None, list]:  # type: ignore[type-arg]
    grouped: dict[Key | None, list] = {}  # type: ignore[type-arg]
    for row in rows:
        grouped.setdefault(row_key(row), []).append(row)
    return grouped


def missing_for_build(
    rebuild: Rebuild, *, lead_accepts: bool = False, work: Work | None = None
) -> list[Missing]:
    """Return by name what the build lacks before it can be signed.

    ``lead_accepts``: the lead gives a reason why required parts are left out at places that were
    kept, as a signature of the lead that stands with a reason does too; all else is still named.
    """
    work = work or work_of(rebuild)
    needs = build_needs(rebuild, on=None, work=work)
    left_out = any(need.action == Action.KEPT and need.is_required and not need.is_filled for need in needs)
    accepted = lead_accepts or (left_out and _lead_accepted(rebuild))
    found = [row for need in needs for row in _missing_at(rebuild, need, accepted)]
    for dimension in dimensions(rebuild, work.findings, work.measurements):
        found.extend(_missing_reading(rebuild, dimension))
    found.extend(missing_rework(rebuild, work.operations))
    found.extend(missing_hose_checks(rebuild, work))
    first = [*_missing_approval(rebuild), *missing_recall(rebuild)]
    return [*first, *found, *missing_outside_work(work.outside, work.findings)]


def _missing_approval(rebuild: Rebuild) -> list[Missing]:
    """Return the approval that a rebuild on a draft type waits for."""
    if rebuild.revision.state != TypeRevision.State.DRAFT:
        return []
    url = reverse("workorders:draft", args=[rebuild.revision_id])
    return [Missing("Unit type", f"{rebuild.revision} is a draft that the lead approves first", url)]


def _lead_accepted(rebuild: Rebuild) -> bool:
    """Whether the build that stands was signed by the lead with a reason."""
    signed = standing_build(rebuild)
    return bool(signed and signed.why and LEAD in roles_of(signed.by))


def _missing_at(rebuild: Rebuild, need: Need, accepted: bool) -> list[Missing]:
    def missing(sentence: str, page: str) -> Missing:
        url = reverse(f"workorders:{page}", args=[rebuild.pk, kind_of(need.place), need.place.pk])
        return Missing(str(need.place), sentence, url)

    if need.finding is None:
        return [missing("no finding", "finding")]
    if need.action == Action.REJECTED:
        sentence = "rejected at teardown, so this unit cannot be built; the lead takes it out of the rebuild"
        return [missing(sentence, "finding")]
    if need.action == Action.NONE:
        return []
    found = []
    if need.is_open and need.action == Action.RENEWED:
        found.append(missing(f"to be renewed, but {need.sentence}", "use_part"))
    elif need.is_required and not need.is_filled and not (need.action == Action.KEPT and accepted):
        found.append(missing(f"the kit requires a part here, but {need.sentence}", "use_part"))
    if need.action == Action.REWORKED and not need.operations and not need.outside_done:
        url = reverse("workorders:operation", args=[rebuild.pk])
        url += f"?place={kind_of(need.place)}-{need.place.pk}"
        found.append(Missing(str(need.place), "to be reworked, but no operation is recorded", url))
    return found


def _missing_reading(rebuild: Rebuild, dimension: Dimension) -> list[Missing]:
    if not dimension.limit.required or not dimension.was_outside:
        return []
    name = str(dimension.limit)
    if dimension.outside:
        numbers = ", ".join(str(number) for number in dimension.outside)
        url = reverse("workorders:measurement", args=[rebuild.pk, dimension.limit.pk, "after"])
        sentence = f"outside its limits as found and not read within them after the work, station {numbers}"
        return [Missing(name, sentence, url)]
    if not dimension.worked_on:
        carrier = dimension.carriers[0]
        url = reverse("workorders:finding", args=[rebuild.pk, "component", carrier.component_id])
        sentence = (
            f"was outside its limits, but {carrier.place} is recorded as {carrier.get_action_display()}"
        )
        return [Missing(name, sentence, url)]
    return []
