"""Lets tests import each other's helpers (texts, exact) by plain name."""

import re
import sys
from pathlib import Path

import pytest

import posy.compiler  # before numpy, whose threads it sets

HERE = Path(__file__).parent
for folder in (HERE, HERE / "outside", HERE / "bench", HERE / "rules", HERE / "wear"):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """With ``-n``: the tests of a file go to one worker, which makes its fixtures once; all that is tried of the
    cases of a rule to another, which makes each case once (rule_cases.told)."""
    from xdist.scheduler import LoadScopeScheduling

    class ByFileOrRule(LoadScopeScheduling):
        def _split_scope(self, nodeid):
            path, _, test = nodeid.partition("::")
            case = re.search(r"\[([a-z-]+)", test) if "/rules/" in path else None
            return case[1] if case else path

    return ByFileOrRule(config, log)


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
