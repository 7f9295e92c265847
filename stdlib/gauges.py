"""Brown & Sharpe wire and sheet gauge (American wire gauge) to millimetres.

ASTM B258 fixes 0000 at 0.46 inch and 36 at 0.005 inch with 39 equal ratios between,
which is 0.127 mm x 92 ** ((36 - gauge) / 39).
"""

from __future__ import annotations

import math

LOWEST = -3
"""The gauge called 0000, 11.684 mm."""
HIGHEST = 40
"""The finest gauge, 0.0799 mm."""


def wire_diameter(gauge: float) -> tuple[float | None, str]:
    """Diameter in mm of a Brown & Sharpe gauge, or None and the reason in a user's terms.

    Gauges 00, 000 and 0000 are -1, -2 and -3. The text is empty on success.
    """
    if not math.isfinite(gauge) or not LOWEST <= gauge <= HIGHEST:
        return None, (
            f"{gauge:g} ga is outside Brown & Sharpe gauge, which runs from {LOWEST} "
            f"(called 0000, 11.684 mm) to {HIGHEST} (0.080 mm); write the thickness in mm"
        )
    if gauge != int(gauge):
        return None, (
            f"{gauge:g} ga is not a whole gauge; use {math.floor(gauge)} ga or "
            f"{math.ceil(gauge)} ga, or write the thickness in mm"
        )
    return 0.127 * 92.0 ** ((36.0 - gauge) / 39.0), ""
