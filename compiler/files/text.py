"""Many numbers as text at once: what makes a 3MF of a million triangles a matter of a second.

A record such as ``<vertex x="…" y="…"/>`` becomes a row of bytes in a table as wide as the
longest record; digits not needed are zero bytes, and all zero bytes are dropped at the end."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def records(template: Sequence[bytes], columns: Sequence[np.ndarray], decimals: int) -> bytes:
    """One text record per row: ``template[0]``, the first column's figure, ``template[1]`` …

    ``columns`` are integers in units of 10**-``decimals``. With decimals there is always a
    digit before the point; trailing zeros go, and the point with them."""
    rows = len(columns[0])
    fields = [_digits(column, decimals) for column in columns]
    width = sum(len(piece) for piece in template) + sum(field.shape[1] for field in fields)
    table = np.empty((rows, width), np.uint8)
    at = 0
    for piece, field in zip(template, [*fields, None], strict=True):
        table[:, at : at + len(piece)] = np.frombuffer(piece, np.uint8)
        at += len(piece)
        if field is not None:
            table[:, at : at + field.shape[1]] = field
            at += field.shape[1]
    flat = table.reshape(-1)
    text: bytes = flat[flat != 0].tobytes()
    return text


def _digits(column: np.ndarray, decimals: int) -> np.ndarray:
    """The figures of one column as bytes, one row each, zero where nothing is printed."""
    if not len(column):
        return np.zeros((0, 0), np.uint8)
    size = np.abs(column)
    largest = int(size.max())
    if largest < 2**31:
        size = size.astype(np.uint32)  # division is far quicker than in 64 bits
    count = max(len(str(largest)), decimals + 1)
    signed = bool((column < 0).any())
    out = np.zeros((len(column), count + signed + (decimals > 0)), np.uint8)
    _whole_and_share(out, size, count, decimals)
    if signed:
        out[:, 0] = np.where(column < 0, ord("-"), 0)
    return out


def _whole_and_share(out: np.ndarray, size: np.ndarray, count: int, decimals: int) -> None:
    """Fill the digits from the last one backwards."""
    at = out.shape[1] - 1
    left = size
    shown = np.zeros(len(size), bool)  # whether a digit after the point has been printed
    for place in range(count):
        if place == decimals and decimals:
            out[:, at] = np.where(shown, ord("."), 0)
            at -= 1
        rest = left // 10
        digit = (left - rest * 10).astype(np.uint8)
        if place < decimals:  # trailing zeros go
            shown |= digit != 0
            out[:, at] = np.where(shown, digit + ord("0"), 0)
        elif place == decimals:
            out[:, at] = digit + ord("0")
        else:  # leading zeros go
            out[:, at] = np.where(left != 0, digit + ord("0"), 0)
        at -= 1
        left = rest
