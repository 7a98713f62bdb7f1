"""A strict reading of our own pages: every tag closed, every attribute and text at hand."""

from __future__ import annotations

from html.parser import HTMLParser

VOID = {"meta", "input", "br"}


class Tag:
    """One element with its attributes, its path of parents and the text below it."""

    def __init__(self, name: str, attributes: dict[str, str], parents: list[Tag]) -> None:
        self.name, self.attributes, self.parents = name, attributes, parents
        self.text = ""

    def within(self, name: str) -> bool:
        """Whether it stands in an element called `name`."""
        return any(parent.name == name for parent in self.parents)


class Page(HTMLParser):
    """A whole page; reading fails on a tag that is closed wrongly or not at all."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[Tag] = []
        self.text = ""
        self._open: list[Tag] = []
        self.feed(html)
        self.close()
        assert not self._open, f"not closed: {[t.name for t in self._open]}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note it."""
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), f"attribute twice in {tag}: {names}"
        found = Tag(tag, {name: value or "" for name, value in attrs}, list(self._open))
        self.tags.append(found)
        if tag not in VOID:
            self._open.append(found)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """SVG shapes close themselves."""
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        """It must be the one that is open."""
        assert self._open, f"</{tag}> closes nothing"
        assert self._open[-1].name == tag, f"</{tag}> closes {self._open[-1].name}"
        self._open.pop()

    def handle_data(self, data: str) -> None:
        """Text counts for all that it stands in; style is not text."""
        if not any(tag.name == "style" for tag in self._open):
            self.text += data
            for tag in self._open:
                tag.text += data

    def all(self, name: str, kind: str = "") -> list[Tag]:
        """Elements by name, and by class if `kind` is given."""
        return [t for t in self.tags if t.name == name and (not kind or kind in t.attributes.get("class", "").split())]
