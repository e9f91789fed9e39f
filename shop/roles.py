"""Who may do what: one table of actions, read by services, pages and the people page."""

from collections.abc import Mapping
from typing import Any

RECEIVING, BENCH, WARRANTY_DESK, STORES, LEAD = (
    "receiving",
    "bench",
    "warranty desk",
    "stores",
    "lead",
)
ROLES = (RECEIVING, BENCH, WARRANTY_DESK, STORES, LEAD)

# action -> (what it is, in words that complete "You may not ...", roles that may)
ACTIONS: Mapping[str, tuple[str, frozenset[str]]] = {
    "receive": ("receive units", frozenset({RECEIVING, LEAD})),
    "announce": ("announce boxes", frozenset({RECEIVING, WARRANTY_DESK, LEAD})),
    "labels": ("print labels and tags", frozenset({RECEIVING, BENCH, LEAD})),
    "customers": ("enter or change customers", frozenset({RECEIVING, WARRANTY_DESK, LEAD})),
    "merge_customers": ("merge customers or take a merge back", frozenset({WARRANTY_DESK, LEAD})),
    "teardown": ("record a teardown", frozenset({BENCH, LEAD})),
    "draft_type": ("add to a draft unit type at teardown", frozenset({BENCH, LEAD})),
    "lesson": ("write a lesson from the bench", frozenset({RECEIVING, BENCH, LEAD})),
    "go_ahead": ("record a go-ahead", frozenset({RECEIVING, WARRANTY_DESK, LEAD})),
    "promise": (
        "promise a rush or settle who holds a warranty",
        frozenset({RECEIVING, WARRANTY_DESK, LEAD}),
    ),
    "build": ("record parts used and rework", frozenset({BENCH, LEAD})),
    "test": ("run and sign a pressure test", frozenset({BENCH, LEAD})),
    "decide_fluid": ("decide on a rig fluid", frozenset({LEAD})),
    "release": ("sign a release", frozenset({LEAD})),
    "ship": ("pack and ship units", frozenset({RECEIVING, LEAD})),
    "side_exit": ("take a unit out of the rebuild", frozenset({LEAD})),
    "claims": ("open and judge claims", frozenset({WARRANTY_DESK, LEAD})),
    "link_claim": ("tie a claim to a rebuild", frozenset({RECEIVING, WARRANTY_DESK, LEAD})),
    "stores": ("receive, hold and settle lots", frozenset({STORES, LEAD})),
    "costs": ("see margins and enter what lots and outside work cost", frozenset({STORES, LEAD})),
    "work_time": ("record minutes of work", frozenset({BENCH, LEAD})),
    "prices": ("record what was invoiced and what an hour costs", frozenset({LEAD})),
    "recall": ("recall a lot", frozenset({STORES, LEAD})),
    "recall_calls": ("write letters and record calls of a recall", frozenset({WARRANTY_DESK, LEAD})),
    "recall_decide": ("close a recall, withdraw it, or let a unit go", frozenset({LEAD})),
    "make": ("make lots in house", frozenset({STORES, BENCH, LEAD})),
    "pack_kits": ("pack kits", frozenset({STORES, BENCH, LEAD})),
    "instruments": ("change instruments and their calibration", frozenset({LEAD})),
    "rigs": ("change rigs and their tokens", frozenset({LEAD})),
    "review_instrument": (
        "review what an instrument found out of tolerance touched",
        frozenset({LEAD}),
    ),
    "catalogue": ("change unit types, limits, plans and kits", frozenset({LEAD})),
    "import": ("enter lists from files", frozenset({LEAD})),
    "people": ("change people and shop settings", frozenset({LEAD})),
    "see": ("see the shop's records", frozenset(ROLES)),
}


def roles_of(user: Any) -> frozenset[str]:
    """Return the names of the groups that a user belongs to (cached on the user object)."""
    if not user.is_authenticated or not user.is_active:
        return frozenset()
    if not hasattr(user, "_roles"):
        user._roles = frozenset(user.groups.values_list("name", flat=True))
    roles: frozenset[str] = user._roles
    return roles


def may(user: Any, action: str) -> bool:
    """Tell whether a user may do an action of ``ACTIONS``; an unknown action is a KeyError."""
    _words, allowed = ACTIONS[action]
    return bool(roles_of(user) & allowed)


def refusal(user: Any, action: str) -> str:
    """Say in one sentence why a user may not do an action and who may."""
    words, allowed = ACTIONS[action]
    who = " or ".join(role for role in ROLES if role in allowed)
    return f"You may not {words}. Ask somebody from: {who}."
