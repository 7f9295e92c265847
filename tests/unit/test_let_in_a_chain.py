"""Stations let into a chain: what their links touch does not say what carries them."""

from posy.compiler.making.pipeline import build
from posy.lang.loader import Texts

# The loops stand a millimetre behind the chain, so that links lie in their wire.
STATIONS = """piece "Three stations"
  metal gold-585-yellow
station-chain trace: long 180 mm, wire 0.8 mm, stations 3, every 35 mm, room 11.8 mm,
  loop-wire 0.9 mm, clasp-room 11.04 mm, bought
casting station: at station of trace
  stone blue: round 4 mm, gem sapphire
  bezel cup: for blue, wall 0.6 mm
  bail loops: at ends of cup, wire 0.9 mm, inside 2 mm
bolt-ring shut: at clasp of trace
"""


def test_a_station_held_at_both_ends_does_not_hang_by_one():
    built = build("p.posy", files=Texts({"p.posy": STATIONS}))
    codes = [fault.code for fault in built.faults]
    assert "tight-link" in codes  # they stand against the links, which is told
    assert "leans" not in codes
    assert all(len(one.loops) == 2 for one in built.piece.casting_measures.cast)
