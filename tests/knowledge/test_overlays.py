"""The user's own knowledge: replaces by id, and however broken, costs only itself."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path
from shutil import copytree

import msgspec
import pytest

from oldcoat.engine import Examiner, open_knowledge, opening, parse_piece
from oldcoat.engine.checking.lint import lint
from oldcoat.engine.knowledge import loader
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.fresh import KINDS, new_entry
from oldcoat.engine.knowledge.layout import TABLES, TOPICS
from oldcoat.engine.knowledge.loader import SHIPPED, layers_for
from oldcoat.shell.tell.lookup import origin_of


def own(folder: Path, name: str, text: str | bytes) -> Path:
    """A file of the user's layer."""
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def shipped(name: str) -> str:
    """The text of a shipped file."""
    return (SHIPPED / name).read_text("utf-8")


def works(knowledge: Knowledge) -> None:
    """An examination goes through."""
    piece = parse_piece("piece: x\nsurfaces: [{name: top, tests: {film-build: thick-filled}}]", "x", knowledge)
    assert Examiner(knowledge).examine(piece, piece.surfaces[0]).posterior.top in knowledge.finishes


GARBAGE: dict[str, Callable[[str], str | bytes]] = {
    "empty": lambda _: "",
    "not yaml": lambda _: "a: [",
    "not text": lambda _: b"\xff\xfe\x00",
    "a list": lambda _: "- 1",
    "unknown key": lambda text: text + "\nsurprise: 1\n",
    "twice the same key": lambda text: text + "\n" + text,
}


FILES = [
    *(f"{name}.yaml" for name in (*TABLES, *TOPICS)),
    "finishes/shellac.yaml",
    "tests/alcohol-drop.yaml",
    "removers/acetone.yaml",
    "rules/safety.yaml",
    "woods/oak.yaml",
    "stains/burn.yaml",
    "treatments/oxalic-acid.yaml",
]


@pytest.mark.parametrize("how", GARBAGE)
def test_broken_files_leave_the_shipped_ones_in_force(knowledge: Knowledge, tmp_path: Path, how: str) -> None:
    """One file of each kind broken: every one is named, and all is as if they were not there; topic files too."""
    paths = [own(tmp_path, name, GARBAGE[how](shipped(name))) for name in FILES]
    found = open_knowledge([tmp_path])
    named = {problem.path for problem in found.left_out}
    assert {str(path) for path in paths} <= named
    mine, theirs = (msgspec.to_builtins(k) for k in (found, knowledge))
    for field in ("version", "layers", "left_out"):
        del mine[field], theirs[field]
    assert mine == theirs


BREAKAGES = {
    "band without a number": ("belief.yaml", lambda t: t.replace("  rarely: 0.12\n", "")),
    "hidden group that tests need": ("belief.yaml", lambda t: t.replace("  hardness:", "  toughness:")),
    "no weight for opinion": ("belief.yaml", lambda t: re.sub(r", opinion: [0-9.]+\}", "}", t)),
    "no maker at all": ("priors.yaml", lambda t: "makers: []\n" + t[t.index("\nrefinish:") + 1 :]),
    "a region that priors name": ("vocabulary.yaml", lambda t: re.sub(r"(?m)^  north-america:.*\n", "", t)),
    "tastes gone": ("decide.yaml", lambda t: re.sub(r"(?m)^  low-fume:.*\n", "", t)),
    "a finish of no family": ("finishes/shellac.yaml", lambda t: t.replace("family: spirit-resin", "family: nowhere")),
    "a test without an outcome": ("tests/alcohol-drop.yaml", lambda t: t.replace("id: no-effect", "id: nothing")),
    "an order that runs in a circle": ("work.yaml", lambda t: _circle(t)),
}


def _circle(text: str) -> str:
    first, then = re.search(r"first: ([a-z-]+), then: ([a-z-]+)", text).groups()  # type: ignore[union-attr]
    back = f"order:\n  - {{first: {then}, then: {first}, why: invented circle, source: [memory]}}\n"
    return text.replace("order:\n", back, 1)


@pytest.mark.parametrize("what", BREAKAGES)
def test_a_break_that_no_type_shows(tmp_path: Path, what: str) -> None:
    """Right in form and wrong in substance: the bench still works, and the file is named."""
    name, change = BREAKAGES[what]
    text = change(shipped(name))
    assert text != shipped(name)
    path = own(tmp_path, name, text)
    found = open_knowledge([tmp_path])
    works(found)
    named = [problem for problem in found.left_out if problem.path == str(path)]
    assert named or what == "an order that runs in a circle"


