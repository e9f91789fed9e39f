"""Hoses against ports at the build: the number read at each port, and what is still to be read."""

from dataclasses import dataclass

from django.urls import reverse

from shop.errors import RuleBroken
from shop.models import Hose, Port
from shop.services.writing import Act, keep, service
from workorders.documents.port_drawing import PortRow
from workorders.models import Finding, HoseCheck, Rebuild
from workorders.services.hoses import can_be_mixed_up, same_number
from workorders.services.missing import Missing
from workorders.services.places import require_place_of
from workorders.services.stages import refresh_stage
from workorders.services.standing import begin_build
from workorders.services.work import Work, work_of

Action, Condition, Way = Finding.Action, Finding.Condition, HoseCheck.Way


@dataclass(frozen=True, kw_only=True)
class PortHose:
    """A port with its hose, what teardown said of it, and the number read at the build."""

    port: Port
    hose: Hose | None = None
    finding: Finding | None = None
    check: HoseCheck | None = None
    wanted: bool = False  # the number must be read before the build is signed

    @property
    def is_open(self) -> bool:
        """Whether the number is still to be read."""
        return self.wanted and self.check is None

    @property
    def words(self) -> str:
        """Where the hose is, for table and paper; empty where nothing is known."""
        if self.check:
            return self.check.get_way_display()
        return "not with this unit" if is_away(self.finding) else ""


def is_away(finding: Finding | None) -> bool:
    """Whether a hose does not go out with the unit: not here, or missing and left so."""
    if finding is None:
        return False
    left_missing = finding.condition == Condition.MISSING and finding.action == Action.KEPT
    return finding.action == Action.NONE or left_missing


@service("build")
def check_hose(*, act: Act, rebuild: Rebuild, hose: Hose, number: str, way: str = Way.ON_PORT) -> HoseCheck:
    """Record the number read from the hose that goes on a port, or travels loose with its number on.

    Raises RuleBroken for another number than that of the hose of this port, a hose that is not
    here, a fixed one sent loose, and as ``begin_build`` does.
    """
    row = begin_build(act, rebuild)
    require_place_of(row.revision, hose)
    if is_away(row.findings.filter(hose=hose).first()):
        raise RuleBroken(
            f"By its finding hose {hose.code} does not go out with the unit. Correct that first."
        )
    if way == Way.LOOSE and hose.attachment == Hose.Attachment.FIXED:
        raise RuleBroken(fields={"way": f"Hose {hose.code} is fixed to the unit: it cannot travel loose."})
    _refuse_other_number(row, hose, number)
    read = "".join(number.split())
    checked = keep(
        HoseCheck(rebuild=row, hose=hose, number_read=read, way=way, by=act.by, at=act.at, why=act.why)
    )
    refresh_stage(row)
    return checked


def _refuse_other_number(rebuild: Rebuild, hose: Hose, number: str) -> None:
    if same_number(number, hose.code):
        return
    if not number.strip():
        raise RuleBroken(fields={"number": "Read the number of the hose from its tag."})
    port = f"Port {hose.port.code} takes hose {hose.code}"
    for other in rebuild.revision.hoses.select_related("port"):
        if same_number(number, other.code):
            message = f"{port}. This is hose {other.code}, which belongs on port {other.port}."
            raise RuleBroken(fields={"number": message})
    raise RuleBroken(fields={"number": f"{port}. No hose of this unit has the number {number.strip()}."})


def port_hoses(rebuild: Rebuild, work: Work | None = None) -> list[PortHose]:
    """Return every port of a unit with its hose, in the order of the ports; three queries at most."""
    ports = list(rebuild.revision.ports.all())
    hoses = {hose.port_id: hose for hose in rebuild.revision.hoses.all()}
    if not hoses:
        return [PortHose(port=port) for port in ports]
    work = work or work_of(rebuild)
    findings = {row.hose_id: row for row in work.findings if row.hose_id}
    checks = {row.hose_id: row for row in work.hose_checks}  # the latest of each
    wanted = can_be_mixed_up(ports)
    rows = []
    for port in ports:
        hose = hoses.get(port.pk)
        finding = findings.get(hose.pk) if hose else None
        check = checks.get(hose.pk) if hose else None
        asked = wanted and finding is not None and not is_away(finding)
        rows.append(PortHose(port=port, hose=hose, finding=finding, check=check, wanted=asked))
    return rows


def missing_hose_checks(rebuild: Rebuild, work: Work) -> list[Missing]:
    """Return by name the ports at which the number of the hose is still to be read."""
    return [
        Missing(
            f"Port {row.port}",
            f"hose {row.hose.code} is not confirmed: read its number at the port",
            reverse("workorders:check_hose", args=[rebuild.pk, row.hose.pk]),
        )
        for row in port_hoses(rebuild, work)
        if row.is_open and row.hose
    ]


def port_rows(rebuild: Rebuild, work: Work | None = None) -> tuple[PortRow, ...]:
    """Return the ports of a unit with their hoses as papers print them."""
    return tuple(_port_row(row) for row in port_hoses(rebuild, work))


def _port_row(row: PortHose) -> PortRow:
    port, hose = row.port, row.hose
    return PortRow(
        code=port.code,
        name=port.name,
        fitting=f"{port.get_fitting_display()} {port.thread}".strip(),
        hose=hose.code if hose else "",
        cap="" if port.fitting == Port.Fitting.PLUGGED else "yes",
        along=port.along,
        length=f"{hose.length_mm:g} mm" if hose and hose.length_mm else "",
        far_end=hose.far_end if hose else "",
        whereabouts=row.words,
    )
