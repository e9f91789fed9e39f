"""Reference photos of unit types: what a unit in hand is compared with."""

from typing import Any

from django.core.files.uploadedfile import UploadedFile

from shop.errors import RuleBroken
from shop.models import ReferencePhoto, StoredFile, UnitType
from shop.services.files import store_photo
from shop.services.maker_numbers import need_reason
from shop.services.writing import Act, keep, locked, service


@service("catalogue")
def add_reference_photo(
    *,
    act: Act,
    unit_type: UnitType,
    shows: str,
    upload: "UploadedFile[Any] | None" = None,
    file: StoredFile | None = None,
    caption: str = "",
    source: str = "",
) -> ReferencePhoto:
    """Add a photo to a unit type: an upload, or a stored photo that was taken for something else.

    Raises RuleBroken, naming the file, for what is not a photo or is too large, and for a photo
    that the type has already.
    """
    stored = file
    if upload is not None:
        try:
            stored = store_photo(act=act, upload=upload)
        except RuleBroken as error:
            raise RuleBroken(fields={"photo": f"{upload.name}: {error}"}) from error
    if stored is None or stored.kind != StoredFile.Kind.PHOTO:
        raise RuleBroken(fields={"photo": "Choose a photo."})
    return keep(
        ReferencePhoto(
            unit_type=unit_type, file=stored, shows=shows, caption=caption.strip(), source=source[:120]
        )
    )


@service("catalogue")
def change_reference_photo(*, act: Act, row: ReferencePhoto, shows: str, caption: str = "") -> ReferencePhoto:
    """Correct what a photo shows, for the reason in ``act.why``."""
    need_reason(act, "Say why this is corrected; the reason stays in the history.")
    photo = locked(row)
    photo.shows, photo.caption = shows, caption.strip()
    return keep(photo)


@service("catalogue")
def remove_reference_photo(*, act: Act, row: ReferencePhoto) -> UnitType:
    """Take a photo off a unit type for the reason in ``act.why``; the file and the history stay."""
    need_reason(act, "Say why the photo is taken off; the reason stays in the history.")
    unit_type: UnitType = row.unit_type
    locked(row).delete()
    return unit_type
