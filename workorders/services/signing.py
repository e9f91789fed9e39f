"""Signatures: who vouches for a step of a rebuild, over the digest of the record as it stands."""

import hashlib
import json
from datetime import datetime
from typing import Any

from shop.errors import RuleBroken
from shop.services.writing import Act, keep
from workorders.models import Rebuild, Signature


def digest(content: Any) -> str:
    """Return the SHA-256 of plain data written as sorted JSON without spaces."""
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def sign(
    *, act: Act, rebuild: Rebuild, meaning: str, content: Any, done_at: datetime | None = None
) -> Signature:
    """Add a signature of the act's person; call inside a service.

    ``done_at`` is when the work was completed, where that was before now. Raises RuleBroken when
    it lies in the future.
    """
    if done_at and done_at > act.at:
        raise RuleBroken(fields={"done_at": "The work cannot be completed in the future."})
    return keep(
        Signature(
            rebuild=rebuild,
            meaning=meaning,
            printed_name=str(act.by),
            authority_no=act.by.authority_no,
            done_at=done_at or act.at,
            content_sha256=digest(content),
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )
