"""What the README and the worked example show is what one gets: every command is run, every line of output compared.

    python tests/docs/test_readme.py

writes the quoted output anew after a change of the knowledge: each run of lines is
replaced by that part of the output which begins and ends most like it. Read what it did
before you keep it.

A line `...` in a console block says that something is left out there; what stands between
two of them is the output line for line, blank lines aside.
"""

from __future__ import annotations

import difflib
import os
import re
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

HOME = Path(__file__).resolve().parents[2]
README = HOME / "README.md"
WORKED = HOME / "cases" / "demo" / "hall-table.md"
LEFT_OUT = "..."
CALL = "import sys; sys.argv[0] = 'oldcoat'; from oldcoat.shell.main import main; main()"
BLOCK = re.compile(r"^```(\w*)\n(.*?)^```$", re.M | re.S)
CASE_ID = re.compile(r"hall-table-[0-9]{8}-[0-9a-f]{6}")
LISTED = re.compile(r"(oldcoat(?: \S+)*?)(?:  +\S.*)?")


@dataclass
class Shown:
    """One command of the README, the lines quoted of it, and what it says now."""

    command: str
    quoted: list[str]
    code: int = 0
    output: str = ""


@dataclass
class Bench:
    """A folder to run the README in, from top to bottom."""

    folder: Path
    cases: dict[str, str] = field(default_factory=dict)

    def run(self, command: str) -> tuple[int, str]:
        """Run one command line of the README; the name of a case in it is the one given here."""
        for told, real in self.cases.items():
            command = command.replace(told, real)
        words = [sys.executable, "-c", CALL, "--home", str(self.folder / "home"), *shlex.split(command)[1:]]
        done = subprocess.run(
            words,
            cwd=self.folder,
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
            stdin=subprocess.DEVNULL,
            env=os.environ | {"COLUMNS": "80"},
        )
        return done.returncode, done.stdout + done.stderr

    def play(self, text: str) -> Iterator[Shown]:
        """Every command in the order of the page; a YAML block becomes table.yaml."""
        for kind, body in BLOCK.findall(text):
            if kind == "yaml":
                (self.folder / "table.yaml").write_text(body, encoding="utf-8")
            elif kind == "console":
                for shown in commands(body):
                    shown.code, shown.output = self.run(shown.command)
                    for told, real in zip(
                        CASE_ID.findall("\n".join(shown.quoted)), CASE_ID.findall(shown.output), strict=False
                    ):
                        self.cases[told] = real
                    for told, real in self.cases.items():
                        shown.output = shown.output.replace(real, told)
                    yield shown


def commands(body: str) -> list[Shown]:
    """The commands of a console block with the lines under each."""
    found: list[Shown] = []
    for line in body.splitlines():
        if line.startswith("$ "):
            found.append(Shown(line[2:], []))
        else:
            found[-1].quoted.append(line)
    return found


def lines_of(output: str) -> list[str]:
    """The lines of an output that have something on them."""
    return [line.rstrip() for line in output.splitlines() if line.strip()]


def runs(quoted: list[str]) -> list[list[str]]:
    """What is quoted between the places where something is left out; empty first or last if it begins or ends so."""
    found: list[list[str]] = [[]]
    for line in quoted:
        if line.strip() == LEFT_OUT:
            found.append([])
        elif line.strip():
            found[-1].append(line.rstrip())
    return found


def missing(shown: Shown) -> list[str]:
    """The first run of lines that the output does not have, where it should stand; none if all is as quoted."""
    output, at, parts = lines_of(shown.output), 0, runs(shown.quoted)
    for number, run in enumerate(parts):
        starts = range(at, len(output) - len(run) + 1) if number else range(at, at + 1)
        start = next((n for n in starts if output[n : n + len(run)] == run), None)
        if start is None:
            return run
        at = start + len(run)
    return [] if at == len(output) or (parts[1:] and not parts[-1]) else [f"(not quoted: {output[at]})"]