def test_one_bad_entry_does_not_take_a_good_one_with_it(tmp_path: Path) -> None:
    """Beside a broken belief file a replaced finish is in force, and the layer of each is told."""
    own(tmp_path, "belief.yaml", shipped("belief.yaml").replace("  rarely: 0.12\n", ""))
    own(
        tmp_path, "finishes/shellac.yaml", shipped("finishes/shellac.yaml").replace("name: shellac", "name: my shellac")
    )
    found = open_knowledge([tmp_path])
    assert found.finishes["shellac"].name == "my shellac (yours)"
    assert found.origins["finishes/shellac"].layer == str(tmp_path)
    assert found.origins["belief/all"].layer == "shipped"


def test_the_last_layer_wins_and_a_broken_one_uncovers_the_one_beneath(tmp_path: Path) -> None:
    """Three layers of one finish, the uppermost dangling: the middle one is in force."""
    text = shipped("finishes/wax.yaml")
    own(tmp_path / "a", "finishes/wax.yaml", text.replace("name: ", "name: middle ", 1))
    own(tmp_path / "b", "finishes/wax.yaml", text.replace("family: wax", "family: nowhere"))
    found = open_knowledge([tmp_path / "a", tmp_path / "b"])
    assert found.finishes["wax"].name.startswith("middle")


def test_odd_things_in_the_folder(knowledge: Knowledge, tmp_path: Path) -> None:
    """Pipes, loops, folders and names that are no text hang nothing and stop nothing."""
    (tmp_path / "finishes" / "folder.yaml").mkdir(parents=True)
    (tmp_path / "finishes" / "loop.yaml").symlink_to("loop.yaml")
    os.mkfifo(tmp_path / "finishes" / "pipe.yaml")
    Path(os.fsdecode(os.fsencode(tmp_path) + b"/finishes/\xff.yaml")).write_text("x")
    found = open_knowledge([tmp_path, tmp_path / "nowhere"])
    assert found.finishes == knowledge.finishes
    assert len(found.left_out) >= 4


FILLED = {
    "finish": {"fill-in": ["spirit-resin", "shellac", "shellac-waxed"]},
    "remover": {"fill-in": ["very-flammable"]},
    "rule": {"fill-in": ["caustic-soda"]},
    "stain": {"fill-in": ["oxalic-acid"]},
    "test": {"fill-in": []},
    "wood": {"fill-in": []},
}


@pytest.mark.parametrize("kind", KINDS)
def test_a_template_passes_lint_once_filled_in(knowledge: Knowledge, tmp_path: Path, kind: str) -> None:
    """As written it is refused with the lines to fill in; filled in it has no fault and is in force."""
    path, copied = new_entry(kind, "my-own", tmp_path, knowledge)
    assert not copied
    before = lint(layers_for([tmp_path])).faults
    assert before
    assert all(problem.path == str(path) and problem.line for problem in before)
    text = path.read_text()
    for word in FILLED[kind]["fill-in"]:
        text = re.sub(r"(?m)^([^#\n]*)fill-in", rf"\g<1>{word}", text, count=1)
    path.write_text(
        re.sub(
            r'(?m)^([^#\n]*?)""',
            r'\1"invented for a test"',
            re.sub(r'(?m)^([^#\n]*?)""', r'\1"invented for a test"', text),
        )
    )
    assert lint(layers_for([tmp_path])).faults == []
    found = open_knowledge([tmp_path])
    assert found.left_out == []
    assert "my-own" in getattr(found, KINDS[kind])
    works(found)


def test_new_never_overwrites_and_copies_what_it_replaces(knowledge: Knowledge, tmp_path: Path) -> None:
    """For an id of the book the file starts as the book's own text; a file that is there stays."""
    path, copied = new_entry("finish", "shellac", tmp_path, knowledge)
    assert copied
    assert shipped("finishes/shellac.yaml") in path.read_text()
    with pytest.raises(FileExistsError):
        new_entry("finish", "shellac", tmp_path, knowledge)
    assert lint(layers_for([tmp_path])).faults == []


ACID = "acid-on-tannin-wood"


def rule_in_force(found: Knowledge, name: str) -> list[tuple[str, str]]:
    """(file, why) of every rule of an id that counts."""
    return [(file, rule.why) for file, entry in found.rules.items() for rule in entry.rules if rule.id == name]


