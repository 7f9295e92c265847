"""Line drawings of a finished piece: scene, hidden lines, tints, sheets of SVG.

A built piece becomes a ``scene`` (one mesh of metal and stones), ``raster`` tells what is in front,
``outline`` the visible edges and ``tints`` the visible areas, ``fit`` makes lines and arcs of them, ``sheet``
places them on paper, ``svg`` gives the bytes."""
