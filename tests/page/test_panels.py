"""What stands round the picture: nothing of what is not checked is lost behind a fold."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape

import pytest

from rigmodel.clearance.finding import NotChecked
from rigmodel.clearance.trial import Bench
from rigmodel.page.checking import Checked, check_text
from rigmodel.page.panels import not_checked_html
from tests.page.scenes import SCENES, scene_text

FOLD = re.compile(r'<details id="([\w-]+)"><summary>(.+?) \((\d+)\)</summary>(.+?)</details>')
REASON = re.compile(r"<li data-reason>(.+?) \(<code>(.+?)</code>\)</li>")


def checked(name: str) -> Checked:
    return check_text(scene_text(name), name, SCENES, "", Bench())


@pytest.mark.parametrize("name", sorted(path.stem for path in SCENES.glob("*.yaml"))[::3])
def test_every_reason_is_told_once_and_folds_count_theirs(name: str) -> None:
    found = checked(name)
    html = not_checked_html(found)
    told = [unescape(reason) for reason, _ in REASON.findall(html)]
    assert sorted(told) == sorted({item.reason for item in found.findings.not_checked})
    for _, _, count, inside in FOLD.findall(html):
        assert len(REASON.findall(inside)) == int(count) > 3
    stand_open = FOLD.sub("", html)
    assert "hoses, wiring and anything that is not in the scene" in stand_open
    assert "load-" not in "".join(checks for _, checks in REASON.findall(stand_open)) or (
        "Weights and forces" not in html
    )


def test_a_few_reasons_need_no_fold() -> None:
    found = checked("three-rows-belly")
    loads = [item for item in found.findings.not_checked if item.check.startswith("load-")]
    few = replace(found, findings=replace(found.findings, not_checked=tuple(loads[:3])))
    assert "<details" not in not_checked_html(few)
    none = replace(found, findings=replace(found.findings, not_checked=()))
    assert "<details" not in not_checked_html(none)
    assert "data-reason" not in not_checked_html(none)
    same = (NotChecked("load-bar", "a <b>"), NotChecked("load-arm", "a <b>"))
    both = replace(found, findings=replace(found.findings, not_checked=same))
    assert REASON.findall(not_checked_html(both)) == [("a &lt;b&gt;", "load-bar, load-arm")]
