"""Cross-flow on the shaft: the force of air that meets a long thin cylinder from the side.

Per length, on a cylinder of diameter d met from the side with speed w (Taylor 1952, 'Analysis of the swimming of long
and narrow animals'; the form term as in Allen & Perkins, NACA Report 1048):

    0.5 rho d (FORM |w| + FRICTION sqrt(nu |w| / d)) w

White's fit for the whole drag of a cylinder across the stream, 1 + 10 Re_c^(-2/3) (Viscous Fluid Flow), already
holds the friction, and Taylor's second term is that same friction; adding both would count it twice. So the form
coefficient here is White's limit for a high Reynolds number and the friction is Taylor's: together within 12 % of
White's fit from Re_c 40 to 10,000 (a shaft of 6 mm met at 0.1 to 25 m/s). Below that the forces are too small to
matter, and an incidence so small also leaves the range of a cylinder met from the side alone.
"""

from __future__ import annotations

__all__ = ["FORM", "FRICTION"]

FORM = 1.0
"""[1] form drag of a cylinder across the stream on diameter x length."""

FRICTION = 4.0
"""[1] laminar friction: multiplies (w d/nu)^(-1/2)."""
