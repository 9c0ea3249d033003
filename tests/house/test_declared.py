"""What is imported is declared, and what is declared is pinned."""

from __future__ import annotations

import ast
import sys
import tomllib
from importlib.metadata import packages_distributions

import pytest
from packaging.requirements import Requirement

from tests.house.files import PACKAGES, ROOT, text, under

PROJECT = tomllib.loads(text(ROOT / "pyproject.toml"))["project"]
NEEDED = [Requirement(line) for line in PROJECT["dependencies"]]
FOR_TESTS = [Requirement(line) for line in PROJECT["optional-dependencies"]["tests"]]
PINNED = dict(
    line.split("==") for line in text(ROOT / "requirements.lock").splitlines() if "==" in line
)
# Named for its exact range though only the framework above it is imported.
PINNED_FOR_OTHERS = {"python-multipart", "pillow"}
PART_OF = {"pydantic-core": "pydantic"}  # always comes with it, in the one version that fits


def plain(package: str) -> str:
    return package.lower().replace("_", "-").replace(".", "-")


def imported() -> set[str]:
    found: set[str] = set()
    for path in (p for package in PACKAGES for p in under(package, ".py")):
        for node in ast.walk(ast.parse(text(path))):
            if isinstance(node, ast.Import):
                found |= {alias.name.partition(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                found.add(node.module.partition(".")[0])
    return found - set(sys.stdlib_module_names) - set(PACKAGES)


def test_imports_are_declared() -> None:
    owners = packages_distributions()
    used = {plain(owner) for module in imported() for owner in owners.get(module, [module])}
    declared = {plain(need.name) for need in NEEDED}
    assert {PART_OF.get(package, package) for package in used} - declared == set()
    assert declared - used - PINNED_FOR_OTHERS == set()


@pytest.mark.parametrize("need", [*NEEDED, *FOR_TESTS], ids=str)
def test_lock_pins_a_version_in_the_declared_range(need: Requirement) -> None:
    versions = {plain(package): version for package, version in PINNED.items()}
    assert need.specifier.contains(versions[plain(need.name)])
