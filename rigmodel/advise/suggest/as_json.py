"""An answer as JSON; lengths are mm, masses kg."""

from __future__ import annotations

import json
from typing import Any

from rigmodel.advise.suggest.answer import Answer
from rigmodel.advise.suggest.rig import Suggestion

_DIGITS = 6


def answer_json(answer: Answer) -> str:
    """The answer as JSON text with a trailing newline."""
    return json.dumps(answer_object(answer), indent=2, ensure_ascii=False) + "\n"


def answer_object(answer: Answer) -> dict[str, Any]:
    """The answer as plain values ready for JSON."""
    return {
        "scene": answer.request.scene.spec.name,
        "units": {"length": "mm", "mass": "kg"},
        "objective": "pareto" if answer.objective is None else answer.objective.value,
        "rigs": [_rig(rig) for rig in answer.rigs],
        "looked_among": list(answer.looked),
        "checked_in_3d": answer.checks,
        "every_choice_looked_at": answer.ended,
        "proven_best_choice": answer.settled,
        "in_the_way": [{"what": o.what, "says": o.says} for o in answer.obstacles],
        "least_changes": [
            {
                "changes": [{"what": t.what, "was": t.was, "least": t.least} for t in r.turns],
                "one_step_less_fails": r.proven,
            }
            for r in answer.relaxations
        ],
    }


def _rig(rig: Suggestion) -> dict[str, Any]:
    return {
        "verdict": rig.verdict.value,
        "scores": {o.value: round(score, _DIGITS) + 0.0 for o, score in rig.scores.items()},
        "to_buy": dict(rig.bought),
        "stations": [
            _plain(s.model_dump(exclude_defaults=True, exclude_none=True)) for s in rig.stations
        ],
        "findings": [
            {"check": f.check, "verdict": f.verdict.value, "message": f.message}
            for f in rig.findings
        ],
    }


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    return round(value, _DIGITS) + 0.0 if isinstance(value, float) else value
