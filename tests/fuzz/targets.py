"""What is fuzzed: each target takes bytes as they may lie on a disk and must end in a value or in a told problem."""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import msgspec

sys.path.append(str(Path(__file__).parents[1] / "bench_shell"))

from bench_helpers import INTAKE, Bench

from oldcoat import cases
from oldcoat.engine import BadInput, Examiner, assess, open_knowledge, parse_piece
from oldcoat.engine.casebook.exchange import import_cases
from oldcoat.engine.casebook.record import Case, Change
from oldcoat.engine.casebook.store import Casebook, case_of
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.layout import FOLDERS, TABLES, TOPICS
from oldcoat.engine.knowledge.loader import SHIPPED, layers_for, read_layers
from oldcoat.engine.knowledge.references import references_of
from oldcoat.engine.reading.shape import shaped
from oldcoat.engine.reading.yamltext import parse, read
from oldcoat.engine.session.events import Answered, AnyEvent, Noted, Started, SurfaceAdded, SurfaceTold, Undone
from oldcoat.engine.session.fold import BadEvent, fold
from oldcoat.engine.session.log import FORMAT, Line, read_events
from oldcoat.engine.storage import to_yaml

Target = Callable[[bytes], object]
CASES = sorted(Path(cases.__file__).parent.glob("*/*.yaml"))
MOST_LINES = 12
FORMS = {name: form for name, (form, _) in FOLDERS.items()} | TABLES | TOPICS


@cache
def book() -> Knowledge:
    """The shipped knowledge."""
    return open_knowledge(cache=Path(tempfile.gettempdir()) / "oldcoat-fuzz")


@cache
def ready() -> Examiner:
    """The shipped knowledge made ready."""
    return Examiner(book(), this_year=2026)


@cache
def shipped() -> dict[str, dict[str, Any]]:
    """The entries of the shipped knowledge by kind and id."""
    return read_layers(layers_for([])).entries


@cache
def workplace() -> Path:
    """A folder for what has to be a file."""
    return Path(tempfile.mkdtemp(prefix="oldcoat-fuzz-"))


def text_of(data: bytes) -> str | None:
    """The bytes as text, if they are any: what is not is refused before the parser sees it."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None


def piece_file(data: bytes) -> object:
    """A piece file, read."""
    text = text_of(data)
    return None if text is None else parse_piece(text, "fuzz.yaml", book())


def assessed(data: bytes) -> object:
    """A piece file, read and assessed, and the answer written out."""
    piece = parse_piece(data.decode("utf-8-sig"), "fuzz.yaml", book())
    return msgspec.json.encode(assess(piece, book(), examiner=ready()))


def knowledge_file(data: bytes) -> object:
    """A knowledge file and what it names of the shipped book; its first line is a comment with the folder or topic."""
    text = text_of(data)
    if text is None:
        return None
    first = text.split("\n", 1)[0].removeprefix("# ").strip()
    kind = first if first in FORMS else "tests"
    entry = shaped(parse(text, "fuzz.yaml"), FORMS[kind])
    rows = entry.values() if kind in TABLES else [entry]
    named = [ref for row in rows for ref in references_of(kind, row, shipped())]
    return [(ref.message(), ref.hint()) for ref in named if not ref.found()]


def event_log(data: bytes) -> object:
    """A session's log, read and folded."""
    path = workplace() / "session.jsonl"
    path.write_bytes(data)
    return fold(read_events(path))


def case_file(data: bytes) -> object:
    """A case file; its id is the name of the file."""
    text = text_of(data)
    return None if text is None else case_of(parse(text, "fuzz.yaml"), "invented-case")


def archive(data: bytes) -> object:
    """An archive of cases from somebody else: a zip or a tar by its first bytes."""
    path = workplace() / (
        "cases.zip" if data[:2] == b"PK" else "cases.tar.gz" if data[:2] == b"\x1f\x8b" else "cases.tar"
    )
    path.write_bytes(data)
    return import_cases(Casebook(workplace() / "casebook"), path)


@cache
def begun() -> Path:
    """The log of a piece that is on the bench, its intake over."""
    bench = Bench(workplace() / "begun", ready())
    bench.say(*INTAKE)
    assert bench.desk.session is not None
    bench.desk.session.close()
    return bench.desk.session.path


