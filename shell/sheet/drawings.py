"""Small drawings of what a test may show, as inline SVG from a few primitives.

Two views: a section through film and wood, and a look at the face from above. Nothing
is coloured here: classes name the stuff (wood, film, line, ...) and sheet.css gives it
a tone for light, dark and paper. Same name, same drawing, to the last digit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import cos, pi, sin
from random import Random

from markupsafe import Markup

from ..tell.safe import safe

WIDE, HIGH = 96, 60
TOP = 42.0  # where the wood begins in a section
BLADE = 46.0  # where the scraper stands in a section
Point = tuple[float, float]


def drawing(name: str, told: str | None = None) -> Markup:
    """The drawing called `name`; `told` replaces its own alternative text. Raises KeyError."""
    title, draw = DRAWINGS[name]
    alt = safe(told or title)
    head = Markup('<svg class="drawing" viewBox="0 0 {} {}" role="img" aria-label="{}"><title>{}</title>')
    return head.format(WIDE, HIGH, alt, alt) + Markup(draw() + "</svg>")


# ---------------------------------------------------------------- primitives


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _rect(kind: str, x: float, y: float, w: float, h: float, r: float = 0) -> str:
    return f'<rect class="{kind}" x="{_n(x)}" y="{_n(y)}" width="{_n(w)}" height="{_n(h)}" rx="{_n(r)}"/>'


def _path(kind: str, d: str) -> str:
    return f'<path class="{kind}" d="{d}"/>'


def _dot(kind: str, x: float, y: float, r: float) -> str:
    return f'<circle class="{kind}" cx="{_n(x)}" cy="{_n(y)}" r="{_n(r)}"/>'


def _run(kind: str, points: Sequence[Point], closed: bool = False) -> str:
    joined = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
    return f'<{"polygon" if closed else "polyline"} class="{kind}" points="{joined}"/>'


def _lump(kind: str, dice: Random, x: float, y: float, r: float, corners: int = 6) -> str:
    """An irregular chip about so large."""
    around = [
        (x + r * dice.uniform(0.65, 1.15) * cos(a), y + r * dice.uniform(0.65, 1.15) * sin(a))
        for a in (2 * pi * i / corners for i in range(corners))
    ]
    return _run(kind, around, closed=True)


def _coil(x: float, y: float, r: float, turns: float) -> str:
    """A spiral that starts at its foot, r below (x, y), and winds inwards."""
    steps = int(turns * 14)
    return _run(
        "ribbon",
        [
            (x + r * (1 - 0.75 * i / steps) * sin(-2 * pi * turns * i / steps),
             y + r * (1 - 0.75 * i / steps) * cos(2 * pi * turns * i / steps))
            for i in range(steps + 1)
        ],
    )  # fmt: skip


def _wood() -> str:
    grain = "".join(_path("grain", f"M4 {y}q22 {b} 44 0t44 0") for y, b in ((47, 2), (52, -2), (56, 1)))
    return _rect("wood", 2, TOP, 92, 16) + grain


def _film(x: float = 2, to: float = 94, thick: float = 6, kind: str = "film", over: float = 0) -> str:
    return _rect(kind, x, TOP - over - thick, to - x, thick)


def _scraped(off: str, film: bool = True) -> str:
    """A section with a scraper on its way to the left, and what comes `off` ahead of it."""
    blade = _path("tool", f"M{_n(BLADE)} {_n(TOP)}l16 -34l5 2l-17 33z")
    return _wood() + (_film(to=BLADE) if film else "") + off + blade


def _face(kind: str = "film") -> str:
    grain = "".join(_path("grain", f"M6 {y}q21 {b} 42 0t42 0") for y, b in ((14, 3), (27, -3), (39, 2), (50, -2)))
    return _rect(kind, 3, 3, 90, 54, 3) + grain


def _grid(dice: Random, across: int, down: int, wobble: float) -> list[list[Point]]:
    """Points over a whole face, row by row, each moved a little; the rim stays on the rim."""
    return [
        [
            (3 + 90 * i / across + dice.uniform(-wobble, wobble) * (0 < i < across),
             3 + 54 * j / down + dice.uniform(-wobble, wobble) * (0 < j < down))
            for i in range(across + 1)
        ]
        for j in range(down + 1)
    ]  # fmt: skip


# ---------------------------------------------------------------- sections


def _curl() -> str:
    return _scraped(_coil(38, 26, 10, 1.6))


def _ribbon() -> str:
    return _scraped(_path("ribbon", "M46 36C34 30 28 16 40 11S62 4 70 8S88 20 90 8"))


def _powder() -> str:
    dice = Random(3)
    heap = (_dot("speck", BLADE - 3 - dice.uniform(0, 26), 34 - abs(dice.gauss(0, 5)), 0.8) for _ in range(70))
    return _scraped("".join(heap))


def _dust() -> str:
    dice = Random(12)
    block = _rect("tool", 40, 18, 34, 16, 2) + _rect("speck", 40, 34, 34, 2)
    heap = (_dot("speck", 36 - abs(dice.gauss(0, 9)), 34 - abs(dice.gauss(0, 3)), 0.8) for _ in range(60))
    return _wood() + _film() + block + "".join(heap)


def _shaving() -> str:
    return _scraped(_path("crack", "M46 41C38 40 36 30 30 30S22 37 27 39S38 30 34 24"), film=False)


def _brittle_flakes() -> str:
    dice = Random(5)
    spots = ((40, 31), (33, 33), (25, 31), (37, 22), (28, 21), (20, 26), (31, 12), (42, 14), (14, 32))
    return _scraped("".join(_lump("chip", dice, x, y, dice.uniform(2, 3.6), 5) for x, y in spots))


def _gummy_roll() -> str:
    rolls = "".join(_dot("chip", x, y, r) + _coil(x, y, r, 1.5) for x, y, r in ((33, 29, 7), (52, 31, 5), (67, 32, 4)))
    strings = _path("line", "M72 36q4 -5 9 0M24 36q-4 -6 -8 0M42 36q3 -4 6 0")
    return _wood() + _film(to=28) + _film(x=70) + _film(x=28, to=70, thick=2) + rolls + strings


def _wrinkle() -> str:
    wave = "M22 36C28 36 26 22 32 22S34 34 40 34S40 16 47 16S49 34 55 34S56 21 62 21S66 36 73 36"
    return _wood() + _film(to=23) + _film(x=72) + _path("lifted", wave)


def _smear() -> str:
    pool = _path("film", "M2 36H24C34 36 34 41 46 41H62V42H2zM78 36H94V42H78z")
    drag = "".join(_path("line", f"M46 {y}q10 -3 20 -1") for y in (36, 39))
    pad = _rect("cloth", 62, 18, 22, 20, 7) + _path("stain", "M63 31q10 4 20 0v1q0 6 -6 6h-8q-6 0 -6 -6z")
    return _wood() + pool + drag + pad


def _dent() -> str:
    film = _path("film", "M2 36H36C39 36 40 33 43 34L48 40L53 34C56 33 57 36 60 36H94V42H2z")
    return _wood() + film + _path("line", "M48 8V28M44 23l4 6l4 -6")


def _bead() -> str:
    return (
        _wood() + _film() + _path("water", "M34 36C26 24 36 16 48 16S70 24 62 36z") + _path("shine", "M39 25q3 -5 8 -5")
    )


def _soak_in() -> str:
    damp = _path("stain", "M22 42H74C72 52 60 57 48 57S24 52 22 42z")
    arrows = "".join(_path("line", f"M{x} 22V36M{x - 3} 32l3 5l3 -5") for x in (36, 48, 60))
    return _wood() + damp + _path("water", "M26 42Q48 37 70 42z") + arrows


def _unchanged() -> str:
    return _wood() + _film() + _path("dashed", "M32 35C32 22 64 22 64 35")


def _film_of(thick: float, pores: str) -> Callable[[], str]:
    """A section with open pores; `pores` says whether the film fills, follows or only wets them."""

    def draw() -> str:
        cut = {"filled": "film", "open": "pore", "wet": "stain"}[pores]
        holes = "".join(
            _path(cut, f"M{x - 3} {_n(TOP - (thick if pores == 'open' else 0))}L{x} 51L{x + 3} "
                       f"{_n(TOP - (thick if pores == 'open' else 0))}z")
            for x in (16, 32, 48, 64, 80)
        )  # fmt: skip
        return _wood() + (_film(thick=thick) if thick else "") + holes

    return draw


def _steps_of(*kinds: str) -> Callable[[], str]:
    """The edge of a chip: layers from the wood up, each ending before the one below."""

    def draw() -> str:
        thick = 28 / max(len(kinds), 3)
        rows = (
            _film(to=88 - 18 * i * 3 / len(kinds) / 1.6, thick=thick, kind=kind, over=i * thick)
            for i, kind in enumerate(kinds)
        )
        return _wood() + "".join(rows)

    return draw


# ---------------------------------------------------------------- faces from above


def _alligator() -> str:
    dice = Random(11)
    net = _grid(dice, 6, 4, 3.5)
    islands = []
    for low, high in pairwise(net):
        for i in range(len(low) - 1):
            ring = [low[i], low[i + 1], high[i + 1], high[i]]
            mx, my = sum(x for x, _ in ring) / 4, sum(y for _, y in ring) / 4
            islands.append(_run("island", [(mx + (x - mx) * 0.8, my + (y - my) * 0.76) for x, y in ring], closed=True))
    return _face("wood") + "".join(islands)


def _crazing() -> str:
    net = _grid(Random(7), 11, 7, 2.6)
    rows = [_run("crack", row) for row in net[1:-1]]
    columns = [_run("crack", column) for column in list(zip(*net, strict=True))[1:-1]]
    return _face() + "".join(rows + columns)


def _checks() -> str:
    dice = Random(2)
    long = (
        _run(
            "line",
            [(x + dice.uniform(-1, 1), 4 + dice.uniform(0, 9)), (x + dice.uniform(-2, 2), 56 - dice.uniform(0, 9))],
        )
        for x in (12, 23, 31, 44, 52, 66, 75, 86)
    )
    short = (
        _run("line", [(x, y), (x + w, y + 0.5)]) for x, y, w in ((12, 24, 11), (31, 38, 13), (52, 18, 14), (66, 44, 9))
    )
    return _face() + "".join([*long, *short])


def _bloom_ring() -> str:
    return _face() + "".join(_dot(kind, 48, 30, 18) for kind in ("ring-edge", "ring-white"))


def _dark_ring() -> str:
    return _face("wood") + _dot("ring-dark", 48, 30, 18)


def _flaking() -> str:
    dice = Random(9)
    spots = ((24, 22, 11), (56, 40, 13), (74, 18, 9))
    bare = "".join(_lump("bare", dice, x, y, r, 9) for x, y, r in spots)
    loose = "".join(_lump("chip", dice, x + 9, y - 7, 3.4, 5) for x, y, r in spots)
    return _face() + bare + loose


def _brush_marks() -> str:
    strokes = "".join(_path("crack", f"M5 {y}q21 {1.5 if y % 2 else -1.5} 43 0t43 0") for y in range(7, 56, 3))
    return _face() + strokes + _path("chip", "M66 20q-1 16 0 22q3 7 6 0q1 -8 0 -22z")


def _orange_peel() -> str:
    net = _grid(Random(4), 13, 8, 1.6)
    pits = (_path("crack", f"M{_n(x - 2.4)} {_n(y)}a2.6 2.6 0 0 1 4.8 0") for row in net[1:-1] for x, y in row[1:-1])
    return _face() + "".join(pits)


def _scratch_white() -> str:
    dice = Random(6)
    at = [(12 + 6 * i, 46 - 2.6 * i) for i in range(13)]
    dust = (_dot("speck", x + dice.uniform(-4, 4), y + dice.uniform(-4, 4), 0.7) for x, y in at for _ in range(5))
    return _face() + _run("score-edge", [at[0], at[-1]]) + _run("score-white", [at[0], at[-1]]) + "".join(dust)


def _scratch_clear() -> str:
    return _face() + _path("line", "M12 46L84 15")


def _hatch_of(lost: int) -> Callable[[], str]:
    """A lattice of 36 squares after the tape is pulled, `lost` of them gone."""

    def draw() -> str:
        gone = set(Random(8).sample(range(36), lost))
        squares = (
            _rect("bare" if i * 6 + j in gone else "island", 24 + 8 * j, 6 + 8 * i, 7.2, 7.2)
            for i in range(6)
            for j in range(6)
        )
        return _face() + "".join(squares)

    return draw


DRAWINGS: dict[str, tuple[str, Callable[[], str]]] = {
    "alligator": ("Face cracked into separate islands with wide gaps, like hide", _alligator),
    "bead": ("A drop stands up round on the film", _bead),
    "bloom-ring": ("A white ring in the film", _bloom_ring),
    "brittle-flakes": ("Small hard flakes jump off ahead of the scraper", _brittle_flakes),
    "brush-marks": ("Fine parallel ridges and a run", _brush_marks),
    "checks": ("Long straight cracks, most of them across the grain", _checks),
    "clear-over-clear": ("Edge of a chip: one clear film on another", _steps_of("film", "island")),
    "clear-over-colour": ("Edge of a chip: a clear film on a coloured one", _steps_of("paint", "film")),
    "crazing": ("A net of fine cracks all over", _crazing),
    "curl": ("A short curl rises ahead of the scraper", _curl),
    "dark-ring": ("A dark ring in the wood", _dark_ring),
    "dent": ("The film is pressed in and does not break", _dent),
    "dust": ("Fine dust lies beside the sanding block", _dust),
    "film-in-wood": ("Wet pores and no film on the wood", _film_of(0, "wet")),
    "film-medium": ("A film of middling thickness", _film_of(5, "filled")),
    "film-thick": ("A thick film, pores filled", _film_of(13, "filled")),
    "film-thin": ("A thin film that follows the open pores", _film_of(2.5, "open")),
    "flaking": ("Film gone in patches, loose flakes at the edges", _flaking),
    "gummy-roll": ("The film rolls up into gummy crumbs and strings", _gummy_roll),
    "hatch-few": ("Cut lattice after the tape: hardly a square lost", _hatch_of(1)),
    "hatch-many": ("Cut lattice after the tape: over a third lost", _hatch_of(19)),
    "hatch-some": ("Cut lattice after the tape: some squares lost", _hatch_of(7)),
    "orange-peel": ("Small even dimples all over, from a spray gun", _orange_peel),
    "paint-stack": ("Edge of a chip: many coats of paint", _steps_of("paint", "island", "stain", "paint", "island")),
    "plain-face": ("A whole and even face", _face),
    "powder": ("Dry dust comes off ahead of the scraper", _powder),
    "ribbon": ("A long tough ribbon comes off ahead of the scraper", _ribbon),
    "scratch-clear": ("A scratch that stays clear", _scratch_clear),
    "scratch-white": ("A scratch that turns white and sheds dust", _scratch_white),
    "shaving": ("Only thin shavings of wood, no film", _shaving),
    "smear": ("The film turns liquid and comes away on the cloth", _smear),
    "soak-in": ("The drop goes into bare wood and darkens it", _soak_in),
    "unchanged": ("The film is as it was", _unchanged),
    "wrinkle": ("The film swells, wrinkles and lifts from the wood", _wrinkle),
}  # fmt: skip
