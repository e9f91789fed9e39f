"""Releases: what is still missing, signing, and reissues that name what they replace."""

from collections.abc import Iterator
from dataclasses import replace

from django.urls import reverse

from shop.errors import RuleBroken
from shop.models import ShopProfile, TestPlan
from shop.services.files import store_bytes
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, locked, service
from workorders.documents import certificate_data as paper
from workorders.models import Finding, Photo, PressureTest, Rebuild, Release, Signature
from workorders.services import certificate as content_of
from workorders.services.build_needs import missing_for_build
from workorders.services.facts import Facts, facts_of
from workorders.services.found_out import missing_review
from workorders.services.missing import Missing
from workorders.services.papers import local
from workorders.services.signing import digest, sign
from workorders.services.stages import refresh_stage, standing_release
from workorders.services.teardown import missing_for_teardown
from workorders.services.work import Work, work_of

Meaning = Signature.Meaning
STEPS = (
    ("received and inspected on arrival", "rebuild"),
    ("teardown", "teardown"),
    ("build", "build"),
)


def missing_for_release(rebuild: Rebuild) -> list[Missing]:
    """Return everything that still forbids the release of a rebuild, each by name."""
    facts = facts_of(rebuild)
    return _missing(rebuild, facts, work_of(rebuild, facts), _current_test(rebuild))


def _missing(rebuild: Rebuild, facts: Facts, work: Work, test: PressureTest | None) -> list[Missing]:
    return [
        *_missing_steps(rebuild, facts),
        *_missing_work(rebuild, work),
        *_missing_test(rebuild, test),
        *missing_review(rebuild),
    ]


def _missing_steps(rebuild: Rebuild, facts: Facts) -> Iterator[Missing]:
    signed = (facts.signed_received, facts.signed_torn_down, facts.signed_built)
    for (name, page), is_signed in zip(STEPS, signed, strict=True):
        if not is_signed:
            yield Missing(name, "is not signed", reverse(f"workorders:{page}", args=[rebuild.pk]))
    if not facts.has_go_ahead:
        yield Missing("go-ahead", "is not recorded", reverse("workorders:go_ahead", args=[rebuild.pk]))
    if rebuild.revision.mark_place and not rebuild.photos.filter(moment=Photo.Moment.MARK).exists():
        place = rebuild.revision.get_mark_place_display()
        url = reverse("workorders:photos", args=[rebuild.pk]) + f"?moment={Photo.Moment.MARK}"
        yield Missing("permanent mark", f"is not photographed; it goes on: {place}", url)
    if rebuild.debris_found and not rebuild.debris_origin:
        url = reverse("workorders:teardown", args=[rebuild.pk])
        yield Missing("debris", "say where it came from, or that this could not be told", url)


def _missing_work(rebuild: Rebuild, work: Work) -> Iterator[Missing]:
    """Yield what teardown and build lack; what both miss of one place is said once."""
    seen = set()
    for row in (*missing_for_teardown(rebuild, work=work), *missing_for_build(rebuild, work=work)):
        if row.name not in seen:
            yield row
        seen.add(row.name)


def _missing_test(rebuild: Rebuild, test: PressureTest | None) -> Iterator[Missing]:
    url = reverse("workorders:test_start", args=[rebuild.pk])
    if test is None:
        yield Missing("pressure test", "is not recorded", url)
        return
    url = test.get_absolute_url()
    if test.state != PressureTest.State.SIGNED or test.signature is None:
        yield Missing("pressure test", "is not signed", url)
    if test.plan.state != TestPlan.State.APPROVED:
        yield Missing("test plan", f"{test.plan} is no longer the approved one; supersede the test", url)
    results = {result.step_id: result for result in test.results.order_by()}
    for step in test.plan.steps.all():
        result = results.get(step.pk)
        if result is None:
            yield Missing(f"test step {step}", "has no result", url)
        elif result.verdict not in ("passes", "recorded"):
            yield Missing(f"test step {step}", f"{result.get_verdict_display()}", url)
    signed = test.signature
    if signed and rebuild.parts_used.filter(taken_back__isnull=True, at__gt=signed.at).exists():
        yield Missing("pressure test", "parts were changed after it; test again", url)


def _current_test(rebuild: Rebuild) -> PressureTest | None:
    """Read the test that stands with what a release asks of it."""
    rows = rebuild.pressure_tests.exclude(state=PressureTest.State.SUPERSEDED)
    return rows.select_related("plan", "signature", "rig_fluid", "fluid_left").first()


def allowed_statuses(rebuild: Rebuild) -> list[str]:
    """Return the status words that the record of a rebuild supports, the fullest first.

    Overhauled needs every seal renewed; tested only means that nothing was examined, renewed or
    reworked; all else is repaired.
    """
    return _statuses(work_of(rebuild))


