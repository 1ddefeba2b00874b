"""What the catalogue holds, as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.catalog.kinds import SubAssembly, walk
from rigmodel.catalog.store import Catalogue


def parts_text(catalogue: Catalogue, word: str = "") -> str:
    """Every id with its one line, by kind; only those that contain `word`."""
    return "\n".join(_lines(catalogue, word.lower())) + "\n"


def _lines(catalogue: Catalogue, word: str) -> Iterator[str]:
    groups: dict[str, list[tuple[str, str]]] = {}
    for name, part in catalogue.parts.items():
        groups.setdefault(part.kind, []).append((name, part.summary))
    groups["sub-assembly (stations: use)"] = [
        (name, f"{unit.summary} [{_names(unit)}]") for name, unit in catalogue.assemblies.items()
    ]
    groups["tractor (tractor: use)"] = [(n, t.summary) for n, t in catalogue.tractors.items()]
    groups["tyre"] = [(n, t.summary or t.source) for n, t in catalogue.tyres.items()]
    shown = 0
    for kind, entries in groups.items():
        hits = [e for e in entries if word in f"{kind} {e[0]} {e[1]}".lower()]
        if not hits:
            continue
        shown += len(hits)
        yield kind
        wide = max(len(name) for name, _ in hits)
        for name, summary in hits:
            yield f"  {name:<{wide}}  {summary}".rstrip()
        yield ""
    if not shown:
        yield f"nothing in the catalogue has '{word}' in it; `rigmodel parts` lists everything"
        return
    yield "Metric tyres such as 280/70R16 need no entry: their size follows from the designation."


def _names(unit: SubAssembly) -> str:
    return ", ".join(f"{node.name}: {node.part}" for node in walk(unit.tool))
