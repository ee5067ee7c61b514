"""The session file that the demo starts from: an archer, a bow and arrows that do not exist."""

from __future__ import annotations

from spinewright.units import Hand

__all__ = ["session_text"]

_TEXT = """\
# INVENTED from the first number to the last: nobody shoots this bow, and nobody made it.
format = 1

[scope]
hand = "{hand}"
release = "release aid"
bow = "compound"
purpose = "target"
time = "an afternoon"
units = "inch"

[archer]
name = "invented archer"
group = "1.7 in"
group_shots = 5
group_distance = "20 yd"

[bow]
name = "invented bow"
peak_weight = "58.6 lb"
let_off = "81 %"
draw_length = "28 7/8 in"
brace_height = "7 1/16 in"
axle_to_axle = "35 3/8 in"
string_mass = "103 gr"
on_string = "11 gr"
peep_mass = "7 gr"
peep_above = "5 1/4 in"
draw_readings = [
  {{ draw = "7.06 in", force = "0 lb" }},
  {{ draw = "9 in", force = "25.5 lb" }},
  {{ draw = "11.5 in", force = "47 lb" }},
  {{ draw = "14 in", force = "57.4 lb" }},
  {{ draw = "17 in", force = "58.6 lb" }},
  {{ draw = "20.5 in", force = "57.2 lb" }},
  {{ draw = "23.5 in", force = "42 lb" }},
  {{ draw = "25.5 in", force = "21 lb" }},
  {{ draw = "27.125 in", force = "11.1 lb" }},
]
chronograph = [
  {{ arrow = "391 gr", speed = "268 ft/s" }},
  {{ arrow = "467 gr", speed = "247 ft/s" }},
]

[bow.rest]
kind = "drop-away"
ahead = "-0.6 in"
drops_after = "5 1/4 in"
sideways_per_click = "0.0021 in"
height_per_click = "0.0021 in"

[bow.maker]
lightest_arrow = "310 gr"
weakest_spine = "500"

[start]
centre_shot = "25/32 in"
rest_height = "1 9/32 in"
nock_height = "3/64 in"
bolts_out = 1.5
note = "scale on the rest reads 4.6 across, 7.2 up"

[shaft]
name = "invented shaft"
material = "carbon"
spine = "402"
spine_test = "current"
weight = "7.1 gr/in"
outer_diameter = "0.2335 in"
inner_diameter = "0.166 in"
stiff_side_difference = "4 %"
uncut_length = "31 in"

[arrow]
throat_length = "30 3/16 in"
carbon_length = "29 11/16 in"
expected_carbon_length = "27 1/2 in"
tape = "19 gr"

[arrow.nock]
mass = "7.1 gr"

[arrow.insert]
mass = "21 gr"
length = "0.8 in"

[arrow.vanes]
count = 3
mass = "6.3 gr"
length = "1.75 in"
height = "0.47 in"
offset = "{vane_side} 2 deg"

[arrow.point]
mass = "118 gr"
length = "0.9 in"

[owned]
points = ["118 gr", "133 gr"]
spare_shafts = 4
"""


def session_text(hand: Hand) -> str:
    """The text of the session file for ``hand``; the left-hander's is the mirror image of the right-hander's."""
    return _TEXT.format(hand=hand, vane_side="right" if hand is Hand.RIGHT else "left")
