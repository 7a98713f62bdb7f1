"""oldcoat case add | confirm | removed | list | show | amend | withdraw | export | import."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ...engine.problems import BadInput, Problem
from .. import exits
from ..app import App

if TYPE_CHECKING:
    from ...engine.casebook.record import Case
    from ...engine.piece.form import Piece

HOWS = ("laboratory", "makers-record", "removal", "opinion")
DAY = re.compile(r"[0-9]{4}(-[0-9]{2}){0,2}")
ALL = 20  # problems that are named at most where one asks for them
RESULTS = ("works", "lifts", "softens", "no-effect", "harms")
_file = click.Path(path_type=Path)
_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")


def _day(_context: click.Context, _option: click.Parameter, text: str) -> str:
    """A year, month or day that has been, as it was typed; BadParameter for anything else."""
    try:
        if text and not DAY.fullmatch(text):
            raise ValueError
        if text and date.fromisoformat(f"{text}-01-01"[:10]) > date.today():
            raise click.BadParameter(f"{text!r} has not come yet")
    except ValueError:
        raise click.BadParameter(f"{text[:40]!r} is no date: write 2024, 2024-05 or 2024-05-17") from None
    return text


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
    piece = _piece(app, file)
    with _told(app, file):
        kept = app.casebook.add(piece, once=not another, twin=None if another else app.index.twin(piece))
    _tell(app, kept, as_json, f"Kept as {kept.id}.", *_next(app, kept))


@case.command()
@click.argument("name", metavar="CASE")
@click.argument("surface")
@click.argument("finish")
@click.option("--how", type=click.Choice(HOWS), required=True, help="How the truth is known.")
@click.option("--when", default="", callback=_day, help="When it was found out: 2024, 2024-05 or 2024-05-17.")
@click.option("--anyway", is_flag=True, help="In the place of what a surer way confirmed; that stays in the history.")
@_json
@click.pass_obj
def confirm(app: App, name: str, surface: str, finish: str, how: Any, when: str, anyway: bool, as_json: bool) -> None:
    """Write down that a SURFACE of a CASE really carried FINISH."""
    from ...engine.piece.form import Confirmed

    finish = _meant(app, "finish", finish)
    with _told(app):
        truth = Confirmed(finish=finish, how=how, when=when)
        kept = app.casebook.confirm(app.casebook.find(name), surface, truth, anyway)
    _tell(app, kept, as_json, f"{kept.id}, {surface}: confirmed as {app.knowledge.finishes[finish].name}.")


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

    remover = _meant(app, "remover", remover)
    row = Removed(remover=remover, result=result, coats=coats, hours=hours, note=_text(note))
    with _told(app):
        kept = app.casebook.removed(app.casebook.find(name), surface, row)
    _tell(
        app, kept, as_json, f"{kept.id}, {surface}: {app.knowledge.removers[remover].name}, {result.replace('-', ' ')}."
    )


@case.command("list")
@_json
@click.pass_obj
def list_(app: App, as_json: bool) -> int | None:
    """List all cases, newest first."""
    from ...engine.casebook.record import summary_of
    from ..tell.casebook import tell_list
    from ..tell.screen import print_json

    rows = sorted(map(summary_of, app.index.cases()), key=lambda row: (row.added, row.id), reverse=True)
    if as_json:
        print_json(rows)
    else:
        tell_list(rows, app.command, app.screen)
    return _unread(app)


@case.command()
@click.argument("name", metavar="CASE")
@_json
@click.pass_obj
def show(app: App, name: str, as_json: bool) -> None:
    """Show a CASE, its history, and every number that it helped to change."""
    from ...engine.belief.tables import Tables
    from ...engine.casebook.trace import doubted, trace_case
    from ..tell.casebook import tell_case

    with _told(app):
        name = app.casebook.find(name)
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
    piece = _piece(app, file)
    with _told(app, file):
        kept = app.casebook.amend(app.casebook.find(name), piece, _text(why), whatever)
    _tell(app, kept, as_json, f"{kept.id} amended; what it said before stays in its history.{_lost(kept)}")


@case.command()
@click.argument("name", metavar="CASE")
@click.option("--why", default="", help="Kept in the history.")
@click.option("--back", is_flag=True, help="Take it back in.")
@_json
@click.pass_obj
def withdraw(app: App, name: str, why: str, back: bool, as_json: bool) -> None:
    """Take a CASE out of learning; it and its history are kept."""
    with _told(app):
        kept = app.casebook.withdraw(app.casebook.find(name), _text(why), back)
    _tell(app, kept, as_json, f"{kept.id} {'counts again' if back else 'is withdrawn and no longer counts'}.")


@case.command("export")
@click.argument("target", type=_file)
@click.argument("names", metavar="[CASE]...", nargs=-1)
@_json
@click.pass_obj
def export(app: App, target: Path, names: tuple[str, ...], as_json: bool) -> int | None:
    """Write cases, all or those named, to TARGET: a folder, .zip or .tar.gz."""
    from ...engine.casebook.exchange import export_cases

    with _told(app):
        chosen = [app.casebook.get(app.casebook.find(name)) for name in names] if names else app.index.cases()
        if not chosen and not app.index.refresh():
            raise _not_found("there is no case to export yet")
        count = export_cases(chosen, target)
    if as_json:
        from ..tell.screen import print_json

        print_json({"target": str(target), "cases": count})
    else:
        app.screen.line(f"{count} {'case' if count == 1 else 'cases'} written to {target}.")
    return None if names else _unread(app)


@case.command("import")
@click.argument("source", type=_file)
@click.option("--another", is_flag=True, help="Take those too that are just like one in the casebook.")
@_json
@click.pass_obj
def import_(app: App, source: Path, another: bool, as_json: bool) -> int | None:
    """Take the cases of SOURCE (a folder, .zip, .tar.gz or .yaml) into the casebook."""
    from ...engine.casebook.exchange import import_cases
    from ..tell.progress import progress

    with _told(app):
        here = None if another else app.index.prints()
        done = import_cases(app.casebook, source, progress("taking in"), here)
    if as_json:
        from ..tell.screen import print_json

        print_json(done)
    else:
        app.screen.line(f"{len(done.taken)} taken in, {len(done.here)} were here already, {len(done.refused)} refused.")
    return _complain(done.refused)


def _piece(app: App, file: Path) -> Piece:
    """The piece in a file. Raises BadInput, with what to do for a file that is a case already."""
    from ...engine.casebook.record import format_of
    from ...engine.piece.reader import checked
    from ...engine.reading.yamltext import read

    document = read(file)
    if format_of(document.value):
        hint = f"to take it in: {app.command('case', 'import', str(file))}"
        raise BadInput([Problem(path=str(file), code="a-case", message="this is a case, not a piece", hint=hint)])
    return checked(document, app.knowledge)


def _tell(app: App, kept: Case, as_json: bool, *texts: str) -> None:
    if as_json:
        from ...engine.casebook.record import summary_of
        from ..tell.screen import print_json

        print_json(summary_of(kept))
    else:
        for text in texts:
            if text.startswith("oldcoat "):
                app.screen.lines([text])  # never wrapped, so that it can be pasted
            else:
                app.screen.line(text)


def _next(app: App, kept: Case) -> list[str]:
    """What to do now with a case that was just kept, the command on a line of its own."""
    unsure = [s.name for s in kept.piece.surfaces if not s.confirmed]
    if not unsure:
        return ["It counts from now on."]
    command = app.command("case", "confirm", kept.id, unsure[0], "FINISH", "--how", HOWS[0])
    return ["It counts once you have said what was there:", command, f"--how is one of {', '.join(HOWS)}."]


def _lost(kept: Case) -> str:
    """The truths that an amended case had on surfaces which it no longer has."""
    before, names = kept.history[-1].before, {s.name for s in kept.piece.surfaces}
    lost = [s.name for s in before.surfaces if s.confirmed and s.name not in names] if before else []
    return f" Confirmed there and no longer counted: {', '.join(lost)}." if lost else ""


def _text(text: str) -> str:
    """What was typed, without bytes that are no text."""
    return text.encode("utf-8", "replace").decode()


def _meant(app: App, kind: str, told: str) -> str:
    """The id of the one entry of a kind that is meant. Raises NotFound."""
    from ..tell.lookup import meant, nearest_entries

    found = [name for _, name, _ in meant(told, app.knowledge, (kind,))]
    if len(found) > 1:
        raise _not_found(f"{told[:80]!r} may mean several, name one: {', '.join(found)}")
    if not found:
        hint = nearest_entries(told, app.knowledge, (kind,), app.command("knowledge", "list", kind))
        raise _not_found(f"there is no {kind} {told[:80]!r}: {hint}")
    return found[0]


def _not_found(message: str) -> Exception:
    from ..exits import NotFound

    return NotFound(message)


def _unread(app: App) -> int | None:
    """Name all in the casebook that does not count; the exit code if a case could not be read."""
    app.tell_left_out(most=ALL)
    return exits.BAD_INPUT if app.index.refresh() else None


def _complain(problems: list[Problem]) -> int | None:
    """Name what was refused; the exit code for it."""
    from ..tell.safe import safe

    for problem in problems[:ALL]:
        click.echo(safe(str(problem)), err=True)
    if len(problems) > ALL:
        click.echo(f"... and {len(problems) - ALL} more", err=True)
    return exits.BAD_INPUT if problems else None


@contextmanager
def _told(app: App, file: Path | None = None) -> Iterator[None]:
    """Turns every way in which the casebook may fail into a message and an exit code."""
    from ...engine.casebook.store import AnotherPiece, Busy, KeptAlready, KnownBetter, NoSuchCase, NothingToDo

    def bad(path: object, code: str, message: str, hint: str = "") -> BadInput:
        return BadInput([Problem(path=str(path), code=code, message=message, hint=hint)])

    try:
        yield
    except NoSuchCase as error:
        see = app.command("case", "list")
        raise _not_found(f"{error}; all cases: {see}") from None
    except Busy as error:
        raise bad("casebook", "busy", str(error)) from None
    except KeptAlready as error:
        correct = app.command("case", "amend", error.case, str(file))
        amend_it = "" if error.exactly else f"to correct that one: {correct}; "
        hint = f"{amend_it}if it is another piece: --another"
        raise bad(file, "kept-already", f"{error}; nothing was added", hint) from None
    except AnotherPiece as error:
        own = app.command("case", "add", str(file))
        hint = f"to keep it as a case of its own: {own}; to go on all the same: --whatever"
        raise bad(file, "another-piece", f"{error}; nothing was changed", hint) from None
    except KnownBetter as error:
        hint = "to put this in its place all the same: --anyway"
        raise bad("casebook", "known-better", f"{error}; nothing was changed", hint) from None
    except NothingToDo as error:
        raise bad(file or "casebook", "nothing-to-do", f"{error}; nothing was changed") from None
    except OSError as error:
        message = f"it cannot be written: {error.strerror or error}; nothing was changed"
        raise bad(error.filename or "casebook", "cannot-write", message) from None
