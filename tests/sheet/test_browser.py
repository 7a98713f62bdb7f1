"""The page in a real browser: phone, dark, A4 and Letter. Skipped where there is no Chromium."""

from __future__ import annotations

import html
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from .conftest import Made

BROWSER = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), ""
)
pytestmark = pytest.mark.skipif(not BROWSER, reason="no Chromium here")
QUIET = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-sync",
]

PROBE = """<!doctype html><meta charset="utf-8"><body><iframe id="f" style="border:0;width:{width}px;height:900px"></iframe><script>
const frame = document.getElementById("f");
frame.onload = () => {{
  const page = frame.contentDocument, root = page.documentElement, wide = frame.contentWindow.innerWidth;
  const out = [...page.querySelectorAll("body *")].filter(e => !e.closest(".skip, .unseen, thead, svg")
    && e.getBoundingClientRect().right > wide + 1).map(e => e.tagName + "." + e.className);
  const told = [...page.querySelectorAll("main *")].filter(e => !e.closest("svg, thead, .unseen")
    && [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) && e.getClientRects().length);
  const sizes = told.map(e => parseFloat(frame.contentWindow.getComputedStyle(e).fontSize));
  const thin = told.filter(e => e.textContent.length > 12 && e.getBoundingClientRect().width < 60)
    .map(e => e.tagName + "." + e.className + " " + e.textContent.slice(0, 40));
  document.body.textContent = "SEEN " + JSON.stringify({{scroll: root.scrollWidth, wide, out, thin, least: Math.min(...sizes),
    ground: frame.contentWindow.getComputedStyle(page.body).backgroundColor}}) + " END";
}};
frame.srcdoc = {page};
</script>"""


def _browse(folder: Path, *arguments: str) -> str:
    command = [BROWSER, *QUIET, f"--user-data-dir={folder / 'profile'}", *arguments]
    return subprocess.run(command, capture_output=True, text=True, timeout=90, check=True).stdout


def _probe(made: Made, folder: Path, width: int, *arguments: str) -> dict[str, object]:
    import json

    file = folder / "probe.html"
    text = json.dumps(made.html).replace("</", "<\\/")
    file.write_text(PROBE.format(width=width, page=text), "utf-8")
    dumped = _browse(folder, *arguments, "--virtual-time-budget=5000", "--dump-dom", file.as_uri())
    seen = re.search(r"SEEN (.*) END", html.unescape(dumped))
    assert seen is not None, dumped[-500:]
    return json.loads(seen[1])  # type: ignore[no-any-return]


@pytest.mark.parametrize("width", [360, 390])
def test_on_a_phone_nothing_runs_out_of_the_page(made: Made, tmp_path: Path, width: int) -> None:
    """No sideways scrolling, no element past the edge, no type under 15 pixels, no text squeezed to a thread."""
    seen = _probe(made, tmp_path, width)
    assert seen["wide"] == width
    assert float(str(seen["least"])) >= 15
    assert seen["thin"] == []
    assert seen["out"] == []
    assert int(str(seen["scroll"])) <= width


def test_the_dark_setting_is_followed(made: Made, tmp_path: Path) -> None:
    """Light paper by default, a dark ground if the reader prefers it."""
    light = _probe(made, tmp_path, 800, "--blink-settings=preferredColorScheme=1")["ground"]
    dark = _probe(made, tmp_path, 800, "--blink-settings=preferredColorScheme=0")["ground"]
    assert light == "rgb(255, 255, 255)"
    assert max(map(int, re.findall(r"\d+", str(dark)))) < 40


@pytest.mark.parametrize(("paper", "points"), [("A4", (595, 842)), ("letter", (612, 792))])
def test_it_prints_on_both_papers_and_is_short(made: Made, tmp_path: Path, paper: str, points: tuple[int, int]) -> None:
    """A document of that paper: page one, a page and a half a surface at most, and three for the lists."""
    boxes = _printed(made.html, tmp_path, paper)
    assert 2 <= len(boxes) <= 1.5 * len(made.piece.surfaces) + 4
    assert all(abs(float(w) - points[0]) < 1 and abs(float(h) - points[1]) < 1 for w, h in boxes)


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_page_one_is_one_page(made: Made, tmp_path: Path, paper: str) -> None:
    """Without what follows it, it fills a single sheet of either paper."""
    assert len(_printed(_alone(made.html), tmp_path, paper)) == 1


def _alone(page: str) -> str:
    """The page with nothing after page one."""
    alone = "main > section:not(#bench), footer { display: none !important; } #bench { break-after: auto !important; }"
    return page.replace("</style>", alone + "</style>", 1)


def _printed(page: str, folder: Path, paper: str) -> list[tuple[bytes, bytes]]:
    """Width and height in points of each page."""
    file, out = folder / "page.html", folder / "page.pdf"
    file.write_text(page.replace("@page {", f"@page {{ size: {paper};", 1), "utf-8")
    _browse(folder, "--no-pdf-header-footer", f"--print-to-pdf={out}", file.as_uri())
    return re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", out.read_bytes())


@pytest.mark.parametrize("width", [320, 390])
def test_names_without_a_blank_never_push_a_phone_sideways(crowded: Made, tmp_path: Path, width: int) -> None:
    """Nine surfaces with unbroken and hostile names: in every table, list and heading the name breaks."""
    seen = _probe(crowded, tmp_path, width)
    assert seen["out"] == []
    assert int(str(seen["scroll"])) <= width
    assert float(str(seen["least"])) >= 15


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_a_crowded_page_one_goes_on_on_a_second_sheet(crowded: Made, tmp_path: Path, paper: str) -> None:
    """More than one sheet can hold is no more than two, and no card, step or stop is cut by the edge."""
    assert 1 <= len(_printed(_alone(crowded.html), tmp_path, paper)) <= 2
