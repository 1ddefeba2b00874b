"""Rigs that are checked once for all tests of the page, and the page taken apart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

import pytest

from rigmodel import assemble, check, load_scene
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.report.html import html_report

VERSION = "9.8.7"
VOID = frozenset(("meta", "link", "input", "img", "wbr"))


@dataclass
class Element:
    """One element of a page; `text` is all the text inside it."""

    name: str
    attributes: dict[str, str]
    text: str = ""


@dataclass
class Page(HTMLParser):
    """A page taken apart by Python's own parser; every element must be closed in its turn."""

    elements: list[Element] = field(default_factory=list)
    open: list[Element] = field(default_factory=list)
    comments: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(set(names)) == len(names)
        element = Element(tag, {name: value or "" for name, value in attrs})
        self.elements.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append(Element(tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open
        assert self.open.pop().name == tag

    def handle_data(self, data: str) -> None:
        told = data.replace("\u00a0", " ")  # so that no line ends there; it reads the same
        for element in self.open:
            element.text += told

    def handle_comment(self, data: str) -> None:
        self.comments.append(data)

    def named(self, name: str) -> list[Element]:
        """Elements of that name."""
        return [element for element in self.elements if element.name == name]

    def by_id(self, name: str) -> Element:
        """The element of that id."""
        (found,) = [e for e in self.elements if e.attributes.get("id") == name]
        return found

    def of_class(self, name: str) -> list[Element]:
        """Elements of that class."""
        return [e for e in self.elements if name in e.attributes.get("class", "").split()]


def parsed(text: str) -> Page:
    """A page taken apart; nothing is left open."""
    page = Page()
    page.feed(text)
    page.close()
    assert page.open == []
    return page


@pytest.fixture(scope="session")
def taken_apart() -> Callable[[str], Page]:
    """Takes a page or a piece of one apart."""
    return parsed


@dataclass(frozen=True, eq=False)
class Rig:
    """A rig with its findings and its page."""

    assembly: Assembly
    findings: Findings
    text: str
    page: Page


@pytest.fixture(scope="session")
def rig() -> Callable[[str], Rig]:
    """The rig of a demo scene by name, checked once."""
    folder = Path(__file__).parents[2] / "scenes"
    known: dict[str, Rig] = {}

    def get(name: str) -> Rig:
        if name not in known:
            assembly = assemble(load_scene(folder / f"{name}.yaml"))
            findings = check(assembly)
            text = html_report(assembly, findings, VERSION)
            known[name] = Rig(assembly, findings, text, parsed(text))
        return known[name]

    return get


@pytest.fixture(scope="session")
def passing(rig: Callable[[str], Rig]) -> Rig:
    """A rig that passes."""
    return rig("three-rows-belly")


@pytest.fixture(scope="session")
def failing(rig: Callable[[str], Rig]) -> Rig:
    """A rig that fails."""
    return rig("bar-out-of-level")
