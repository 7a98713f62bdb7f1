"""Cases out and in again; hostile archives refused before anything is taken."""

from __future__ import annotations

import gzip
import io
import tarfile
import zipfile
from contextlib import suppress
from pathlib import Path

import pytest
from invented import case

from oldcoat.engine.casebook import exchange
from oldcoat.engine.casebook.exchange import export_cases, import_cases
from oldcoat.engine.casebook.sameness import print_of
from oldcoat.engine.casebook.store import Casebook
from oldcoat.engine.problems import BadInput
from oldcoat.engine.storage import to_yaml

CASES = [case("invented-one"), case("invented-two", "waterborne", "opinion")]


@pytest.mark.parametrize("name", ["folder", "cases.zip", "cases.tar", "cases.tar.gz", "cases.tgz"])
def test_there_and_back(book: Casebook, tmp_path: Path, name: str) -> None:
    """What goes out comes in the same; a second time it is known to be here already."""
    export_cases(CASES, tmp_path / name)
    assert sorted(import_cases(book, tmp_path / name).taken) == ["invented-one", "invented-two"]
    assert [book.get(c.id) for c in CASES] == CASES
    assert import_cases(book, tmp_path / name).here == ["invented-one", "invented-two"]


def test_equal_casebooks_give_equal_archives(tmp_path: Path) -> None:
    """No clock and no user name gets into an archive."""
    for name in ("a.zip", "b.zip", "a.tar.gz", "b.tar.gz"):
        export_cases(CASES, tmp_path / name)
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()
    assert (tmp_path / "a.tar.gz").read_bytes() == (tmp_path / "b.tar.gz").read_bytes()


def test_nothing_is_ever_replaced(book: Casebook, tmp_path: Path) -> None:
    """A case that is here with another content stays; the others of the archive are taken."""
    book.take(case("invented-one", "wax"))
    export_cases(CASES, tmp_path / "cases.zip")
    done = import_cases(book, tmp_path / "cases.zip")
    assert done.taken == ["invented-two"]
    assert [p.code for p in done.refused] == ["twice"]
    assert book.get("invented-one") == case("invented-one", "wax")
    with pytest.raises(BadInput):
        export_cases(CASES, tmp_path / "cases.zip")


def test_a_faulty_case_costs_only_itself(book: Casebook, tmp_path: Path) -> None:
    """Newer, misnamed and broken cases are named; the good one beside them is taken."""
    folder = tmp_path / "in"
    export_cases(CASES[:1], folder)
    (folder / "newer.yaml").write_text("format: 7\n")
    (folder / "broken.yaml").write_text("format: [\n")
    (folder / "Not An Id.yaml").write_text(to_yaml(CASES[1]))
    (folder / "other-name.yaml").write_text(to_yaml(CASES[1]))
    done = import_cases(book, folder)
    assert done.taken == ["invented-one"]
    assert sorted(p.code for p in done.refused) == ["bad-id", "newer-format", "not-yaml", "other-id"]


