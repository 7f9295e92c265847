"""Lets tests import each other's helpers (texts, exact) by plain name."""

import sys
from pathlib import Path

import pytest

import posy.compiler  # before numpy, whose threads it sets

HERE = Path(__file__).parent
for folder in (HERE, HERE / "outside", HERE / "bench", HERE / "rules", HERE / "wear"):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """For ``--dist loadgroup``: the tests of a file go to one worker, which makes its fixtures once; all that is
    tried of the cases of a rule to another, which makes each case once (rule_cases.told)."""
    for item in items:
        case = item.callspec.params.get("case") if hasattr(item, "callspec") else None
        item.add_marker(pytest.mark.xdist_group(getattr(case, "rule", item.path.name)))


@pytest.fixture
def posy(capsys):
    """Runs a command that must end well; gives what it told, in ``out`` and ``err``."""
    from posy.compiler.command import main

    def told(*words):
        capsys.readouterr()
        code = main(list(words))
        shown = capsys.readouterr()
        assert code == 0, shown
        return shown

    return told