@pytest.mark.parametrize("page", [README, WORKED], ids=lambda page: page.name)
def test_every_quoted_line_is_told(page: Path, tmp_path: Path) -> None:
    """Each command of a console block ends well, and its output is what is quoted, in that order and without a gap."""
    played = list(Bench(tmp_path).play(page.read_text("utf-8")))
    assert played
    for shown in played:
        assert shown.code == 0, f"{shown.command}: {shown.output}"
        gone = "\n".join(missing(shown))
        assert not gone, f"$ {shown.command}\nsays no more:\n{gone}\nbut:\n{shown.output[:9000]}"


def test_the_worked_example_is_whole() -> None:
    """From the first look to the last coat and the casebook, and it says that it is invented."""
    text = WORKED.read_text("utf-8")
    assert "invented" in text
    assert len([kind for kind, _ in BLOCK.findall(text) if kind == "yaml"]) >= 3
    for told in ("Next test:", "Route:", "Stain:", "Next coat", "First coat or sealer", "Top coats", "WORKING DAYS"):
        assert told in text


def test_a_gap_or_a_slip_is_seen() -> None:
    """A line too few, too many or changed, without `...` where it stands, is told."""
    output = "one\n\ntwo\nthree\nfour\n"
    for quoted in (["one", "two", "three", "four"], ["one", "...", "three", "four"], ["...", "two", "..."], ["..."]):
        assert not missing(Shown("", quoted, 0, output))
    for quoted in (["two", "..."], ["one", "three", "..."], ["one", "two"], ["...", "two"], ["...", "five", "..."], []):
        assert missing(Shown("", quoted, 0, output))


def test_every_listed_command_works(tmp_path: Path) -> None:
    """The list of commands: each runs, on the piece that the README shows, without a terminal and without a mishap."""
    text = README.read_text("utf-8")
    bench = Bench(tmp_path)
    (tmp_path / "table.yaml").write_text(next(body for kind, body in BLOCK.findall(text) if kind == "yaml"), "utf-8")
    listed = [
        found[1]
        for kind, body in BLOCK.findall(text)
        if not kind
        for line in body.splitlines()
        if (found := LISTED.fullmatch(line))
    ]
    assert len(listed) >= 10
    for command in listed:
        code, output = bench.run(command)
        assert code in (0, 5), f"{command}: {output}"
        assert "Traceback" not in output, command


def test_the_main_job(tmp_path: Path) -> None:
    """The shipped example that the set-up line ends with."""
    found = re.search(r"oldcoat (assess cases/\S+\.yaml)", README.read_text("utf-8"))
    assert found
    verb, path = found[1].split()
    code, output = Bench(tmp_path).run(f"oldcoat {verb} {HOME / path}")
    assert code == 0, output
    assert "Route: about" in output


def test_files_it_names_are_there() -> None:
    """No path or document named in the README is missing."""
    text = README.read_text("utf-8")
    named = {*re.findall(r"\b[A-Z]+\.md\b", text), *re.findall(r"\bcases/\S+?\.(?:yaml|md)", text)}
    assert named
    assert all((HOME / name).exists() for name in named)


def rewritten(text: str, folder: Path) -> str:
    """The page with each run of lines that is not told any more replaced by what is most like it from end to end."""
    for shown in Bench(folder).play(text):
        if not missing(shown):
            continue
        output, at = lines_of(shown.output), 0
        for run in filter(None, runs(shown.quoted)):
            start = _likest(run[0], output, at)
            at = _likest(run[-1], output, start) + 1
            text = text.replace("\n".join(run), "\n".join(output[start:at]), 1)
    return text


def _likest(line: str, output: list[str], start: int) -> int:
    return max(range(start, len(output)), key=lambda n: difflib.SequenceMatcher(None, line, output[n]).ratio())


if __name__ == "__main__":
    for page in (README, WORKED):
        with tempfile.TemporaryDirectory() as place:
            page.write_text(rewritten(page.read_text("utf-8"), Path(place)), encoding="utf-8")
