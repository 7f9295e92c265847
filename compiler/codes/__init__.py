"""Fault codes of the compiler: records that `posy explain` prints and tests run."""
