"""Outside work in the demo: worn rods go to the plater and come back; one of two is late."""

import io
from datetime import timedelta

from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from reportlab.pdfgen.canvas import Canvas

from inventory.models import Supplier
from shop.documents.paper import BODY
from shop.models import Component
from workorders.demo.bench import reading_within, record_readings
from workorders.demo.job import Job
from workorders.demo.money import charge
from workorders.demo.world import NEVER, Process, dice
from workorders.models import OutsideWork
from workorders.services import outside_work, teardown
from workorders.services.outside_work import Papers

DAYS_ALLOWED = {"at the plater": 16, "late at the plater": 8}
PLATER = "Low Light Plating"
ASKED = "Strip, hard-chrome and grind to the limits below; Ra at most 0.2 µm. No chrome on the threads."
NOT_HARD = "rod steel neither hardened nor drawn hard, says the plater's letter; the drawing asks for none"


def rechrome(job: Job, rod: Component) -> Process:
    """Send a rod to the plater, take it back after some days, measure it and accept it."""
    throw = dice(job.name, "outside")
    work = _send(job, rod, days=10)
    yield job.world.after(hours=24 * throw.uniform(5, 13))
    number = f"LL-{throw.randint(200, 980)}"
    kept = SimpleUploadedFile(f"{number}.pdf", _report(job, number))
    papers = Papers(bake="not_needed", bake_basis=NOT_HARD, certificate=kept)
    if throw.random() < 0.6:
        # What this invented plater wrote down; no rule for anybody's steel.
        basis = f"{PLATER}, report {number}"
        papers = Papers(bake="baked", bake_h=4, bake_temperature_c=190, bake_basis=basis, certificate=kept)
    work = outside_work.record_return(act=job.bench(), work=work, papers=papers)
    yield job.world.after(minutes=throw.randint(20, 200))
    for limit in job.kind.revision.dimension_limits.filter(quantity__in=("rod_diameter", "run_out")):
        readings = {n: reading_within(job, limit) for n in range(1, limit.stations + 1)}
        record_readings(job, limit, readings, "after")
    yield job.world.after(minutes=throw.randint(5, 15))
    work = outside_work.inspect_return(act=job.bench(), work=work, accepted=True)
    charge(job, work)
    yield job.world.after(minutes=throw.randint(5, 15))


def stay_out(job: Job) -> Process:
    """Leave the rod at the plater's for good, where the story of the unit says so."""
    days = DAYS_ALLOWED.get(job.story.stop)
    if days is None:
        return
    rod = job.kind.revision.components.get(kind=Component.Kind.ROD)
    teardown.record_finding(
        act=job.bench("looked at again in better light"),
        rebuild=job.rebuild,
        place=rod,
        condition="corroded",
        cause="water",
        action="reworked",
        note="pits under the wiper, felt with the nail",
    )
    yield job.minutes(10, 30)
    _send(job, rod, days=days)
    yield NEVER


def _send(job: Job, rod: Component, *, days: int) -> OutsideWork:
    due = timezone.localdate(job.world.time) + timedelta(days=days)
    supplier = Supplier.objects.get(name=PLATER)
    return outside_work.send_out(
        act=job.bench(),
        rebuild=job.rebuild,
        component=rod,
        kind=OutsideWork.Kind.RECHROMING,
        supplier=supplier,
        asked=ASKED,
        due=due,
    )


def _report(job: Job, number: str) -> bytes:
    """Return the plater's report as a PDF of one line, made up for the demo."""
    out = io.BytesIO()
    page = Canvas(out, invariant=1)
    page.setFont(BODY, 11)
    page.drawString(60, 780, f"{PLATER}, report {number}: rod of unit {job.rebuild.unit.serial}.")
    page.drawString(60, 760, "Made up for the demo.")
    page.save()
    return out.getvalue()
