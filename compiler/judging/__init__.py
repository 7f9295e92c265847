"""How bench rules see a piece, what several of them measure, and how they are run."""
