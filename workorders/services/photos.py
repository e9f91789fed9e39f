"""Photos of a rebuild, added by anybody who works on it."""

from typing import Any

from django.core.files.uploadedfile import UploadedFile

from shop.errors import RuleBroken
from shop.models import Port
from shop.services.files import store_photo
from shop.services.writing import Act, keep, service
from workorders.models import Finding, Photo, Rebuild


@service("see")
def add_photo(
    *,
    act: Act,
    rebuild: Rebuild,
    upload: "UploadedFile[Any]",
    moment: str,
    caption: str = "",
    finding: Finding | None = None,
    port: Port | None = None,
) -> Photo:
    """Store a photo and add it to a rebuild, and to one of its findings or ports where given.

    Raises RuleBroken, naming the file, for what is not a photo or is too large.
    """
    if port and port.revision_id != rebuild.revision_id:
        raise RuleBroken(f"{port} is not a port of {rebuild.revision}.")
    if finding and finding.rebuild_id != rebuild.pk:
        raise RuleBroken("This finding belongs to another rebuild; open the rebuild of the photo.")
    try:
        stored = store_photo(act=act, upload=upload)
    except RuleBroken as error:
        raise RuleBroken(fields={"photo": f"{upload.name}: {error}"}) from error
    return keep(
        Photo(
            rebuild=rebuild,
            finding=finding,
            port=port,
            moment=moment,
            caption=caption.strip(),
            file=stored,
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )
