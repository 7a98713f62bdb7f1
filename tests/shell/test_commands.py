"""The command line as a user meets it: contract of the JSON, exit codes, bad input, harmless text."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from oldcoat.cases import __file__ as cases_file

CASES = Path(cases_file).parent
DEMO = CASES / "demo" / "walnut-sideboard.yaml"
CALL = "import sys; sys.argv[0] = 'oldcoat'; from oldcoat.shell.main import main; main()"
Run = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """Runs a command line in a process of its own, with a home of its own."""
    home = tmp_path_factory.mktemp("home")

    def call(*arguments: str, **more: object) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-c", CALL, "--home", str(home), *arguments]
        return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120, **more)  # type: ignore[call-overload,no-any-return]

    return call


def piece(folder: Path, body: str) -> str:
    """A piece file with this text."""
    path = folder / "piece.yaml"
    path.write_text(body, encoding="utf-8")
    return str(path)


def test_json_contract(run: Run) -> None:
    """Every key that the design names is there, with sane values."""
    done = run("assess", str(DEMO), "--json")
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert answer["knowledge"].keys() >= {"version", "layers"}
    for surface in answer["surfaces"]:
        assert surface["verdict"] in ("settled", "same-route", "test-more", "unknown")
        assert abs(sum(row["p"] for row in surface["ranking"]) - 1) < 1e-9
        for row in surface["ranking"]:
            assert 0 < row["low"] <= row["p"] <= row["high"] < 1
            assert isinstance(row["for"], list)
            assert isinstance(row["against"], list)
        assert surface["fit"].keys() >= {"ok", "surprise_db", "clashes"}
        for remover in surface["removers"]:
            assert abs(sum(remover["outcome"].values()) - 1) < 1e-9
            assert set(remover["outcome"]) == {"dissolves", "lifts", "softens", "no-effect"}
            assert 0 <= remover["works"] <= 1
            assert remover["hours"][0] <= remover["hours"][1]
            assert remover["because"]
        for route in surface["routes"]:
            assert route["steps"]
            assert route["expected_hours"] >= 0
        test = surface["next_test"]
        assert test is None or {"test", "saves_minutes", "why"} <= test.keys()
    for step in answer["order_of_work"]:
        assert step.keys() >= {"step", "surface", "after", "why", "hours", "wait_hours"}


def test_same_input_same_output(run: Run) -> None:
    """Two runs say the same to the last digit."""
    assert run("assess", str(DEMO), "--json").stdout == run("assess", str(DEMO), "--json").stdout


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ("surfaces: [{name: top}]", "needs the key 'piece'"),
        ("piece: x\nsurfaces: []", "empty"),
        ("piece: x", "needs the key 'surfaces'"),
        ("- 1", "mapping"),
        ("", "empty"),
        ("piece: x\npiece: y\nsurfaces: [{name: a}]", "twice"),
        ("piece: x\nsurfaces: [{name: top, wood: wallnut}]", "walnut"),
        ("piece: x\nregion: north-amerika\nsurfaces: [{name: top}]", "north-america"),
        ("piece: x\nsurfaces: [{name: top, tests: {alcohol-dropp: no-effect}}]", "alcohol-drop"),
        ("piece: x\nsurfaces: [{name: top, tests: {alcohol-drop: dissolves}}]", "dissolves-fast"),
        ("piece: x\nsurfaces: [{name: top, tests: {alcohol-drop: beads-no-mark}}]", "water drop"),
        ("piece: x\nmade: 2099\nsurfaces: [{name: top}]", "future"),
        ("piece: x\nmade: 1950-1930\nsurfaces: [{name: top}]", "backwards"),
        ("piece: x\nsurfaces: [{name: top, build: veneer, veneer_mm: -1}]", "above 0"),
        ("piece: x\nsurfaces: [{name: top, veneer_mm: thick}]", "a number"),
        ("piece: x\nsurfaces: [{name: top, tried: [{remover: denatured-alcohol, result: worked}]}]", "works"),
        ("piece: x\nsurfaces: [{name: top, known: {finish: shelac, how: laboratory}}]", "shellac"),
        ("piece: x\nsurfaces: [{name: top}, {name: top}]", "two surfaces"),
        ("piece: &a x\nnote: *a\nsurfaces: [{name: top}]", "aliases"),
        ("piece: x\nsurfacess: [{name: top}]", "surfaces"),
        ("piece: x\nsurfaces: [{name: top, stains: [{kind: black-rings}]}]", "black-ring"),
        ("piece: [x\n", "not valid YAML"),
        ("piece: x\nsurfaces:\n\t- name: top\n", "use spaces"),
        ("piece: table: red\nsurfaces: [{name: top}]", "in quotes"),
        ("piece: 1920\nsurfaces: [{name: top}]", 'put it in quotes: "1920"'),
        (
            "piece: x\nsurfaces: [{name: top, tests: {alcohol-drop: }}]",
            "alcohol-drop has no answer (allowed: dissolves",
        ),
        ("piece: x\nsurfaces: [{name: top, veneer_mm: thick}]", "surface 'top': veneer_mm"),
        ("piece: x\nsurfaces: [{name: top, build: veneer, veneer_mm: 60}]", "build: solid"),
        ("piece: x\nsurfaces: []", "at least 1 entry"),
    ],
)
def test_bad_piece_file(run: Run, tmp_path: Path, body: str, told: str) -> None:
    """One clear message with file and line, what is wrong or the nearest name, exit code 3, no traceback."""
    path = piece(tmp_path, body)
    done = run("assess", path)
    assert done.returncode == 3
    assert told in done.stderr
    assert f"{path}:" in done.stderr
    assert "Traceback" not in done.stderr + done.stdout
    assert done.stdout == ""


def test_bad_files(run: Run, tmp_path: Path) -> None:
    """Missing, folder, binary, large: exit 3 and a message each."""
    binary = tmp_path / "b.yaml"
    binary.write_bytes(bytes(range(256)))
    large = tmp_path / "large.yaml"
    large.write_text("piece: x\nnote: " + "n" * 5_000_000 + "\nsurfaces: [{name: a}]", encoding="utf-8")
    for path in (tmp_path / "none.yaml", tmp_path, binary, large):
        done = run("assess", str(path))
        assert done.returncode == 3
        assert str(path) in done.stderr
        assert "Traceback" not in done.stderr


def test_errors_as_json(run: Run, tmp_path: Path) -> None:
    """With --json the problem comes as JSON on stderr and stdout stays empty."""
    done = run("assess", piece(tmp_path, "piece: x\nsurfaces: [{name: top, wood: oka}]"), "--json")
    assert done.returncode == 3
    problem = json.loads(done.stderr)["error"]["problems"][0]
    assert problem["line"] == 2
    assert problem["code"] == "unknown-id"
    assert done.stdout == ""


def test_control_characters_are_harmless(run: Run, tmp_path: Path) -> None:
    """Escape sequences, markup and bidirectional marks in the user's text reach no terminal."""
    hostile = (
        'piece: "[bold red]x\\e[2J\\u202Eevil[/bold red]"\nsurfaces:\n  - name: "top\\u009b31m"\n    note: "\\a"\n'
    )
    done = run("assess", piece(tmp_path, hostile))
    assert done.returncode == 0, done.stderr
    assert not any(ord(c) < 32 and c != "\n" for c in done.stdout)
    assert "\u202e" not in done.stdout
    assert "\x9b" not in done.stdout
    assert "[bold red]" in done.stdout.lower()


