"""What a piece was before: its revisions, what changed between two, its weight over all of them.

``git`` and ``kept`` know the revisions, ``record`` makes one and takes down what it comes to,
``changes`` sets two records side by side, ``metal`` and ``picture`` show what metal came and went."""
