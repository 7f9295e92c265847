"""Line drawings of a finished piece: scene, hidden lines, tints, sheets of SVG.

built piece -> ``scene`` (one mesh of metal and stones) -> ``raster`` (what is in front, pixel by
pixel) -> ``outline`` (visible edges) and ``tints`` (visible areas) -> ``fit`` (lines and arcs)
-> ``sheet`` (placed on paper) -> ``svg`` (bytes).
"""
