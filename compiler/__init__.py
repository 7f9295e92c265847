"""From a checked tree to solids, findings, weights and files: the compiler room."""
