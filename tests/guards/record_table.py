"""The table of docs/record.md, made from the markers on the tests.

Run ``python -m tests.guards.record_table`` to write it anew.
"""

import ast
import csv
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROWS = ROOT / "docs" / "record_rows.csv"
PAGE = ROOT / "docs" / "record.md"
BEGIN, END = "<!-- table: begin -->", "<!-- table: end -->"


def rows():
    """The rows of the list, in order."""
    with ROWS.open(newline="", encoding="utf-8") as source:
        return list(csv.DictReader(source))


def marked_rows(decorators):
    """Row numbers named by ``record_row`` markers among decorator or assignment expressions."""
    return [
        str(call.args[0].value)
        for node in decorators
        for call in ast.walk(node)
        if isinstance(call, ast.Call)
        and isinstance(call.func, ast.Attribute)
        and call.func.attr == "record_row"
    ]


def marked_tests(root=ROOT / "tests"):
    """Map row number -> list of ``file: test`` that carry its marker."""
    found = {}
    for path in sorted(root.rglob("test_*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        whole = marked_rows(
            n.value for n in tree.body if isinstance(n, ast.Assign) and names(n) == ["pytestmark"]
        )
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                for row in dict.fromkeys([*whole, *marked_rows(node.decorator_list)]):
                    found.setdefault(row, []).append((path.name, node.name))
    return found


def names(node):
    """Plain names that an assignment binds."""
    return [target.id for target in node.targets if isinstance(target, ast.Name)]


def table(found):
    """The table as Markdown; a row without a test says so."""
    lines = ["| row | modelled on | what must be shown | shown by |", "|---|---|---|---|"]
    for row in rows():
        tests = found.get(row["row"], [])
        shown = "; ".join(f"`{name}`" for _file, name in tests[:3])
        if len(tests) > 3:
            shown += f" and {len(tests) - 3} more"
        if not tests:
            shown = "no test yet" if row["due"] == "later" else "**no test**"
        asked = row["what the record or the certificate must show"]
        lines.append(f"| {row['row']} | {row['modelled on']} | {asked} | {shown} |")
    return "\n".join(lines)


def page_with(text, found):
    """The page with its table made anew."""
    head, rest = text.split(BEGIN)
    tail = rest.split(END)[1]
    return f"{head}{BEGIN}\n{table(found)}\n{END}{tail}"


if __name__ == "__main__":
    PAGE.write_text(page_with(PAGE.read_text(encoding="utf-8"), marked_tests()), encoding="utf-8")
