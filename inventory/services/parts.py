"""Parts and suppliers: entered once, changed with a reason."""

from typing import Any

from inventory.models import Part, Supplier
from shop.errors import RuleBroken
from shop.services.writing import Act, keep, locked, service

# What a lot, its age and every certificate of the part rest on.
FIXED_BY_LOTS = ("number", "kind", "polymer")


@service("stores")
def save_part(*, act: Act, part: Part | None = None, **fields: Any) -> Part:
    """Enter a part, or change one for the reason in ``act.why``.

    Raises RuleBroken for a wrong field, a change without a reason, and a change of number, kind
    or polymer once lots of the part were received.
    """
    row = locked(part) if part else Part()
    changed = {name: value for name, value in fields.items() if getattr(row, name) != value}
    if part:
        _check_why(act)
        fixed = [name for name in FIXED_BY_LOTS if name in changed]
        if fixed and row.lots.exists():
            message = "Lots of this part were received, so this stays as it is. Enter a new part instead."
            raise RuleBroken(fields=dict.fromkeys(fixed, message))
    for name, value in changed.items():
        setattr(row, name, value)
    return keep(row)


@service("stores")
def save_supplier(*, act: Act, supplier: Supplier | None = None, **fields: Any) -> Supplier:
    """Enter a supplier, or change one for the reason in ``act.why``."""
    if supplier:
        _check_why(act)
    row = locked(supplier) if supplier else Supplier()
    for name, value in fields.items():
        setattr(row, name, value)
    return keep(row)


def _check_why(act: Act) -> None:
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why this is changed; the reason stays in the history."})
