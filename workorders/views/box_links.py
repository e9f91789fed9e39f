"""Links for customers: made and revoked at the desk; the page behind one needs no sign-in."""

from typing import Any
from urllib.parse import quote, urlencode

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.models import Customer, ShopProfile
from shop.services.writing import Act
from shop.views.answers import act_of, answer_form, answer_post, needs, searched
from shop.views.narrowing import with_words
from shop.views.sorting import in_order, sorting_of
from shop.views.tables import answer_list
from workorders.documents.box_slip import PACKING
from workorders.forms.boxes import LinkAnnounceForm, LinkForm
from workorders.models import BoxLink
from workorders.services import box_links
from workorders.views import columns, trails
from workorders.views.boxes import slip_answer


@require_http_methods(["GET", "POST"])
@needs("announce")
def links(request: HttpRequest) -> HttpResponse:
    """Every link, the latest first, narrowed by text, and the form that makes one."""
    pk = request.GET.get("customer", "")
    customer = get_object_or_404(Customer, pk=pk) if pk.isdecimal() else None
    text = searched(request)
    every = BoxLink.objects.select_related("customer", "made_by", "box")
    every = with_words(every, text, "for_whom", "customer__name", "box__number", "made_by__printed_name")
    every = in_order(request, columns.LINKS, every)
    page = Paginator(every, 25).get_page(request.GET.get("page"))
    now = timezone.now()
    rows = [(row, row.is_good(now), address := _address(row), _letter(row, address)) for row in page]
    form = LinkForm(request.POST or None, initial={"for_whom": customer.name if customer else ""})
    context = {
        "page": page,
        "links": rows,
        "customer": customer,
        "text": text,
        "trail": trails.to_boxes(),
        "form": form,
        "sorting": sorting_of(request, columns.LINKS),
    }
    template = "workorders/box_links.html"
    if request.method == "GET":
        return answer_list(request, template, context, table=columns.LINKS, rows=every)

    def write(data: dict[str, Any]) -> BoxLink:
        made = box_links.make_link(act=act_of(request), customer=customer, **data)
        messages.success(request, f"The link for {made.for_whom} is made. Send its address to them.")
        return made

    return answer_form(request, form=form, template=template, write=write, context=context)


def _address(link: BoxLink) -> str:
    return settings.PUBLIC_ADDRESS + link.public_path()


def _letter(link: BoxLink, address: str) -> str:
    """Return what opens an e-mail that tells the customer of the link, to be read before it is sent."""
    text = (
        "Please say here what you send us and what is wrong with it, and print the slip for the box:\n\n"
        f"{address}\n\n"
        f"The address is good for one box, until {date_format(timezone.localdate(link.expires_at), 'd M Y')}."
    )
    to = link.customer.email if link.customer else ""
    told = urlencode({"subject": "Your box to us", "body": text}, quote_via=quote)
    return f"mailto:{quote(to, safe='@')}?{told}"


@require_POST
@needs("announce")
def link_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a link useless."""
    row = get_object_or_404(BoxLink, pk=pk)
    return answer_post(request, lambda: box_links.revoke_link(act=act_of(request), link=row))


@require_http_methods(["GET", "POST"])
@login_not_required
@never_cache
def announce(request: HttpRequest, token: str) -> HttpResponse:
    """Let whoever holds the link announce one box; afterwards show its slip, until the box is here."""
    link = BoxLink.objects.select_related("box", "made_by", "customer").filter(token=token).first()
    profile = ShopProfile.objects.first()
    if link is None or not link.is_good(timezone.now()):
        return _over(request, profile)
    if link.box and request.method == "GET":
        return _announced(request, link, profile)
    form = LinkAnnounceForm(request.POST or None)

    def write(_data: dict[str, Any]) -> str:
        box_links.announce_by_link(act=Act(by=link.made_by), link=link, **form.told)
        return link.public_path()

    context: dict[str, Any] = {"profile": profile, "cautions": _cautions()}
    return answer_form(request, form=form, template="workorders/announce.html", write=write, context=context)


def _over(request: HttpRequest, profile: ShopProfile | None) -> HttpResponse:
    context = {"problem": box_links.NO_LONGER_GOOD, "profile": profile}
    return render(request, "workorders/announce_over.html", context, status=404)


def _announced(request: HttpRequest, link: BoxLink, profile: ShopProfile | None) -> HttpResponse:
    assert link.box is not None
    context = {
        "link": link,
        "lines": link.box.lines.filter(expected=True),
        "profile": profile,
        "cautions": _cautions(),
    }
    return render(request, "workorders/announced.html", context)


def _cautions() -> list[str]:
    return [caution.text for caution in PACKING]


@require_GET
@login_not_required
@never_cache
def announce_slip(request: HttpRequest, token: str) -> HttpResponse:
    """The slip of the box that was announced by this link, as PDF."""
    link = BoxLink.objects.select_related("box__customer", "box__work_order").filter(token=token).first()
    if link is None or link.box is None or not link.is_good(timezone.now()):
        return _over(request, ShopProfile.objects.first())
    return slip_answer(link.box)
