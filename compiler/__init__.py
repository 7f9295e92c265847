"""From a checked tree to solids, verdicts, weights and files: the compiler room."""