def _statuses(work: Work) -> list[str]:
    seals = [row for row in work.findings if row.position_id]
    untouched = all(
        row.condition == Finding.Condition.NOT_EXAMINED and row.action == Finding.Action.KEPT
        for row in work.findings
    )
    if untouched and not (work.operations or work.parts):
        return [Release.Status.TESTED_ONLY]
    renewed = seals and all(row.action == Finding.Action.RENEWED for row in seals)
    return [Release.Status.OVERHAULED, Release.Status.REPAIRED] if renewed else [Release.Status.REPAIRED]


@service("release")
def release_rebuild(*, act: Act, rebuild: Rebuild, status: str, remarks: str = "") -> Release:
    """Sign the release of a rebuild and issue its certificate and fitter's page.

    Raises RuleBroken naming everything that is missing, or for a status word that the record
    does not support.
    """
    row = _hold(rebuild)
    if row.releases.exists():
        raise RuleBroken("This rebuild has a release already; reissue it with a reason.")
    return _issue(act, row, status=status, remarks=remarks, replaces=None)


@service("release")
def reissue_release(*, act: Act, release: Release, status: str = "", remarks: str = "") -> Release:
    """Issue a certificate anew under a number of its own; it names the one it replaces and why.

    Raises RuleBroken without a reason (``act.why``), for a release that is replaced already, or
    while anything is missing.
    """
    row = _hold(release.rebuild)
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the certificate is issued anew."})
    if Release.objects.filter(replaces=release).exists():
        raise RuleBroken("This certificate is replaced already; reissue the latest one.")
    return _issue(
        act, row, status=status or release.status, remarks=remarks or release.remarks, replaces=release
    )


def _hold(rebuild: Rebuild) -> Rebuild:
    """Hold a rebuild, and before it its work order, the customer of which the papers name."""
    order = locked(rebuild.work_order)
    row = locked(rebuild, fixed=("revision",))
    row.work_order = order
    return row


def _issue(act: Act, rebuild: Rebuild, *, status: str, remarks: str, replaces: Release | None) -> Release:
    facts, test = facts_of(rebuild), _current_test(rebuild)
    work = work_of(rebuild, facts)
    missing = _missing(rebuild, facts, work, test)
    if missing or test is None:
        named = "; ".join(f"{row.name} {row.sentence}" for row in missing)
        raise RuleBroken(f"Not ready for release: {named}.")
    if not rebuild.is_open and replaces is None:
        raise RuleBroken(f"This rebuild is closed: {rebuild.get_stage_display()}.")
    allowed = _statuses(work)
    if status not in allowed:
        words = ", ".join(str(Release.Status(word).label) for word in allowed)
        raise RuleBroken(fields={"status": f"The record supports: {words}."})
    number = next_number("C", act.at)
    draft = content_of.certificate_data(
        rebuild,
        test,
        work,
        number=number,
        status=str(Release.Status(status).label),
        remarks=remarks,
        issued_at=act.at,
        signer=_signer(act),
        replaces=paper.Replaces(number=replaces.number, reason=act.why) if replaces else None,
        digest="",
    )
    fitter = content_of.fitter_data(rebuild, test, draft)
    size = ShopProfile.objects.get(pk=1).paper_size
    signed = sign(
        act=act,
        rebuild=rebuild,
        meaning=Meaning.RELEASED,
        content=content_of.frozen(draft, fitter, size),
    )
    return _keep_release(act, rebuild, draft, fitter, size, signed, status, remarks, replaces)


def _signer(act: Act) -> paper.Signature:
    return paper.Signature(
        statement=content_of.STATEMENT,
        name=str(act.by),
        authority=act.by.authority_no,
        at=local(act.at),
    )


def _keep_release(
    act: Act,
    rebuild: Rebuild,
    draft: paper.Certificate,
    fitter: object,
    size: str,
    signed: Signature,
    status: str,
    remarks: str,
    replaces: Release | None,
) -> Release:
    """Print, store and write the release; the digest printed is the one that the signature covers."""
    final = replace(draft, digest=signed.content_sha256)
    content = content_of.frozen(final, fitter, size)  # type: ignore[arg-type]
    certificate, fitter_page = content_of.printed(content)
    files = [
        store_bytes(
            act=act,
            data=data,
            name=f"{name}-{draft.number}.pdf",
            kind="paper",
            content_type="application/pdf",
        )
        for name, data in (("certificate", certificate), ("fitting-page", fitter_page))
    ]
    release = keep(
        Release(
            rebuild=rebuild,
            number=draft.number,
            status=status,
            remarks=remarks,
            signature=signed,
            content=content,
            certificate=files[0],
            fitter_page=files[1],
            replaces=replaces,
            by=act.by,
            at=act.at,
            why=act.why if replaces else "",
        )
    )
    refresh_stage(rebuild)
    return release


def signature_holds(release: Release) -> bool:
    """Tell whether the stored content is still the one that was signed."""
    bare = {**release.content, "certificate": {**release.content["certificate"], "digest": ""}}
    return digest(bare) == release.signature.content_sha256


__all__ = [
    "allowed_statuses",
    "missing_for_release",
    "reissue_release",
    "release_rebuild",
    "signature_holds",
    "standing_release",
]
