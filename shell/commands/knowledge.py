"""oldcoat knowledge check | list | show | where | new."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import msgspec

from .. import exits
from ..app import App

if TYPE_CHECKING:
    from ...engine.checking.deep import Deep


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
    from ...engine.checking.lint import lint
    from ...engine.knowledge.loader import layers_for

    app.told_left_out = True
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
    see = app.command("knowledge", "check", "--notes")
    hint = f" To see the notes: {see}" if found.notes and not notes else ""
    click.echo(f"{len(found.faults)} faults, {len(found.notes)} notes in {told}.{hint}")
    if deeper is not None:
        from ..tell.deep import tell_deep

        tell_deep(deeper, app.knowledge, app.screen)
    return code


def _deep(app: App) -> Deep:
    """The deep check, with the cases that are shipped."""
    from ... import cases
    from ...engine import read_piece
    from ...engine.checking.deep import deep

    files = sorted(Path(cases.__file__).parent.glob("*/*.yaml"))
    return deep(app.knowledge, [read_piece(path, app.knowledge) for path in files])


@knowledge.command("list")
@click.argument("kind", required=False, metavar="[KIND]")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.pass_obj
def list_(app: App, kind: str | None, as_json: bool) -> None:
    """List what has a page, by KIND: finish, test, remover, wood, stain, treatment, rule, source, coat, under and more."""
    from ..tell.lookup import by_kind
    from ..tell.screen import print_json

    kinds = by_kind(app.knowledge)
    if kind is not None and kind not in kinds:
        raise click.UsageError(f"{kind[:40]!r} is not a kind: {', '.join(kinds)}")
    chosen = kinds if kind is None else {kind: kinds[kind]}
    if as_json:
        print_json({k: {name: _called(rows[name]) for name in sorted(rows)} for k, rows in chosen.items()})
        return
    for heading, rows in chosen.items():
        app.screen.heading(heading)
        for name in sorted(rows):
            called = _called(rows[name])
            app.screen.line(f"{name}: {called}" if called else name, indent=2)


def _called(entry: Any) -> str:
    """What an entry is called, or what it says in short if it has no name."""
    return str(getattr(entry, "name", "") or getattr(entry, "cite", "") or getattr(entry, "why", ""))


@knowledge.command()
@click.argument("name", metavar="ID")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.pass_obj
def show(app: App, name: str, as_json: bool) -> None:
    """Show the page of a finish, test, remover, wood, stain, treatment, rule or source, by id or by name.

    Where a coat, or what a coat may go over, bears the name of a finish: coat/shellac, under/shellac-waxed.
    """
    from ..tell.lookup import find
    from ..tell.page import tell_page

    found = find(name, app.knowledge)
    if found is None:
        raise _unknown(app, name)
    kind, name, entry = found
    if as_json:
        from ..tell.screen import print_json

        print_json({"id": name, "kind": kind, "entry": entry})
    else:
        tell_page(kind, name, entry, app.knowledge, app.screen)


@knowledge.command()
@click.argument("name", metavar="ID")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.pass_obj
def where(app: App, name: str, as_json: bool) -> None:
    """Say which layer and file an entry is from."""
    from ..tell.lookup import find, origin_of

    origins = app.knowledge.origins
    found = {key: origin for key, origin in origins.items() if key.split("/", 1)[1] == name}
    found |= {
        f"rules/{file}#{name}": origins[f"rules/{file}"]
        for file, rows in app.knowledge.rules.items()
        if any(r.id == name for r in rows.rules)
    }
    if len(found) > 1:
        found.pop(f"rules/{name}", None)  # a file that is named after its one rule
    other = None if found else find(name, app.knowledge)
    origin = origin_of(*other[:2], app.knowledge) if other else None
    if other and origin:
        found[f"{other[0]}/{other[1]}"] = origin
    if not found:
        raise _unknown(app, name)
    if as_json:
        from ..tell.screen import print_json

        print_json(found)
        return
    for key, origin in found.items():
        app.screen.lines([f"{key}: layer {origin.layer}, {origin.path}:{origin.line}"])


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
    own = replace(app, extra=[*app.extra, folder]) if folder and folder not in app.extra else app
    app.screen.line("When you have edited it:")
    app.screen.lines([own.command("knowledge", "check")])


def _unknown(app: App, name: str) -> Exception:
    from ..exits import NotFound
    from ..tell.lookup import meant, nearest_entries

    several = [entry for _, entry, _ in meant(name, app.knowledge)]
    if len(several) > 1:
        return NotFound(f"{name[:80]!r} may mean several: {', '.join(several)}")
    hint = nearest_entries(name, app.knowledge, see=app.command("knowledge", "list"))
    return NotFound(f"nothing in the knowledge base is called {name[:80]!r}: {hint}")
