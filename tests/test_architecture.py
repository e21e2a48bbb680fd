"""The house plan as law: a room imports only the rooms above it."""

import ast
from collections import Counter
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import prepcheck

ROOT = Path(prepcheck.__file__).parent

EVERYWHERE = {"frozen"}
ALLOWED: dict[str, set[str]] = {
    "frozen": set(),
    "units": set(),
    "geometry": set(),
    "outline": {"geometry"},
    "errors": set(),
    "words": set(),
    "output": {"errors"},
    "findings": {"geometry"},
    "said": {"findings"},
    "comparison": {"geometry", "findings", "numbering"},
    "faults": set(),
    "tables": {"faults"},
    "spec": {"units", "geometry", "outline", "errors", "findings", "faults", "tables", "words"},
    "order": {"errors", "faults", "tables", "words"},
    "art": {"units", "geometry", "errors", "words"},
    "press": {"units", "geometry", "outline", "errors", "art"},
    "measure": {"units", "geometry", "outline", "art", "press"},
    "sheets": {
        "units", "geometry", "outline", "errors", "words", "findings", "said", "spec", "order",
        "art", "press", "measure",
    },
    "checks": {
        "units", "geometry", "outline", "errors", "words", "findings", "said", "spec", "order",
        "art", "press", "measure", "sheets",
    },
    "judging": {
        "units", "geometry", "outline", "errors", "findings", "said", "order", "spec", "sheets",
        "checks",
    },
    "numbering": {"findings", "words"},
    "todo": {"findings", "numbering", "words"},
    "proof": {
        "units", "geometry", "outline", "output", "errors", "words", "findings", "comparison",
        "spec", "todo", "numbering",
    },
    "template": {
        "units", "geometry", "outline", "errors", "words", "output", "spec", "art", "measure",
        "proof",
    },
    "labelsheet": {
        "units", "geometry", "errors", "words", "output", "art", "proof",
    },
    "report": {"words", "findings", "comparison", "geometry", "todo", "numbering", "output"},
    "run": {
        "units", "geometry", "outline", "errors", "words", "findings", "said", "spec", "order",
        "art", "press", "measure", "sheets", "judging", "proof", "labelsheet", "report", "faults",
        "comparison", "output", "numbering",
    },
    "intake": {
        "units", "geometry", "outline", "errors", "words", "findings", "spec", "order", "art",
        "measure", "sheets", "faults", "output", "run",
    },
    "book": {
        "errors", "output", "words", "faults", "tables", "findings", "numbering", "comparison",
        "spec", "order", "proof", "report", "run", "intake",
    },
    "desk": {
        "book", "errors", "output", "words", "findings", "spec", "order", "proof", "template",
        "report", "run", "intake",
    },
    "cli": {
        "book", "desk", "errors", "comparison", "findings", "spec", "order", "output", "report",
        "template", "labelsheet", "run", "intake",
    },
}  # fmt: skip


