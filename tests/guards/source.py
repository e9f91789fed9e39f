"""What the guards read of the source: modules, imports, calls, docstrings."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
APPS = ("shop", "inventory", "workorders")


def modules(*parts, root=ROOT):
    """Paths of the Python modules below the apps whose path contains all parts, without migrations."""
    found = []
    for app in APPS:
        for path in sorted((root / app).rglob("*.py")):
            if "migrations" not in path.parts and all(part in path.parts for part in parts):
                found.append(path)
    return found


def tree_of(path):
    return ast.parse(path.read_text(encoding="utf-8"))


def imported(tree):
    """Dotted names that a module imports, wherever in it."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""


def django_imports(tree):
    """What a calc module imports that it must not."""
    return [
        name
        for name in imported(tree)
        if name.split(".")[0] == "django" or re.search(r"\.(models|services|views)\b", name)
    ]


LATER = {"shop": ("inventory", "workorders"), "inventory": ("workorders",), "workorders": ()}


def later_apps(app, text):
    """Later apps that a source text of an app names: imports, model keys, address names, accessors."""
    found = []
    for later in LATER[app]:
        patterns = [
            rf"^\s*(from|import) {later}\b",
            rf"[\"']{later}[.:]\w+",
            rf"get_model\([\"']{later}[\"']",
        ]
        found += [later for pattern in patterns if re.search(pattern, text, re.MULTILINE)]
    return found


BULK = {"bulk_create", "bulk_update", "update"}


def bulk_writes(tree):
    """Calls of bulk writes on managers or querysets: (line, what)."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in BULK:
            chain = ast.unparse(node.func.value)
            if (
                "objects" in chain
                or ".filter(" in chain
                or ".exclude(" in chain
                or ".all()" in chain
                or node.func.attr != "update"
            ):
                found.append((node.lineno, f"{chain}.{node.func.attr}"))
    return found


def public_functions(tree):
    return [n for n in tree.body if isinstance(n, ast.FunctionDef) and not n.name.startswith("_")]


def calc_faults(node):
    """What a public calculation lacks: keywords only, the sections of its docstring, units."""
    doc = ast.get_docstring(node) or ""
    faults = []
    if node.args.args or node.args.posonlyargs:
        faults.append("takes positional arguments")
    if not doc:
        return [*faults, "has no docstring"]
    if node.args.kwonlyargs:
        for section in ("Parameters", "Returns"):
            if not re.search(rf"^{section}\n-+$", doc, re.MULTILINE):
                faults.append(f"has no section {section}")
    return faults
