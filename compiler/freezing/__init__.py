"""How metal freezes in its mould: heat on a grid of cells, and what follows from it.

``heat`` holds the materials, ``grid`` the cells, ``sweeps`` the solver of one line, ``freeze`` the run
of time, ``pools`` where liquid is cut off, ``modulus`` the quick answer. Lengths mm, s, g, J, deg C.

Not modelled: the flow of the metal and its filling of the mould, gas, pressure and spin, the parting
of the elements, the contraction of the mould, a gap between metal and mould, radiation."""