def room_of(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else ""


def imports(path: Path) -> set[str]:
    """Return the rooms a file imports, function bodies and type-checking blocks included."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found |= {room_of(a.name) for a in node.names if a.name.startswith("prepcheck.")}
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("prepcheck"):
            if node.module == "prepcheck":
                found |= {a.name for a in node.names if not a.name.startswith("_")}
            else:
                found.add(room_of(node.module or ""))
    return found


def test_every_room_imports_only_rooms_above_it() -> None:
    wrong = []
    for path in sorted(ROOT.rglob("*.py")):
        relative = path.relative_to(ROOT)
        if relative.parts[0] in ("__init__.py", "__main__.py", "profiles"):
            continue
        room = relative.parts[0].removesuffix(".py")
        wrong += [
            f"{relative} imports {name}"
            for name in sorted(imports(path) - {room} - EVERYWHERE)
            if name not in ALLOWED.get(room, set())
        ]
    assert wrong == []


def files_imported(path: Path) -> set[Path]:
    """Return the files that a file imports, function bodies and type-checking blocks included.

    The package itself is left out: it holds the version, and hands on what is asked of it.
    """
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [node.module or "", *(f"{node.module}.{alias.name}" for alias in node.names)]
        else:
            continue
        for name in names:
            module, *inner = name.split(".")
            if module == "prepcheck" and inner:
                own = ROOT.joinpath(*inner)
                found |= {own.with_suffix(".py"), own / "__init__.py"}
    return {file for file in found if file.exists()} - {path}


def test_no_file_imports_itself_by_way_of_others() -> None:
    graph = {path: files_imported(path) for path in ROOT.rglob("*.py")}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        pytest.fail(" <- ".join(str(path.relative_to(ROOT)) for path in error.args[1]))


def test_no_file_is_a_god_module() -> None:
    long = [
        f"{path.relative_to(ROOT)}: {count} lines"
        for path in sorted(ROOT.rglob("*.py"))
        if (count := len(path.read_text().splitlines())) > 500
    ]
    assert long == []


def test_only_the_command_line_prints() -> None:
    wrong = [
        str(path.relative_to(ROOT))
        for path in sorted(ROOT.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "print"
    ]
    assert wrong == []


CHECKS = ROOT / "checks"
OPENS = {
    "open", "open_art", "read_bytes", "read_text", "write_bytes", "write_text", "unlink",
    "render", "render_rgb", "separation", "plates_or_screen", "import_module", "__import__",
}  # fmt: skip
OUTSIDE = {"io", "os", "shutil", "socket", "subprocess", "tempfile", "logging", "PIL", "pypdfium2"}


def faults_of_a_check(source: str) -> list[str]:
    """Return what a check does that is no check's: its own work is to call, compare and yield."""
    wrong = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            wrong += [a.name for a in node.names if a.name.partition(".")[0] in OUTSIDE]
        elif isinstance(node, ast.ImportFrom):
            module, names = node.module or "", {alias.name for alias in node.names}
            if module.startswith("prepcheck.checks") or node.level:
                wrong.append(f"imports {module}")
            # Of the press a check knows the arrays it is given, and nothing that makes them.
            if module.startswith("prepcheck.press") and not names <= {"View", "ByteArray"}:
                wrong.append(f"imports {module}")
            if module.partition(".")[0] in OUTSIDE:
                wrong.append(f"imports {module}")
        elif isinstance(node, ast.Call):
            name = getattr(node.func, "id", "") or getattr(node.func, "attr", "")
            if name in OPENS:
                wrong.append(f"calls {name}")
            if name == "Finding":
                wrong.append("makes a Finding by itself, and not by `exam.finding`")
    return wrong


def test_a_check_neither_opens_nor_renders_nor_knows_another() -> None:
    files = sorted(CHECKS.glob("*.py"))
    assert len(files) > 50
    found = {path.name: faults_of_a_check(path.read_text()) for path in files}
    assert {name: wrong for name, wrong in found.items() if wrong} == {}


def test_what_a_check_must_not_do_is_seen() -> None:
    for source in (
        "from prepcheck.checks.bleed_box import BOX",
        "from . import bleed_box",
        "import subprocess",
        "from PIL import Image",
        "from prepcheck.press.render import render_rgb",
        "def examine(exam): sheet = open('a')",
        "def examine(exam): return exam.path.read_bytes()",
        "def examine(exam): yield Finding('a.b', None, '', '', '')",
    ):
        assert faults_of_a_check(source), source


SAME_NAME: dict[str, str] = {
    "board": "the command and the desk's page show one board",
    "book": "the command opens the book that the room is about",
    "compare": "a comparison: made in `run`, written in `report`",
    "comparing": "what `prepcheck compare` is told to compare, and how that is found",
    "findings": "the findings of `findings.py`, as the book follows them through rounds",
    "legend": "a legend beside what is drawn",
    "model": "what a room is about, typed and frozen",
    "raster": "art that is one picture: read in `art`, separated in `press`",
    "read": "reads what its package is named after",
    "settings": "how a run, and a desk, are set up",
    "sheeting": "a press sheet: made in `run`, kept in `book`",
    "watching": "an inbox: the command, and what the book does of it",
    "write": "writes what its room is named after",
}
"""Modules of one name in several rooms, and the one notion that they share."""


def test_modules_of_one_name_are_about_one_thing() -> None:
    count = Counter(path.stem for path in ROOT.rglob("*.py") if path.stem != "__init__")
    assert {name for name, times in count.items() if times > 1} == SAME_NAME.keys()


def test_no_two_classes_have_one_name() -> None:
    """Classes that begin with an underscore are of one file alone, and seen nowhere else."""
    places: dict[str, list[str]] = {}
    for path in sorted(ROOT.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places.setdefault(node.name, []).append(str(path.relative_to(ROOT)))
    assert {name: files for name, files in places.items() if len(files) > 1} == {}
