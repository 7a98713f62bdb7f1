"""The command line: global options, the commands, and exit codes for every way of failing."""

from __future__ import annotations

import sys
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

import click
import msgspec

from ..engine.problems import BadInput, BadKnowledge, Problem
from ..engine.version import VERSION
from . import exits
from .app import App
from .settings import Units

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..engine.casebook.compare import Difference
    from ..engine.examine import Examination
    from ..engine.knowledge.base import Knowledge
    from ..engine.piece.form import Piece
    from ..engine.report.explain import Because

_without = click.option(
    "--without-casebook", is_flag=True, help="Go by the book alone, and show what your cases would change."
)
PREFER = ("balanced", "fast", "gentle", "cheap", "low-fume")  # as in a piece file
SETTINGS = {"help_option_names": ["-h", "--help"], "max_content_width": 100}


def run(arguments: Sequence[str]) -> int:
    """Run one command line and return its exit code."""
    as_json = "--json" in arguments
    try:
        result = bench_or_help.main(list(arguments), prog_name="oldcoat", standalone_mode=False)
    except click.exceptions.Abort:
        return exits.CANCELLED
    except click.ClickException as error:
        error.show()
        return exits.USAGE
    except BadKnowledge as error:
        return _tell(error.problems, exits.BAD_KNOWLEDGE, as_json)
    except BadInput as error:
        return _tell(error.problems, exits.BAD_INPUT, as_json)
    except exits.NotFound as error:
        return _tell([Problem(path="oldcoat", code="not-found", message=str(error))], exits.NOT_FOUND, as_json)
    return result if isinstance(result, int) else exits.DONE


def _tell(problems: Sequence[Problem], code: int, as_json: bool) -> int:
    from .tell.safe import safe

    if as_json:
        import msgspec

        print(msgspec.json.encode({"error": {"exit": code, "problems": problems}}).decode(), file=sys.stderr)
        return code
    for problem in problems[:20]:
        print(safe(str(problem)), file=sys.stderr)
    if len(problems) > 20:
        print(f"... and {len(problems) - 20} more", file=sys.stderr)
    return code


def _no_folder(path: Path) -> str:
    return "this is not a folder" if path.exists() else "there is no such folder"


LATER = ("bench", "case", "knowledge", "score", "sheet")  # commands that stand in a module of commands/ of that name


class Commands(click.Group):
    """Commands whose modules are imported when asked for: the first question need not wait for them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """All names, sorted."""
        return sorted([*super().list_commands(ctx), *LATER])

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name."""
        if cmd_name not in LATER:
            return super().get_command(ctx, cmd_name)
        command: click.Command = getattr(import_module(f".commands.{cmd_name}", __package__), cmd_name)
        return command


@click.group(cls=Commands, context_settings=SETTINGS, invoke_without_command=True)
@click.option(
    "--knowledge",
    "extra",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Lay a folder of your own knowledge over the shipped one.",
)
@click.option(
    "--home", type=click.Path(path_type=Path), metavar="DIR", help="Keep casebook, sessions and cache in this folder."
)
@click.option(
    "--units",
    type=click.Choice(["metric", "us"]),
    help="Units for what is shown and typed; us: gallons, feet, inches, mils, pounds, F. "
    "The sheet too; grams, work a square metre and JSON stay metric.",
)
@click.option(
    "--plain", is_flag=True, help="Plain lines: no colour, no bars, no drawing; one fact a line, never wrapped."
)
@click.option("--without-casebook", is_flag=True, help="Go by the book alone; your own cases do not count.")
@click.version_option(VERSION, message="oldcoat %(version)s", help="Show the version and leave.")
@click.pass_context
def bench_or_help(
    context: click.Context,
    extra: tuple[Path, ...],
    home: Path | None,
    units: Units | None,
    plain: bool,
    without_casebook: bool,
) -> None:
    """Find out what is on old furniture, what takes it off, and in what order to work.

    \b
    Examples:
      oldcoat                   (the bench: a new piece, or go on with one)
      oldcoat bench table.yaml
      oldcoat assess table.yaml
      oldcoat explain table.yaml top shellac
      oldcoat knowledge show alcohol-drop
    """
    for folder in extra:
        if not folder.is_dir():
            raise BadKnowledge([Problem(path=str(folder), code="no-such-folder", message=_no_folder(folder))])
    if home is not None and home.exists() and not home.is_dir():
        raise BadInput([Problem(path=str(home), code="no-such-folder", message=f"--home: {_no_folder(home)}")])
    context.obj = App(extra=extra, home=home, asked_units=units, plain=plain, with_casebook=not without_casebook)
    context.call_on_close(context.obj.tell_left_out)
    if context.invoked_subcommand is None:
        from .commands.bench import at_the_bench

        at_the_bench(context.obj, None)


