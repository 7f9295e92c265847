"""Solids of single features: figures in, a closed mesh with its faceting error out."""
