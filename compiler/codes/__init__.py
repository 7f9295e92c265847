"""Fault codes of the compiler: records that `posy why` prints and tests run."""
