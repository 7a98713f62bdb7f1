"""oldcoat knowledge check | show | where | new."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click
import msgspec

from ...engine.problems import nearest
from .. import exits
from ..app import App

if TYPE_CHECKING:
    from ...engine.knowledge.deep import Deep


@click.group()
def knowledge() -> None:
    """Lint the knowledge base, look things up in it, say which layer they are from."""


@knowledge.command()
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.option("--notes", is_flag=True, help="Show notes too: allowed, but thin.")
@click.option("--deep", "is_deep", is_flag=True, help="Say too what the book cannot tell, and where it is weakest.")
@click.pass_obj
def check(app: App, as_json: bool, notes: bool, is_deep: bool) -> int:
    """Check every file of every layer, and all of them together."""
    from ...engine.knowledge.lint import lint
    from ...engine.knowledge.loader import layers_for

    own = [app.places.knowledge] if app.places.knowledge.is_dir() else []
    found = lint(layers_for([*own, *app.extra]))
    code = exits.BAD_KNOWLEDGE if found.faults else exits.DONE
    deeper = _deep(app) if is_deep and not any(p.code == "no-topic" for p in found.faults) else None
    if as_json:
        from ..tell.screen import print_json

        print_json(found if deeper is None else {**msgspec.structs.asdict(found), "deep": deeper})
        return code
    from ..tell.safe import safe

    for problem in found.faults:
        click.echo(safe(str(problem)))
    for problem in found.notes if notes else []:
        click.echo("note: " + safe(str(problem)))
    told = ", ".join(f"{count} {kind}" for kind, count in found.counts.items() if count > 1)
    click.echo(f"{len(found.faults)} faults, {len(found.notes)} notes in {told}.")
    if deeper is not None:
        from ..tell.deep import tell_deep

        tell_deep(deeper, app.knowledge, app.screen)
    return code


def _deep(app: App) -> Deep:
    """The deep check, with the cases that are shipped."""
    from ... import cases
    from ...engine import read_piece
    from ...engine.knowledge.deep import deep

    files = sorted(Path(cases.__file__).parent.glob("*/*.yaml"))
    return deep(app.knowledge, [read_piece(path, app.knowledge) for path in files])


@knowledge.command()
@click.argument("name", metavar="ID")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.pass_obj
def show(app: App, name: str, as_json: bool) -> None:
    """Show the page of a finish, test, remover, wood, stain, treatment, rule or source."""
    from ..tell.page import find, tell_page

    entry = find(name, app.knowledge)
    if entry is None:
        raise _unknown(app, name)
    if as_json:
        from ..tell.screen import print_json

        print_json({"id": name, "kind": entry[0], "entry": entry[1]})
    else:
        tell_page(entry[0], name, entry[1], app.knowledge, app.screen)


@knowledge.command()
@click.argument("name", metavar="ID")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.pass_obj
def where(app: App, name: str, as_json: bool) -> None:
    """Say which layer and file an entry is from."""
    origins = app.knowledge.origins
    found = {key: origin for key, origin in origins.items() if key.split("/", 1)[1] == name}
    found |= {
        f"rules/{file}#{name}": origins[f"rules/{file}"]
        for file, rows in app.knowledge.rules.items()
        if any(r.id == name for r in rows.rules)
    }
    if not found:
        raise _unknown(app, name)
    if as_json:
        from ..tell.screen import print_json

        print_json(found)
        return
    for key, origin in found.items():
        app.screen.line(f"{key}: layer {origin.layer}, {origin.path}:{origin.line}")


@knowledge.command()
@click.argument("kind", type=click.Choice(["finish", "test", "remover", "rule", "wood", "stain"]))
@click.argument("name", metavar="ID")
@click.option("--to", "folder", type=click.Path(path_type=Path), metavar="DIR", help="Your knowledge folder.")
@click.pass_obj
def new(app: App, kind: str, name: str, folder: Path | None) -> None:
    """Write a commented file for a KIND of your own called ID; a copy, if ID is in the book already."""
    from ...engine.casebook.record import is_id
    from ...engine.knowledge.fresh import new_entry
    from ...engine.problems import BadInput, Problem

    if not is_id(name):
        raise click.UsageError(f"{name[:80]!r} is not an id: lower-case words joined by hyphens")
    where = folder or app.places.knowledge
    try:
        path, copied = new_entry(kind, name, where, app.knowledge)
    except OSError as error:
        raise BadInput([Problem(path=str(where), code="cannot-write", message=error.strerror or str(error))]) from None
    app.screen.line(f"{path}: {'a copy of what it replaces' if copied else 'a template to fill in'}.")
    option = f"--knowledge {folder} " if folder else ""
    app.screen.line(f"When you have edited it: oldcoat {option}knowledge check")


def _unknown(app: App, name: str) -> Exception:
    from ..cli import NotFound

    names = {key.split("/", 1)[1] for key in app.knowledge.origins} | {
        r.id for f in app.knowledge.rules.values() for r in f.rules
    }
    return NotFound(f"nothing in the knowledge base is called {name!r}: {nearest(name, names)}")