def test_width_and_colour(run: Run) -> None:
    """Piped output has no escape codes, no trailing blanks, and fits 80 columns or what COLUMNS says."""
    for width, environment in ((80, {}), (60, {"COLUMNS": "60"}), (120, {"COLUMNS": "120"})):
        without = {k: v for k, v in os.environ.items() if k != "COLUMNS"}
        told = run("assess", str(DEMO), env={**without, **environment}).stdout
        assert "\x1b" not in told
        assert width - 15 < max(map(len, told.splitlines())) <= width
        assert all(line == line.rstrip() for line in told.splitlines())


def test_plain_is_one_fact_a_line(run: Run) -> None:
    """The same words as without it, each paragraph on one line, single blanks, no bars."""
    fancy, plain = run("assess", str(DEMO)).stdout, run("--plain", "assess", str(DEMO)).stdout
    assert "\u2588" in fancy or "#" in fancy
    assert not set("\u2588\u2591\u2022#") & set(plain)
    assert all("  " not in line.strip() and line == line.rstrip() for line in plain.splitlines())
    assert max(map(len, plain.splitlines())) > 100
    assert len(plain.splitlines()) < len(fancy.splitlines())


def test_us_units_are_shown_and_json_stays_metric(run: Run) -> None:
    """No metric figure is left on the terminal; the data is the same."""
    told = run("--units", "us", "--plain", "assess", str(DEMO)).stdout
    assert "US qt" in told
    assert not re.findall(r"\d (?:mm|um|m2|cm|l|C)\b", told)
    assert run("--units", "us", "assess", str(DEMO), "--json").stdout == run("assess", str(DEMO), "--json").stdout


