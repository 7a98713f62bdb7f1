"""What the README shows is what one gets: every command is run, every quoted line is looked for.

    python tests/docs/test_readme.py

writes the quoted lines anew after a change of the knowledge: each is replaced by the
part of the output that is most like it. Read what it did before you keep it.
"""

from __future__ import annotations

import difflib
import re
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

HOME = Path(__file__).resolve().parents[2]
README = HOME / "README.md"
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
            words, cwd=self.folder, capture_output=True, text=True, check=False, timeout=120, stdin=subprocess.DEVNULL
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


def flat(text: str) -> str:
    """Words one blank apart: where lines break is no matter."""
    return " ".join(text.split())


def test_every_quoted_line_is_told(tmp_path: Path) -> None:
    """Each command of a console block ends well, and each line quoted of it stands in what it says, in that order."""
    played = list(Bench(tmp_path).play(README.read_text("utf-8")))
    assert len(played) >= 6
    for shown in played:
        assert shown.code == 0, f"{shown.command}: {shown.output}"
        rest = flat(shown.output)
        for line in shown.quoted:
            assert flat(line) in rest, f"$ {shown.command}\nsays no more: {line}\nbut:\n{shown.output[:6000]}"
            rest = rest[rest.index(flat(line)) :]
    assert (tmp_path / "sheet.html").stat().st_size > 1000


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
    named = {*re.findall(r"\b[A-Z]+\.md\b", text), *re.findall(r"\bcases/\S+?\.yaml", text)}
    assert named
    assert all((HOME / name).exists() for name in named)


def rewritten(text: str, folder: Path) -> str:
    """The page with each quoted line that is not told any more replaced by the most like part of the output."""
    for shown in Bench(folder).play(text):
        whole = flat(shown.output)
        words = whole.split()
        for line in shown.quoted:
            if flat(line) in whole:
                continue
            length = len(line.split())
            parts = [" ".join(words[i : i + length]) for i in range(max(len(words) - length, 0) + 1)]
            best = max(parts, key=lambda part: difflib.SequenceMatcher(None, flat(line), part).ratio())
            text = text.replace(line, line[: len(line) - len(line.lstrip())] + best)
    return text


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        README.write_text(rewritten(README.read_text("utf-8"), Path(place)), encoding="utf-8")
