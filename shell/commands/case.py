"""oldcoat case add | confirm | removed | list | show | amend | withdraw | export | import."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ...engine.problems import BadInput, Problem, nearest
from .. import exits
from ..app import App
from ..tell.safe import safe

if TYPE_CHECKING:
    from ...engine.casebook.record import Case

HOWS = ("laboratory", "makers-record", "removal", "opinion")
RESULTS = ("works", "lifts", "softens", "no-effect", "harms")
_file = click.Path(path_type=Path)
_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")


@click.group()
def case() -> None:
    """Keep finished pieces, write down what was really there, learn from them."""


@case.command()
@click.argument("file", type=_file)
@click.option("--another", is_flag=True, help="It is another piece, though the casebook has one just like it.")
@_json
@click.pass_obj
def add(app: App, file: Path, another: bool, as_json: bool) -> None:
    """Keep the piece in FILE as a new case and print its name."""
    from ...engine import read_piece

    piece = read_piece(file, app.knowledge)
    with _told(file):
        kept = app.casebook.add(piece, once=not another)
    _tell(app, kept, as_json, f"Kept as {kept.id}.", *_next(kept))


@case.command()
@click.argument("name", metavar="CASE")
@click.argument("surface")
@click.argument("finish")
@click.option("--how", type=click.Choice(HOWS), required=True, help="How the truth is known.")
@click.option("--when", default="", help="When it was found out.")
@_json
@click.pass_obj
def confirm(app: App, name: str, surface: str, finish: str, how: Any, when: str, as_json: bool) -> None:
    """Write down that a SURFACE of a CASE really carried FINISH."""
    from ...engine.piece.form import Confirmed

    _known("finish", finish, app.knowledge.finishes)
    with _told():
        kept = app.casebook.confirm(name, surface, Confirmed(finish=finish, how=how, when=_text(when)))
    _tell(app, kept, as_json, f"{name}, {surface}: confirmed as {app.knowledge.finishes[finish].name}.")


@case.command()
@click.argument("name", metavar="CASE")
@click.argument("surface")
@click.argument("remover")
@click.argument("result", type=click.Choice(RESULTS))
@click.option("--coats", type=click.FloatRange(0, 1000), help="How many coats or passes it took.")
@click.option("--hours", type=click.FloatRange(0, 10_000), help="How many hours of work it took.")
@click.option("--note", default="", help="Anything worth knowing next time.")
@_json
@click.pass_obj
def removed(
    app: App,
    name: str,
    surface: str,
    remover: str,
    result: Any,
    coats: float | None,
    hours: float | None,
    note: str,
    as_json: bool,
) -> None:
    """Write down how REMOVER ended on a SURFACE of a CASE."""
    from ...engine.piece.form import Removed

    _known("remover", remover, app.knowledge.removers)
    row = Removed(remover=remover, result=result, coats=coats, hours=hours, note=_text(note))
    with _told():
        kept = app.casebook.removed(name, surface, row)
    _tell(app, kept, as_json, f"{name}, {surface}: {app.knowledge.removers[remover].name}, {result.replace('-', ' ')}.")


@case.command("list")
@_json
@click.pass_obj
def list_(app: App, as_json: bool) -> int | None:
    """List all cases, newest first."""
    from ...engine.casebook.record import summary_of
    from ..tell.casebook import tell_list
    from ..tell.screen import print_json

    problems = app.index.refresh()
    rows = sorted(map(summary_of, app.index.cases()), key=lambda row: (row.added, row.id), reverse=True)
    if as_json:
        print_json(rows)
    else:
        tell_list(rows, app.screen)
    return _complain(problems)


@case.command()
@click.argument("name", metavar="CASE")
@_json
@click.pass_obj
def show(app: App, name: str, as_json: bool) -> None:
    """Show a CASE, its history, and every number that it helped to change."""
    from ...engine.belief.tables import Tables
    from ...engine.casebook.trace import doubted, trace_case
    from ..tell.casebook import tell_case

    with _told():
        found = app.casebook.get(name)
    learnt = Tables(app.knowledge, app.index.counts())
    lessons = app.index.lessons()
    traces = trace_case(name, learnt, lessons)
    doubts = doubted([row for row in lessons if row.case == name], app.knowledge)
    if as_json:
        from ..tell.screen import print_json

        print_json({"case": found, "changed": traces, "doubts": doubts})
    else:
        tell_case(found, traces, doubts, app.knowledge, app.screen)


@case.command()
@click.argument("name", metavar="CASE")
@click.argument("file", type=_file)
@click.option("--why", default="", help="What was wrong; kept in the history.")
@click.option("--whatever", is_flag=True, help="Do it even if FILE looks like quite another piece.")
@_json
@click.pass_obj
def amend(app: App, name: str, file: Path, why: str, whatever: bool, as_json: bool) -> None:
    """Put the piece in FILE in the place of that of a CASE; the old one stays in its history."""
    from ...engine import read_piece

    piece = read_piece(file, app.knowledge)
    with _told(file):
        kept = app.casebook.amend(name, piece, _text(why), whatever)
    _tell(app, kept, as_json, f"{name} amended; what it said before stays in its history.{_lost(kept)}")


@case.command()
@click.argument("name", metavar="CASE")
@click.option("--why", default="", help="Kept in the history.")
@click.option("--back", is_flag=True, help="Take it back in.")
@_json
@click.pass_obj
def withdraw(app: App, name: str, why: str, back: bool, as_json: bool) -> None:
    """Take a CASE out of learning; it and its history are kept."""
    with _told():
        kept = app.casebook.withdraw(name, _text(why), back)
    _tell(app, kept, as_json, f"{name} {'counts again' if back else 'is withdrawn and no longer counts'}.")


@case.command("export")
@click.argument("target", type=_file)
@click.argument("names", metavar="[CASE]...", nargs=-1)
@_json
@click.pass_obj
def export(app: App, target: Path, names: tuple[str, ...], as_json: bool) -> int | None:
    """Write cases, all or those named, to TARGET: a folder, .zip or .tar.gz."""
    from ...engine.casebook.exchange import export_cases

    with _told():
        problems = [] if names else app.index.refresh()
        chosen = [app.casebook.get(name) for name in names] if names else app.index.cases()
        if not chosen and not problems:
            raise _not_found("there is no case to export yet")
        count = export_cases(chosen, target)
    if as_json:
        from ..tell.screen import print_json

        print_json({"target": str(target), "cases": count})
    else:
        app.screen.line(f"{count} {'case' if count == 1 else 'cases'} written to {target}.")
    return _complain(problems)


@case.command("import")
@click.argument("source", type=_file)
@_json
@click.pass_obj
def import_(app: App, source: Path, as_json: bool) -> int | None:
    """Take the cases of SOURCE (a folder, .zip, .tar.gz or .yaml) into the casebook."""
    from ...engine.casebook.exchange import import_cases
    from ..tell.progress import progress

    with _told():
        done = import_cases(app.casebook, source, progress("taking in"))
    if as_json:
        from ..tell.screen import print_json

        print_json(done)
    else:
        app.screen.line(f"{len(done.taken)} taken in, {len(done.here)} were here already, {len(done.refused)} refused.")
    return _complain(done.refused)


def _tell(app: App, kept: Case, as_json: bool, *texts: str) -> None:
    if as_json:
        from ...engine.casebook.record import summary_of
        from ..tell.screen import print_json

        print_json(summary_of(kept))
    else:
        for text in texts:
            app.screen.line(text)


def _next(kept: Case) -> list[str]:
    """What to do now with a case that was just kept, the command on a line of its own."""
    unsure = [s.name for s in kept.piece.surfaces if not s.confirmed]
    if not unsure:
        return ["It counts from now on."]
    command = f"oldcoat case confirm {kept.id} {shlex.quote(unsure[0])} FINISH --how {'|'.join(HOWS)}"
    return ["It counts once you have said what was there:", command]


def _lost(kept: Case) -> str:
    """The truths that an amended case had on surfaces which it no longer has."""
    before, names = kept.history[-1].before, {s.name for s in kept.piece.surfaces}
    lost = [s.name for s in before.surfaces if s.confirmed and s.name not in names] if before else []
    return f" Confirmed there and no longer counted: {', '.join(lost)}." if lost else ""


def _text(text: str) -> str:
    """What was typed, without bytes that are no text."""
    return text.encode("utf-8", "replace").decode()


def _known(what: str, name: str, names: Any) -> None:
    if name not in names:
        raise _not_found(f"there is no {what} {name[:80]!r}: {nearest(name, names)}")


def _not_found(message: str) -> Exception:
    from ..exits import NotFound

    return NotFound(message)


def _complain(problems: list[Problem]) -> int | None:
    """Name what could not be read; the exit code for it."""
    for problem in problems[:20]:
        click.echo(safe(str(problem)), err=True)
    if len(problems) > 20:
        click.echo(f"... and {len(problems) - 20} more", err=True)
    return exits.BAD_INPUT if problems else None


@contextmanager
def _told(file: Path | None = None) -> Iterator[None]:
    """Turns every way in which the casebook may fail into a message and an exit code."""
    from ...engine.casebook.store import AnotherPiece, Busy, KeptAlready, NoSuchCase, NothingToDo

    def bad(path: object, code: str, message: str, hint: str = "") -> BadInput:
        return BadInput([Problem(path=str(path), code=code, message=message, hint=hint)])

    try:
        yield
    except NoSuchCase as error:
        raise _not_found(str(error)) from None
    except Busy as error:
        raise bad("casebook", "busy", str(error)) from None
    except KeptAlready as error:
        amend_it = "" if error.exactly else f"to correct that one: oldcoat case amend {error.case} {file}; "
        hint = f"{amend_it}if it is another piece: --another"
        raise bad(file, "kept-already", f"{error}; nothing was added", hint) from None
    except AnotherPiece as error:
        hint = "to keep it as a case of its own: oldcoat case add; to go on all the same: --whatever"
        raise bad(file, "another-piece", f"{error}; nothing was changed", hint) from None
    except NothingToDo as error:
        raise bad(file or "casebook", "nothing-to-do", f"{error}; nothing was changed") from None
    except OSError as error:
        message = f"it cannot be written: {error.strerror or error}; nothing was changed"
        raise bad(error.filename or "casebook", "cannot-write", message) from None