def test_a_rule_of_ones_own_replaces_the_shipped_one_by_id(knowledge: Knowledge, tmp_path: Path) -> None:
    """`new` copies just that rule; changed, it alone counts, the check passes, and without it the shipped one counts again."""
    path, copied = new_entry("rule", ACID, tmp_path, knowledge)
    assert copied
    assert f"Replaces the rule {ACID} of the layer shipped" in path.read_text()
    book = rule_in_force(knowledge, ACID)
    copy = open_knowledge([tmp_path])
    mine, theirs = (
        [msgspec.json.encode(r) for rows in k.rules.values() for r in rows.rules if r.id == ACID]
        for k in (copy, knowledge)
    )
    assert [rule.replace(b" (yours)", b"") for rule in mine] == theirs
    assert b"(yours)" in mine[0]
    other = path.rename(path.with_name("of-my-own.yaml"))
    other.write_text(re.sub(r"(?s)why: .*?\n  source", "why: invented reason\n  source", other.read_text()))
    found = open_knowledge([tmp_path])
    assert (found.left_out, lint(layers_for([tmp_path])).faults) == ([], [])
    assert rule_in_force(found, ACID) == [("of-my-own", "invented reason (yours).")]
    assert sum(len(f.rules) for f in found.rules.values()) == sum(len(f.rules) for f in knowledge.rules.values())
    assert origin_of("rule", ACID, found) == found.origins["rules/of-my-own"]
    other.write_text(other.read_text().replace("spares: ", "").replace("caution: ", "caution: no-such-"))
    assert rule_in_force(open_knowledge([tmp_path]), ACID) == book


def test_a_rule_twice_in_one_layer_is_left_out_and_named(knowledge: Knowledge, tmp_path: Path) -> None:
    """Which of two of one's own is meant cannot be known: check and engine both leave out the later file."""
    path, _ = new_entry("rule", ACID, tmp_path, knowledge)
    twin = path.with_name("z.yaml")
    twin.write_text(path.read_text())
    found = open_knowledge([tmp_path])
    assert [(p.path, p.code) for p in found.left_out] == [(str(twin), "twice")]
    assert [(p.path, p.code) for p in lint(layers_for([tmp_path])).faults] == [(str(twin), "twice")]
    assert [file for file, _ in rule_in_force(found, ACID)] == [ACID]


def test_the_cache_belongs_to_one_installation_and_stays_small(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same book in a second folder names its own files, under the same version; a few states are kept, those last used."""
    cache, here = tmp_path / "cache", open_knowledge(cache=tmp_path / "cache")
    elsewhere = tmp_path / "elsewhere"
    copytree(SHIPPED, elsewhere)
    with monkeypatch.context() as moved:
        moved.setattr(loader, "SHIPPED", elsewhere)
        there = open_knowledge(cache=cache)
    assert there.origins["finishes/shellac"].path == str(elsewhere / "finishes" / "shellac.yaml")
    assert here.origins["finishes/shellac"].path == str(SHIPPED / "finishes" / "shellac.yaml")
    assert there.version == here.version
    first = next(path for path in cache.iterdir() if str(SHIPPED) in path.read_text())
    for number, state in enumerate(range(opening.KEPT + 2), 1):
        (cache / f"knowledge-invented-{state}.json").write_text("{}")
        os.utime(cache / f"knowledge-invented-{state}.json", (number, number))
    os.utime(first, (0, 0))
    assert open_knowledge(cache=cache) == here
    own(tmp_path / "mine", "nothing/stray.yaml", "x: 1")
    open_knowledge([tmp_path / "mine"], cache)
    kept = sorted(cache.iterdir())
    assert len(kept) == opening.KEPT
    assert first in kept


@pytest.mark.parametrize(
    ("traits", "blend", "cautions", "silent"),
    [
        ("[]", "{acetone: 1.0}", "[very-flammable]", True),
        ("[]", "{}", "[skin-solvent]", True),
        ("[very-flammable]", "{acetone: 1.0}", "[waste-disposal]", True),
        ("[very-flammable]", "{acetone: 1.0}", "[very-flammable]", False),
        ("[water]", "{benzyl-alcohol: 1.0}", "[skin-solvent]", False),
    ],
)
def test_a_solvent_that_says_nothing_of_fire(
    tmp_path: Path, traits: str, blend: str, cautions: str, silent: bool
) -> None:
    """Noted where it burns like those called flammable, or nobody knows, without a trait; or without any caution for the work."""
    text = shipped("removers/acetone.yaml")
    for field, value in (("traits", traits), ("blend", blend), ("cautions", cautions)):
        text = re.sub(rf"(?m)^{field}:.*$", f"{field}: {value}", text)
    path = own(tmp_path, "removers/invented.yaml", text)
    notes = [p.code for p in lint(layers_for([tmp_path])).notes if p.path == str(path)]
    assert ("no-warning" in notes) is silent
