"""What must go with a unit that leaves: what came with it, caps, fluid and papers; and the check of it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shop.models import Fluid, Port
from workorders.models import PackingLine, PressureTest, Rebuild
from workorders.services.stages import standing_release

Kind = PackingLine.Kind


@dataclass(frozen=True, kw_only=True)
class Need:
    """One thing that must go with a unit; ``code`` is what a scan of it says."""

    kind: str
    text: str
    code: str = ""
    fluid: Fluid | None = None
    volume_ml: float | None = None


@dataclass(frozen=True, kw_only=True)
class Checked:
    """One thing as it was checked: in the parcel, or kept back with a reason; by whom and when."""

    kind: str
    item: str
    packed: bool
    code: str = ""
    reason: str = ""
    by: str = ""
    at: str = ""
    fluid: str = ""
    volume_ml: float | None = None
    lot: str = ""

    def as_stored(self) -> dict[str, Any]:
        """Return the plain data that stays with the packed unit; what is not known is left out."""
        told = {"item": self.item, "packed": self.packed, "reason": self.reason, "kind": self.kind}
        more = {name: getattr(self, name) for name in ("code", "by", "at", "fluid", "volume_ml", "lot")}
        return told | {name: value for name, value in more.items() if value not in ("", None)}


def what_goes_along(rebuild: Rebuild) -> list[Need]:
    """Return everything that must be found in the parcel with a unit, or be kept back with a reason.

    Hoses and accessories that came along, a cap for every port that is not plugged, the fluid left
    inside, spare fluid where the type asks for it, and the papers.
    """
    release = standing_release(rebuild)
    came = [
        Need(kind=item.kind, code=item.label, text=str(item))
        for item in rebuild.arrival_items.exclude(kind="missing")
    ]
    caps = [
        Need(kind=Kind.CAP, code=port.code, text=f"cap on port {port}")
        for port in rebuild.revision.ports.all()
        if port.fitting != Port.Fitting.PLUGGED
    ]
    if release is None:
        paper = Need(kind=Kind.PAPER, text="as-found paper")
        return [*came, *caps, _found_inside(rebuild), paper]
    paper = Need(kind=Kind.PAPER, code=release.number, text=f"certificate {release.number} and fitter's page")
    return [*came, *caps, _left_inside(rebuild), *_spare(rebuild), paper]


def _left_inside(rebuild: Rebuild) -> Need:
    """Return the fluid that the signed test says was left inside for shipping."""
    test = rebuild.pressure_tests.filter(state=PressureTest.State.SIGNED).select_related("fluid_left").get()
    return Need(kind=Kind.INSIDE, text=f"fluid left inside: {test.fluid_left}", fluid=test.fluid_left)


def _found_inside(rebuild: Rebuild) -> Need:
    found = getattr(rebuild, "fluid_found", None)
    fluid = found.fluid if found else None
    return Need(
        kind=Kind.INSIDE, text=f"fluid left inside: {found or 'as it came, not examined'}", fluid=fluid
    )


def _spare(rebuild: Rebuild) -> list[Need]:
    revision = rebuild.revision
    if revision.spare_fluid_ml is None:
        return []
    text = f"spare fluid: {revision.service_fluid}"
    return [Need(kind=Kind.SPARE, text=text, fluid=revision.service_fluid, volume_ml=revision.spare_fluid_ml)]


def packing_items(rebuild: Rebuild) -> list[str]:
    """Return in words what must be found in the parcel with a unit, caps apart."""
    return [need.text for need in what_goes_along(rebuild) if need.kind != Kind.CAP]


def ticked(
    needs: Sequence[Need], *, packed: Collection[str], kept_back: Mapping[str, str], caps_on: bool
) -> list[Checked]:
    """Return the check of one person who ticks a list of words, with the reasons of what stays."""
    return [
        Checked(
            kind=need.kind,
            code=need.code,
            item=need.text,
            packed=caps_on if need.kind == Kind.CAP else need.text in packed,
            reason=kept_back.get(need.text, "").strip(),
            fluid=str(need.fluid or ""),
            volume_ml=need.volume_ml,
        )
        for need in needs
    ]


def line_checked(line: PackingLine) -> Checked:
    """Return the check of one line of the packing bench."""
    return Checked(
        kind=line.kind,
        code=line.code,
        item=line.text,
        packed=line.state == PackingLine.State.PACKED,
        reason=line.reason,
        by=str(line.done_by or ""),
        at=line.done_at.isoformat() if line.done_at else "",
        fluid=str(line.fluid or ""),
        volume_ml=line.volume_ml,
        lot=str(line.lot or ""),
    )
