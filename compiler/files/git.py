"""The `git` of this machine, which is only ever asked to tell.

Whatever a repository is set up to run (hooks, pagers, outside differs and filters, file monitors,
fetching what is missing) is turned off: a folder somebody sent may hold any of it."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

PATIENCE = 30.0  # s
_SET = (
    "core.fsmonitor=false", f"core.hooksPath={os.devnull}", "core.pager=cat", "core.quotePath=false",
    "diff.external=", "log.showSignature=false", "log.mailmap=false", "protocol.allow=never",
    "core.sshCommand=false", "credential.helper=",
)  # fmt: skip


class NoGit(Exception):
    """There is no git to ask, or it does not answer."""


def ask(folder: Path, *words: str) -> bytes | None:
    """What git tells in ``folder``, run with fixed settings; None when it says no. Raises NoGit."""
    line = ["git", "--no-pager", "--no-optional-locks", "--literal-pathspecs", "--no-replace-objects"]
    for one in _SET:
        line += ["-c", one]
    own = {key: value for key, value in os.environ.items() if not key.startswith("GIT_")}
    own |= {"GIT_TERMINAL_PROMPT": "0", "GIT_NO_LAZY_FETCH": "1", "GIT_OPTIONAL_LOCKS": "0", "LC_ALL": "C"}
    try:
        done = subprocess.run(
            [*line, "-C", str(folder), *words], env=own, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, timeout=PATIENCE, check=False,
        )  # fmt: skip
    except (OSError, subprocess.TimeoutExpired) as error:
        raise NoGit(str(error)) from None
    return done.stdout if done.returncode == 0 else None