def keystrokes(data: bytes) -> object:
    """Lines as they come from the keyboard, typed at the bench; the log must then give the state that is live."""
    os.chdir(workplace())  # whatever name is typed after `save` stays in here
    folder = workplace() / "bench"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    shutil.copy(begun(), folder)
    bench = Bench(folder, ready())
    try:
        for line in ["1", *data.decode("utf-8", errors="surrogateescape").splitlines()[:MOST_LINES]]:
            if not bench.dialogue.over:
                bench.say(line)
        session = bench.desk.session
        if session is not None and fold(read_events(session.path)) != session.state:
            raise AssertionError("the log does not give the state that is live")
    finally:
        if bench.desk.session is not None:
            bench.desk.session.close()
    return None


TARGETS: dict[str, Target] = {
    target.__name__.replace("_", "-"): target
    for target in (piece_file, knowledge_file, event_log, case_file, archive, assessed, keystrokes)
}


def harmless(target: Target, data: bytes) -> None:
    """Run a target; only the told ways of refusing are allowed."""
    try:
        target(data)
    except (BadInput, BadEvent):
        return
    except UnicodeDecodeError:
        if target is not assessed:
            raise


# ---------------------------------------------------------------- valid inputs to start from


def invented_case() -> Case:
    """A case with a history."""
    piece = parse_piece(CASES[0].read_text("utf-8"), "case", book())
    history = [Change(when="2026-01-02T03:04:05Z", what="added", before=piece)]
    return Case(format=1, id="invented-case", added="2026-01-02T03:04:05Z", history=history, piece=piece)


def invented_log() -> bytes:
    """A log with one of several kinds of event."""
    piece = parse_piece("piece: invented\nsurfaces: [{name: top}, {name: side}]", "log", book())
    events: list[AnyEvent] = [
        Started(piece=piece, asked=["made"]),
        SurfaceTold(surface="top", field="veneer_mm", value=0.6),
        Answered(surface="top", test="alcohol-drop", outcome="no-effect", sure=False, note="cold"),
        SurfaceAdded(surface="leg", like="top"),
        Noted(text="a note", surface="top", test="alcohol-drop"),
        Undone(),
    ]
    lines = [Line(v=FORMAT, at="2026-01-02T03:04:05+00:00", event=event) for event in events]
    return b"".join(msgspec.json.encode(line) + b"\n" for line in lines)


TYPED = (
    ["tests", "alcohol-drop", "1", "whatif 2", "back", "2", "note cold", "list", "1"],
    ["result", "why", "how all", "whynot shellac", "surface 2", "tests", "2", "unsure 1"],
    ["tried", "1", "1", "5", "stain", "1", "1", "about", "1", "0.6 mm"],
    ["surface add lid", "surface copy top back", "rename legs feet", "drop lid", "units us", "have", "1 2"],
    ["done", "1", "1", "1", "2", "1", "leave"],
    ["piece", "made", "1950", "find oak", "help", "more", "cautions", "time 1", "skip", "cannot", "save x.yaml"],
)


def seeds(name: str) -> Iterator[bytes]:
    """Valid inputs of a target."""
    if name in ("piece-file", "assessed"):
        yield from (path.read_bytes() for path in CASES)
    elif name == "knowledge-file":
        for kind in FORMS:
            paths = sorted((SHIPPED / kind).glob("*.yaml"))[:3] if kind in FOLDERS else [SHIPPED / f"{kind}.yaml"]
            yield from (f"# {kind}\n".encode() + to_yaml(read(path).value).encode() for path in paths)
    elif name == "event-log":
        yield invented_log()
    elif name == "keystrokes":
        yield from ("\n".join(lines).encode() for lines in TYPED)
    elif name == "case-file":
        yield to_yaml(invented_case()).encode()
        yield CASES[0].read_bytes()
    else:
        yield from _archives()


def _archives() -> Iterator[bytes]:
    from oldcoat.engine.casebook.exchange import export_cases

    for suffix in (".zip", ".tar", ".tar.gz"):
        path = workplace() / f"seed{suffix}"
        path.unlink(missing_ok=True)
        export_cases([invented_case()], path)
        yield path.read_bytes()
