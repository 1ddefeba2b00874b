"""An answer as terminal text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from rigmodel.advise.suggest.answer import Answer
from rigmodel.advise.suggest.objective import MEANING, Objective
from rigmodel.advise.suggest.pieces import Piece, Set
from rigmodel.advise.suggest.rig import Suggestion
from rigmodel.advise.suggest.units import Kind
from rigmodel.catalog.kinds import FingerWheel
from rigmodel.clearance.finding import Verdict
from rigmodel.lines import wrapped
from rigmodel.sides import ahead, side

_WIDE = 78


def answer_text(answer: Answer, width: int = _WIDE) -> str:
    """The answer for a terminal of so many columns, with a trailing newline."""
    lines = list(_rigs(answer) if answer.rigs else _nothing(answer))
    told = (
        part
        for line in lines
        for part in wrapped(line, max(width, 40), rest=len(line) - len(line.lstrip()) + 2)
    )
    return "\n".join(told) + "\n"


def _rigs(answer: Answer) -> Iterator[str]:
    count = len(answer.rigs)
    kind = (
        f"least {MEANING[answer.objective]} first"
        if answer.objective is not None
        else "none of them beaten in everything"
    )
    yield f"{count} rigs pass every check, {kind}:" if count > 1 else "This rig passes every check:"
    for number, rig in enumerate(answer.rigs, 1):
        yield ""
        yield f"Rig {number}: {_scores(answer, rig)}"
        yield from _pieces(answer, rig)
        if rig.bought:
            yield "  To buy: " + _counted(rig.bought)
        for finding in rig.findings:
            if finding.verdict is Verdict.ADVISE:
                yield f"  Advise ({finding.check}): {finding.message}"
    yield ""
    yield from _how(answer)


def _scores(answer: Answer, rig: Suggestion) -> str:
    scores = rig.scores
    said = [
        f"{answer.request.scene.say(scores[Objective.MISSED])} of soil missed",
        f"{scores[Objective.PARTS]:.0f} parts",
        f"{scores[Objective.RANKS]:.0f} rank{'s' if scores[Objective.RANKS] != 1 else ''}",
        f"{scores[Objective.BEHIND]:.1f} kg behind the bar",
    ]
    if answer.request.stock is not None:
        said.insert(2, f"{scores[Objective.BOUGHT]:.0f} to buy")
    return ", ".join(said)


def _pieces(answer: Answer, rig: Suggestion) -> Iterator[str]:
    """What stands where, equal things together."""
    rows = answer.request.scene.spec.rows.places
    lines: dict[str, list[str]] = {}
    for option in rig.options:
        for piece in option.pieces:
            lines.setdefault(_what(answer, piece), []).append(_where(answer, piece, rows))
    for what, places in lines.items():
        yield f"  {what}: {', '.join(places)}"


def _what(answer: Answer, piece: Piece) -> str:
    fitted = piece.variant.fitted
    say = answer.request.scene.say
    tool = answer.request.catalogue.parts[fitted.tool]
    size = tool.diameter if isinstance(tool, FingerWheel) else piece.variant.width
    noun = "finger wheels" if fitted.kind is Kind.WHEELS else "blade"
    other = [f"{name} {part}" for name, part in fitted.swap if part != fitted.tool]
    extra = f" with {', '.join(other)}" if other else ""
    rank = f", {say(abs(fitted.rank))} {ahead(fitted.rank)}"
    return f"{say(size)} {noun} on {fitted.use}{extra}{rank if fitted.rank else ''}"


def _where(answer: Answer, piece: Piece, rows: tuple[float, ...]) -> str:
    if piece.how is Set.TRACK:
        return "left track" if piece.centre > 0.0 else "right track"
    if piece.how is Set.ROW:
        return f"row {min(range(len(rows)), key=lambda i: abs(rows[i] - piece.centre)) + 1}"
    if piece.how is Set.OUTSIDE:
        return "outside left" if piece.centre > sum(rows) / len(rows) else "outside right"
    gap = sum(row > piece.centre for row in rows)
    hand = "right" if piece.mirrored else "left"
    if piece.how is Set.CENTRE:
        return f"gap {gap} ({hand} of its shank)"
    at = piece.centre - answer.request.scene.spec.toolbar.offset
    place = side(at, answer.request.scene.unit, "the bar's centre")
    return f"{place} ({hand} of its shank)"


def _counted(parts: Mapping[str, int]) -> str:
    return ", ".join(f"{count} × {part}" for part, count in Counter(parts).items())


def _how(answer: Answer) -> Iterator[str]:
    if not answer.looked:
        yield "No tools were tried: bar, rows and tractor do not go together as they are."
        return
    yield f"Looked among: {'; '.join(answer.looked)}. Rigs checked in 3D: {answer.checks}."
    if not answer.ended:
        yield "The number of checks was used up: there may be others."
    if not answer.settled:
        yield "The choice was cut short for time: there may be a better one."


def _nothing(answer: Answer) -> Iterator[str]:
    yield "No rig was found that passes every check."
    if answer.obstacles:
        yield ""
        yield "In the way:"
        for obstacle in answer.obstacles:
            yield f"  {obstacle.what}: {obstacle.says}"
    yield ""
    if answer.relaxations:
        alone = all(len(found.turns) == 1 for found in answer.relaxations)
        how = "Any one" if alone else "No single change was found to be enough. Any one pair"
        yield f"{how} of these would make it possible (each was tried and checked in 3D):"
        for found in answer.relaxations:
            less = "; one step less gives no rig" if found.proven else ""
            told = ", with ".join(f"{t.what}: {t.was} → {t.least}" for t in found.turns)
            yield f"  {told}{less}"
    else:
        yield "No change of one or two requirements was found that would make it possible."
    yield ""
    yield from _how(answer)
