"""The house stands as it was drawn: what may use what, who may print, how long a file may be."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

HOME = Path(__file__).resolve().parents[2]
ROOMS = ("engine", "shell", "knowledge", "cases")
MOST_LINES, MOST_OF_A_FUNCTION = 400, 60
AT_THE_TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "knowledge", "engine", "shell", "tests", "cases"}
MADE_BY_TOOLS = {"build", "dist"}  # what building leaves behind; git ignores it
FILES = [path for room in ("engine", "shell") for path in sorted((HOME / room).rglob("*.py"))]
NAMED = [str(path.relative_to(HOME)) for path in FILES]


def tree(path: Path) -> ast.Module:
    """The file as Python sees it."""
    return ast.parse(path.read_text("utf-8"))


def imported(path: Path) -> Iterator[str]:
    """Every module that a file imports, whole: `engine.belief.tables`, `click`."""
    here = path.relative_to(HOME).with_suffix("").parts
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            yield from (alias.name.removeprefix("oldcoat.") for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level:
            yield (node.module or "").removeprefix("oldcoat.")
        elif isinstance(node, ast.ImportFrom):
            above = here[: len(here) - node.level]
            start = [*above, *(node.module.split(".") if node.module else [])]
            yield from (".".join([*start, alias.name]) for alias in node.names)


def room_of(module: str) -> str:
    """The first part of a module's name."""
    return module.split(".")[0]


@pytest.mark.parametrize("path", FILES, ids=NAMED)
def test_dependencies_point_down(path: Path) -> None:
    """The engine knows neither shell nor cases; the shell alone knows a terminal; nobody knows the tests."""
    found = set(map(room_of, imported(path)))
    assert "tests" not in found
    if path.is_relative_to(HOME / "engine"):
        assert not found & {"shell", "cases", "click", "rich", "prompt_toolkit", "jinja2"}


def rooms_of(house: str) -> list[str]:
    """The rooms of engine or shell from the ground up, as DEVELOPERS.md has them."""
    told = (HOME / "DEVELOPERS.md").read_text("utf-8").partition("tests/house reads and holds to:\n\n")[2]
    rows = dict(row.split(":") for row in re.split(r"\n    (?=\w)", told.partition("\n\n")[0].strip()))
    return rows[house].split()


def floor_of(module: str, rooms: list[str]) -> int:
    """On which floor a module stands: that of the room whose name says most of it."""
    parts = module.split(".")[1:]
    names = (".".join(parts[:many]) for many in (2, 1))
    return next(rooms.index(name) for name in names if name in rooms)


@pytest.mark.parametrize("name", [name for name in NAMED if name.count("/") > 1 or not name.endswith("__init__.py")])
def test_no_room_reaches_up(name: str) -> None:
    """Each stands on the rooms before it, wherever in a file it imports from them."""
    house, here = name.split("/")[0], name.removesuffix(".py").replace("/", ".")
    rooms, used = rooms_of(house), {module for module in imported(HOME / name) if module.startswith(f"{house}.")}
    assert not {module for module in used if floor_of(module, rooms) > floor_of(here, rooms)}


@pytest.mark.parametrize("house", ["engine", "shell"])
def test_every_room_has_a_floor(house: str) -> None:
    """What DEVELOPERS.md lists is there, and nothing else."""
    there = {path.stem for path in (HOME / house).iterdir() if path.suffix == ".py" or (path / "__init__.py").is_file()}
    parts = {room for room in rooms_of(house) if "." in room}
    assert sorted(rooms_of(house)) == sorted((there | parts) - {"__init__"})


def test_one_module_knows_experta() -> None:
    """`import experta`, and the frozendict that it stands on, in the matcher only."""
    users = {
        name
        for name, path in zip(NAMED, FILES, strict=True)
        if {"experta", "frozendict"} & set(map(room_of, imported(path)))
    }
    assert users == {"engine/reasoning/matcher.py"}


@pytest.mark.parametrize("name", [name for name in NAMED if name.startswith("engine/")])
def test_the_engine_never_prints(name: str) -> None:
    """No print, no input, no standard stream, no exit."""
    for node in ast.walk(tree(HOME / name)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in ("print", "input", "exit", "breakpoint"), node.lineno
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "sys":
            assert node.attr not in ("stdout", "stderr", "stdin", "exit", "argv"), node.lineno


@pytest.mark.parametrize("path", FILES, ids=NAMED)
def test_nothing_is_too_long(path: Path) -> None:
    """Files and functions that can be read."""
    assert len(path.read_text("utf-8").splitlines()) <= MOST_LINES
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            assert length <= MOST_OF_A_FUNCTION, f"{node.name} has {length} lines"


def public(nodes: list[ast.stmt]) -> Iterator[ast.FunctionDef | ast.ClassDef]:
    """Public functions, classes and methods, nested ones in functions left out."""
    for node in nodes:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from public(node.body)


@pytest.mark.parametrize(
    "path", [*FILES, *sorted((HOME / "tests").rglob("*.py"))], ids=lambda p: str(p.relative_to(HOME))
)
def test_everything_public_says_what_it_is(path: Path) -> None:
    """A docstring on each module, public class, function and method that has anything to say."""
    module = tree(path)
    if module.body:
        assert ast.get_docstring(module), "the module"
    for node in public(module.body):
        assert ast.get_docstring(node), f"{node.name}, line {node.lineno}"


def test_what_stands_at_the_top() -> None:
    """Nothing is visible at the top that a newcomer would not expect."""
    seen = {path.name for path in HOME.iterdir() if not path.name.startswith(".")}
    extra = {name for name in seen - AT_THE_TOP if name not in MADE_BY_TOOLS and not name.endswith(".egg-info")}
    assert not extra
    assert seen >= AT_THE_TOP


@pytest.mark.parametrize("room", ROOMS)
def test_rooms_are_packages(room: str) -> None:
    """Each of the four installs as a package of oldcoat."""
    assert (HOME / room / "__init__.py").is_file()


def test_every_package_is_installed() -> None:
    """Each folder with Python in it is named in pyproject.toml, and each one named is there."""
    import tomllib

    told = tomllib.loads((HOME / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]["packages"]
    there = {path.parent for room in ROOMS for path in (HOME / room).rglob("__init__.py")}
    assert set(told) == {".".join(["oldcoat", *folder.relative_to(HOME).parts]) for folder in there}
