"""The house: every room imports only from rooms below it, lazy and type-only imports counted."""

import ast
from pathlib import Path

import posy.compiler.command

ROOT = Path(posy.compiler.command.__file__).parents[1]
# From the ground up. A room may import from any room named before it, and from itself.
ROOMS = (
    "lang", "stdlib", "measures", "freezing", "geometry", "shapes", "bench", "words", "metal", "house",
    "judging", "rules", "making", "codes", "files", "drawing", "sheets", "cost", "history", "printing",
    "casting", "picture", "pages", "terminal", "editor", "page", "commands", "door",
)


def _modules():
    """Dotted name below posy -> path, of every module."""
    found = {}
    for room in ("lang", "stdlib", "compiler"):
        for path in sorted((ROOT / room).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


MODULES = _modules()


def _room(module):
    parts = module.split(".")
    if parts[0] != "compiler":
        return parts[0]
    return parts[1] if len(parts) > 1 and (ROOT / "compiler" / parts[1]).is_dir() else "door"


def _imports(module, path):
    """Every module that this one imports, wherever in the file the import stands."""
    package = module.split(".") if path.name == "__init__.py" else module.split(".")[:-1]
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name.removeprefix("posy.") for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            start = package[: len(package) - node.level + 1] if node.level else []
            whole = ".".join([*start, *(node.module or "").split(".")]).strip(".")
            whole = whole.removeprefix("posy.")
            names = [
                full if (full := f"{whole}.{alias.name}".strip(".")) in MODULES else whole
                for alias in node.names
            ]
        else:
            continue
        yield from {name for name in names if name in MODULES and name != module}


IMPORTS = {module: sorted(_imports(module, path)) for module, path in MODULES.items()}


def test_the_graph_is_not_empty():
    assert len(MODULES) > 250
    assert "compiler.geometry.frames" in IMPORTS["compiler.bench.placement"]
    assert "compiler.bench.piece_bench" in IMPORTS["compiler.words.wires"]  # type-only


def test_every_folder_of_the_compiler_is_a_room_of_the_list():
    folders = {path.parent.name for path in (ROOT / "compiler").glob("*/__init__.py")}
    assert folders == set(ROOMS) - {"lang", "stdlib", "door"}


def test_no_loose_modules_beside_the_door():
    assert {p.name for p in (ROOT / "compiler").glob("*.py")} == {"__init__.py", "__main__.py", "command.py"}


def test_nothing_imports_uphill():
    """So no circle can run through two rooms."""
    height = {room: floor for floor, room in enumerate(ROOMS)}
    uphill = [
        f"{module} -> {other}"
        for module, others in IMPORTS.items()
        for other in others
        if height[_room(other)] > height[_room(module)]
    ]
    assert uphill == []