@pytest.mark.parametrize("option", [[], ["--json"]])
def test_output_that_cannot_be_written(run: Run, option: list[str]) -> None:
    """A full disk or a closed stream is told plainly, exit 3; a reader who leaves early is no mistake."""
    command = [sys.executable, "-c", CALL, "assess", str(DEMO), *option]
    if Path("/dev/full").exists():
        with Path("/dev/full").open("w") as full:
            done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False, timeout=120)
        assert done.returncode == 3
        assert done.stderr.startswith("oldcoat: the output cannot be written")
    closed = subprocess.run(
        ["/bin/sh", "-c", 'exec "$@" >&-', "sh", *command], stderr=subprocess.PIPE, text=True, check=False, timeout=120
    )
    assert closed.returncode == 3
    assert "closed" in closed.stderr
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as left:
        assert left.stdout is not None
        assert left.stderr is not None
        left.stdout.close()
        assert left.stderr.read() == b""
        assert left.wait(120) == 0


def test_folders_given_by_hand_must_be_there(run: Run, tmp_path: Path) -> None:
    """A missing knowledge folder is exit 4, a file for a home exit 3, each named."""
    missing = tmp_path / "missing"
    done = run("--knowledge", str(missing), "assess", str(DEMO))
    assert done.returncode == 4
    assert str(missing) in done.stderr
    file = tmp_path / "file"
    file.write_text("kept", encoding="utf-8")
    done = run("--home", str(file), "assess", str(DEMO))
    assert done.returncode == 3
    assert str(file) in done.stderr


def test_explain(run: Run) -> None:
    """How a ranking came about; why not a finish; why not a remover, with rule and source; unknown names are exit 5."""
    how = run("explain", str(DEMO), "top")
    assert how.returncode == 0
    assert "dB" in how.stdout
    assert "shellac" in run("explain", str(DEMO), "top", "shellac").stdout.lower()
    remover = run("explain", str(DEMO), "top", "caustic-soda")
    assert "rule" in remover.stdout
    assert "[" in remover.stdout
    assert "dB" in run("explain", str(DEMO), "top", "alcohol-drop").stdout
    waiting = run("explain", str(DEMO), "top", "oil-drop").stdout
    assert "expected" in waiting
    which = run("explain", str(DEMO))
    assert which.returncode == 2
    assert "right door" in which.stderr
    for names in (["topp"], ["top", "shelac"]):
        done = run("explain", str(DEMO), *names)
        assert done.returncode == 5
        assert "did you mean" in done.stderr


def test_usage_errors(run: Run) -> None:
    """Wrong usage is exit 2, and help exists for every command."""
    assert run("asess", str(DEMO)).returncode == 2
    assert run("assess").returncode == 2
    assert run("assess", "--help").returncode == 0


def test_knowledge_lookup(run: Run) -> None:
    """show and where find an entry, name the nearest for a misspelt one."""
    assert "shellac" in run("knowledge", "show", "shellac").stdout.lower()
    assert "shipped" in run("knowledge", "where", "alcohol-drop").stdout
    for name in ("Shellac", "french polish", "SHELLAC"):
        assert json.loads(run("knowledge", "show", name, "--json").stdout)["id"] == "shellac"
    assert "alcohol-drop: alcohol drop" in run("knowledge", "list", "test").stdout
    assert run("knowledge", "list", "nonsense").returncode == 2
    missing = run("knowledge", "show", "shelac")
    assert missing.returncode == 5
    assert "shellac" in missing.stderr


def test_broken_overlay_is_named_and_left_out(run: Run, tmp_path: Path) -> None:
    """A faulty entry of the user's own costs that entry only, and the check says where it stands."""
    (tmp_path / "finishes").mkdir()
    (tmp_path / "finishes" / "mine.yaml").write_text("name: mine\n", encoding="utf-8")
    done = run("--knowledge", str(tmp_path), "assess", str(DEMO))
    assert done.returncode == 0
    assert done.stderr.count("left out of your knowledge") == 1
    check = run("--knowledge", str(tmp_path), "knowledge", "check")
    assert check.returncode == 4
    assert "mine.yaml:1" in check.stdout


@pytest.mark.parametrize("case", sorted(p.name for p in (CASES / "reference").glob("*.yaml")))
def test_reference_cases_are_read(case: str, knowledge: object) -> None:
    """Every shipped case is a valid piece file that names its source and how the truth was known."""
    from oldcoat.engine import read_piece

    read = read_piece(CASES / "reference" / case, knowledge)  # type: ignore[arg-type]
    assert read.case is not None
    assert not read.case.invented
    assert read.case.cite
    assert any(s.confirmed for s in read.surfaces)


def test_demo_cases_say_that_they_are_invented(knowledge: object) -> None:
    """Demo pieces are marked."""
    from oldcoat.engine import read_piece

    demos = sorted((CASES / "demo").glob("*.yaml"))
    assert len(demos) >= 3
    for path in demos:
        case = read_piece(path, knowledge).case  # type: ignore[arg-type]
        assert case is not None
        assert case.invented
