"""The line-oriented bench as a process: piped answers, files, two shells, failures told."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from bench_helpers import INTAKE

from oldcoat import knowledge

CALL = "import sys; sys.argv[0] = 'oldcoat'; from oldcoat.shell.main import main; main()"


def run(home: Path, lines: list[str], *arguments: str, **env: str) -> subprocess.CompletedProcess[str]:
    """oldcoat with lines on standard input."""
    return subprocess.run(
        [sys.executable, "-c", CALL, "--home", str(home), *arguments],
        input="".join(f"{line}\n" for line in lines),
        capture_output=True,
        text=True,
        env={**os.environ, **env},
        timeout=60,
        check=False,
    )


def test_piped_answers_go_through_a_whole_piece(tmp_path: Path) -> None:
    """The same content without a terminal: no escape code, numbered choices, the answers echoed, exit 0."""
    done = run(tmp_path, [*INTAKE, "tests", "alcohol-drop", "1", "result", "leave"])
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert "\x1b" not in done.stdout
    for text in (
        "What is on the bench?",
        "piece, or help> hall table",
        "   1 Table",
        "up shellac",
        "In full, with reasons: result all",
        "Kept.",
    ):
        assert text in done.stdout


def test_end_of_input_leaves_and_saves(tmp_path: Path) -> None:
    """Ctrl-D, or the end of a pipe, at any prompt keeps what was told; the next run offers it."""
    for count in (1, 4, len(INTAKE)):
        assert run(tmp_path / str(count), INTAKE[:count]).returncode == 0
        assert "1 hall table" in run(tmp_path / str(count), []).stdout


def test_nothing_is_written_for_nothing(tmp_path: Path) -> None:
    """Looking in and leaving again makes no session."""
    assert run(tmp_path, []).returncode == 0
    assert not (tmp_path / "sessions").exists()


def test_plain_has_no_drawing(tmp_path: Path) -> None:
    """--plain and TERM=dumb: ASCII only from us, one choice a line."""
    for arguments, env in ((["--plain"], {}), ([], {"TERM": "dumb"})):
        done = run(tmp_path / str(len(env)), [*INTAKE, "leave"], *arguments, **env)
        assert done.stdout.isascii()
        assert "  24 yew" in done.stdout.splitlines()


def test_a_file_is_read_worked_on_and_written_back(tmp_path: Path) -> None:
    """bench FILE: answers are in the file on leaving, `assess` reads it, the user's own layout is set aside."""
    file = tmp_path / "t.yaml"
    file.write_text("# my table\npiece: t\nsurfaces: [{name: top, wood: oak}]\n")
    done = run(tmp_path / "home", ["tests", "alcohol-drop", "1", "leave"], "bench", str(file))
    assert done.returncode == 0, done.stderr
    assert "alcohol-drop: dissolves-fast" in file.read_text()
    assert (tmp_path / "t.yaml.before").read_text().startswith("# my table")
    answer = json.loads(run(tmp_path / "home", [], "assess", str(file), "--json").stdout)
    assert answer["surfaces"][0]["ranking"][0]["finish"] == "shellac"


def test_a_file_that_is_not_there_is_made(tmp_path: Path) -> None:
    """bench NEW.yaml asks for the piece and writes it on leaving."""
    file = tmp_path / "new.yaml"
    assert run(tmp_path / "home", [*INTAKE, "leave"], "bench", str(file)).returncode == 0
    assert "piece: hall table" in file.read_text()


def test_a_slip_in_the_name_of_a_file_is_said_at_once(tmp_path: Path) -> None:
    """A file that is not there may be a slip of the keys: it is named, and none is made for nothing."""
    done = run(tmp_path, [], "bench", str(tmp_path / "tabel.yaml"))
    assert done.returncode == 0
    assert f"No such file: {tmp_path / 'tabel.yaml'}" in done.stdout
    assert not (tmp_path / "tabel.yaml").exists()


def test_a_bench_in_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """Exit 3, and no folder is made."""
    assert run(tmp_path / "home", [], "bench", str(tmp_path / "none" / "x.yaml")).returncode == 3
    assert not (tmp_path / "none").exists()


def test_a_file_in_which_nothing_was_changed_is_left_as_it_is(tmp_path: Path) -> None:
    """Comments and order of a hand-written file live on if the bench was only looked at."""
    file = tmp_path / "stool.yaml"
    file.write_text("# by hand\nsurfaces: [{name: seat}]\npiece: stool\n", encoding="utf-8")
    done = run(tmp_path, ["list", "leave"], "bench", str(file))
    assert done.returncode == 0
    assert file.read_text(encoding="utf-8") == "# by hand\nsurfaces: [{name: seat}]\npiece: stool\n"
    assert sorted(path.name for path in tmp_path.glob("stool*")) == ["stool.yaml"]