@bench_or_help.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@click.option("--prefer", type=click.Choice(PREFER), help="Rank the ways off by this, whatever the file prefers.")
@click.option(
    "--full", is_flag=True, help="Show the whole plan: stains, coats, every step, shopping, cautions in full."
)
@_without
@click.pass_obj
def assess(app: App, file: Path, as_json: bool, prefer: str | None, full: bool, without_casebook: bool) -> None:
    """Say what is on each surface of FILE, what takes it off, and what to do next."""
    from ..engine import assess as assess_piece
    from ..engine import examine_all
    from ..engine.casebook.compare import moved_by_cases

    app.with_casebook = app.with_casebook and not without_casebook
    piece = app.read_piece(file)
    if prefer is not None:
        piece = msgspec.structs.replace(piece, prefer=prefer)
    done = examine_all(piece, app.examiner)
    answer = assess_piece(piece, app.knowledge, done=done)
    counts = app.uses_casebook and app.examiner.counts.cases
    moved = moved_by_cases(piece, done, app.examiner, app.index.lessons()) if counts else []
    changed = _differences(app, piece) if without_casebook else None
    if as_json:
        from .tell.screen import print_json

        more = {"casebook": changed} if changed is not None else {}
        print_json({**msgspec.to_builtins(answer), "moved_by_cases": moved, **more})
        return
    from .tell.assessment import tell
    from .tell.casebook import tell_differences, told_moves

    tell(answer, app.screen, full, told_moves(moved, app.knowledge))
    if changed is not None:
        tell_differences(changed, app.knowledge, app.screen)


def _differences(app: App, piece: Piece) -> list[Difference]:
    """What the casebook would change, whether it is to count or not."""
    from ..engine import Examiner
    from ..engine.casebook.compare import differences

    return differences(piece, Examiner(app.knowledge, app.index.counts()), Examiner(app.knowledge))


def _meant(told: str, knowledge: Knowledge) -> str:
    """The id of the finish, remover or test that is meant; raises NotFound where none is, or more than one."""
    from .tell.lookup import meant, nearest_entries

    if knowledge.outcomes_of(told):
        return told
    kinds = ("finish", "remover", "test")
    found = meant(told, knowledge, kinds)
    if len(found) == 1:
        return found[0][1]
    if found:
        raise exits.NotFound(f"{told[:80]!r} may mean several, name one: {', '.join(name for _, name, _ in found)}")
    raise exits.NotFound(
        f"there is no finish, remover or test {told[:80]!r}: {nearest_entries(told, knowledge, kinds)}"
    )


@bench_or_help.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("surface", required=False, metavar="[SURFACE]")
@click.argument("about", required=False, metavar="[ID]")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
@_without
@click.pass_obj
def explain(
    app: App, file: Path, surface: str | None, about: str | None, as_json: bool, without_casebook: bool
) -> None:
    """Explain the ranking of a SURFACE, or why (not) the finish, remover or test ID, by id or by common name."""
    from ..engine.problems import nearest
    from ..engine.report.explain import how_ranking, why_finish, why_remover, why_test
    from .tell.safe import safe

    app.with_casebook = app.with_casebook and not without_casebook
    knowledge = app.knowledge
    piece = app.read_piece(file)
    if surface is None:
        raise click.UsageError(f"name a surface of this piece: {', '.join(safe(s.name, 60) for s in piece.surfaces)}")
    found = next((s for s in piece.surfaces if s.name == surface), None)
    if found is None:
        raise exits.NotFound(
            f"this piece has no surface {surface!r}: {nearest(surface, [s.name for s in piece.surfaces])}"
        )
    done = app.examiner.examine(piece, found)
    about = None if about is None else _meant(about, knowledge)
    if about is None:
        reason = how_ranking(done, knowledge)
    elif about in knowledge.finishes:
        reason = why_finish(done, about, knowledge)
    elif about in knowledge.removers:
        reason = why_remover(done, about, piece.place, knowledge)
    else:
        reason = why_test(done, about, piece.have, knowledge)
    if app.places.cases.is_dir():
        cases = _of_cases(app, piece, done, about, differ=without_casebook)
        reason = msgspec.structs.replace(reason, rests_on=[*reason.rests_on, *cases])
    if as_json:
        from .tell.screen import print_json

        print_json(reason)
    else:
        from .tell.because import tell_because

        tell_because(reason, knowledge, app.screen)


def _of_cases(app: App, piece: Piece, done: Examination, about: str | None, differ: bool) -> list[Because]:
    """What the casebook has to say to an explanation; `differ`: what it would change, where it does not count."""
    from ..engine.casebook.compare import because_different, because_of_cases

    if app.with_casebook:
        return because_of_cases(piece, done, about, app.examiner.tables, app.index.lessons(), app.index.faces())
    return [because_different(_differences(app, piece), done.surface.name, app.knowledge)] if differ else []
