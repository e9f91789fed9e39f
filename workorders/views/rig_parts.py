"""What came from rigs, as a part of a page that shows it arriving."""

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from shop.roles import may
from workorders.models import PressureTest, Rig, RigFile
from workorders.services import rig_files


@dataclass(frozen=True, kw_only=True)
class FromRigs:
    """What came from rigs, for a page that shows it arriving; ``address`` is that page."""

    rows: Sequence[RigFile]
    address: str
    test: PressureTest | None = None

    @property
    def seen(self) -> str:
        """What the page shows, in short: where it is the same, nothing is sent again."""
        told = [(row.pk, row.state, row.recorded) for row in self.rows]  # type: ignore[attr-defined]
        return hashlib.sha256(repr(told).encode()).hexdigest()[:16]

    @property
    def lines(self) -> list[tuple[RigFile, str]]:
        """Each file with the address that shows it for confirmation; empty where there is none now."""
        return [(row, confirm_address(row) if is_open(row) else "") for row in self.rows]

    @property
    def latest(self) -> RigFile | None:
        """The file that came last."""
        return self.rows[0] if self.rows else None


def shown_for_test(test: PressureTest) -> FromRigs | None:
    """Return what rigs sent for a running test; None where the shop has no rig in use."""
    if not Rig.objects.filter(retired=False).exists():
        return None
    rows = rig_files.files_for_test(test)
    return FromRigs(rows=rows, address=test.get_absolute_url(), test=test)


def shown_for_rig(rig: Rig) -> FromRigs:
    """Return what a rig sent last."""
    rows = list(rig_files.files_with_use().filter(rig=rig)[: rig_files.SHOWN])
    return FromRigs(rows=rows, address=rig.get_absolute_url())


def part_answer(request: HttpRequest, shows: Callable[[], FromRigs | None]) -> HttpResponse | None:
    """Answer a page that asks again for what came: nothing new is 204; None where the page is asked for."""
    if not request.headers.get("HX-Request") or "seen" not in request.GET:
        return None
    shown = shows()
    if shown is None or request.GET["seen"] == shown.seen:
        return HttpResponse(status=204)
    context = {"from_rigs": shown, "asked_again": True, "may_test": may(request.user, "test")}
    answer = render(request, "workorders/_from_rigs_list.html", context)
    answer["X-Part"] = "from-rigs"
    return answer


def is_open(row: RigFile) -> bool:
    """Whether a file was handed in for a test that still runs."""
    handed = row.logger_file
    return handed is not None and handed.pressure_test.state == PressureTest.State.RUNNING


def confirm_address(row: RigFile) -> str:
    """Return the address that shows a handed-in file for confirmation, read by the rig's column."""
    assert row.logger_file is not None
    limit, test = row.logger_file.limit, row.logger_file.pressure_test
    page = reverse("workorders:test_step", args=[test.pk, limit.step.order])
    column = "" if row.pressure_column is None else f"&r{limit.pk}-pressure={row.pressure_column}"
    return f"{page}?r{limit.pk}-file={row.logger_file_id}{column}#step"