@pytest.mark.parametrize("broken", [False, True], ids=["gone", "left out for a mistake"])
def test_what_is_said_of_an_own_entry_that_is_left_out_waits(tmp_path: Path, broken: bool) -> None:
    """Named once, kept in the file, and it counts again when the entry is back. The test of one's own is invented."""
    own, file = tmp_path / "knowledge" / "tests" / "sniff.yaml", tmp_path / "box.yaml"
    own.parent.mkdir(parents=True)
    alike = (Path(knowledge.__file__).parent / "tests" / "alcohol-drop.yaml").read_text(encoding="utf-8")
    sound = alike.replace("\nname: ", "\nname: Sniff, and ", 1)
    own.write_text(sound, encoding="utf-8")
    if broken:
        file.write_text("piece: box\nsurfaces: [{name: lid, tests: {sniff: no-effect}}]\n", encoding="utf-8")
        own.write_text(sound.replace("outcomes:", "outcome:"), encoding="utf-8")
    else:
        assert run(tmp_path, [*INTAKE, "tests", "sniff", "no-effect", "leave"], "bench", str(file)).returncode == 0
        own.unlink()
    done = run(tmp_path, ["note it rains", "leave"], "bench", str(file))
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("Set aside, as the knowledge here does not know it: sniff.") == 1
    own.write_text(sound, encoding="utf-8")
    ranking = json.loads(run(tmp_path, [], "assess", str(file), "--json").stdout)["surfaces"][0]["ranking"]
    shellac = next(row for row in ranking if row["finish"] == "shellac")
    assert any(line.startswith("Sniff, and ") for line in shellac["against"])


def test_file_and_kept_answers_that_differ_are_asked_about(tmp_path: Path) -> None:
    """A file edited since the last time: the user says which counts, and back brings the other."""
    file, home = tmp_path / "t.yaml", tmp_path / "home"
    file.write_text("piece: t\nsurfaces: [{name: top}]\n")
    run(home, ["tests", "alcohol-drop", "1", "leave"], "bench", str(file))
    file.write_text("piece: changed\nsurfaces: [{name: lid}]\n")
    done = run(home, ["2", "leave"], "bench", str(file))
    assert "differ" in done.stdout
    assert "piece: changed" in file.read_text()
    run(home, ["back", "leave"], "bench", str(file))
    assert "alcohol-drop: dissolves-fast" in file.read_text()


def test_bad_files_are_told_with_their_line(tmp_path: Path) -> None:
    """A faulty piece file is exit 3 with its line, as for every command."""
    file = tmp_path / "bad.yaml"
    file.write_text("piece: t\nsurfaces: [{name: top, wood: oke}]\n")
    done = run(tmp_path / "home", [], "bench", str(file))
    assert done.returncode == 3
    assert "bad.yaml:2:" in done.stderr
    assert "did you mean oak" in done.stderr


def test_open_elsewhere_is_told(tmp_path: Path) -> None:
    """A file that another shell has on the bench: a message, no traceback, nothing changed."""
    from oldcoat.engine.session.log import held
    from oldcoat.engine.session.store import path_for_file

    file, home = tmp_path / "t.yaml", tmp_path / "home"
    file.write_text("piece: t\nsurfaces: [{name: top}]\n")
    with held(path_for_file(home / "sessions", file)):
        done = run(home, ["1"], "bench", str(file))
    assert done.returncode == 5
    assert "another oldcoat" in done.stderr
    assert file.read_text().startswith("piece: t\nsurfaces: [")


def test_hostile_text_does_nothing_on_screen(tmp_path: Path) -> None:
    """Escape codes, markup and directional marks in a name are shown harmless, in the list of pieces too."""
    name = "\x1b[31m[bold]table[/bold] \u202eevil\x07"
    done = run(tmp_path, [name, "", "", "", "", "", "", "", "", "leave"])
    again = run(tmp_path, [])
    for out in (done.stdout, again.stdout):
        assert "\x1b" not in out
        assert "\x07" not in out
    assert "\u202e" not in again.stdout
    assert "[bold]table[/bold]" in again.stdout


def test_settings_are_kept_in_the_home_given(tmp_path: Path) -> None:
    """What is at hand and the place are asked once; all files are under the folder that was named."""
    run(tmp_path, [*INTAKE[:-3], "3", "1 2 8", "leave"], HOME=str(tmp_path / "nowhere"))
    assert json.loads((tmp_path / "settings.json").read_text())["place"] == "uk"
    assert not (tmp_path / "nowhere").exists()
    second = run(tmp_path, ["new", "chair", "", "", "", "", "", "", "leave"])
    assert "at hand" not in second.stdout


@pytest.mark.skipif(os.name != "posix", reason="needs a read-only folder")
def test_a_disk_that_refuses_is_told(tmp_path: Path) -> None:
    """No room to write: told in a line, nothing pretends to be kept."""
    (tmp_path / "sessions").write_text("", encoding="utf-8")  # where the folder of sessions should go
    done = run(tmp_path, INTAKE)
    assert "Traceback" not in done.stderr + done.stdout
    assert done.returncode == 0
    assert "The disk refused" in done.stdout
    assert "Kept." not in done.stdout
