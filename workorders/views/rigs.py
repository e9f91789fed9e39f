"""The register of rigs: list, page, entry, instruments mounted, tokens."""

from datetime import date, timedelta
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Max, Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods

from shop.changes import changes
from shop.errors import RuleBroken
from shop.forms.rows import WhyForm
from shop.roles import may, refusal
from shop.views.answers import act_of, answer_form, needs, once, searched, show_rule
from shop.views.narrowing import with_words
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.forms.rigs import MountForm, RigChangeForm, RigForm, TokenForm
from workorders.models import Rig, RigChannel, RigToken
from workorders.services import rigs
from workorders.services.instruments import calibration_state
from workorders.views import rig_columns, trails
from workorders.views.rig_parts import part_answer, shown_for_rig

PER_PAGE = 50
ENDS_SOON_DAYS = 30
REFUSALS = 20
WAITING = Count(
    "files", filter=Q(files__logger_file__isnull=True, files__dismissed_at__isnull=True), distinct=True
)
SHOWN = (("use", "in use"), ("retired", "retired"))


@require_GET
@needs("see")
def rig_list(request: HttpRequest) -> HttpResponse:
    """Rigs with their fluid, what waits, and when each sent last."""
    shown, text = request.GET.get("show", "use"), searched(request)
    rows = Rig.objects.filter(retired=shown == "retired").select_related("fluid")
    rows = rows.annotate(waiting=WAITING, last_at=Max("files__arrived_at")).order_by("code")
    rows = with_words(rows, text, "code", "name", "place", "fluid__name", "note")
    rows = in_order(request, rig_columns.RIGS, rows)
    context = {
        "page": Paginator(rows, PER_PAGE).get_page(request.GET.get("page")),
        "shown": shown,
        "views": SHOWN,
        "text": text,
        "may_change": may(request.user, "rigs"),
    }
    return answer_list(request, "workorders/rigs.html", context, table=rig_columns.RIGS, rows=rows)


@require_GET
@needs("see")
def rig(request: HttpRequest, pk: int) -> HttpResponse:
    """One rig: what came from it, what is mounted, its tokens, what was refused, its changes."""
    row = get_object_or_404(Rig.objects.select_related("fluid"), pk=pk)
    if part := part_answer(request, lambda: shown_for_rig(row)):
        return part
    today = timezone.localdate()
    mounted = row.channels.select_related("instrument").prefetch_related("instrument__calibrations")
    tokens = row.tokens.select_related("made_by", "revoked_by")
    context = {
        "rig": row,
        "from_rigs": shown_for_rig(row),
        "channels": [(each, calibration_state(each.instrument, today)) for each in mounted],
        "tokens": [(each, rigs.stands_for(each), _ends(each, today)) for each in tokens],
        "refusals": row.refusals.select_related("token")[:REFUSALS],
        "changes": changes(
            row.history.all(),
            several=[RigChannel.history.filter(rig=row), RigToken.history.filter(rig=row)],
        ),
        "may_change": may(request.user, "rigs"),
        "may_label": may(request.user, "labels"),
        "may_test": may(request.user, "test"),
        "refusal": refusal(request.user, "rigs"),
    }
    return render(request, "workorders/rig.html", context)


def _ends(token: RigToken, today: date) -> str:
    """Say whether a token has ended or soon will; empty where neither."""
    if token.has_ended(today):
        return "ended"
    return "ends soon" if token.has_ended(today + timedelta(days=ENDS_SOON_DAYS)) else ""


@require_http_methods(["GET", "POST"])
@needs("rigs")
def rig_new(request: HttpRequest) -> HttpResponse:
    """Add a rig."""
    return answer_form(
        request,
        form=RigForm(request.POST or None),
        template="workorders/rig_form.html",
        context={"trail": trails.to_rigs()},
        write=lambda data: rigs.save_rig(act=act_of(request), **data),
    )


