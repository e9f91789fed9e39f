"""Lists from files: template, upload, check of every row, entering all or nothing, undo."""

from typing import Any

from django.apps import apps
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.changes import changes
from shop.errors import RuleBroken
from shop.forms.imports import EnterForm, ListForm
from shop.forms.rows import WhyForm
from shop.importers import Importer, importer_of, importers
from shop.models import Import, StoredFile
from shop.services import imports
from shop.tables.faults import TableError
from shop.tables.reading import EXAMPLE, MAX_BYTES, MAX_ROWS
from shop.tables.writing import CONTENT_TYPES
from shop.views import columns
from shop.views.answers import act_of, answer_form, needs, once, searched, show_rule
from shop.views.narrowing import with_words
from shop.views.sorting import in_order
from shop.views.tables import answer_list, download_table

SHOWN_FAULTS = 500


def _trail() -> list[tuple[str, str]]:
    return [("Lists from files", reverse("shop:imports"))]


def _importer_or_404(kind: str) -> Importer:
    importer = importer_of(kind)
    if importer is None:
        raise Http404(f"There is no list of {kind}.")
    return importer


@require_GET
@needs("import")
def import_list(request: HttpRequest) -> HttpResponse:
    """What can be entered from a file, and what was."""
    text = searched(request)
    rows = Import.objects.select_related("file", "by")
    rows = with_words(rows, text, "kind", "file__name", "by__printed_name", "undone_why")
    rows = in_order(request, columns.IMPORTS, rows)
    context = {
        "text": text,
        "importers": importers(),
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
    }
    return answer_list(request, "shop/imports.html", context, table=columns.IMPORTS, rows=rows)


@require_http_methods(["GET", "POST"])
@needs("import")
def import_new(request: HttpRequest, kind: str) -> HttpResponse:
    """The columns of a list, its template, and the upload."""
    importer = _importer_or_404(kind)

    def write(data: dict[str, Any]) -> str:
        file = imports.store_file(act=act_of(request), upload=data["file"])
        return reverse("shop:import_check", args=[kind, file.pk])

    return answer_form(
        request,
        form=ListForm(request.POST or None, request.FILES or None),
        template="shop/import_new.html",
        write=write,
        context={
            "importer": importer,
            "forms": tuple(CONTENT_TYPES),
            "example_mark": EXAMPLE,
            "limits": (f"{MAX_ROWS:,}", MAX_BYTES // 2**20),
            "trail": _trail(),
        },
    )


@require_GET
@needs("import")
def import_template(request: HttpRequest, kind: str, form: str) -> HttpResponse:
    """Download the headings of a list, with example rows that are left out when it is read."""
    importer = _importer_or_404(kind)
    names = [field.name for field in importer.fields]
    rows = [[example.get(name, "") for name in names] for example in importer.examples]
    for row in rows:
        row[0] = f"{EXAMPLE} {row[0]}"
    titles = [field.title for field in importer.fields]
    return download_table(name=f"{kind}-template", form=form, titles=titles, rows=rows)


@require_http_methods(["GET", "POST"])
@needs("import")
def import_check(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """What is wrong with a stored file, by row; once nothing is, the button that enters it."""
    importer = _importer_or_404(kind)
    file = get_object_or_404(StoredFile, pk=pk, kind=StoredFile.Kind.LIST)
    back = reverse("shop:import_new", args=[kind])
    form = EnterForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            return redirect(
                once(request, lambda: imports.enter_file(act=act_of(request), importer=importer, file=file))
            )
        except RuleBroken as error:
            show_rule(form, error)
    context: dict[str, Any] = {
        "importer": importer,
        "file": file,
        "form": form,
        "back": back,
        "trail": [*_trail(), (importer.title, back)],
    }
    try:
        check = imports.check_file(act=act_of(request), importer=importer, file=file)
        context |= {"check": check, "faults": check.faults[:SHOWN_FAULTS]}
    except (TableError, RuleBroken) as error:
        context["unreadable"] = str(error)
    return render(request, "shop/import_check.html", context, status=422 if form.is_bound else 200)


@require_GET
@needs("import")
def import_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One import: the file, who and when, and the rows that it made."""
    row = get_object_or_404(Import.objects.select_related("file", "by", "undone_by"), pk=pk)
    made = row.rows.all()
    page = Paginator(made, 50).get_page(request.GET.get("page"))
    importer = importer_of(row.kind)
    context = {
        "entered": row,
        "list_title": importer.title if importer else row.kind,
        "page": page,
        "links": _links(page.object_list),
        "changes": changes(row.history.all()),
        "trail": _trail(),
    }
    return answer_list(request, "shop/import.html", context, table=columns.IMPORTED_ROWS, rows=made)


def _links(made: Any) -> list[tuple[Any, str]]:
    """Pair each imported row with its address; empty where it was taken out or has no page."""
    keys: dict[str, list[int]] = {}
    for each in made:
        keys.setdefault(each.model, []).append(each.row_pk)
    found = {model: apps.get_model(model)._default_manager.in_bulk(pks) for model, pks in keys.items()}
    return [(each, _address(found[each.model].get(each.row_pk))) for each in made]


def _address(row: Any) -> str:
    return row.get_absolute_url() if hasattr(row, "get_absolute_url") else ""


@require_http_methods(["GET", "POST"])
@needs("import")
def import_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back everything that an import made, with the reason."""
    row = get_object_or_404(Import, pk=pk)
    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        write=lambda data: imports.undo_import(act=act_of(request, data["why"]), entered=row),
        context={
            "title": f"Undo {row}",
            "note": "All its rows are taken back, or none: one that is in use or was changed since "
            "forbids it. Lots stay with their ledger, empty and on hold, under another number.",
            "submit": "Take all its rows back",
            "trail": [*_trail(), (str(row), row.get_absolute_url())],
            "cancel_url": row.get_absolute_url(),
        },
    )
