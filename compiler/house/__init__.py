"""bench.toml, the file of a workshop: its limits, metals, stones, prices and ways of working."""

FILE = "bench.toml"
