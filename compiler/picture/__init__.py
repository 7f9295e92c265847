"""A customer's picture of a piece: its metal and stones rendered by light, headless, on a CPU."""
