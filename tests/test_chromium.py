"""Tests never leave the browser out silently: it is found, or the run ends and says why."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests import __main__ as runner
from tests import chromium


@pytest.fixture
def bare_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing on the path, nothing in the usual places."""
    monkeypatch.delenv(chromium.VARIABLE, raising=False)
    monkeypatch.setattr(chromium.shutil, "which", lambda _name: None)
    monkeypatch.setattr(chromium, "_usual_places", list)


def test_the_variable_comes_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(chromium.VARIABLE, sys.executable)
    assert chromium.find() == Path(sys.executable)


def test_a_variable_that_names_nothing_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(chromium.VARIABLE, "nowhere/chrome")
    with pytest.raises(chromium.ChromiumMissing, match=r"'nowhere/chrome', but no file is there"):
        chromium.find()


@pytest.mark.usefixtures("bare_machine")
def test_without_a_browser_the_run_fails_and_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(runner, "_install", lambda: None)
    assert runner.main([]) == 2
    told = capsys.readouterr().err
    assert "apt-get install chromium" in told
    assert chromium.VARIABLE in told


@pytest.mark.usefixtures("bare_machine")
def test_what_is_not_known_to_install_is_left_alone() -> None:
    runner._install()
    assert chromium.find() is None


def test_the_exit_code_of_the_tests_passes_through(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(runner, "_browser", lambda: None)
    done = runner.subprocess.CompletedProcess([], 5)
    asked: list[list[str]] = []

    def run(command: list[str], **_options: object) -> object:
        asked.append(command)
        return done

    monkeypatch.setattr(runner.subprocess, "run", run)
    assert runner.main(["-k", "overlap"]) == 5
    assert asked[0][-2:] == ["-k", "overlap"]
    assert "loadgroup" in asked[0]
