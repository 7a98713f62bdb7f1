"""Valid files made faulty: by structure (keys, types, values) and by bytes."""

from __future__ import annotations

import json
from collections.abc import Sequence
from copy import deepcopy
from random import Random
from typing import Any

from oldcoat.engine.problems import BadInput
from oldcoat.engine.reading.yamltext import parse
from oldcoat.engine.storage import to_yaml
from oldcoat.shell.bench.words import WORDS

HOSTILE: list[Any] = [
    None,
    True,
    False,
    0,
    -1,
    1,
    10**15,
    -(10**15),
    0.0,
    -0.5,
    1e15,
    1e-15,
    "",
    " ",
    "no",
    "unknown",
    "could-not-do",
    "1:30",
    "012",
    "../../x",
    "\x07\x1b[31m",
    "‮abc",
    "x" * 3000,
    "é́️",
    "{{7*7}}",
    "[bold]x[/bold]",
    "almost-always",
    "stripper-patch/",
    "stripper-patch/sanding",
    "9999-0001",
    "0th century",
    "99th century",
    [],
    {},
    [[]],
    {"": ""},
    [None],
    {"name": "top"},
    ["a"] * 300,
]


TEXTS = [value for value in HOSTILE if isinstance(value, str)]


def places(value: Any) -> list[tuple[Any, Any]]:
    """Every (container, key) inside a value."""
    keys = list(value) if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    return [spot for key in keys for spot in ((value, key), *places(value[key]))]


def bend(value: Any, rng: Random) -> None:
    """One change of structure, in place."""
    spots = places(value)
    if not spots:
        return
    holder, key = rng.choice(spots)
    other, other_key = rng.choice(spots)
    way = rng.randrange(6)
    if way == 0:
        del holder[key]
    elif way == 1 and isinstance(holder, list):
        holder.insert(key, deepcopy(holder[key]))
    elif way == 2 and isinstance(holder, dict):
        holder[rng.choice(["zz", "name", "note", "0", "tests", f"{key}x"])] = holder.pop(key)
    elif way == 3:
        holder[key] = deepcopy(other[other_key])
    elif way == 4 and isinstance(holder[key], str) and holder[key]:
        cut = rng.randrange(len(holder[key]))
        holder[key] = holder[key][:cut] + rng.choice(["", "-", "x", "\n", "\t", "é"]) + holder[key][cut + 1 :]
    else:
        holder[key] = deepcopy(rng.choice(HOSTILE))


def bent_yaml(data: bytes, rng: Random, most: int = 3) -> bytes:
    """A YAML file with up to `most` changes of structure; a first comment line stays. Raises BadInput if it is none."""
    text = data.decode("utf-8-sig", errors="replace")
    head = text.split("\n", 1)[0] + "\n" if text.startswith("#") else ""
    whole = [parse(text, "seed").value]
    for _ in range(rng.randint(1, most)):
        bend(whole, rng)
    return (head + to_yaml(whole[0] if whole else None)).encode("utf-8", errors="replace")


def bent_lines(data: bytes, rng: Random) -> bytes:
    """A log with lines changed in structure, doubled, dropped or moved."""
    rows = [[json.loads(line)] for line in data.splitlines()]
    for _ in range(rng.randint(1, 3)):
        at = rng.randrange(len(rows))
        way = rng.randrange(5)
        if way == 0 and len(rows) > 1:
            del rows[at]
        elif way == 1:
            rows.insert(at, deepcopy(rows[at]))
        elif way == 2:
            rows.append(rows.pop(at))
        else:
            bend(rows[at], rng)
    return b"".join(json.dumps(row[0] if row else None).encode() + b"\n" for row in rows)


def bent_bytes(data: bytes, rng: Random, most: int = 8) -> bytes:
    """Bytes flipped, cut out, doubled, or hostile ones put in."""
    raw = bytearray(data)
    for _ in range(rng.randint(1, most)):
        at = rng.randrange(len(raw) + 1)
        way = rng.randrange(5)
        if way == 0 and at < len(raw):
            raw[at] = rng.randrange(256)
        elif way == 1:
            del raw[at : at + rng.randint(1, 40)]
        elif way == 2:
            raw[at:at] = raw[at : at + rng.randint(1, 40)]
        elif way == 3:
            raw[at:at] = rng.choice(
                [
                    b"\0",
                    b"\t",
                    b"&a ",
                    b"*a",
                    b"- ",
                    b"---\n",
                    b"!!python/object:os.system ",
                    b"[" * 60,
                    b"{",
                    b": ",
                    b"'",
                ]
            )
        else:
            del raw[at:]
    return bytes(raw)


def bent_typing(data: bytes, rng: Random, words: Sequence[str]) -> bytes:
    """Lines dropped, doubled, moved, or put in: words of the bench, numbers, hostile text."""
    lines = data.decode("utf-8", errors="replace").split("\n")
    for _ in range(rng.randint(1, 6)):
        at, way = rng.randrange(len(lines)), rng.randrange(5)
        if way == 0 and len(lines) > 1:
            del lines[at]
        elif way == 1:
            lines.insert(at, lines[rng.randrange(len(lines))])
        elif way == 2:
            lines.insert(at, str(rng.choice([*range(-1, 12), 99, "1e9", "0.6 mm", '1/32"', *words])))
        elif way == 3:
            lines.insert(at, f"{rng.choice(words)} {rng.choice(['', '1', '2', 'top', 'oak', 'zz', *TEXTS])}")
        else:
            lines[at] = rng.choice(TEXTS)
    return "\n".join(lines).encode("utf-8", errors="replace")


def bent(name: str, data: bytes, rng: Random) -> bytes:
    """A faulty input for a target, by structure if it has one and the draw says so, else by bytes."""
    if name == "archive" or rng.random() < 0.3:
        return bent_bytes(data, rng)
    if name == "keystrokes":
        return bent_typing(data, rng, [word.name for word in WORDS])
    try:
        return bent_lines(data, rng) if name == "event-log" else bent_yaml(data, rng)
    except (BadInput, ValueError, RecursionError, IndexError):
        return bent_bytes(data, rng)
