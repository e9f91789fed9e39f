"""Stored files, for signed-in people only."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_GET

from shop.models import StoredFile
from shop.services.files import read_bytes
from shop.views.answers import needs

SHOWN_INLINE = ("image/jpeg", "application/pdf")


@require_GET
@needs("see")
def file(request: HttpRequest, pk: int) -> HttpResponse:
    """Serve one stored file; whatever is not a photo or a PDF is a download."""
    row = get_object_or_404(StoredFile, pk=pk)
    response = HttpResponse(read_bytes(row), content_type=row.content_type)
    name = "".join(c if c.isalnum() or c in "-_." else "_" for c in row.name)
    shown = content_disposition_header(row.content_type not in SHOWN_INLINE, name)
    response["Content-Disposition"] = shown or "inline"  # without a name
    response["Cache-Control"] = "private, max-age=3600"
    return response
