"""Special tools and fixtures: the list, and the pages that enter and change one."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.changes import changes
from shop.forms.technique import ToolChangeForm, ToolForm
from shop.models import SpecialTool
from shop.roles import may, refusal
from shop.services.technique import save_tool
from shop.views import columns
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list


@require_GET
@needs("see")
def tools(request: HttpRequest) -> HttpResponse:
    """List special tools with where each is kept."""
    text = searched(request)
    rows = SpecialTool.objects.annotate(
        types=Count("needs__revision__unit_type", filter=Q(needs__revision__state="approved"), distinct=True)
    ).order_by("number")
    for word in text.split():
        rows = rows.filter(Q(number__icontains=word) | Q(name__icontains=word) | Q(kept_at__icontains=word))
    rows = in_order(request, columns.TOOLS, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "search_text": text,
        "may_change": may(request.user, "catalogue"),
        "refusal": refusal(request.user, "catalogue"),
    }
    return answer_list(request, "shop/tools.html", context, table=columns.TOOLS, rows=rows)


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def tool_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """Enter a special tool, or change one with the reason."""
    row = get_object_or_404(SpecialTool, pk=pk) if pk else None
    url = reverse("shop:tools")

    def write(data: dict[str, Any]) -> str:
        save_tool(act=act_of(request, data.pop("why", "")), tool=row, **data)
        return url

    form_class = ToolChangeForm if row else ToolForm
    return answer_form(
        request,
        form=form_class(request.POST or None, instance=row),
        template="shop/form_page.html",
        write=write,
        context={
            "title": f"Change {row}" if row else "Enter a special tool",
            "submit": "Save the change" if row else "Enter this tool",
            "trail": [("Special tools", url)],
            "cancel_url": url,
            "changes": changes(row.history.all()) if row else None,
        },
    )
