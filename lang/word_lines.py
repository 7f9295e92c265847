"""The lines below a word line that tell what the word serves as and which keys it takes."""

from __future__ import annotations

from . import tree
from .clauses import ClauseCheck
from .names import Block, Names
from .placing import PLACING_BY_NAME
from .suggest import did_you_mean

_OF_TAKES = ("default", "from", "choices", "needed", "with", "not-with", "help")


class WordLines:
    """Checks ``serves`` and ``takes`` lines; ``roles`` are all a word may serve as."""

    def __init__(self, names: Names, check: ClauseCheck, roles: tuple[str, ...]) -> None:
        self.names = names
        self.check = check
        self.roles = roles
        self.fault = names.notes.fault

    def serves(self, line: tree.Serves) -> None:
        """What a word serves as: any of the roles there are."""
        for role in line.roles:
            if role.name not in self.roles:
                remedy = did_you_mean(role.name, self.roles) or "one of " + ", ".join(self.roles)
                self.fault("unknown-role", f"there is no role '{role.name}'", role.span, remedy)

    def takes(self, line: tree.Takes, body: Block) -> None:
        """One key of the word with this ``body``."""
        self.check.known_clauses(line.clauses, _OF_TAKES, "takes", flags=frozenset(("needed",)))
        for clause in line.clauses:
            if clause.key.name == "default" and clause.value is not None:
                bare = line.kind.name in ("choice", "any") and isinstance(clause.value, tree.Name)
                if not bare:
                    self.names.value(clause.value, body)
            elif clause.key.name in ("with", "not-with") and clause.value is not None:
                self.companions(clause.value, body.keys or frozenset())

    def companions(self, value: tree.Expression, keys: frozenset[str]) -> None:
        """The clauses a key goes with, or not: keys of the word, or placing clauses."""
        for member in value.members if isinstance(value, tree.Run) else (value,):
            if isinstance(member, tree.Name) and member.name not in (*keys, *PLACING_BY_NAME):
                self.fault(
                    "unknown-clause", f"this word takes no '{member.name}'", member.span,
                    did_you_mean(member.name, (*sorted(keys), *PLACING_BY_NAME)),
                )
