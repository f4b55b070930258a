"""`fit explain`: every rule has its page on the command line."""

from __future__ import annotations

import pytest

from fit.check.explain import HEADINGS, names
from fit.commands.app import run
from fit.commands.status import Status


def test_all_rules_are_listed_with_one_line_each(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["explain"]) == Status.GOOD
    lines = capsys.readouterr().out.splitlines()[1:]
    assert [line.split()[0] for line in lines] == list(names())
    assert all(len(line.split()) > 3 for line in lines)


@pytest.mark.parametrize("name", names())
def test_a_page_has_every_heading(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["explain", name]) == Status.GOOD
    told = capsys.readouterr().out
    assert all(heading in told for heading in HEADINGS)


def test_a_misspelt_rule_gets_the_near_spelling(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["explain", "web"]) == Status.WRONG_USE
    assert "did you mean 'webs'?" in capsys.readouterr().err


def test_a_limit_for_an_unknown_rule_is_refused(
    tmp_path: object, capsys: pytest.CaptureFixture[str]
) -> None:
    from pathlib import Path

    file = Path(str(tmp_path)) / "b.yaml"
    file.write_text(
        "build: b\nbox: tray-150x100x60\ndrawer: small-kit\nneeds: {webz: 2}\n", encoding="utf-8"
    )
    assert run(["check", str(file)]) == Status.UNUSABLE
    assert f"{file.name}:4" in capsys.readouterr().err