@require_http_methods(["GET", "POST"])
@needs("rigs")
def rig_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a rig, with the reason."""
    row = get_object_or_404(Rig, pk=pk)

    def write(data: dict[str, Any]) -> Rig:
        why = data.pop("why")
        return rigs.save_rig(act=act_of(request, why), rig=row, **data)

    return answer_form(
        request,
        form=RigChangeForm(request.POST or None, initial=RigChangeForm.initial_of(row)),
        template="workorders/rig_form.html",
        context={"rig": row, "trail": trails.to_rig(row)},
        write=write,
    )


@require_http_methods(["GET", "POST"])
@needs("rigs")
def rig_mount(request: HttpRequest, pk: int) -> HttpResponse:
    """Mount an instrument on a rig."""
    row = get_object_or_404(Rig, pk=pk)
    return answer_form(
        request,
        form=MountForm(request.POST or None),
        template="shop/form_page.html",
        context={
            "cancel_url": row.get_absolute_url(),
            "title": f"Mount an instrument on {row.code}",
            "submit": "Mount it",
            "trail": trails.to_rig(row),
        },
        write=lambda data: rigs.mount_instrument(act=act_of(request), rig=row, **data).rig,
    )


@require_http_methods(["GET", "POST"])
@needs("rigs")
def rig_take_off(request: HttpRequest, pk: int, channel_pk: int) -> HttpResponse:
    """Take an instrument off a rig, with the reason."""
    row = get_object_or_404(Rig, pk=pk)
    mounted = row.channels.select_related("rig", "instrument")
    channel = mounted.filter(pk=channel_pk).first()
    if request.method == "GET" and not channel:
        raise Http404("There is no such instrument on this rig.")

    # Looked up inside the write: a repeated request still gets the answer of the first.
    def write(data: dict[str, Any]) -> Rig:
        found = get_object_or_404(mounted, pk=channel_pk)
        return rigs.take_off_instrument(act=act_of(request, data["why"]), channel=found)

    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        context={
            "cancel_url": row.get_absolute_url(),
            "title": f"Take {channel.instrument.code} off {row.code}" if channel else f"Take off {row.code}",
            "note": "Files that came already keep the instrument that wrote them.",
            "submit": "Take it off",
            "trail": trails.to_rig(row),
        },
        write=write,
    )


@require_http_methods(["GET", "POST"])
@needs("rigs")
@never_cache
def token_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a token and show it: this once, and never again."""
    row = get_object_or_404(Rig, pk=pk)
    usual = rigs.usual_last_day(timezone.localdate())
    form = TokenForm(request.POST or None, initial={"last_day": usual})
    context: dict[str, Any] = {"rig": row, "form": form, "trail": trails.to_rig(row)}
    if request.method == "GET":
        return render(request, "workorders/rig_token_new.html", context)
    made: list[tuple[RigToken, str]] = []

    def write() -> Rig:
        made.append(rigs.make_token(act=act_of(request), rig=row, **form.cleaned_data))
        return row

    if form.is_valid():
        try:
            address = once(request, write)
        except RuleBroken as error:
            show_rule(form, error)
        else:
            if not made:  # the same form again: what it made was shown already
                return redirect(address)
            token, secret = made[0]
            shown = {"rig": row, "token": token, "secret": secret, "trail": trails.to_rig(row)}
            return render(request, "workorders/rig_token.html", shown, status=201)
    return render(request, "workorders/rig_token_new.html", context, status=422)


@require_http_methods(["GET", "POST"])
@needs("rigs")
def token_revoke(request: HttpRequest, pk: int, token_pk: int) -> HttpResponse:
    """Revoke a token, with the reason."""
    token = get_object_or_404(RigToken.objects.select_related("rig"), pk=token_pk, rig=pk)
    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        context={
            "cancel_url": token.rig.get_absolute_url(),
            "title": f"Revoke {token}",
            "note": "Nothing more is taken from whoever holds it. What was sent with it stays.",
            "submit": "Revoke it",
            "trail": trails.to_rig(token.rig),
        },
        write=lambda data: rigs.revoke_token(act=act_of(request, data["why"]), token=token).rig,
    )
