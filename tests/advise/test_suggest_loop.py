"""The loop of choosing and checking finds what checking every combination in 3D finds."""

from __future__ import annotations

from itertools import product
from pathlib import Path

from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.options import Group
from rigmodel.advise.suggest.reading import load_field
from rigmodel.advise.suggest.request import request_for
from rigmodel.advise.suggest.rig import rig_of, stations_of
from rigmodel.advise.suggest.search import LEVELS, Searcher
from rigmodel.advise.suggest.variants import Measures, with_stations
from rigmodel.clearance.finding import Verdict
from rigmodel.clearance.trial import Bench

SCENE = Path(__file__).parent.parent.parent / "scenes" / "offset-rows.yaml"
KEPT = 2  # options of each group: few enough to check them all
NEAR = """\
name: Two rows so near that their wheels clash on one line
units: in
rows: {count: 2, spacing: 15, keep_out: 2 1/2}
tractor: {use: small-belly}
toolbar: {tube: tube-2x1-4, length: 72, height: 20}
"""


def test_the_best_rig_is_the_best_of_all_that_pass_in_3d(tmp_path: Path) -> None:
    # Rows so near that wheels on one line clash: only some pairs of ranks pass.
    path = tmp_path / "near.yaml"
    path.write_text(NEAR)
    request = request_for(load_field(path)[0])
    bench = Bench()
    searcher = Searcher(request, Measures(bench))
    groups = tuple(
        Group(g.name, g.options[:: max(1, len(g.options) // KEPT)][:KEPT])
        for g in searcher.groups(LEVELS[0])
    )
    searcher._levels[LEVELS[0]] = groups
    search = searcher.look(LEVELS[0], Objective.BEHIND, 1)

    passing = []
    for chosen in product(*(group.options for group in groups)):
        rig, _ = rig_of(request, chosen, bench)
        if rig.verdict is not Verdict.FAIL:
            passing.append(rig.scores[Objective.BEHIND])
    total = len(list(product(*(group.options for group in groups))))
    assert 0 < len(passing) < total  # some pass and some do not, or this says nothing
    assert len(search.found) == 1
    assert abs(search.found[0].scores[Objective.BEHIND] - min(passing)) < 1e-3
    assert search.checks <= total


def test_stations_say_the_same_as_the_pieces_they_were_made_from() -> None:
    # Every fourth option, alone: put together, it stands where the option said it would.
    request = request_for(load_field(SCENE)[0])
    bench = Bench()
    for group in Searcher(request).groups(LEVELS[0]):
        for option in group.options[::4]:
            scene = with_stations(request.scene, stations_of(request, option.pieces))
            assert scene is not None
            rig, hung = rig_of(request, [option], bench)
            tools = {tool.station: tool for tool in rig.assembly.tools}
            for piece in option.pieces:
                mine = [s for s in rig.assembly.stations if hung[s.parts[0]] == piece.key]
                assert len(mine) == (2 if piece.is_pair else 1)
                centres = sum(tools[s.name].centre_mm for s in mine) / len(mine)
                assert abs(centres - piece.centre) < 0.01
                places = sorted(
                    c.centre_mm + request.scene.spec.toolbar.offset
                    for c in rig.assembly.clamps
                    if c.part.rpartition(".")[0] in {s.name for s in mine}
                )
                said = sorted(clamp.centre for clamp in piece.clamps)
                assert max(abs(a - b) for a, b in zip(places, said, strict=True)) < 0.01
