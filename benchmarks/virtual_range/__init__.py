"""A virtual range that holds the advice against the way it is done by hand.

Lives here: worlds that stand in for real archers (``world``), two players (``adviser``, ``hand_rule``), the hunt both
play shot by shot, the campaign over many worlds, and what is written about it. Does not live here: anything of the
product. ``world`` imports none of the product's mechanics, flight, belief or advice; a test says so.
"""