def zipped(path: Path, *members: tuple[str, bytes], mode: int = 0) -> Path:
    """A zip archive; `mode` is the kind of the first member."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for index, (name, content) in enumerate(members):
            row = zipfile.ZipInfo(name)
            row.external_attr = (mode if index == 0 else 0) << 16
            archive.writestr(row, content, zipfile.ZIP_DEFLATED)
    return path


def tarred(
    path: Path, name: str, content: bytes = b"", kind: bytes = tarfile.REGTYPE, claims: int | None = None
) -> Path:
    """A tar.gz archive of a good case and one odd member."""
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w") as archive:
        good = to_yaml(CASES[0]).encode()
        row = tarfile.TarInfo("invented-one.yaml")
        row.size = len(good)
        archive.addfile(row, io.BytesIO(good))
        odd = tarfile.TarInfo(name)
        odd.type, odd.size, odd.linkname = kind, len(content), "/etc/passwd"
        archive.addfile(odd, io.BytesIO(content))
    data = bytearray(out.getvalue())
    if claims is not None:
        at = data.index(name.encode())
        data[at + 124 : at + 136] = b"%011o\0" % claims
        data[at + 148 : at + 156] = b"        "
        data[at + 148 : at + 156] = b"%06o\0 " % sum(data[at : at + 512])
    path.write_bytes(gzip.compress(bytes(data)))
    return path


GOOD = ("invented-one.yaml", to_yaml(CASES[0]).encode())


@pytest.mark.parametrize(
    "name", ["/etc/cron.d/x.yaml", "../../x.yaml", "a/../../x.yaml", "..\\x.yaml", "C:\\x.yaml", "C:x.yaml", "/x.yaml"]
)
def test_paths_that_lead_out(book: Casebook, tmp_path: Path, name: str) -> None:
    """Absolute, rising and Windows paths condemn the archive; the good case before them is not taken."""
    for archive in (zipped(tmp_path / "a.zip", GOOD, (name, b"x")), tarred(tmp_path / "a.tar.gz", name, b"x")):
        with pytest.raises(BadInput) as caught:
            import_cases(book, archive)
        assert caught.value.problems[0].code == "path"
    assert not book.folder.exists()


@pytest.mark.parametrize("kind", [tarfile.SYMTYPE, tarfile.LNKTYPE, tarfile.CHRTYPE, tarfile.BLKTYPE, tarfile.FIFOTYPE])
def test_links_and_devices(book: Casebook, tmp_path: Path, kind: bytes) -> None:
    """Only plain files are members."""
    with pytest.raises(BadInput) as caught:
        import_cases(book, tarred(tmp_path / "a.tar.gz", "link.yaml", kind=kind))
    assert caught.value.problems[0].code == "link"
    assert not book.folder.exists()


def test_links_in_a_zip_and_in_a_folder(book: Casebook, tmp_path: Path) -> None:
    """A symbolic link is refused in a zip archive and in a folder, even to a good case."""
    with pytest.raises(BadInput):
        import_cases(book, zipped(tmp_path / "a.zip", ("link.yaml", b"/etc/passwd"), mode=0o120777))
    (tmp_path / "in").mkdir()
    (tmp_path / "elsewhere.yaml").write_bytes(GOOD[1])
    (tmp_path / "in" / "invented-one.yaml").symlink_to(tmp_path / "elsewhere.yaml")
    with pytest.raises(BadInput):
        import_cases(book, tmp_path / "in")
    assert not book.folder.exists()


def test_bombs(book: Casebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Members that unpack to too much, claim too much, or are too many, are refused without unpacking them."""
    zeros = b"0" * 3_000_000
    for archive in (
        zipped(tmp_path / "a.zip", GOOD, ("x.yaml", zeros)),
        tarred(tmp_path / "a.tar.gz", "x.yaml", zeros),
        tarred(tmp_path / "b.tar.gz", "x.yaml", b"x", claims=8_000_000_000),
    ):
        with pytest.raises(BadInput) as caught:
            import_cases(book, archive)
        assert caught.value.problems[0].code == "too-large"
    monkeypatch.setattr(exchange, "MOST_UNPACKED", 100_000)
    for archive in (
        zipped(tmp_path / "c.zip", GOOD, ("notes.txt", zeros)),
        tarred(tmp_path / "c.tar.gz", "pax", zeros[:1_000_000], kind=tarfile.XHDTYPE),
    ):
        with pytest.raises(BadInput, match="unpacks to more than"):
            import_cases(book, archive)
    monkeypatch.setattr(exchange, "MOST_MEMBERS", 3)
    with pytest.raises(BadInput) as caught:
        import_cases(book, zipped(tmp_path / "d.zip", *[(f"{n}.txt", b"") for n in range(4)]))
    assert caught.value.problems[0].code == "too-many"
    assert not book.folder.exists()


def test_the_same_id_twice(book: Casebook, tmp_path: Path) -> None:
    """Two members of one id: which one is meant cannot be known, so neither is taken."""
    with pytest.raises(BadInput) as caught:
        import_cases(book, zipped(tmp_path / "a.zip", GOOD, ("folder/invented-one.yaml", GOOD[1])))
    assert caught.value.problems[0].code == "twice"
    assert not book.folder.exists()


@pytest.mark.parametrize("name", ["a.zip", "a.tar", "a.tar.gz", "a.tgz"])
def test_any_bytes_under_the_name_of_an_archive(book: Casebook, tmp_path: Path, name: str) -> None:
    """Cut and garbled archives end in a message or in whole cases, wherever they are cut."""
    export_cases(CASES, tmp_path / name)
    whole = (tmp_path / name).read_bytes()
    for step in range(12):
        cut = bytearray(whole[: len(whole) * step // 12])
        if cut:
            cut[len(cut) // 2] ^= 0xFF
        (tmp_path / name).write_bytes(bytes(cut))
        with suppress(BadInput):
            import_cases(book, tmp_path / name)
    assert all(book.get(name) in CASES for name in book.ids())


def test_the_same_piece_under_another_id(book: Casebook, tmp_path: Path) -> None:
    """What is here, or earlier in the source, comes in no second time under another id, however it ended; it is named."""
    book.take(CASES[0])
    twin = case("another-name", "wax", "opinion")
    export_cases([CASES[0], twin, case("new-one", wood="oak"), case("newer-one", "wax", wood="oak")], tmp_path / "in")
    prints = {print_of(CASES[0].piece): CASES[0].id}
    done = import_cases(book, tmp_path / "in", None, prints)
    assert (done.taken, done.here) == (["new-one"], ["invented-one"])
    assert [(p.code, Path(p.path).stem) for p in done.refused] == [
        ("kept-already", "another-name"),
        ("kept-already", "newer-one"),
    ]
    assert "as invented-one" in done.refused[0].message
    assert "as new-one" in done.refused[1].message
    assert import_cases(book, tmp_path / "in").taken == ["another-name", "newer-one"]


def test_too_much_and_nothing_at_all(book: Casebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A source with too many or too large cases, or with none, is refused with the most that is taken, and none is taken."""
    export_cases(CASES, tmp_path / "in")
    (tmp_path / "empty").mkdir()
    for name, most, code, told in (
        ("MOST_CASES", 1, "too-many", "more than 1 cases"),
        ("MOST_UNPACKED", 700, "too-large", "more than 700 bytes"),
    ):
        with monkeypatch.context() as patch:
            patch.setattr(exchange, name, most)
            with pytest.raises(BadInput, match=told) as caught:
                import_cases(book, tmp_path / "in")
        assert caught.value.problems[0].code == code
    with pytest.raises(BadInput, match="there is no case in it"):
        import_cases(book, tmp_path / "empty")
    assert not book.folder.exists()
