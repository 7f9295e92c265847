"""Rules that measure the finished metal."""
